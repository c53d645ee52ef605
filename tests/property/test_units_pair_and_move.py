"""Offcuts in pairs, origins to choose from, joints that save cuts, curved courses."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, milp

from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc, Line
from pegbook.geometry.quantities.courses import (
    chain_course,
    chains,
    closing_radius,
    face_radius,
    joints_on_arc,
    least_radius,
    nearest_closing_radius,
    ring,
    tapered,
)
from pegbook.geometry.quantities.cuts import cut_units
from pegbook.geometry.quantities.joint_lines import pattern
from pegbook.geometry.quantities.laying import lay
from pegbook.geometry.quantities.origin import equal_ends, joint_that_fits, measured, offers, turned_offers, turns
from pegbook.geometry.quantities.pairing import Reuse, pair
from pegbook.geometry.quantities.patterns import Bond
from support.areas import disc, polygon, rectangle, unit

R73, CIRCLE = rectangle(7.3, 4.9), disc(2.5)

PAIRED = [
    # region, unit, bond, origin, pieces, units: each its own / straight cuts paired / all paired
    (R73, unit(600, 600, 10), "stack", (0, 0), 20, (20, 14, 14)),
    (R73, unit(600, 600, 10), "stack", (0.3, 0.2), 40, (40, 26, 26)),
    (R73, unit(450, 450, 10), "stretcher", (0, 0), 31, (31, 26, 26)),
    (CIRCLE, unit(600, 600, 10), "stack", (0, 0), 36, (36, 36, 28)),
    (CIRCLE, unit(600, 600, 10), "stack", (0.2, 0.1), 32, (32, 32, 22)),
]


@pytest.mark.parametrize(("shape", "kind", "bond", "origin", "pieces", "units"), PAIRED)
def test_settled_pairs(shape, kind, bond, origin, pieces, units):
    layout = lay(shape, kind, Bond(bond), Point(*origin))
    cuts = cut_units(layout)
    assert len(cuts) == pieces
    assert tuple(pair(cuts, layout, reuse).units for reuse in Reuse) == units


def _own(layout, cut):
    """A piece as a rectangle in its unit's own frame (square cuts only)."""
    box = layout.boxes[cut.number]
    points = np.array(cut.pieces[0].outer.corners) - (box[:2] + box[2:]) / 2
    if box[3] - box[1] > box[2] - box[0]:
        points = np.stack([points[:, 1], -points[:, 0]], axis=1)
    return points


def _fits(a, b, kerf):
    first = shapely.Polygon(a)
    return any(first.distance(shapely.Polygon(sign * b)) >= kerf - 1e-9 for sign in (1, -1))


@pytest.mark.parametrize(("bond", "turn"), [("stretcher", 0), ("herringbone", 0), ("herringbone", 45), ("basket", 0)])
def test_greedy_pairs_are_the_best_pairs_or_one_short(bond, turn):
    """The largest matching of all fitting pairs, by an integer programme (HiGHS), bounds the greedy pairs."""
    layout = lay(rectangle(2.4, 1.6), unit(200, 100, 2), Bond(bond), Point(0.03, 0.02), math.radians(turn))
    cuts = cut_units(layout)
    small = [k for k, c in enumerate(cuts) if len(c.pieces) == 1 and c.area <= 0.75 * layout.unit.area]
    shapes = {k: _own(layout, cuts[k]) for k in small}
    edges = [(a, b) for i, a in enumerate(small) for b in small[i + 1 :] if _fits(shapes[a], shapes[b], 0.003)]
    made = pair(cuts, layout, Reuse.STRAIGHT)
    assert all((min(p), max(p)) in {(min(e), max(e)) for e in edges} for p in made.pairs)
    assert len({k for p in made.pairs for k in p}) == 2 * len(made.pairs)
    rows = np.zeros((len(cuts), len(edges)))
    for e, (a, b) in enumerate(edges):
        rows[a, e] = rows[b, e] = 1
    best = milp(-np.ones(len(edges)), integrality=np.ones(len(edges)), constraints=LinearConstraint(rows, 0, 1))
    assert 0 <= round(-best.fun) - len(made.pairs) <= 1


