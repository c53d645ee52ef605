"""Stations lead there and back, constructions hold what they state, fitted curves stay close and bend smoothly."""

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.geometry.errors import GeometryError
from pegbook.geometry.kernel import spline
from pegbook.geometry.kernel.construct import (
    arc_by_radius,
    arc_through,
    circle_through,
    oval,
    rectangle,
    rounded_path,
    rounded_polygon,
    tangent_segment,
)
from pegbook.geometry.kernel.fit import ellipse, ellipse_by_biarcs, flowing_loop, flowing_path
from pegbook.geometry.kernel.flatten import points_of, polygon
from pegbook.geometry.kernel.measure import centroid
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.segment import TURN, Arc, Line
from pegbook.geometry.kernel.station import heading_at, point_at, project, stretch
from support.shapes import circle, random_path, with_holes

quick = settings(max_examples=60, deadline=None, derandomize=True, database=None)
PLACES = st.floats(-20, 20).map(lambda v: round(v, 3))


def bends(shape: Path | Loop) -> float:
    """The greatest change of heading at a joint, radians."""
    pairs = list(zip(shape.segments, shape.segments[1:], strict=False))
    if isinstance(shape, Loop):
        pairs.append((shape.segments[-1], shape.segments[0]))
    return max((abs(math.remainder(b.heading(0) - a.heading(1), TURN)) for a, b in pairs), default=0.0)


@quick
@given(st.integers(0, 10_000), st.floats(0, 1), st.floats(-0.25, 0.25))
def test_there_and_back(seed: int, share: float, offset: float) -> None:
    path = random_path(random.Random(seed))
    station = share * path.length
    at = point_at(path, station)
    back = project(path, at)
    assert back.distance < 1e-9
    assert point_at(path, back.station).distance(at) < 1e-9
    beside = at + Vec.polar(heading_at(path, station)).left() * offset
    found = project(path, beside)
    assert found.distance <= abs(offset) + 1e-9
    if abs(found.station - station) < 1e-6 and abs(offset) > 1e-6:
        assert found.offset == pytest.approx(offset, abs=1e-9)


@quick
@given(st.integers(0, 10_000), st.floats(0, 0.5), st.floats(0.51, 0.999))
def test_stretches_have_the_length_between(seed: int, low: float, high: float) -> None:
    path = random_path(random.Random(seed))
    part = stretch(path, low * path.length, high * path.length)
    assert part.length == pytest.approx((high - low) * path.length, abs=1e-6)
    assert stretch(path, high * path.length, low * path.length).start.distance(part.end) < 1e-9
    ring = Loop.circle(Point(1, 2), 3)
    assert stretch(ring, high * ring.length, low * ring.length).length == pytest.approx(
        (1 - high + low) * ring.length, abs=1e-9)


@quick
@given(PLACES, PLACES, PLACES, PLACES, PLACES, PLACES)
def test_three_points(a: float, b: float, c: float, d: float, e: float, f: float) -> None:
    p, q, r = Point(a, b), Point(c, d), Point(e, f)
    try:
        arc = arc_through(p, q, r)
    except GeometryError:
        assert abs((q - p).cross(r - p)) < 1e-4
        return
    assert (arc.start, arc.end) == (p, r)
    slack = 1e-12 * max(1.0, arc.radius) ** 2
    for at in (p, q, r):
        assert at.distance(arc.centre) == pytest.approx(arc.radius, abs=slack)
    assert project(Path((arc,)), q).distance < slack
    assert circle_through(p, q, r).segments[0].length == pytest.approx(TURN * arc.radius)


@quick
@given(PLACES, PLACES, st.floats(1, 3), st.booleans(), st.booleans())
def test_ends_and_radius(x: float, y: float, factor: float, left: bool, large: bool) -> None:
    a, b = Point(0, 0), Point(x, y)
    if a.distance(b) < 1e-3:
        return
    radius = factor * a.distance(b) / 2
    arc = arc_by_radius(a, b, radius, left, large)
    assert (arc.start, arc.end, arc.radius) == (a, b, radius)
    assert (arc.sweep > 0) == left
    assert (abs(arc.sweep) >= math.pi - 1e-7) == large or factor == 1
    with pytest.raises(GeometryError, match="at least"):
        arc_by_radius(a, b, 0.49 * a.distance(b), left)


@quick
@given(PLACES, PLACES, st.floats(-3, 3))
def test_smooth_continuation(x: float, y: float, heading: float) -> None:
    end = Point(x, y)
    turn = abs(math.remainder(end.distance(Point(0, 0)) and (end - Point(0, 0)).heading - heading, TURN))
    if end.distance(Point(0, 0)) < 1e-2 or turn > 3.1:
        return
    piece = tangent_segment(Point(0, 0), heading, end)
    assert piece.end == end
    assert abs(math.remainder(piece.heading(0) - heading, TURN)) < 1e-4
    if isinstance(piece, Arc):
        assert abs(math.remainder(piece.heading(0) - heading, TURN)) < 1e-12
    with pytest.raises(GeometryError, match="behind"):
        tangent_segment(Point(0, 0), heading, Point(0, 0) + Vec.polar(heading, -2))


