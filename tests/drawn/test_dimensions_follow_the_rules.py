"""Dimensions by ISO 129-1: rows, running values, figures that do not fit, each once, and the figure tells the truth.

Rows 10 then 7 or 8 apart, gap at the object 1 to 2, 2 past the line: drafting textbooks, common practice.
"""

from __future__ import annotations

import itertools
import math
import random

import pytest

from pegbook.drawings.dimension_rows import FIRST_ROW, NEXT_ROW, Side, Span, packed, rows, running
from pegbook.drawings.dimensions import Radius, Width, chords_of, dimensioned
from pegbook.drawings.requests import Inked, Obstacles
from pegbook.drawings.sheet import Dimension, Stroke, Text
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc
from support.small_sheet import FIELD, PENS, PLOT, VIEW, dimensions

OUTLINE = VIEW.loop(PLOT).box
BOTTOM = Side("bottom", OUTLINE, VIEW)


def span(a: float, b: float) -> Span:
    return Span(start=Point(a, 0), end=Point(b, 0))


def texts(dimension: Dimension) -> list[Text]:
    return [m for m in dimension.marks if isinstance(m, Text)]


def test_shortest_stands_nearest_and_the_whole_outermost() -> None:
    found, left = rows(BOTTOM, (span(0, 24), span(0, 8), span(8, 24), span(2, 5)))
    assert not left
    out = {d.figure: round(OUTLINE.y0 - VIEW.point(d.line_at).y, 3) for d in found}
    second, third = FIRST_ROW + NEXT_ROW, FIRST_ROW + 2 * NEXT_ROW
    assert out == {"3.00": FIRST_ROW, "16.00": FIRST_ROW, "8.00": second, "24.00": third}


def test_spans_of_one_row_never_overlap_and_nested_ones_lie_inside() -> None:
    rng = random.Random(4)
    for _ in range(30):
        spans = []
        for _ in range(8):
            a, b = sorted((rng.uniform(0, 24), rng.uniform(0, 24)))
            spans.append(span(a, b))
        packing, left = packed(BOTTOM, spans)
        assert sum(map(len, packing)) + len(left) == len(spans)
        assert len(packing) <= 3
        for row in packing:
            rooms = sorted(lot.room for lot in row)
            assert all(a[1] <= b[0] + 0.01 for a, b in itertools.pairwise(rooms))


def test_each_dimension_stands_once_and_shared_lines_are_drawn_once() -> None:
    found, _ = rows(BOTTOM, (span(0, 8), span(8, 16), span(0, 8), span(0, 16)))
    assert sorted(d.figure for d in found) == ["16.00", "8.00", "8.00"]
    upright = [m.path for d in found for m in d.marks if isinstance(m, Stroke) and m.pen == "thin"
               and abs(m.path.segments[0].start.x - m.path.segments[0].end.x) < 1e-9]
    pieces = sorted((round(p.segments[0].start.x, 3), round(p.box.y0, 3), round(p.box.y1, 3)) for p in upright)
    for a, b in itertools.pairwise(pieces):
        assert a[0] != b[0] or a[2] <= b[1] + 1e-6


def test_a_figure_that_does_not_fit_stands_beside_its_line() -> None:
    (only,), _ = rows(BOTTOM, (span(4, 4.3),))
    figure = texts(only)[0]
    assert figure.at.x > VIEW.point(Point(4.3, 0)).x
    assert only.value == pytest.approx(0.3)


def test_a_check_measure_stands_in_brackets() -> None:
    (only,), _ = rows(BOTTOM, (Span(start=Point(0, 0), end=Point(24, 0), check=True),))
    assert only.figure == "(24.00)"


def test_running_values_start_from_one_zero_and_figures_keep_apart() -> None:
    found = running(BOTTOM, Point(0, 0), tuple(Point(x, 0) for x in (2, 2.1, 2.2, 9, 24)))
    assert [d.figure for d in found] == ["2.00", "2.10", "2.20", "9.00", "24.00"]
    at = sorted(t.at.x for d in found for t in texts(d))
    assert all(b - a >= 3.7 - 2e-3 for a, b in itertools.pairwise(at))
    assert all(t.turn == pytest.approx(math.pi / 2) for d in found for t in texts(d))


def test_every_figure_says_what_its_points_measure() -> None:
    for d in dimensions().dimensions:
        if d.form in ("aligned", "radius"):
            assert d.value == pytest.approx(d.points[0].distance(d.points[1]), abs=1e-9)
        if d.form == "linear":
            along = d.points[1] - d.points[0]
            assert d.value == pytest.approx(abs(along.dx * math.cos(d.turn) + along.dy * math.sin(d.turn)), abs=1e-9)
        number = float(d.figure.strip("()°").removeprefix("R "))
        assert number == pytest.approx(d.value, abs=0.05 if d.form == "angular" else 0.005 + 1e-9)


def test_a_width_stands_where_its_thing_is_emptiest() -> None:
    area = Region(Loop.polygon((Point(4, 6), Point(16, 6), Point(16, 10), Point(4, 10))))
    block = Inked(VIEW.path(Path.through((Point(10, 5), Point(10, 11)))), 0.7)
    found = dimensioned(VIEW, (Width(chords=chords_of(area, math.pi / 2), element="bed"),), OUTLINE,
                        Obstacles(lines=(block,)), FIELD, PENS)
    (only,) = found.dimensions
    assert only.figure == "4.00"
    assert abs(only.points[0].x - 10) > 0.3


def test_radius_lines_turn_from_arc_to_arc_and_keep_off_level_and_upright() -> None:
    arcs = [Loop.circle(Point(4 + 8 * k, 8), 3.0).segments[0] for k in range(3)]
    asked = tuple(Radius(arc=a, element=f"lawn {k}", turn=k) for k, a in enumerate(arcs) if isinstance(a, Arc))
    turns = [d.turn for d in dimensioned(VIEW, asked, OUTLINE, Obstacles(), FIELD, PENS).dimensions]
    assert len({round(t, 3) for t in turns}) == 3
    assert all(min(t % (math.pi / 2), math.pi / 2 - t % (math.pi / 2)) >= math.radians(15) - 1e-9 for t in turns)


def test_what_finds_no_place_is_said() -> None:
    walls = tuple(Inked(Path.through((Point(OUTLINE.x0, y), Point(OUTLINE.x1, y))), 0.7)
                  for y in (OUTLINE.y0 + 2.0 * k for k in range(80)))
    circle = Loop.circle(Point(12, 8), 2.0).segments[0]
    assert isinstance(circle, Arc)
    found = dimensioned(VIEW, (Radius(arc=circle, element="pond"),), OUTLINE, Obstacles(lines=walls), FIELD, PENS)
    assert not found.dimensions
    assert "radius of 'pond'" in found.left[0].what
