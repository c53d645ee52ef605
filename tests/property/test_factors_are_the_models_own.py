"""Every factor that enters a quantity can be set in the model, and the row prints the one that was used."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegbook.geometry.features import Item
from pegbook.geometry.model.garden import Garden, loads
from pegbook.geometry.quantities.bill import Bill, bill
from pegbook.geometry.quantities.factors import USUAL
from pegbook.geometry.setout import set_out

HEAD = """pegbook: 1
project: {title: Factors, date: 2026-01-01}
site:
  control:
    A: {at: [0, 0], mark: corner}
    B: {at: [20, 0], mark: other corner}
  baseline: [A, B]
"""

ELEMENTS = """elements:
  terrace:
    kind: paving
    outline: {rectangle: {corner: [1, 1], length: 4, width: 3}}
    unit: {length: 590 mm, width: 590 mm, joint: 8 mm, thickness: 40 mm}
    build_up: foot slabs
    edging: {width: 102.5 mm, material: paving brick, EDGE}
  garden wall:
    kind: wall
    line: {straight: [[1, 8], [11, 8]]}
    thickness: 215 mm
    height: 1
    unit: {length: 215 mm, width: 102.5 mm, height: 65 mm, VOIDS}
    damp_proof: yes
    footing: {width: 0.45, depth: 0.2}
  platform:
    kind: deck
    outline: {rectangle: {corner: [8, 1], length: 4, width: 3}}
    board: {width: 145 mm}
    joists: {spacing: 0.4, NOGGINS}
  grass: {kind: lawn, outline: {rectangle: {corner: [13, 1], length: 3, width: 2}}, surface: turf}
  meadow: {kind: lawn, outline: {rectangle: {corner: [13, 4], length: 3, width: 2}}, surface: seed, SEED}
  arbour: {kind: pergola, line: {straight: [[1, 12], [5, 12]]}, width: 2}
  side fence: {kind: fence, line: {straight: [[8, 12], [14, 12]]}, panel: 1.83}
  up: {kind: steps, foot: [17, 9], heading: 90, width: 1, rise: 0.45, risers: 3, STEPS}
"""

OWN = {"EDGE": "joint: 10 mm", "VOIDS": "voids: 0", "NOGGINS": "noggins: 1.35", "SEED": "seed_rate: 0.03",
       "STEPS": "base: 0.1"}


def garden(ordering: str = "", **own: str) -> Garden:
    text = ELEMENTS
    for key, usual in OWN.items():
        text = text.replace(key, own.get(key, usual))
    return loads(HEAD + (f"ordering: {{{ordering}}}\n" if ordering else "") + text, "factors.yaml")


def made(ordering: str = "", **own: str) -> Bill:
    at = garden(ordering, **own)
    items = [i for p in at.elements for i in p.element.items(p, at)]
    digs = [d for p in at.elements for d in p.element.digs(p, at)]
    return bill(items, digs, at.ordering)


def row(of: Bill, element: str, begins: str) -> Item:
    found = [i for i in of.items if i.element == element and i.item.startswith(begins)]
    assert len(found) == 1, (element, begins, [i.item for i in of.items if i.element == element])
    return found[0]


USUALLY = made()

CASES = {
    # name: (ordering or field, element, row, printed in its basis or unit)
    "bulking": ("spoil: {bulking: [0, 5 %]}", "", "spoil", "bulks by 0 to 5 %"),
    "spoil mass": ("spoil: {loose_density: 4}", "", "spoil", "loose at 4 t/m3"),
    "skip": ("spoil: {skip: 1}", "", "spoil", "skips of 1 m3"),
    "skip load": ("spoil: {skip_load: 1}", "", "spoil", "and 1 t at most"),
    "bag": ("materials: {mortar: {bag: 5}}", "garden wall", "mortar", "bags of 5 kg"),
    "mortar density": ("materials: {mortar: {density: 1.1}}", "garden wall", "mortar", "× 1.1 t/m3"),
    "stone density": ("materials: {compacted stone: {density: 1.5}}", "terrace", "compacted stone", "× 1.5 t/m3"),
    "roll of turf": ("materials: {turf: {roll: 0.5}}", "grass", "turf", "rolls of 0.5 m2"),
    "screws": ("fixings: {board: 5}", "platform", "deck screws", "5 at every crossing"),
    "bolts": ("fixings: {post: 3}", "arbour", "coach bolts", "3 a post"),
    "rafter fixings": ("fixings: {rafter: 1}", "arbour", "rafter fixings", "1 where"),
    "clips": ("fixings: {panel: 6}", "side fence", "panel clips", "6 a panel"),
    "roll": ("damp_proof: {roll: 3}", "garden wall", "damp-proof", "rolls of 3 m"),
    "breakage": ("breakage: {cuts: 30 %}", "terrace", "stone slab 590", "30 % of"),
    "ends": ("breakage: {ends: 1, cuts: 50 %}", "garden wall", "brick 215", "in 100 % of courses"),
    "edge joint": ("EDGE=joint: 2 mm", "terrace", "paving brick 215", "joint of 2 mm"),
    "voids": ("VOIDS=voids: 20 %", "garden wall", "mortar", "20 % of them voids"),
    "noggins": ("NOGGINS=noggins: 0.5", "platform", "noggins", "at most 0.5 m apart"),
    "seed": ("SEED=seed_rate: 0.3", "meadow", "grass seed", "300 g a m2"),
    "base": ("STEPS=base: 0.6", "up", "concrete under", "base 600 mm"),
    "blocks": ("STEPS=block: {length: 100 mm, joint: 30 mm}", "up", "riser blocks 100", "joints 30 mm"),
}


@pytest.mark.parametrize("name", sorted(CASES))
def test_a_factor_of_the_models_own_changes_the_order_and_is_printed(name: str) -> None:
    setting, element, begins, words = CASES[name]
    key, _, value = setting.partition("=")
    changed = row(made(**{key: value}) if value else made(setting), element, begins)
    usual = row(USUALLY, element, begins.rstrip("0123456789 "))
    assert changed.order != usual.order
    assert words in f"{changed.basis}; {changed.order_unit}", changed
    assert words not in f"{usual.basis}; {usual.order_unit}", usual


def test_usual_figures_written_out_change_nothing() -> None:
    """The same figures as the usual ones, written down: the same bill to the last letter."""
    said = ("spoil: {skip: 6.116, skip_load: 8}, bulk_bag: 850, sand_joint: 6 mm, hand_mix: {cement: 0.275}, "
            "fixings: {board: 2}, damp_proof: {roll: 20}, breakage: {ends: 50 %}")
    assert garden(said).ordering.factors == USUAL
    assert made(said).items == USUALLY.items


def test_another_factor_leaves_all_other_rows_as_they_are() -> None:
    other = made("materials: {turf: {roll: 0.5}}").items
    assert [a.item for a, b in zip(other, USUALLY.items, strict=True) if a != b] == ["turf"]


def test_wide_joints_are_pointed_and_narrow_ones_swept() -> None:
    assert row(USUALLY, "terrace", "mortar in joints").basis.endswith("/m3")
    swept = row(made("sand_joint: 8 mm"), "terrace", "jointing sand in joints")
    assert "up to 8 mm wide" in swept.basis


def test_a_hand_mix_and_a_bulk_bag_are_printed_as_given() -> None:
    changed = made("hand_mix: {cement: 0.3, sand: 1.5, gravel: 3, bag: 20}, bulk_bag: 500")
    assert "1:1.5:3" in row(changed, "garden wall", "concrete in the footing").basis
    assert "of 20 kg cement" in row(changed, "garden wall", "concrete in the footing").basis
    assert "of 500 kg" in row(changed, "terrace", "compacted stone").basis


def test_a_layers_own_density_comes_before_the_gardens() -> None:
    text = HEAD + """ordering: {materials: {compacted stone: {density: 1.5}}}
