"""Odd beds and odd lists are planted or answered in words, never by a crash; all forms of planting mix in one bed."""

import math

import pytest

from pegbook.geometry.errors import ModelError
from pegbook.geometry.kernel.construct import rectangle
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.planting.mix import BedInput, MixEntry, Row, Stem
from pegbook.geometry.planting.plan import plant_bed
from pegbook.geometry.planting.plants import Plant, SpacingForm
from support.beds import mixed_border, plant, straight_bed
from support.planting_laws import broken_laws, share_error

THREE = [plant("a", 0.3), plant("b", 0.35), plant("c", 0.4)]


def thirds(groups: int = 2) -> list[MixEntry]:
    return [MixEntry(plant=name, groups=groups, share=1 / 3 - 1e-12) for name in "abc"]


def bed_of(loop: Loop, mix: list[MixEntry], plants: list[Plant], holes: tuple[Loop, ...] = ()) -> BedInput:
    return BedInput(name="odd", regions=(Region(loop, holes),), mix=tuple(mix), plants={p.name: p for p in plants})


ODD = {
    "a strip of 0.3 m": straight_bed(4, 0.3, thirds(1), THREE),
    "a circle": bed_of(Loop.circle(Point(3, 3), 2.0), thirds(), THREE),
    "a ring": bed_of(Loop.circle(Point(3, 3), 2.5), thirds(), THREE, (Loop.circle(Point(3, 3), 1.2),)),
    "a square": bed_of(rectangle(Point(0, 0), 3, 3, 0.3), thirds(), THREE),
    "a thin triangle": bed_of(Loop.polygon([Point(0, 0), Point(8, 0), Point(8, 1)]), thirds(1), THREE),
    "a hole that touches the edge": straight_bed(8, 4, thirds(), THREE, holes=(Loop.circle(Point(4, 1.2), 1.2),)),
    "a hole 2 mm from the edge": straight_bed(8, 4, thirds(), THREE, holes=(Loop.circle(Point(4, 1.202), 1.2),)),
    "necks on both sides": straight_bed(8, 2.5, thirds(), THREE, holes=(Loop.circle(Point(4, 1.25), 1.23),)),
    "one kind": straight_bed(5, 2, [MixEntry(plant="a", share=1.0)], THREE),
    "one kind in three groups": straight_bed(5, 2, [MixEntry(plant="a", groups=3, share=1.0)], THREE),
    "twenty groups in 2 m2": straight_bed(2, 1, [*thirds(6), MixEntry(plant="a", groups=2, share=1e-12)], THREE),
    "a share of 0.1 %": straight_bed(6, 2, [MixEntry(plant="a", share=0.001), MixEntry(plant="b", share=0.999)], THREE),
    "a plant larger than the bed": straight_bed(1, 0.5, [MixEntry(plant="big", share=1.0)], [plant("big", 3.0)]),
    "shares of 60 %": straight_bed(6, 2, [MixEntry(plant="a", share=0.3), MixEntry(plant="b", share=0.3)], THREE),
}


@pytest.mark.parametrize("name", ODD)
def test_odd_beds(name: str) -> None:
    planted = plant_bed(ODD[name])
    assert broken_laws(planted) == []
    if share_error(planted) > 0.05:
        assert any(m.code in {"share-missed", "group-lost"} for m in planted.messages)


def test_what_cannot_be_read_is_refused() -> None:
    with pytest.raises(ModelError, match="add up to 120"):
        straight_bed(5, 2, [MixEntry(plant="a", share=0.6), MixEntry(plant="b", share=0.6)], THREE)
    with pytest.raises(ModelError, match="not known"):
        straight_bed(5, 2, [MixEntry(plant="z", share=0.6)], THREE)
    with pytest.raises(ModelError, match="say once"):
        MixEntry(plant="a", share=0.5, at=(Point(0, 0),))
    with pytest.raises(ModelError, match="say once"):
        MixEntry(plant="a", at=(Point(0, 0),), through=("b",))
    for share in (0.0, -0.1, 1.5, math.nan):
        with pytest.raises(ModelError):
            MixEntry(plant="a", share=share)
    for spacing in (0.0, -1.0, math.nan, 100.0):
        with pytest.raises(ModelError):
            plant("a", spacing)


def test_a_missing_share_is_told() -> None:
    planted = plant_bed(ODD["shares of 60 %"])
    assert [m.code for m in planted.messages] == ["shares-under"]
    assert {g.plant.name: g.area for g in planted.groups} == pytest.approx({"a": 6.0, "b": 6.0}, rel=1e-3)


def test_small_groups_are_told_with_how_many_would_fit() -> None:
    planted = plant_bed(straight_bed(4, 1.5, [MixEntry(plant="wide", groups=5, share=0.5),
                                              MixEntry(plant="b", groups=2, share=0.5)], [plant("wide", 0.6), *THREE]))
    words = [m for m in planted.messages if m.code in {"few-plants", "thin-group"}]
    assert words
    assert all("ask for 1 group of it at most" in m.mend for m in words if "wide" in m.what)


