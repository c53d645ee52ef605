"""Areas that a formula gives: lens, segment, crescent, ring, and shapes that touch."""

import math

import pytest

from pegbook.geometry.kernel.combine import common, contains, difference, union
from pegbook.geometry.kernel.path import Region
from pegbook.geometry.kernel.point import Point
from support.shapes import area, box, circle, count


def lens(r: float, s: float, d: float) -> float:
    """Common area of two circles (handbook formula, from memory)."""
    one = r * r * math.acos((d * d + r * r - s * s) / (2 * d * r))
    two = s * s * math.acos((d * d + s * s - r * r) / (2 * d * s))
    return one + two - math.sqrt((-d + r + s) * (d + r - s) * (d - r + s) * (d + r + s)) / 2


@pytest.mark.parametrize(("r", "s", "d"), [(1, 1, 1), (3, 2, 1.5), (3, 2, 4.9), (5, 1, 4.2)])
def test_two_circles(r: float, s: float, d: float) -> None:
    a, b = circle(0.3, -0.2, r), circle(0.3 + d * 0.28, -0.2 + d * 0.96, s)
    want = lens(r, s, d)
    assert area(common([a], [b])) == pytest.approx(want, abs=2e-14 * 25 * r)
    assert area(union([a, b])) == pytest.approx(math.pi * (r * r + s * s) - want, abs=1e-12)
    assert area(difference([a], [b])) == pytest.approx(math.pi * r * r - want, abs=1e-12)


@pytest.mark.parametrize("h", [-1.5, 0.0, 0.4, 1.9])
def test_circle_cut_by_a_line(h: float) -> None:
    """A segment's area is r2 acos(h/r) - h sqrt(r2 - h2)."""
    want = 4 * math.acos(h / 2) - h * math.sqrt(4 - h * h)
    assert area(common([circle(0, 0, 2)], [box(h, -5, 10, 10)])) == pytest.approx(want, abs=1e-13)


def test_circles_that_touch() -> None:
    outside = union([circle(0, 0, 1), circle(3, 0, 2)])
    assert (len(outside), area(outside)) == (2, pytest.approx(5 * math.pi, abs=1e-12))
    assert common([circle(0, 0, 1)], [circle(3, 0, 2)]) == ()
    for turn in (0.0, 0.7, 2.9):    # the circle inside touches the edge: a crescent that is closed by one point
        x, y = math.cos(turn), math.sin(turn)
        crescent = difference([circle(0, 0, 2)], [circle(x, y, 1)])
        assert [len(region.holes) for region in crescent] == [1]
        assert area(crescent) == pytest.approx(3 * math.pi, abs=1e-12)


def test_circle_on_a_line() -> None:
    for turn in (0.0, 0.3, 1.1):
        ground = box(-5 * math.cos(turn), -5 * math.sin(turn), 10, 3, turn)
        x, y = math.sin(turn), -math.cos(turn)
        assert common([ground], [circle(x, y, 1)]) == ()
        assert len(union([ground, circle(x, y, 1)])) == 2


def test_the_same_twice() -> None:
    for shape in (circle(1, 2, 3), box(0, 0, 3, 2, 0.4, 0.5)):
        assert union([shape, shape]) == union([shape])
        assert common([shape], [shape]) == union([shape])
        assert difference([shape], [shape]) == ()


def test_a_given_shape_comes_back_itself() -> None:
    for shape in (circle(1, 2, 3), box(0, 0, 3, 2, 0.4, 0.5)):
        assert union([shape]) == (shape,)
        assert difference([shape], [circle(50, 50, 1)]) == (shape,)


def test_nothing_from_nothing() -> None:
    assert union([]) == ()
    assert difference([], [circle(0, 0, 1)]) == ()
    assert common([circle(0, 0, 1)], []) == ()


def test_a_cut_lawn_keeps_its_circle() -> None:
    cut = difference([circle(8, 5, 3)], [box(9, 4, 5, 2)])
    assert count(cut) == 4
    (arc,) = [s for s in cut[0].outer.segments if hasattr(s, "centre")]
    assert (arc.centre, arc.radius) == (Point(8, 5), 3)


def test_inside_or_not() -> None:
    ring = difference([circle(0, 0, 3)], [circle(0, 0, 1)])
    for x, want in ((0.0, False), (0.999, False), (1.0, True), (2.0, True), (3.0, True), (3.001, False)):
        assert contains(ring, Point(x, 0.0)) == want
    assert isinstance(ring[0], Region)
