"""Outlines that meet themselves are refused with the place; results that cannot be trusted too."""

import random

import pytest

from pegbook.geometry.errors import GeometryError
from pegbook.geometry.kernel import arrange, planar, winding
from pegbook.geometry.kernel.combine import difference, union
from pegbook.geometry.kernel.construct import oval, rectangle
from pegbook.geometry.kernel.fit import ellipse, flowing_loop
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.simple import check, check_region, crossing_points
from support.kernel_laws import broken
from support.shapes import box, circle, general


def through(*places: tuple[float, float]) -> Loop:
    return Loop.polygon([Point(*p) for p in places])


def test_a_figure_of_eight_names_its_crossing() -> None:
    with pytest.raises(GeometryError, match=r"meets itself at \(1\.667, 1\.111\)") as caught:
        check(through((0, 0), (3, 2), (3, 0), (0, 2.5)))
    assert caught.value.problems[0].code == "self-crossing"


@pytest.mark.parametrize(("loop", "places"), [
    (through((0, 0), (4, 0), (4, 4), (2, 0), (0, 4)), [(2, 0)]),                    # a corner on a side
    (through((0, 0), (4, 0), (4, 4), (6, 4), (4, 4), (0, 4)), [(4, 4), (6, 4)]),    # a spike, out and back
    (through((0, 0), (4, 0), (4, 4), (0, 0), (-4, 1), (-4, 4)), [(0, 0)]),          # a point used twice
    (flowing_loop([Point(0, 0), Point(4, 4), Point(4, 0), Point(0, 4)]), None),
])
def test_where_outlines_meet_themselves(loop: Loop, places: list[tuple[float, float]] | None) -> None:
    found = [(p.x, p.y) for p in crossing_points(loop)]
    assert found
    if places:
        assert sorted(found) == sorted(places)


@pytest.mark.parametrize("loop", [rectangle(Point(0, 0), 3, 2, 0.3, 1), Loop.circle(Point(0, 0), 1),
                                  oval(Point(0, 0), 4, 2, 0), ellipse(Point(3, 3), 9, 4, 1),
                                  through((0, 0), (2, 0), (4, 0), (4, 4), (0, 4))])
def test_plain_outlines_pass(loop: Loop) -> None:
    check(loop)


def test_holes_belong_inside_and_apart() -> None:
    outer = rectangle(Point(0, 0), 10, 6, 0)
    check_region(Region(outer, (Loop.circle(Point(2, 3), 1), Loop.circle(Point(6, 3), 1))))
    for holes in ((Loop.circle(Point(0, 3), 1),), (Loop.circle(Point(3, 3), 1), Loop.circle(Point(4, 3), 1))):
        with pytest.raises(GeometryError, match="a hole at"):
            check_region(Region(outer, holes))


def test_doubt_is_tried_again_and_then_refused_with_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """A contradiction in the map is never turned into a result."""
    tried: list[float] = []
    sound = arrange.labelled

    def doubting(edges: object, map_: object, table: object) -> winding.Labels:
        tried.append(1.0)
        if len(tried) < refusals:
            raise winding.UncertainError("made up", [0])
        return sound(edges, map_, table)  # type: ignore[arg-type]

    monkeypatch.setattr(arrange, "labelled", doubting)
    refusals = 3
    assert difference([circle(0, 0, 2)], [box(0, 0, 3, 3)]) != ()
    assert len(tried) == 3
    tried.clear()
    refusals = 99
    with pytest.raises(GeometryError, match=r"with certainty near \(-?\d") as caught:
        union([circle(0, 0, 2), box(0, 0, 3, 3)])
    assert caught.value.problems[0].code == "uncertain"
    assert len(tried) == len(arrange.LADDER)


@pytest.mark.parametrize("rows", [0, 1000])
@pytest.mark.parametrize("harm", ["swap two sides", "lose an edge's count"])
def test_the_certificate_sees_harm(harm: str, rows: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Damage to the map is noticed, whatever it is, by the way for few rows and by the way for many."""
    shapes = general(random.Random(5))
    monkeypatch.setattr(arrange, "FEW_ROWS", rows)
    sound = arrange.few_map if rows else arrange.planar_map

    def harmed(edges: object, table: object, eps: float) -> object:
        map_ = sound(edges, table, eps)  # type: ignore[arg-type]
        if harm == "swap two sides":
            k = next(k for k in range(len(map_.cycle)) if map_.cycle[k] != map_.cycle[k ^ 1])
            map_.cycle[k], map_.cycle[k ^ 1] = map_.cycle[k ^ 1], map_.cycle[k]
            map_.cycles[map_.cycle[k]].append(k)
        else:
            object.__setattr__(edges, "deltas", (((0, 3),), *edges.deltas[1:]))  # type: ignore[attr-defined]
        return map_

    monkeypatch.setattr(arrange, "few_map" if rows else "planar_map", harmed)
    with pytest.raises(GeometryError):
        union(shapes)


def test_without_care_at_touching_edges_nothing_wrong_gets_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Edges sorted by direction alone go wrong where circles touch: Euler and the areas of faces notice every time."""
    monkeypatch.setattr(planar, "TIE", -1.0)
    monkeypatch.setattr(planar, "MOST_DOUBT", -1.0)
    refused = 0
    for seed in range(25):
        try:
            assert broken("rosette", seed) == []
        except GeometryError:
            refused += 1
    assert refused > 0
