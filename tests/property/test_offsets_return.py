"""Offsets: growing twice is growing once, closing and opening keep their sides, edges lie where the distance says."""

import math
import random

import pytest

from pegbook.geometry.kernel.combine import contains, difference, union
from pegbook.geometry.kernel.enclosure import distance_to
from pegbook.geometry.kernel.offset import Corners, band, grown, inset, parallel
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc, Line, Segment
from support import kernel_laws as laws
from support.shapes import area, arrangement_of, box, circle, circles_of, girth
from support.tally import Tally

SEEDS = range(3)
PLAIN = ("general", "grid", "beds_on_a_lawn", "rosette", "with_holes", "concentric")


def edges(regions: tuple[Region, ...]) -> list[Segment]:
    return [s for region in regions for ring in region.rings() for s in ring]


@pytest.mark.parametrize("kind", laws.KINDS)
def test_growing_twice_is_growing_once(kind: str) -> None:
    assert {seed: bad for seed in SEEDS if (bad := laws.broken_offsets(kind, seed))} == {}


@pytest.mark.deep
@pytest.mark.parametrize("kind", laws.KINDS)
def test_growing_twice_at_length(kind: str, monkeypatch: pytest.MonkeyPatch,
                                 capsys: pytest.CaptureFixture[str]) -> None:
    tally = Tally(f"laws of offsets, {kind}")
    tally.counted(monkeypatch)
    tally.run(((kind, seed) for seed in range(50_000, 50_150)), laws.broken_offsets)
    tally.tell(capsys)


@pytest.mark.parametrize("by", [0.31, -0.17])
@pytest.mark.parametrize("kind", PLAIN)
def test_points_are_inside_by_their_distance(kind: str, by: float) -> None:
    """The definition itself, by brute force."""
    rng = random.Random(kind)
    shapes = union(arrangement_of(kind, 1))
    moved = grown(shapes, by)
    around = edges(shapes)
    for _ in range(150):
        point = Point(rng.uniform(-4, 10), rng.uniform(-4, 10))
        apart = distance_to(around, point) * (-1 if contains(shapes, point) else 1)
        if abs(apart - by) > 1e-6:
            assert contains(moved, point) == (apart < by), point


@pytest.mark.parametrize("kind", PLAIN)
def test_every_edge_lies_at_the_distance(kind: str) -> None:
    shapes = union(arrangement_of(kind, 2))
    around = edges(shapes)
    for by in (0.23, -0.11):
        for edge in edges(grown(shapes, by)):
            for share in (0.01, 0.37, 0.99):
                assert distance_to(around, edge.point(share)) == pytest.approx(abs(by), abs=2e-7)


@pytest.mark.parametrize("kind", PLAIN)
def test_arcs_are_the_given_ones_moved(kind: str) -> None:
    """Bit for bit: a given centre and r + d or r - d, or a corner and d."""
    shapes = union(arrangement_of(kind, 3))
    by = 0.173
    corners = {(s.start.x, s.start.y) for s in edges(shapes)}
    given = circles_of(shapes)
    for x, y, r in circles_of(grown(shapes, by)):
        assert (r == by and (x, y) in corners) or any((x, y) == (cx, cy) and r in (cr + by, cr - by)
                                                      for cx, cy, cr in given)


def test_area_grows_by_the_girth() -> None:
    shapes = (box(0, 0, 5, 3, 0.2, 0.7), circle(9, 0, 1.5))
    step = 1e-5
    rate = (area(grown(shapes, step)) - area(inset(shapes, step))) / (2 * step)
    assert rate == pytest.approx(girth(shapes), rel=1e-9)


@pytest.mark.parametrize("by", [0.05, 0.4, 1.7])
def test_convex_shapes_follow_steiner(by: float) -> None:
    """Area of the parallel body of a convex shape: A + L d + pi d2 (Steiner's formula)."""
    for shape in (box(0, 0, 4, 2, 0.3), box(1, 1, 6, 3, 1.0, 0.8), circle(0, 0, 2)):
        want = shape.area + shape.length * by + math.pi * by * by
        assert area(grown((shape,), by)) == pytest.approx(want, abs=1e-11)


def ring_5_2() -> tuple[Region, ...]:
    return difference((circle(0, 0, 5),), (circle(0, 0, 2),))


@pytest.mark.parametrize(("by", "outer", "inner"), [(1, 6, 1), (2, 7, 0), (2.5, 7.5, 0), (-1, 4, 3), (-1.5, 0, 0),
                                                    (-2, 0, 0)])
def test_holes_and_rings_close_when_they_should(by: float, outer: float, inner: float) -> None:
    assert area(grown(ring_5_2(), by)) == pytest.approx(math.pi * (outer**2 - inner**2), abs=1e-10)


@pytest.mark.parametrize("by", [0.15, 0.5, 3, -1, -2, -3, -5])
def test_rounded_rectangle_stays_one(by: float) -> None:
    r = max(0.0, 2 + by)
    want = (20 + 2 * by) * (10 + 2 * by) - (4 - math.pi) * r * r
    assert area(grown((box(0, 0, 20, 10, 0.0, 2),), by)) == pytest.approx(want, abs=1e-10)


