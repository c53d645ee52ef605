"""Cutting lists, decks, fences, steps, loose materials, hedges, breakage."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.geometry.errors import GeometryError, ModelError
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.runs import area_of
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.quantities.bill import bill
from pegbook.geometry.quantities.build_ups import BuildUp, Edge, Extent, Layer, outlines, supplied
from pegbook.geometry.quantities.decking import boards, crossings, deck_items, deck_pattern, deck_rows, planned
from pegbook.geometry.quantities.flights import flight, solid_volume, step_advice, step_items
from pegbook.geometry.quantities.layers import build_up_items, dig_of, section_layers
from pegbook.geometry.quantities.materials import material, material_of, volume_item
from pegbook.geometry.quantities.ordering import Breaks, Choices, extra_for_breakage
from pegbook.geometry.quantities.rows import chord_of, equal_bays, outer_length, panel_stations, panels_between
from pegbook.geometry.quantities.soft import Kerb, course_items, edging_items, hedge_plants, spread_item, turf_item
from pegbook.geometry.quantities.stock import cutting_list
from support.areas import disc, line, rectangle

STOCK = (3.0, 3.6, 4.2, 4.8)

# --- stock -----------------------------------------------------------------------------------------------------


@given(st.lists(st.floats(0.2, 4.8), min_size=1, max_size=60), st.floats(0, 0.01))
def test_every_piece_is_in_one_bar_and_every_bar_in_its_stock(pieces, kerf):
    cuts = cutting_list(pieces, STOCK, kerf)
    assert sorted(p for bar in cuts.bars for p in bar.pieces) == sorted(pieces)
    for bar in cuts.bars:
        assert bar.stock in STOCK
        assert bar.used(kerf) <= bar.stock + 1e-9
        smaller = [s for s in STOCK if s < bar.stock]
        assert not smaller or bar.used(kerf) > max(smaller)
    assert len(cuts.bars) >= cuts.least
    # first fit decreasing: at most 11/9 of the best + 6/9 (Dosa, Li, Han, Tuza 2013); the best is at least `least`
    assert cuts.bought >= sum(pieces) - 1e-9


def test_half_the_stock_is_one_a_bar_once_the_saw_takes_its_cut():
    assert len(cutting_list([2.1] * 10, [4.2], 0.0).bars) == 5
    assert len(cutting_list([2.1] * 10, [4.2], 0.003).bars) == 10


def test_pieces_beyond_all_stock_are_refused():
    with pytest.raises(ModelError) as refused:
        cutting_list([5.0], STOCK)
    assert refused.value.problems[0].code == "too-long"


def test_first_fit_is_as_good_as_an_integer_programme_on_a_pergola():
    """34 members of a pergola; patterns enumerated and solved by HiGHS."""
    import numpy as np
    from scipy.optimize import LinearConstraint, milp

    need = {2.95: 10, 3.1: 6, 1.4: 4}
    kerf, lengths, sizes = 0.003, STOCK, sorted(need)
    patterns = []

    def fill(left, k, counts):
        if k == len(sizes):
            patterns.append((counts, next(s for s in lengths if s >= left_used(counts) - 1e-9)))
            return
        most = 0
        while left_used((*counts, most + 1)) <= lengths[-1] + 1e-9:
            most += 1
        for n in range(most + 1):
            fill(left, k + 1, (*counts, n))

    def left_used(counts):
        total = sum(n * sizes[k] for k, n in enumerate(counts))
        return total + kerf * max(0, sum(counts) - 1)

    fill(0.0, 0, ())
    patterns = [(c, s) for c, s in patterns if sum(c)]
    rows = np.array([[c[k] for c, _ in patterns] for k in range(len(sizes))])
    best = milp(
        [s for _, s in patterns],
        integrality=np.ones(len(patterns)),
        constraints=LinearConstraint(rows, [need[s] for s in sizes], np.inf),
    )
    made = cutting_list([s for s, n in need.items() for _ in range(n)], lengths, kerf)
    assert made.bought == pytest.approx(best.fun)


# --- decks -----------------------------------------------------------------------------------------------------


def test_rows_of_a_turned_deck_cover_it_exactly():
    deck = deck_rows(disc(2.4), 0.12, 0.006, 0.4, Point(0.1, 0.2), 0.5)
    # the circle's centre in the frame of the boards
    middle = -math.sin(0.5) * -0.1 + math.cos(0.5) * -0.2
    for row in deck.rows:
        low, high = row.number * 0.126 - middle, row.number * 0.126 + 0.12 - middle
        nearest = 0.0 if low < 0 < high else min(abs(low), abs(high))
        assert row.length == pytest.approx(2 * math.sqrt(2.4**2 - nearest**2), abs=2e-5)
    assert {row.number for row in deck.rows} == set(range(deck.rows[0].number, deck.rows[-1].number + 1))


@pytest.mark.parametrize(
    ("length", "rows", "most"), [(6.3, 32, 206.4), (5.4, 28, 158.0), (8.5, 24, 212.0), (9.8, 40, 402.0)]
)
def test_rows_are_split_on_joists_with_the_stock_in_view(length, rows, most):
    deck = deck_rows(rectangle(length, rows * 0.15 - 0.005), 0.145, 0.005, 0.4, Point(0, 0), 0.0)
    made = boards(deck, STOCK, 0.003, 0.03)
    assert len(deck.rows) == rows
    assert length * rows - 1e-6 <= made.bought <= most
    assert all(any(abs(x - j) < 1e-9 for j in deck.joists) for _, x in made.butts)
    by_row: dict[int, set[float]] = {}
    for number, x in made.butts:
        by_row.setdefault(number, set()).add(round(x, 6))
    assert all(not (by_row[a] & by_row[b]) for a, b in pairwise(sorted(by_row)) if b == a + 1)


def test_butt_joints_are_drawn_inside_the_deck():
    deck = deck_rows(disc(2.4), 0.12, 0.006, 0.4, Point(0, 0), 0.2)
    made = planned(deck, Choices(stock={"deck board": (2.4, 3.0)}))
    drawn = deck_pattern(deck, made)
    assert made.butts
    assert len(drawn.joints) >= len(deck.rows) - 1 + len({number for number, _ in made.butts}) - 2
    assert all(math.hypot(p.x, p.y) <= 2.4 for path in drawn.joints for p in path.vertices())


def test_a_deck_has_joists_screws_and_a_drawing():
    deck = deck_rows(rectangle(4.0, 3.0), 0.12, 0.006, 0.4, Point(0, 0), 0.0)
    rows = {i.item: i for i in deck_items("deck", deck, Choices(stock={"deck board": STOCK}))}
    assert len(deck.joists) == 11
    assert deck.joist_lengths == pytest.approx([3.0] * 11, abs=1e-6)
    assert crossings(deck) == 11 * len(deck.rows)
    assert rows["deck screws"].net == 2 * 11 * 24
    assert rows["deck boards 120 mm wide"].order_unit == "lengths"
    drawn = deck_pattern(deck)
    assert len(drawn.joints) == len(deck.rows) - 1
    with pytest.raises(GeometryError):
        deck_rows(rectangle(4.0, 3.0), 0.0, 0.006, 0.4, Point(0, 0), 0.0)


# --- bays, fences ----------------------------------------------------------------------------------------------


def test_bays_are_equal_and_a_curve_keeps_the_limit_outside():
    """Centre line r 5, 90 degrees, bay 2.4, width 2.4: four bays by the centre line are over the limit outside."""
    arc = Arc.swung(Point(0, 0), 5.0, 0.0, math.pi / 2)
    assert equal_bays(arc.length, 2.4).count == 4
    out = outer_length([arc], 1.2)
    assert out == pytest.approx(6.2 * math.pi / 2)
    bays = equal_bays(out, 2.4)
    assert (bays.count, bays.posts) == (5, 6)
    assert chord_of(6.2, math.pi / 8)[0] > 2.4
    assert chord_of(6.2, math.pi / 2 / bays.count)[0] <= 2.4
    assert chord_of(6.2, math.pi / 8)[1] == pytest.approx(0.119, abs=5e-4)


def test_panels_posts_and_the_cut_one():
    step, least = 1.93, 0.4
    assert panel_stations(1.93 * 4, step, least) == pytest.approx((1.93, 3.86, 5.79, 7.72))
    assert panel_stations(16.5, step, least)[-2:] == pytest.approx((8 * 1.93, 16.5))
    # 60 mm of panel would remain: the last two bays share
    assert panel_stations(5.95, step, least)[-2:] == pytest.approx(((2 * 1.93 + 5.95) / 2, 5.95))
    bays = [b - a for a, b in pairwise((0.0, *panel_stations(16.5, step, least)))]
    made = panels_between(bays, 1.83, 0.1)
    assert (made.whole, made.panels) == (8, 9)
    assert made.cut == pytest.approx((16.5 - 8 * 1.93 - 0.1,))
    with pytest.raises(GeometryError):
        panels_between([2.5], 1.83, 0.1)


@given(st.floats(0.5, 60), st.floats(0.9, 2.4))
def test_posts_of_panels_never_stand_too_far_apart_nor_too_close(length, step):
    stations = (0.0, *panel_stations(length, step, 0.4))
    assert stations[-1] == length
    for a, b in pairwise(stations):
        assert b - a <= step + 0.0051
        assert b - a >= min(0.4, length) - 1e-9


# --- steps -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("rise", "risers"), [(0.45, 3), (0.60, 4), (0.90, 6), (1.20, 8)])
def test_steps_from_the_rise(rise, risers):
    made = flight(rise)
    assert (made.risers, made.treads) == (risers, risers - 1)
    assert made.going == pytest.approx(0.33)


@given(st.floats(0.2, 2.0), st.floats(0.0, 0.3), st.floats(0.8, 3))
def test_the_solid_flight_is_its_profile(rise, base, width):
    made = flight(rise)
    points = [(0.0, -base)]
    for k in range(made.treads):
        points += [(k * made.going, (k + 1) * made.riser), ((k + 1) * made.going, (k + 1) * made.riser)]
    points.append((made.run, -base))
    points[1:1] = [(0.0, 0.0)] if base else []
    shoelace = abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))) / 2
    assert solid_volume(made, width, base) == pytest.approx(shoelace * width, abs=1e-9)


def test_steps_are_billed_and_steep_ones_cautioned():
    made = flight(0.6)
    rows = {i.item: i for i in step_items("steps", made, 1.2, Choices(), tread=(0.6, 0.35, 0.01))}
    assert rows["risers"].net == pytest.approx(4.8)
    assert rows["tread 600 × 350 mm"].net == 6
    assert {p.code for p in step_advice("steps", flight(0.6, risers=2, going=0.2), 0.7)} >= {
        "steep-steps",
        "narrow-steps",
        "stride",
    }
    assert not list(step_advice("steps", flight(0.3), 1.2))
    with pytest.raises(GeometryError):
        flight(0.0)


# --- layers and loose materials --------------------------------------------------------------------------------


def test_layers_go_to_their_own_extent():
    stack = BuildUp(
        name="patio",
        layers=(
            Layer(material="stone slab", thickness=0.04),
            Layer(material="sharp sand", thickness=0.05, to=Extent.INSIDE_EDGING),
            Layer(material="compacted stone", thickness=0.1, to=Extent.DUG, density=2.1, loose_density=1.9),
        ),
        edge=Edge(material="concrete", width=0.1, depth=0.15),
        working_space=0.1,
    )
    ground = rectangle(6, 5)
    at = {extent: area_of(r) for extent, r in outlines(ground, stack, edging=0.05).items()}
    assert at[Extent.INSIDE_EDGING] == pytest.approx(5.9 * 4.9)
    assert at[Extent.HAUNCH] == pytest.approx(6.2 * 5.2)
    assert at[Extent.DUG] == pytest.approx(6.4 * 5.4)
    rows = {i.item: i for i in build_up_items("paving", "patio", ground, stack, edging=0.05)}
    stone = rows["compacted stone"]
    assert stone.net == pytest.approx(6.4 * 5.4 * 0.1 * 2.1)
    assert f"{6.4 * 5.4 * 0.1 * 2.1 / 1.9:.2f} m3 as delivered" in stone.basis
    assert rows["haunch of concrete"].net == pytest.approx((6.2 * 5.2 - 30) * 0.15)
    assert "not counted" in rows["stone slab"].basis
    dig = dig_of("patio", ground, stack)
    assert dig.depth == pytest.approx(0.19)
    assert section_layers(stack)[2].beyond == pytest.approx(0.2)


def test_all_supplied_build_ups_can_be_ordered():
    assert {
        "foot slabs",
        "foot blocks",
        "foot bricks",
        "foot gravel",
        "car slabs",
        "car blocks",
        "car gravel",
        "turf",
        "seed",
        "planting bed",
        "timber deck",
        "concrete slab",
        "mowing edge",
        "steps",
        "brick wall footing",
    } <= set(supplied())
    for name, stack in supplied().items():
        for item in build_up_items("paving", name, rectangle(4, 3), stack):
            assert item.net > 0
            assert item.basis
        assert all(material_of(layer) for layer in stack.layers)


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: Layer(material="sand", thickness=0.0), "no-thickness"),
        (lambda: Layer(material="sand", thickness=float("nan")), "no-thickness"),
        (lambda: material("bedding mortr"), "unknown-material"),
        (lambda: material_of(Layer(material="crushed glass", thickness=0.1)), "unknown-material"),
        (lambda: material_of(Layer(material="crushed glass", thickness=0.1, loose_density=1.4)), "no-density"),
        (lambda: BuildUp(name="x", layers=()), "no-layers"),
        (lambda: Edge(material="concrete", width=0.0, depth=0.1), "no-thickness"),
    ],
)
def test_bad_layers_are_refused(make, code):
    with pytest.raises(ModelError) as refused:
        make()
    assert refused.value.problems[0].code == code
    assert refused.value.problems[0].mend


# --- soft ------------------------------------------------------------------------------------------------------


def test_turf_has_an_offcut_by_its_shape():
    assert turf_item("lawn", rectangle(10, 5)).order == 53
    assert turf_item("lawn", disc(3)).order == math.ceil(math.pi * 9 * 1.1)


def test_edgings_tell_their_curved_length_by_radius():
    ring = disc(2.0)[0].outer
    rows = list(edging_items("lawn", ring.segments))
    assert rows[0].net == pytest.approx(4 * math.pi)
    assert rows[1].item.endswith("radius 2.000 m")
    assert rows[1].order is None


def test_a_mowing_edge_counts_whole_bricks():
    ring = disc(3.6)[0].outer
    kerb = Kerb(along=0.1025, across=0.215, joint=0.010, joints=(0.003, 0.012))
    row = next(iter(course_items("lawn", ring.segments, kerb, True, Choices())))
    assert row.net == round(2 * math.pi * 3.6 / 0.1125)
    square = rectangle(4, 3)[0].outer
    assert "4 corners" in next(iter(course_items("lawn", square.segments, kerb, True, Choices()))).basis


@given(st.floats(0.5, 40), st.floats(1, 8))
def test_a_staggered_pair_is_one_plant_short_unless_it_is_a_ring(length, rate):
    single, pair, ring = (
        hedge_plants(length, rate),
        hedge_plants(length, rate, 2),
        hedge_plants(length, rate, 2, closed=True),
    )
    assert sum(pair) == 2 * single[0] - 1
    assert sum(ring) == 2 * single[0]


# --- breakage --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("whole", "cut", "extra"),
    [
        (40, 16, (2, 2, 3)),
        (88, 20, (3, 3, 4)),
        (422, 150, (11, 12, 15)),
        (2678, 403, (35, 37, 41)),
        (14130, 853, (115, 119, 126)),
    ],
)
def test_breakage_is_a_negative_binomial(whole, cut, extra):
    assert tuple(extra_for_breakage(whole + cut, cut, Breaks(sure=s)) for s in (0.90, 0.95, 0.99)) == extra


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 120), st.floats(0.01, 0.2))
def test_breakage_agrees_with_scipy(cuts, share):
    from scipy.stats import nbinom

    got = extra_for_breakage(0, cuts, Breaks(cuts=share, units=0.0, sure=0.95))
    assert got == int(nbinom.ppf(0.95, cuts, 1 - share))


def test_no_breakage_no_extra():
    assert extra_for_breakage(500, 40, Breaks(cuts=0.0, units=0.0)) == 0
    with pytest.raises(ModelError):
        extra_for_breakage(5, 5, Breaks(cuts=0.95))


# --- allowances of the model's own -------------------------------------------------------------------------------


def test_a_flat_allowance_can_be_set_by_a_name_in_the_item():
    rows = [turf_item("lawn", rectangle(5, 4)), *edging_items("lawn", line((0, 0), (10, 0)).segments)]
    usual = {i.item: i for i in bill(rows).items}
    made = {i.item: i for i in bill(rows, ordering=Choices(allowances={"turf": 0.2})).items}
    assert (usual["turf"].order, usual["turf"].allowance) == (21, 5)
    assert (made["turf"].order, made["turf"].allowance) == (24, 20)
    assert made["turf"].basis.endswith("20 % as `allowances` says")
    assert made["edging"] == usual["edging"]


def test_every_flat_allowance_says_how_to_be_made_again():
    """With its own figure the row comes back the same; with another only allowance, order and words change."""
    stone = material("compacted stone")
    rows = [
        turf_item("lawn", rectangle(5, 4)),
        *edging_items("lawn", line((0, 0), (10, 0)).segments),
        volume_item(section="paving", element="a", item="stone", volume=2, stuff=stone, allowance=5, where="20 m2"),
        spread_item("bed", "topsoil", 12.0, 0.2, 0.0),
    ]
    for row in rows:
        assert row.again is not None
        assert replace(row.again(allowance=row.allowance), basis="") == replace(row, basis="")
        more = row.again(allowance=row.allowance + 30)
        assert (more.net, more.item, more.order_unit) == (row.net, row.item, row.order_unit)
        assert more.gross == pytest.approx(row.net * (1.3 + row.allowance / 100))
        assert more.order > row.order


def test_an_allowance_that_meets_nothing_is_told():
    made = bill([turf_item("lawn", rectangle(5, 4))], ordering=Choices(allowances={"tufr": 0.1}))
    assert [p.code for p in made.advice] == ["unmet-allowance"]
    assert "turf" in made.advice[0].mend
