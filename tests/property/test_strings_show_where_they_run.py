"""A recovery plan shows each string's ends and every peg on it, on the true line; only long middles are left out."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegbook.drawings.brief import Brief, read
from pegbook.drawings.recovery_sheet import to_find
from pegbook.drawings.sheet import Stroke, View
from pegbook.drawings.strings import FEW, GAP, Stretched, parted, stretched, strings
from pegbook.geometry.kernel.path import Path
from pegbook.geometry.kernel.point import Box, Point
from pegbook.geometry.pegs.peg import Recovery
from support.issued import DEMO, worked

lengths = st.floats(4.0, 400.0)
shares = st.lists(st.floats(0.0, 1.0), max_size=4)


def string(length: float, held: list[float], found: list[float]) -> Stretched:
    return Stretched(Point(0, 0), Point(length, 0), tuple(s * length for s in held), tuple(s * length for s in found))


@given(length=lengths, held=shares, found=shares)
def test_each_peg_of_a_string_has_its_piece_and_only_long_gaps_are_left_out(
    length: float, held: list[float], found: list[float]
) -> None:
    one = string(length, [0.0, 1.0, *held], found)
    spans = one.spans(whole=False)
    assert spans[0][0] < 2.0
    assert spans[-1][1] > length - 2.0
    assert all(b[0] - a[1] >= GAP for a, b in pairwise(spans))
    for at in (*one.held, *one.found):
        assert any(a - 2.0 <= at <= b + 2.0 for a, b in spans)
    drawn, whole = (sum(b - a for a, b in one.spans(whole)) for whole in (False, True))
    assert drawn <= whole + 1e-9


def garden(name: str) -> Brief:
    brief = to_find(read(worked(name)))
    assert brief is not None
    return brief


def view_of(brief: Brief) -> View:
    return View(name="plan", scale=100, window=Box(0, 0, 400, 400), origin=Point(-10, -10))


def away(at: Point, start: Point, end: Point) -> float:
    way = (end - start).unit()
    return at.distance(start + way * min(max(way.dot(at - start), 0.0), start.distance(end)))


@pytest.mark.parametrize("name", DEMO)
def test_pieces_lie_on_true_strings_and_reach_every_peg(name: str) -> None:
    brief = garden(name)
    view, pegs = view_of(brief), {p.name: p for p in brief.pegs}
    marks = [m for m in strings(brief, view) if isinstance(m, Stroke)]
    ends = [(m.path.start, m.path.end) for m in marks if isinstance(m.path, Path)]
    assert parted(brief, view)
    for way in brief.ways:
        found = view.point(pegs[way.peg].at)
        names = [n for pair in (way.from_1, way.from_2) for n in pair.split("-")] if way.method == "crossing" else []
        for first, second in zip(names[::2], names[1::2], strict=True):
            a, b = view.point(pegs[first].at), view.point(pegs[second].at)
            for at, toward in ((a, b), (b, a), (found, a if found.distance(a) > found.distance(b) else b)):
                probe = at + (toward - at).unit() * min(4.0, at.distance(toward) / 2)
                assert min(away(probe, p, q) for p, q in ends) < 0.35, (way.peg, first, second)
    total = sum(p.distance(q) for p, q in ends)
    whole = sum(s.length for s in stretched(brief, view))
    assert total < 0.75 * whole


def test_few_strings_are_drawn_whole() -> None:
    brief = garden(DEMO[0])
    ways = brief.ways[: FEW // 2]
    few = Brief(project=brief.project, pegs=brief.pegs, ways=ways)
    assert not parted(few, view_of(few))
    for one in stretched(few, view_of(few)):
        assert len(one.spans(whole=True)) == 1


def test_a_peg_found_by_two_tapes_has_a_line_to_each() -> None:
    brief = garden(DEMO[0])
    one, two, third = (p.name for p in brief.pegs[-3:])
    taped = Brief(
        project=brief.project,
        pegs=brief.pegs,
        ways=(Recovery(peg=third, method="ties", order=1, from_1=one, from_2=two, side="left"),),
    )
    view, at = view_of(taped), {p.name: p.at for p in brief.pegs}
    ends = [(s.start, s.end) for s in stretched(taped, view)]
    for name in (one, two):
        far = {round(view.point(at[name]).x, 6), round(view.point(at[third]).x, 6)}
        assert any({round(a.x, 6), round(b.x, 6)} == far for a, b in ends)
    assert all(math.isfinite(s.length) for s in stretched(taped, view))