def test_circle_shrunk_away_does_not_come_back() -> None:
    assert grown((circle(0, 0, 5),), -5) == ()
    assert grown((circle(0, 0, 1),), -3) == ()


def test_square_corners() -> None:
    square = (box(0, 0, 4, 3),)
    assert area(grown(square, 0.5, Corners.SQUARE)) == pytest.approx(5 * 4, abs=1e-12)
    assert area(grown(square, 0.5)) == pytest.approx(12 + 7 + math.pi / 4, abs=1e-12)
    el = Region(Loop.polygon([Point(0, 0), Point(4, 0), Point(4, 2), Point(2, 2), Point(2, 4), Point(0, 4)]))
    assert area(inset((el,), 0.5, Corners.SQUARE)) == pytest.approx(5.0, abs=1e-12)
    spike = (Region(Loop.polygon([Point(0, 0), Point(10, -0.2), Point(10, 0.2)])),)
    sharp, cut = grown(spike, 0.5, Corners.MITRE(100)), grown(spike, 0.5, Corners.MITRE(2))
    assert sharp[0].box.x0 == pytest.approx(-0.5 / math.sin(math.atan2(0.2, 10)), abs=1e-9)
    assert cut[0].box.x0 == pytest.approx(-0.5, abs=1e-9)       # cut off square at the offset itself


def bend(half: float) -> tuple[Region, ...]:
    there = Path((Line(Point(0, 0), Point(10, 0)), Arc.swung(Point(10, 3), 3, -math.pi / 2, math.pi),
                  Line(Point(10, 6), Point(0, 6))))
    return band(there, 2 * half)


@pytest.mark.parametrize(("half", "want"), [(1, (20 + 3 * math.pi) * 2), (2.9, (20 + 3 * math.pi) * 5.8),
                                            (3.5, 60 + 70 + math.pi * 6.5**2 / 2)])
def test_band_round_a_bend_that_it_fills(half: float, want: float) -> None:
    assert area(bend(half)) == pytest.approx(want, abs=1e-9)


def test_bands_of_a_straight_and_of_a_ring() -> None:
    straight = Path.through([Point(0, 0), Point(10, 0)])
    assert area(band(straight, 4)) == pytest.approx(40, abs=1e-12)
    assert area(band(straight, 4, "round")) == pytest.approx(40 + 4 * math.pi, abs=1e-12)
    ring = band(Loop.circle(Point(2, 1), 3).as_path(), 1)
    assert [len(r.holes) for r in ring] == [1]
    assert area(ring) == pytest.approx(6 * math.pi, abs=1e-12)


def test_parallel_paths_keep_direction_and_side() -> None:
    bent = Path((Line(Point(0, 0), Point(10, 0)), Arc.swung(Point(10, 3), 3, -math.pi / 2, math.pi)))
    left, right = parallel(bent, 1)[0], parallel(bent, -1)[0]
    assert (left.start.y, right.start.y) == (1.0, -1.0)
    assert left.length == pytest.approx(10 + 2 * math.pi, abs=1e-12)
    assert right.length == pytest.approx(10 + 4 * math.pi, abs=1e-12)
    assert left.segments[1].point(0.5) == Point(12.0, 3.0)


def test_open_paths_turn_corners_round_square_or_cut() -> None:
    """Round an open corner: an arc, a point, or a cut at the limit; inside it all meet in one point."""
    bent = Path.through([Point(0, 0), Point(4, 0), Point(4, 3)])
    outside = {name: parallel(bent, -1, corners) for name, corners in (
        ("round", Corners.ROUND), ("square", Corners.SQUARE), ("cut", Corners.MITRE(1.2)))}
    assert [len(found) for found in outside.values()] == [1, 1, 1]
    assert outside["round"][0].length == pytest.approx(7 + math.pi / 2, abs=1e-12)
    assert outside["square"][0].length == pytest.approx(9, abs=1e-12)
    assert list(outside["square"][0].vertices())[1].distance(Point(5, -1)) < 1e-12
    # Cut at the offset itself: two lines of tan(22.5 degrees) each way and the cut of twice that.
    reach = math.tan(math.pi / 8)
    assert outside["cut"][0].length == pytest.approx(7 + 4 * reach, abs=1e-12)
    for corners in (Corners.ROUND, Corners.SQUARE):
        inside = parallel(bent, 1, corners)[0]
        assert inside.length == pytest.approx(5, abs=1e-12)
        assert list(inside.vertices())[1].distance(Point(3, 1)) < 1e-12
    assert area(band(bent, 2, corners=Corners.SQUARE)) == pytest.approx(14, abs=1e-12)
    assert area(band(bent, 2)) == pytest.approx(13 + math.pi / 4, abs=1e-12)
    assert area(band(bent, 2, "round", Corners.SQUARE)) == pytest.approx(14 + math.pi, abs=1e-12)
