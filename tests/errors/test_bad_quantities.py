"""What cannot be ordered is refused with its place, what is wrong and how to mend it."""

from __future__ import annotations

import pytest

from pegbook.geometry.errors import PegbookError, Problem, at
from pegbook.geometry.model.garden import loads
from pegbook.geometry.quantities.bill import bill

HEAD = """pegbook: 1
project: {title: Bad, date: 2026-01-01}
site:
  control:
    A: {at: [0, 0], mark: corner}
    B: {at: [9, 0], mark: other corner}
  baseline: [A, B]
"""

SLABS = "unit: {length: 600 mm, width: 600 mm, joint: 10 mm}"
PATIO = "patio: {{kind: paving, outline: {{rectangle: {{corner: [0, 0], length: 4, width: 3}}}}, {0}}}"


def patio(*more: str) -> str:
    return "elements:\n  " + PATIO.format(", ".join(more)) + "\n"


def stack(layer: str) -> str:
    return f"build_ups:\n  own: {{layers: [{layer}]}}\n" + patio("build_up: own")


WALL = "elements:\n  wall: {{kind: wall, line: {{straight: [[0, 0], [4, 0]]}}, height: 1, {0}}}\n"
BRICK = "unit: {length: 215 mm, width: 102.5 mm, height: 65 mm}"

CASES = {
    "unknown-material": stack("{material: compacted stoen, thickness: 100 mm}"),
    "no-density": stack("{material: moon dust, thickness: 100 mm, loose_density: 1.1}"),
    "unknown-build-up": patio("build_up: foot slbas"),
    "unit-too-large": patio("unit: {length: 5, width: 5}"),
    "bad-joint": patio("unit: {length: 200 mm, width: 100 mm, joint: 120 mm}"),
    "bond-does-not-close": patio("unit: {length: 250 mm, width: 100 mm, joint: 3 mm}, bond: herringbone"),
    "edging-too-wide": patio(SLABS, "edging: {width: 2.0}"),
    "wall-too-thin": WALL.format(f"thickness: 90 mm, {BRICK}"),
    "footing-too-narrow": WALL.format(f"thickness: 215 mm, {BRICK}, footing: {{width: 150 mm, depth: 200 mm}}"),
    "bad-opening": WALL.format(f"thickness: 215 mm, {BRICK}, openings: [{{at: 2, width: 0.9, sill: 1.2}}]"),
    "bad-steps": "elements:\n  up: {kind: steps, foot: [1, 1], heading: 90, width: 1, rise: 1.2, risers: 2}\n",
    "unknown-soil": "ordering: {soil: comon earth}\n" + patio("build_up: foot slabs"),
    "too-long": "ordering: {stock: {rafter: [1.8]}}\nelements:\n"
    "  arbour: {kind: pergola, line: {straight: [[0, 0], [4, 0]]}, width: 2}\n",
    "bad-bulking": "ordering: {spoil: {bulking: [45 %, 20 %]}}\n" + patio("build_up: foot slabs"),
    "bad-lap": "ordering: {damp_proof: {roll: 0.1}}\n" + patio(SLABS),
    "bad-breakage": "ordering: {breakage: {cuts: 95 %}}\n" + patio(SLABS),
}

MORE = {
    "bulking beyond a share": ("bad-share", "ordering: {spoil: {bulking: [20 %, 450 %]}}\n" + patio(SLABS)),
    "a skip of no room": ("out-of-range", "ordering: {spoil: {skip: 0}}\n" + patio(SLABS)),
    "a bag of nothing": ("out-of-range", "ordering: {materials: {mortar: {bag: -20}}}\n" + patio(SLABS)),
    "half a screw": ("bad-whole", "ordering: {fixings: {board: 2.5}}\n" + patio(SLABS)),
    "a joint of metres": ("out-of-range", "ordering: {sand_joint: 6}\n" + patio(SLABS)),
    "an edge whose joints run backwards": (
        "bad-joint", patio(SLABS, "edging: {width: 102.5 mm, material: brick, joint_range: [12 mm, 3 mm]}")),
    "bricks that are all voids": (
        "bad-voids", WALL.format("thickness: 215 mm, unit: {length: 215 mm, width: 100 mm, height: 65 mm, voids: 1}")),
    "seed at no rate": ("out-of-range", "elements:\n  grass: {kind: lawn, outline: {rectangle: {corner: [0, 0], "
                        "length: 4, width: 3}}, surface: seed, seed_rate: 0}\n"),
    "noggins nowhere": ("out-of-range", "elements:\n  deck: {kind: deck, outline: {rectangle: {corner: [0, 0], "
                        "length: 4, width: 3}}, board: {width: 145 mm}, joists: {noggins: 0}}\n"),
}
"""Factors that the model gives itself, by what is wrong with them."""

NO_THICKNESS = stack("{material: gravel, thickness: 0}")


def problems(text: str) -> list[Problem]:
    """Read a garden and bill it, as setting out does; return what is refused."""
    try:
        garden = loads(HEAD + text, "bad.yaml")
        items, digs = [], []
        for placed in garden.elements:
            with at(placed.place):
                items += list(placed.element.items(placed, garden))
                digs += list(placed.element.digs(placed, garden))
        bill(items, digs, garden.ordering)
    except PegbookError as error:
        return list(error.problems)
    return []


@pytest.mark.parametrize("code", sorted(CASES))
def test_it_is_refused_with_a_mend(code: str) -> None:
    found = problems(CASES[code])
    assert [p.code for p in found] == [code], found
    assert found[0].mend
    assert found[0].place is not None or code == "unknown-soil"
    if found[0].place is not None:
        assert (found[0].place.file, found[0].place.line > 0) == ("bad.yaml", True)


@pytest.mark.parametrize("name", sorted(MORE))
def test_a_factor_of_the_models_own_is_refused_with_its_place(name: str) -> None:
    code, text = MORE[name]
    found = problems(text)
    assert [p.code for p in found] == [code], found
    assert found[0].mend
    assert found[0].place is not None
    assert (found[0].place.file, found[0].place.line > 0) == ("bad.yaml", True)


def test_a_layer_of_no_thickness_is_refused_where_it_is_written() -> None:
    found = problems(NO_THICKNESS)
    assert len(found) == 1
    assert "thickness" in str(found[0].place)


def test_a_good_garden_has_nothing_to_refuse() -> None:
    assert problems(patio(SLABS, "build_up: foot slabs")) == []
