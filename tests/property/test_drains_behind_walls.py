"""The drain behind a wall that holds ground: counted as it is drawn, refused where it cannot be built."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegbook.geometry.errors import GeometryError, PegbookError, Problem
from pegbook.geometry.features import Item, SectionDetail
from pegbook.geometry.kinds.base import Placed
from pegbook.geometry.model.garden import Garden, loads
from pegbook.geometry.quantities.drains import Drain, drain_items
from pegbook.geometry.setout import set_out
from support.models import HEAD

WALL = """elements:
  bank wall:
    kind: wall
    line: {straight: [[0, 0], [6, 0]]}
    thickness: 215 mm
    height: 0.6
    retains: 0.45
    unit: {length: 215 mm, width: 102.5 mm, height: 65 mm, joint: 10 mm}
    bond: English
    coping: {unit: 440 mm, overhang: 30 mm, drip: yes}
    footing: {width: 0.6, depth: 0.25, cover: 0.2}
"""
DRAIN = "    drain: {stone: 300 mm, pipe: 100 mm, weeps: {size: 50 mm, spacing: 1.5}}\n"


def wall_of(more: str = "", text: str = WALL) -> tuple[Garden, Placed]:
    garden = loads(HEAD + text + more, "wall.yaml")
    (placed,) = garden.elements
    return garden, placed


def items_of(more: str) -> dict[str, Item]:
    garden, placed = wall_of(more)
    return {item.item: item for item in placed.element.items(placed, garden)}


def section_of(more: str) -> SectionDetail:
    garden, placed = wall_of(more)
    (section,) = placed.element.sections(placed, garden)
    return section


def test_a_drain_is_counted_by_hand() -> None:
    # By hand: 6 m long, 0.3 wide, from the footing (0.2 down) to 0.15 under the ground held (0.45): 0.5 high.
    found = items_of(DRAIN)
    stone = found["drainage stone behind the wall"]
    assert stone.basis.startswith("6.000 m, 300 mm wide, 500 mm high")
    assert stone.net == pytest.approx(6 * 0.3 * 0.5 * 1.6)          # t, at 1.6 t/m3 as the table has it
    assert found["ground fabric round the drainage stone"].net == pytest.approx(6 * (0.5 + 0.3))
    assert found["drain pipe Ø 100 mm"].net == pytest.approx(6.0)
    assert found["weep pipes Ø 50 mm through the wall"].order == 4


def test_no_drain_is_counted_where_none_is_given() -> None:
    assert not [name for name in items_of("") if "drain" in name or "weep" in name]


@given(st.floats(0.5, 40), st.floats(0.3, 4))
def test_weep_pipes_stand_no_farther_apart_than_asked(length: float, spacing: float) -> None:
    drain = Drain(element="wall", length=length, width=0.3, height=0.5, weep=0.05, spacing=spacing)
    assert length / drain.weeps <= spacing * (1 + 1e-6)
    assert drain.weeps == 1 or length / (drain.weeps - 1) > spacing * (1 - 1e-6)
    (weeps,) = [item for item in drain_items(drain) if item.item.startswith("weep")]
    assert weeps.net == drain.weeps


def test_a_drain_round_a_curve_is_as_long_as_its_own_middle() -> None:
    curved = WALL.replace("{straight: [[0, 0], [6, 0]]}", "{arc: {from: [0, 0], to: [6, 0], radius: 3, bend: left}}")
    lengths = []
    for side in ("left", "right"):
        garden, placed = wall_of(f"    higher: {side}\n" + DRAIN, curved)
        lengths += [i.net for i in placed.element.items(placed, garden) if i.item.startswith("drain pipe")]
    off = 0.215 / 2 + 0.3 / 2
    assert sorted(lengths) == pytest.approx([math.pi * (3 - off), math.pi * (3 + off)])


def test_the_higher_ground_is_drawn_at_the_left() -> None:
    left, right = (section_of(f"    higher: {side}\n").cuts[0] for side in ("left", "right"))
    assert left.along.dy == pytest.approx(-1.0)     # the wall runs along x: its left lies at y above nought
    assert right.along.dy == pytest.approx(1.0)


def test_what_is_drawn_is_what_is_given() -> None:
    section = section_of("    damp_proof: yes\n    piers: {size: 440 mm, spacing: 2.0}\n" + DRAIN)
    given = {"drain stone": 0.3, "drain pipe": 0.1, "drain cover": 0.15, "weep": 0.05, "weep spacing": 1.5,
             "pier": 0.44, "damp course": 1.0, "retained": 0.45}
    assert {name: section.sizes[name] for name in given} == pytest.approx(given)
    assert section.words["bond"] == "English bond"
    assert section.words["drip"] == section.words["fabric"] == "yes"


def test_a_wall_that_holds_ground_without_a_drain_is_advised() -> None:
    def codes(more: str) -> set[str]:
        return {problem.code for problem in set_out(wall_of(more)[0]).advice}

    assert "no-drain" in codes("")
    assert "no-drain" not in codes(DRAIN)


@pytest.mark.parametrize(("text", "code"), [
    (WALL + "    drain: {stone: 80 mm, pipe: 100 mm}\n", "pipe-too-wide"),
    (WALL.replace("    retains: 0.45\n", "") + DRAIN, "retains-nothing"),
    (WALL.replace("    retains: 0.45\n", "") + "    higher: left\n", "retains-nothing"),
    (WALL.replace("overhang: 30 mm", "overhang: 10 mm"), "drip-no-room"),
    (WALL + "    drain: {stone: 300 mm, cover: 0.7}\n", "drain-too-low"),
])
def test_what_cannot_be_built_is_refused(text: str, code: str) -> None:
    def refused() -> tuple[Problem, ...]:
        with pytest.raises(PegbookError) as caught:
            set_out(wall_of(text=text)[0])
        return caught.value.problems

    assert code in {problem.code for problem in refused()}


@pytest.mark.parametrize("sizes", [{"width": 0.0}, {"height": -0.1}, {"weep": 0.05}, {"length": math.nan}])
def test_a_drain_of_no_size_is_refused(sizes: dict[str, float]) -> None:
    with pytest.raises(GeometryError) as caught:
        Drain(**{"element": "wall", "length": 4.0, "width": 0.3, "height": 0.4, **sizes})     # type: ignore[arg-type]
    assert caught.value.problems[0].code in {"no-thickness", "bad-spacing"}