def test_offers_are_better_by_their_own_measure_and_the_given_stays_first():
    layout = lay(R73, unit(600, 600, 10), Bond(), Point(0, 0))
    found = offers(layout)
    assert found[0].name == "as given"
    assert found[0].layout is layout
    neat = next(o for o in found if o.name == "no small cuts")
    assert neat.score.straight_slivers == 0
    assert neat.score.units == 102
    assert all(o.score == measured(o.layout) for o in found)
    assert [o.words for o in offers(layout)] == [o.words for o in found]


def test_another_turn_is_offered_only_along_an_edge_and_only_if_it_is_better():
    askew = lay(R73, unit(600, 300, 10), Bond("stretcher"), Point(0, 0), math.radians(11))
    found = turned_offers(askew)
    assert found
    for offer in found:
        assert math.degrees(offer.layout.frame.turn) % 90 == pytest.approx(0, abs=1e-6)
        assert offer.score < measured(askew)
    assert turned_offers(lay(CIRCLE, unit(600, 300, 10), Bond("stretcher"), Point(0, 0), 0.2)) == ()


def test_turns_to_try_are_the_long_edges_only():
    shape = polygon((0, 0), (4, 0), (4, 3), (0, 3))
    assert turns(shape, Bond()) == (0.0,)
    assert turns(shape, Bond("herringbone")) == pytest.approx((0.0, math.pi / 4))
    assert turns(CIRCLE, Bond()) == ()


def test_joints_are_tried_before_the_saw():
    """7.3 m takes twelve 600 slabs at 9.1 mm."""
    assert joint_that_fits(7.3, 0.6, (0.008, 0.012)) == (12, pytest.approx(0.1 / 11))
    assert joint_that_fits(7.0, 0.6, (0.008, 0.012)) is None


@given(st.floats(1.3, 20), st.sampled_from([(0.6, 0.01), (0.45, 0.01), (0.2, 0.003)]))
def test_equal_ends_are_about_half_a_unit_or_more(length, size):
    whole, end = equal_ends(length, *size)
    assert whole * size[0] + 2 * end + (whole + 1) * size[1] == pytest.approx(length)
    assert (size[0] - size[1]) / 2 - 1e-9 <= end < size[0] + size[1]


def test_joint_lines_are_those_of_the_units():
    layout = lay(rectangle(6.09, 4.87), unit(600, 600, 10), Bond(), Point(0, 0))
    drawn = pattern(layout, ())
    assert len(drawn.joints) == 9 + 7
    assert sum(p.length for p in drawn.joints) == pytest.approx(9 * 4.87 + 7 * 6.09, abs=1e-6)
    assert len(drawn.courses) == 7


@pytest.mark.parametrize("bond", ["stack", "stretcher", "herringbone", "basket"])
def test_joint_lines_lie_in_the_outline_and_meet_no_unit(bond):
    layout = lay(CIRCLE, unit(200, 100, 6), Bond(bond), Point(0.1, 0), 0.4)
    drawn = pattern(layout, cut_units(layout))
    for path in drawn.joints:
        for share in (0.02, 0.5, 0.98):
            spot = path.segments[0].point(share)
            assert math.hypot(spot.x, spot.y) < 2.5
    c, s = layout.frame.axis
    middles = np.array([(p.segments[0].point(0.37).x - 0.1, p.segments[0].point(0.37).y) for p in drawn.joints])
    x, y = c * middles[:, 0] + s * middles[:, 1], c * middles[:, 1] - s * middles[:, 0]
    b = layout.boxes
    deep = (
        (b[:, 0] + 1e-6 < x[:, None])
        & (x[:, None] < b[:, 2] - 1e-6)
        & (b[:, 1] + 1e-6 < y[:, None])
        & (y[:, None] < b[:, 3] - 1e-6)
    )
    assert not deep.any()


# --- courses on curves ---------------------------------------------------------------------------------------