def test_rounded_shapes() -> None:
    loop = rectangle(Point(1, 1), 8, 5, 0.4, 1.2)
    assert loop.area == pytest.approx(40 - (4 - math.pi) * 1.44, abs=1e-12)
    assert bends(loop) < 1e-12
    assert len(rectangle(Point(0, 0), 8, 4, 0.1, 2).segments) == 4      # both ends one half turn each
    assert rectangle(Point(0, 0), 4, 4, 0.1, 2).is_circle
    assert bends(rounded_path([(Point(0, 0), 0), (Point(5, 0), 1), (Point(7, 5), 2), (Point(12, 5), 0)])) < 1e-12
    with pytest.raises(GeometryError, match=r"need 6\.000 m of a side of 5\.000 m"):
        rectangle(Point(0, 0), 8, 5, 0, 3)
    with pytest.raises(GeometryError, match="three corners"):
        rounded_polygon([(Point(0, 0), 0), (Point(1, 0), 0)])


@pytest.mark.parametrize(("length", "width"), [(12, 8), (3, 5), (10, 1), (2, 1.999), (4, 4)])
def test_ovals_and_ellipses_reach_their_axes(length: float, width: float) -> None:
    for make in (oval, ellipse):
        loop = make(Point(2, 1), length, width, 0.0)
        assert (loop.box.width, loop.box.height) == pytest.approx((length, width), abs=1e-9)
        assert bends(loop) < 1e-12
        at = centroid(loop)
        assert (at.x, at.y) == pytest.approx((2, 1), abs=1e-9)
    if length != width:
        assert len(oval(Point(0, 0), length, width, 0.3).segments) == 4


def strays(loop: Loop, a: float, b: float) -> float:
    t = np.linspace(0, TURN, 400)
    return max(project(loop, Point(x, y)).distance for x, y in zip(a * np.cos(t), b * np.sin(t), strict=True))


@pytest.mark.parametrize(("gap", "arcs"), [(1e-3, 20), (2e-3, 16), (5e-3, 12)])
def test_an_ellipse_of_few_arcs(gap: float, arcs: int) -> None:
    """The fewest known: 20, 16 and 12 for 12 by 8 m."""
    loop = ellipse(Point(0, 0), 12, 8, 0.0, gap)
    assert len(loop.segments) == arcs
    assert strays(loop, 6, 4) <= gap
    assert loop.ellipse is not None
    slower = ellipse_by_biarcs(Point(0, 0), 12, 8, 0.0, gap)
    assert strays(slower, 6, 4) <= gap
    assert bends(slower) < 1e-12


@settings(max_examples=8, deadline=None, derandomize=True, database=None)
@given(st.floats(0.05, 0.98), st.floats(2, 30), st.sampled_from((1e-3, 5e-3)))
def test_ellipses_of_all_sorts(ratio: float, length: float, gap: float) -> None:
    loop = ellipse(Point(0, 0), length, ratio * length, 0.0, gap)
    assert strays(loop, length / 2, ratio * length / 2) <= gap
    assert bends(loop) < 1e-12


@pytest.mark.parametrize("far", [0.0, 5e6])
@pytest.mark.parametrize("seed", range(6))
def test_flowing_curves_stay_close_and_smooth(seed: int, far: float) -> None:
    rng = random.Random(seed)
    points = [Point(far + 3 * k + rng.uniform(-0.8, 0.8), far + rng.uniform(-2, 2)) for k in range(rng.randrange(3, 8))]
    for gap in (1e-3, 5e-3):
        path = flowing_path(points, gap=gap)
        curve = spline.through(np.array([[p.x - points[0].x, p.y - points[0].y] for p in points]), closed=False)
        places, _ = curve.at(np.linspace(0, curve.end, 400))
        stray = max(project(path, Point(points[0].x + x, points[0].y + y)).distance for x, y in places.tolist())
        assert stray <= gap + (2e-9 if far else 0.0)
        assert bends(path) < 1e-12
        assert (path.start, path.end) == (points[0], points[-1])
    ring = flowing_loop([Point(far + 4 * math.cos(k) * rng.uniform(0.8, 1.2), far + 3 * math.sin(k)) for k in range(6)])
    assert bends(ring) < 1e-12


def test_headings_at_the_ends_are_kept() -> None:
    path = flowing_path([Point(0, 0), Point(4, 1), Point(8, 0)], start_heading=math.pi / 2, end_heading=-math.pi / 2)
    assert heading_at(path, 0) == pytest.approx(math.pi / 2, abs=1e-12)
    assert heading_at(path, path.length) == pytest.approx(-math.pi / 2, abs=1e-12)
    assert isinstance(flowing_path([Point(0, 0), Point(4, 4)]).segments[0], Line)
    with pytest.raises(GeometryError, match="two neighbouring points"):
        flowing_loop([Point(0, 0), Point(4, 0), Point(4, 4), Point(0, 0)])


def test_centroids() -> None:
    """A half disc has its centroid 4 r / 3 pi from the centre; a quarter disc the same along both axes (handbooks)."""
    half = Loop.of((Arc.swung(Point(1, 1), 3, 0, math.pi), Line(Point(-2, 1), Point(4, 1))))
    assert centroid(half).y == pytest.approx(1 + 4 * 3 / (3 * math.pi), abs=1e-12)
    ring = Region(Loop.circle(Point(5, 5), 2), (Loop.circle(Point(6, 5), 1),))
    assert centroid(ring).x == pytest.approx((5 * 4 - 6) / 3, abs=1e-12)


def test_chords_keep_their_gap_and_if_asked_the_area() -> None:
    for region in (circle(1, 2, 3), *with_holes(random.Random(1))):
        for gap in (1e-2, 1e-4):
            assert polygon(region, gap, keep_area=True).area == pytest.approx(region.area, abs=1e-10)
            for keep in (False, True):
                corners = points_of(region.outer, gap, keep)
                for p, q in zip(corners, corners[1:] + corners[:1], strict=True):
                    assert project(region.outer, p.toward(q, 0.5)).distance <= gap * 1.0001
                    assert project(region.outer, p).distance <= gap
