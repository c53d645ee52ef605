"""Walls, footings and digs: one plan formula for all bonds, strokes for footings, one arrangement for digs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.geometry.errors import GeometryError, ModelError
from pegbook.geometry.features import Dig
from pegbook.geometry.kernel.offset import Corners, band, grown
from pegbook.geometry.kernel.path import Path
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.runs import area_of
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.quantities.bricks import (
    BONDS,
    Brick,
    brick_lengths,
    courses,
    facing_per_m2,
    height_words,
    per_course,
    stretched_joint,
)
from pegbook.geometry.quantities.digs import battered_volume, excavation, excavation_items, soil
from pegbook.geometry.quantities.footings import footing_outline
from pegbook.geometry.quantities.ordering import Choices
from pegbook.geometry.quantities.walls import (
    Opening,
    WallPlan,
    brick_count,
    coping_items,
    coping_runs,
    damp_proof_item,
    wall_advice,
    wall_items,
)
from support.areas import disc, line, rectangle

UK = Brick(length=0.215, width=0.1025, height=0.065, joint=0.010)


def _wall(centre: Path, thickness: float, height: float, **more: object) -> WallPlan:
    plan = band(centre, thickness, corners=Corners.SQUARE)
    return WallPlan(element="wall", centre=centre, plan=plan, thickness=thickness, height=height, **more)  # type: ignore[arg-type]


def test_a_corner_of_a_half_brick_wall_is_counted_once():
    """Two legs of 890 mm outside, half a brick thick: 7.5 bricks a course, as laid (4 and 3.5, then 3.5 and 4)."""
    centre = line((0, 0), (0.890 - 0.05125, 0), (0.890 - 0.05125, 0.890 - 0.05125))
    plan = band(centre, 0.1025, corners=Corners.SQUARE)
    assert per_course(area_of(grown(plan, 0.005, Corners.SQUARE)), UK) == pytest.approx(7.5, abs=1e-9)


@pytest.mark.parametrize("quarters", range(8, 81, 7))
def test_bricks_placed_one_by_one_agree_with_the_plan_formula(quarters):
    """A half-brick wall of whole quarter modules: bricks and bats laid course by course, equivalents by length."""
    module = 0.225
    length = quarters * module / 4 - 0.010
    laid = 0.0
    for start in (0.0, 0.5):
        left, at = quarters / 4, 0.0
        first = start or 1.0
        while left - at > 1e-9:
            size = min(first if at == 0.0 else 1.0, left - at)
            laid += size
            at += size
    plan = rectangle(length, 0.1025)
    assert per_course(area_of(grown(plan, 0.005, Corners.SQUARE)), UK) == pytest.approx(laid / 2, abs=1e-9)


def test_a_pier_bonded_into_a_wall_costs_its_cells():
    """One-brick pier on a half-brick wall: one brick more a course, 13.33 a metre (a page prints 14)."""
    from pegbook.geometry.kernel.combine import union

    plain = _wall(line((0, 0), (3.59, 0)), 0.1025, 1.0)
    pier = rectangle(0.215, 0.215, 1.35, -0.05125)
    whole = WallPlan(
        element="wall", centre=plain.centre, plan=union((*plain.plan, *pier)), thickness=0.1025, height=1.0
    )
    extra = brick_count(whole, UK) - brick_count(plain, UK)
    # the grown pier stands 112.5 mm out of the grown wall, 225 wide: one cell a course
    assert extra / (1.01 / 0.075) == pytest.approx(1.0, abs=1e-9)
    assert 1 / UK.course == pytest.approx(13.33, abs=0.01)


@given(st.floats(0.3, 1.2), st.floats(0.3, 2.0), st.floats(0, 0.5))
def test_openings_are_taken_off_exactly(width, height, sill):
    wall = _wall(line((0, 0), (5, 0)), 0.215, 1.2)
    holed = _wall(line((0, 0), (5, 0)), 0.215, 1.2, openings=(Opening(width=width, height=height, sill=sill),))
    gone = max(0.0, width - 0.01) * 0.225 / UK.cell * max(0.0, min(sill + height, 1.2) - sill) / UK.course
    assert brick_count(wall, UK) - brick_count(holed, UK) == pytest.approx(gone, abs=1e-9)


def test_a_curved_wall_is_counted_by_its_band():
    centre = Path((Arc.swung(Point(0, 0), 4.0, 0.0, math.pi / 2),))
    wall = _wall(centre, 0.1025, 0.75)
    by_hand = (centre.length + 0.01) * 0.1125 / UK.cell * courses(0.75, UK)
    assert brick_count(wall, UK) == pytest.approx(by_hand, rel=1e-9)


def test_mortar_of_half_brickwork_is_about_a_sixtieth_of_a_cubic_metre_to_the_square_metre():
    """0.0176 m3/m2 for 215 x 102.5 x 65 with 10 mm joints, by geometry."""
    wall = _wall(line((0, 0), (22.49, 0)), 0.1025, 7.49)
    mortar = next(i for i in wall_items(wall, UK, "stretcher", Choices()) if i.item == "mortar")
    assert mortar.net / (22.49 * 7.49) == pytest.approx(0.0176, abs=2e-4)


def test_masonry_in_the_ground_is_ordered_and_not_faced():
    bare, footed = _wall(line((0, 0), (5, 0)), 0.215, 0.89), _wall(line((0, 0), (5, 0)), 0.215, 0.89, below=0.15)
    assert brick_count(footed, UK) / brick_count(bare, UK) == pytest.approx((0.89 + 0.15 + 0.01) / 0.90)
    first, second = (
        next(i.net for i in wall_items(w, UK, "English", Choices()) if "facing" in i.item) for w in (bare, footed)
    )
    assert first == pytest.approx(second)


@pytest.mark.parametrize("bond", BONDS)
def test_facing_and_total_bricks_are_both_told(bond):
    wall = _wall(line((0, 0), (4.49, 0)), 0.215, 0.89)
    rows = {i.item: i for i in wall_items(wall, UK, bond, Choices())}
    facing = rows["facing bricks, one face"]
    assert facing.net == pytest.approx(4.49 * 0.89 * facing_per_m2(UK, bond))
    assert facing.order is None


def test_lengths_that_need_no_cut():
    """CO - j, CO + j and CO from half modules of 112.5 mm (brick dimension tables)."""
    assert brick_lengths(1.0, UK, "out") == pytest.approx((0.890, 1.0025))
    assert brick_lengths(1.0, UK, "in")[0] == pytest.approx(0.910)
    assert brick_lengths(1.0, UK, "mixed")[0] == pytest.approx(0.900)
    assert stretched_joint(2.69, UK) == pytest.approx(0.010)
    assert stretched_joint(1.05, UK) is None


def test_heights_over_the_tables_are_cautioned():
    assert height_words(0.215, 1.0) == ""
    assert "wind zone" in height_words(0.215, 1.5)
    assert "engineer" in height_words(0.215, 1.95)
    assert "engineer" in height_words(0.215, 2.4)
    assert "wind zone" in height_words(0.1025, 0.6)
    wall = _wall(line((0, 0), (5, 0)), 0.215, 1.9)
    assert "wall-height" in {p.code for p in wall_advice(wall, UK)}


def test_a_wall_thinner_than_its_unit_is_refused():
    with pytest.raises(GeometryError) as refused:
        brick_count(_wall(line((0, 0), (2, 0)), 0.09, 1.0), UK)
    assert refused.value.problems[0].code == "wall-too-thin"


def test_copings_and_damp_proof_course_follow_the_line():
    wall = _wall(line((0, 0), (3.0, 0), (3.0, 2.0)), 0.215, 0.9)
    assert (wall.corners, wall.closed, wall.ends) == (1, False, 2)
    ring = _wall(line((0, 0), (3.0, 0), (3.0, 2.0), (0, 0)), 0.215, 0.9)
    assert (ring.corners, ring.closed, ring.ends) == (3, True, 0)
    coping = next(iter(coping_items(wall, 0.6, 0.010, 0.03, Choices())))
    # 3.000 + 0.030 + 0.1375 and 2.000 + 0.030 + 0.1375: the corner is the long side of its mitre
    assert coping_runs(wall, 0.03) == pytest.approx((3.1675, 2.1675))
    assert coping.net == 6 + 4
    assert coping_runs(ring, 0.0)[0] == pytest.approx(3.0 + 0.1075 * (1 + math.tan((math.pi - math.atan2(2, 3)) / 2)))
    assert "2 mitre cuts" in coping.basis
    course = damp_proof_item(wall)
    assert course.net == pytest.approx(5.0)
    assert course.gross == pytest.approx(5.15)


# --- footings --------------------------------------------------------------------------------------------------


@given(st.lists(st.floats(0.4, 1.0), min_size=3, max_size=8), st.floats(0.1, 0.5))
def test_a_closed_mitred_stroke_is_length_by_width(radii, width):
    n = len(radii)
    corners = [(4 * math.cos(2 * math.pi * k / n), 4 * math.sin(2 * math.pi * k / n)) for k in range(n)]
    ring = line(*corners, corners[0])
    assert area_of(band(ring, width, corners=Corners.MITRE(4.0))) == pytest.approx(ring.length * width, rel=1e-9)


@given(st.floats(0.4, math.pi / 2), st.floats(0.2, 0.6), st.floats(0.2, 0.6))
def test_tees_overlap_by_half_the_parallelogram(angle, main, stem):
    """Stem ending on the main centre line: a b / (2 sin g), of which the half-width rule is the square case."""
    from pegbook.geometry.kernel.combine import union

    a = band(line((-6, 0), (6, 0)), main, corners=Corners.SQUARE)
    # a stem long enough that its flat end lies wholly inside the main stroke only when square; so run it through
    far = 5.0
    b = band(
        line((-far * math.cos(angle), -far * math.sin(angle)), (far * math.cos(angle), far * math.sin(angle))),
        stem,
        corners=Corners.SQUARE,
    )
    overlap = area_of(a) + area_of(b) - area_of(union((*a, *b)))
    assert overlap == pytest.approx(main * stem / math.sin(angle), rel=1e-8)


def test_footings_run_out_beyond_free_ends_and_round_piers():
    centre = line((0, 0), (4, 0))
    strip = footing_outline(centre, 0.6, closed=False, thickness=0.2)
    assert area_of(strip) == pytest.approx(4.4 * 0.6)
    pier = rectangle(0.4, 0.4, 1.8, -0.2)
    assert area_of(footing_outline(centre, 0.6, closed=False, thickness=0.2, piers=pier)) == pytest.approx(
        4.4 * 0.6 + 0.8 * 0.2
    )
    with pytest.raises(GeometryError):
        footing_outline(centre, 0.15, closed=False, thickness=0.2)


def test_a_tight_bend_is_not_overcounted():
    """U bend of radius 0.2 under a footing 0.6 wide: the centre line by the width counts ground twice."""
    bend = Arc.swung(Point(0, 0), 0.2, 0.0, math.pi)
    from pegbook.geometry.kernel.segment import Line

    path = Path((Line(Point(0.2, -2), Point(0.2, 0)), bend, Line(Point(-0.2, 0), Point(-0.2, -2))))
    area = area_of(band(path, 0.6, corners=Corners.SQUARE))
    assert area < path.length * 0.6 - 0.3


# --- digs ------------------------------------------------------------------------------------------------------

DIGS = (
    Dig(element="terrace", outline=rectangle(5, 3), depth=0.2),
    Dig(element="path", outline=rectangle(1, 6, 4.5, 1), depth=0.15),
    Dig(element="pool", outline=disc(1.0, 5, 3), depth=0.6),
)


def test_overlaps_are_dug_once_and_go_to_the_deepest():
    dug = excavation(DIGS)
    parts = dug.by_element()
    assert parts["pool"][1] == pytest.approx(math.pi * 0.6)
    assert dug.volume == pytest.approx(sum(v for _, v in parts.values()))
    assert max(area_of(d.outline) * d.depth for d in DIGS) <= dug.volume <= dug.parts
    turned = excavation(DIGS[::-1])
    assert turned.volume == pytest.approx(dug.volume)
    assert turned.by_element()["terrace"] == pytest.approx(parts["terrace"])


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 5), st.floats(0, 5), st.floats(0.3, 2), st.floats(0.1, 0.9)), min_size=1, max_size=5
    )
)
def test_the_dig_lies_between_its_largest_part_and_their_sum(discs):
    digs = [Dig(element=f"e{k}", outline=disc(r, x, y), depth=d) for k, (x, y, r, d) in enumerate(discs)]
    dug = excavation(digs)
    parts = [area_of(d.outline) * d.depth for d in digs]
    assert max(parts) - 1e-7 <= dug.volume <= sum(parts) + 1e-7
    assert dug.stripped(0.1) + sum(v for _, v in dug.by_element(0.1).values()) == pytest.approx(dug.volume, abs=1e-9)


@given(st.floats(0.3, 3), st.floats(0.2, 2), st.floats(0.1, 1.0))
def test_battered_sides_are_a_truncated_cone(radius, depth, run):
    """Volume of a frustum: pi d (r^2 + r R + R^2) / 3."""
    wide = radius + run
    cone = math.pi * depth * (radius**2 + radius * wide + wide**2) / 3
    assert battered_volume(disc(radius), depth, run) == pytest.approx(cone, rel=1e-9)


def test_spoil_is_a_range_and_skips_go_by_mass():
    rows = {i.item: i for i in excavation_items(excavation(DIGS), soil("clay"))}
    away = rows["spoil to take away"]
    assert "30 to 60 %" in away.basis
    assert away.order == math.ceil(away.net * 1.6 / (8 / 1.6) - 1e-9)
    with pytest.raises(ModelError) as refused:
        soil("comon earth")
    assert "common earth" in refused.value.problems[0].mend
