"""Pegs that a dig takes away are found again: by strings that cross well, by a string and a tape, or by two tapes."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.pegs.peg import PegSet
from pegbook.geometry.pegs.recovery import BEYOND
from pegbook.geometry.pegs.sight import Sight
from pegbook.geometry.pegs.strings import CROSSING, PASSES, WHOLE, Taken, shared_strings
from pegbook.geometry.pegs.tape import Tape
from pegbook.geometry.pegs.tied import best_ties
from support.aspegged import of_seed

SEEDS = range(300, 308)


def stands(pegs: PegSet) -> dict[str, Point]:
    return {p.name: p.rebuilt or p.at for p in pegs.pegs}


@pytest.mark.parametrize("seed", SEEDS)
def test_strings_cross_well_and_hold_their_peg_between_or_near_their_ends(seed: int) -> None:
    _, pegs = of_seed(seed)
    at = stands(pegs)
    assert pegs.recovery
    for way in (w for w in pegs.recovery if w.method == "crossing"):
        courses = []
        for string in (way.from_1, way.from_2):
            a, b = (at[n] for n in string.split("-"))
            along = (at[way.peg] - a).dot((b - a).unit())
            assert -BEYOND - 1e-6 <= along / a.distance(b) <= 1 + BEYOND + 1e-6, way
            assert abs((at[way.peg] - a).cross((b - a).unit())) <= PASSES + 1e-6, way
            assert a.distance(b) <= WHOLE + 1e-6
            courses.append((b - a).unit())
        assert abs(courses[0].cross(courses[1])) >= CROSSING - 1e-6, way


@pytest.mark.parametrize("seed", SEEDS)
def test_fewer_than_four_recovery_pegs_are_driven_for_each_peg(seed: int) -> None:
    _, pegs = of_seed(seed)
    driven = [p for p in pegs.pegs if p.purpose is Purpose.RECOVERY]
    assert len(driven) <= 3.5 * len(pegs.recovery)
    used = {n for w in pegs.recovery for s in (w.from_1, w.from_2) for n in s.split("-")}
    assert {p.name for p in driven} <= used, "each peg that is driven serves a way back"


corners = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), min_size=2, max_size=14, unique=True)


@given(corners)
def test_no_peg_is_on_more_shared_strings_than_it_needs(places: list[tuple[int, int]]) -> None:
    pegs = [Taken(k, Point(x / 4, y / 4), k // 4) for k, (x, y) in enumerate(places)]
    lines = shared_strings(pegs, lambda line: True)
    for line in lines:
        assert len(line.pegs) >= 2
        first = line.pegs[0].at
        assert all(abs((t.at - first).cross(line.direction)) <= 2 * PASSES for t in line.pegs)
        along = [(t.at - first).dot(line.direction) for t in line.pegs]
        assert along == sorted(along)
    for a, b in combinations(lines, 2):
        assert {t.peg for t in a.pegs} != {t.peg for t in b.pegs}
    assert lines == shared_strings(pegs, lambda line: True)


def test_a_rectangle_needs_one_string_down_each_side() -> None:
    # offset pegs in line with each side, as building lines are kept: common practice, no source
    square = [Taken(k, p, 0) for k, p in enumerate((Point(0, 0), Point(6, 0), Point(6, 4), Point(0, 4)))]
    lines = shared_strings(square, lambda line: True)
    assert sorted(tuple(sorted(t.peg for t in line.pegs)) for line in lines) == [(0, 1), (0, 3), (1, 2), (2, 3)]


def test_two_tapes_are_chosen_that_cross_well() -> None:
    hooks = {"A": Point(0, 0), "B": Point(8, 0), "D": Point(4.1, 9)}
    ties = best_ties(Point(4, 4), hooks, Sight((), 0), Tape())
    assert ties is not None
    names = {name for name, _ in ties.hooks}
    assert names == {"A", "B"}
    assert best_ties(Point(4, 4), {"A": Point(0, 0), "B": Point(0.2, 0)}, Sight((), 0), Tape()) is None
    assert math.isclose(ties.hooks[0][1].metres, math.hypot(4, 4), abs_tol=0.005)