def test_rows_are_kept() -> None:
    planted = plant_bed(mixed_border())
    rows = {e.plant: e.row for e in planted.bed.mix}
    for row, front in ((Row.FRONT, True), (Row.BACK, False)):
        places = [g.across for g in planted.groups if rows[g.plant.name] is row]
        assert all((p < 0.5) == front for p in places), places


def test_low_kinds_stand_before_tall_ones() -> None:
    """Without rows, heights order the strips: the mean height of the front third is under that of the back third."""
    mix = [MixEntry(plant=e.plant, groups=e.groups, share=e.share) for e in mixed_border().mix]
    bed = straight_bed(12, 2.4, mix, list(mixed_border().plants.values()))
    groups = plant_bed(bed).groups
    front = [g.plant.height for g in groups if g.across < 1 / 3]
    back = [g.plant.height for g in groups if g.across > 2 / 3]
    assert sum(front) / len(front) < sum(back) / len(back)


def test_an_island_has_its_back_in_the_middle() -> None:
    loop = Loop.polygon([Point(4 * math.cos(t / 36 * math.pi), 2.5 * math.sin(t / 36 * math.pi)) for t in range(72)])
    mix = [MixEntry(plant="a", groups=4, share=0.5, row=Row.FRONT),
           MixEntry(plant="b", groups=2, share=0.3, row=Row.BACK),
           MixEntry(plant="c", groups=2, share=0.2, row=Row.FRONT)]
    planted = plant_bed(bed_of(loop, mix, THREE))
    assert planted.island
    inner = [abs(g.across - 0.5) for g in planted.groups if g.plant.name == "b"]
    outer = [abs(g.across - 0.5) for g in planted.groups if g.plant.name != "b"]
    assert max(inner) < sum(outer) / len(outer)


def test_single_plants_stems_drawn_groups_and_bulbs_mix() -> None:
    box, bulb = plant("box ball", 0.9), plant("squill", 0.1)
    drawn = Region(Loop.polygon([Point(6, -0.5), Point(9, -0.5), Point(9, 1.2), Point(6, 1.0)]))
    mix = [*thirds(), MixEntry(plant="box ball", at=(Point(2.0, 1.2), Point(11.7, 0.3))),
           MixEntry(plant="b", outlines=(drawn,)), MixEntry(plant="squill", through=("a", "b"), share=0.1)]
    bed = straight_bed(12, 2.4, mix, [*THREE, box, bulb], stems=(Stem(Point(5.0, 1.3)),))
    planted = plant_bed(bed)
    assert broken_laws(planted) == []
    assert share_error(planted) <= 0.02
    hand = [g for g in planted.groups if g.by_hand]
    assert [g.plant.name for g in hand] == ["b"]
    assert hand[0].area == pytest.approx(3.0 * 1.1, rel=1e-9)          # cut to the bed: from y 0 up to 1.0 and 1.2
    holes = math.pi * (0.45**2 + 0.30**2)                               # the box ball and the stem well inside
    assert sum(g.area for g in planted.groups) == pytest.approx(12 * 2.4 - holes, rel=1e-9)
    (scatter,) = planted.scatters
    assert len(scatter.points) == scatter.asked > 20
    others = [p for g in planted.groups for p in g.points]
    assert min(p.distance(q) for p in scatter.points for q in others) >= 0.05 - 1e-3
    stem = min(p.distance(Point(5.0, 1.3)) - g.spacing / 2 for g in planted.groups for p in g.points)
    assert stem >= 0.30 - 1e-3


def test_a_single_plant_outside_or_too_near_is_told() -> None:
    mix = [*thirds(), MixEntry(plant="a", at=(Point(20, 1), Point(3, 1), Point(3.1, 1)))]
    planted = plant_bed(straight_bed(6, 2, mix, THREE))
    assert {"single-outside", "singles-near"} <= {m.code for m in planted.messages}


def test_a_bed_in_two_pieces_keeps_its_shares() -> None:
    pieces = (Region(rectangle(Point(0, 0), 6, 2, 0)), Region(rectangle(Point(8, 0), 4, 1.5, 0)))
    bed = BedInput(name="two", regions=pieces, mix=tuple(thirds(3)), plants={p.name: p for p in THREE},
                   back=(Path.through([Point(0, 2), Point(6, 2)]),))
    planted = plant_bed(bed)
    assert broken_laws(planted) == []
    assert share_error(planted) <= 0.02
    assert sum(g.joined for g in planted.groups) == 9


@pytest.mark.parametrize("form", SpacingForm)
def test_every_form_of_spacing_keeps_the_laws(form: SpacingForm) -> None:
    planted = plant_bed(straight_bed(8, 2, thirds(), THREE, form=form))
    assert broken_laws(planted) == []
    assert all(len(g.points) > 3 for g in planted.groups)


def test_like_groups_that_touch_are_joined_under_one_label() -> None:
    planted = plant_bed(straight_bed(5, 2, [MixEntry(plant="a", groups=3, share=1.0)], THREE))
    (group,) = planted.groups
    assert group.joined == 3
    assert [label.text for label in planted.labels] == [f"{len(group.points)} a"]
    assert "groups-joined" in {m.code for m in planted.messages}