build_ups:
  own: {layers: [{material: compacted stone, thickness: 100 mm, density: 2.2}]}
elements:
  drive: {kind: paving, outline: {rectangle: {corner: [1, 1], length: 4, width: 3}}, build_up: own}
"""
    at = loads(text, "own.yaml")
    stone = row(bill([i for p in at.elements for i in p.element.items(p, at)], (), at.ordering), "drive", "compacted")
    assert stone.net == pytest.approx(4 * 3 * 0.1 * 2.2)
    assert "× 2.2 t/m3" in stone.basis


def test_figures_of_a_material_that_nothing_is_ordered_of_are_told() -> None:
    advice = [p for p in made("materials: {mortra: {bag: 20}}").advice if p.code == "unmet-material"]
    assert len(advice) == 1
    assert "mortar" in advice[0].mend
    assert not [p for p in made("materials: {mortar: {bag: 20}}").advice if p.code == "unmet-material"]


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.5, 3), st.floats(2, 12), st.floats(1, 12))
def test_skips_hold_the_most_that_the_spoil_can_bulk(a: float, b: float, mass: float, skip: float, load: float) -> None:
    """Skips x the smaller of room and load hold the loose spoil, and one fewer would not."""
    low, high = min(a, b), max(a, b)
    from pegbook.geometry.quantities.digs import DugFace, Excavation, excavation_items, soil
    from pegbook.geometry.quantities.factors import Factors

    own = Factors(bulking=(low, high), spoil_mass=mass, skip=skip, skip_load=load)
    dug = Excavation(faces=(DugFace(element="a", area=20, depth=0.6),), parts=12)
    last = list(excavation_items(dug, soil("clay", own), factors=own))[-1]
    room, loose = min(skip, load / mass), 12 * (1 + high)
    assert last.order is not None
    assert last.order * room >= loose * (1 - 1e-9)
    assert (last.order - 1) * room < loose
    assert last.order == math.ceil(loose / room - 1e-9)


def test_a_whole_setting_out_takes_them() -> None:
    text = "spoil: {bulking: [10 %, 12 %]}"
    assert any("bulks by 10 to 12 %" in i.basis for i in set_out(garden(text)).bill.items)