def test_least_radii_of_blocks_as_a_trade_reference_prints_them():
    """5.1 m and 10.6 m for joints 1 to 5 and 3 to 5 mm, about 2 m for 5 to 15 mm (paving trade reference)."""
    got = [least_radius(0.1, 0.2, joints) for joints in ((0.001, 0.005), (0.003, 0.005), (0.005, 0.015))]
    assert got == pytest.approx([5.05, 10.30, 2.10], abs=0.006)
    assert got == pytest.approx([5.1, 10.6, 2.0], rel=0.06)


@given(st.floats(0.05, 0.6), st.floats(0.05, 0.3), st.floats(0.001, 0.008), st.floats(0.002, 0.01))
def test_least_radius_is_where_both_joints_meet_their_limits(width, depth, low, gap):
    radius = least_radius(width, depth, (low, low + gap))
    # the half pitch that makes the inner joint the least allowed
    t = math.atan(width / (2 * radius)) + math.asin(low / math.hypot(2 * radius, width))
    inside, outside = joints_on_arc(radius, width, depth, t)
    assert inside == pytest.approx(low, abs=1e-9)
    assert outside == pytest.approx(low + gap, abs=1e-9)


@pytest.mark.parametrize(("n", "radius"), [(210, 3.443), (240, 3.949), (300, 4.961)])
def test_rings_close_at_their_radius(n, radius):
    got = closing_radius(n, 0.1, 0.2, 0.006)
    assert got == pytest.approx(radius, abs=5e-4)
    assert sum(joints_on_arc(got, 0.1, 0.2, math.pi / n)) / 2 == pytest.approx(0.006)


@settings(max_examples=60)
@given(st.floats(0.6, 8), st.sampled_from([(0.1, 0.2), (0.2, 0.1), (0.1, 0.1)]))
def test_a_ring_matches_rectangles_built_on_the_circle(radius, size):
    width, depth = size
    course = ring(radius, width, depth, (0.003, 0.012))
    if course is None:
        return
    step = 2 * math.pi / course.units

    def corner(k, along, out):
        c, s = math.cos(k * step), math.sin(k * step)
        return (radius + out) * c - along * s, (radius + out) * s + along * c

    inner = math.dist(corner(0, width / 2, 0), corner(1, -width / 2, 0))
    outer = math.dist(corner(0, width / 2, depth), corner(1, -width / 2, depth))
    assert inner == pytest.approx(course.inside, abs=1e-9)
    assert outer == pytest.approx(course.outside, abs=1e-9)
    assert 0.003 - 1e-9 <= inner <= outer <= 0.012 + 1e-9


def test_what_does_not_close_is_offered_a_radius_or_a_taper():
    assert ring(0.5, 0.1, 0.2, (0.002, 0.005)) is None
    near = nearest_closing_radius(7.001, 0.1, 0.2, (0.002, 0.005))
    assert near is not None
    assert abs(near - 7.001) < 0.02
    units, inside = tapered(0.5, 0.1, 0.2, 0.005)
    assert units == 42
    assert inside == pytest.approx(0.070, abs=5e-4)
    assert face_radius(0.2) == pytest.approx(1.67, abs=5e-3)


def test_a_course_breaks_at_corners_and_runs_through_tangent_joints():
    quarter = Arc.swung(Point(2, 3), 3.0, -math.pi / 2, math.pi / 2)
    path = [Line(Point(0, 0), Point(2, 0)), quarter, Line(Point(5, 3), Point(5, 5))]
    made, corners = chains(path, closed=False)
    assert (len(made), corners) == (1, 0)
    square = [Line(Point(0, 0), Point(2, 0)), Line(Point(2, 0), Point(2, 2)), Line(Point(2, 2), Point(0, 0))]
    made, corners = chains(square, closed=True)
    assert (len(made), corners) == (3, 3)
    course = chain_course(path, 0.2, 0.1, 0.006, (0.003, 0.012))
    assert course.units == round((4 + 1.5 * math.pi + 0.006) / 0.206)
    assert course.fits
    assert not chain_course(path, 0.45, 0.15, 0.006, (0.003, 0.010)).fits
