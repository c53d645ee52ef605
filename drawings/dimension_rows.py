"""Dimensions outside the plan: parallel rows, the shortest nearest, and running dimensions from one zero.

Asked in metres, drawn in mm by ISO 129-1: rows 10 then 7 apart, at most three a side; each extension line
and each stroke is drawn once, whoever shares it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..geometry.kernel.path import Loop
from ..geometry.kernel.point import Box, Point, Vec
from .columns import spaced
from .dimension_parts import CAPITALS, FITS, LAYER, OBJECT_GAP, PAST, Figure, oblique, stroke
from .lengths import length
from .sheet import Dimension, Mark, Stroke, Text, View

FIRST_ROW, NEXT_ROW, MOST_ROWS = 10.0, 7.0, 3
ZERO_RING = 1.5
STATION_APART, JOG, BEYOND = 3.7, 1.6, 0.8
TOUCH = 1e-3
"""Ends of spans nearer than this (mm) are one."""

SIDES = {"bottom": (Vec(1, 0), Vec(0, -1)), "top": (Vec(1, 0), Vec(0, 1)),
         "left": (Vec(0, 1), Vec(-1, 0)), "right": (Vec(0, 1), Vec(1, 0))}
"""Direction along each side of the plan, and outward from it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A length to be dimensioned outside the plan, between two ground points (m), along the side's direction.

    `check` puts it in brackets: it proves others and is not built by.
    """

    start: Point
    end: Point
    check: bool = False
    element: str = ""


@dataclass(frozen=True, slots=True)
class Side:
    """A side of the plan on paper: its name, the plan's outline (mm), and the view."""

    name: str
    outline: Box
    view: View

    @property
    def along(self) -> Vec:
        """Direction of the side."""
        return SIDES[self.name][0]

    @property
    def outward(self) -> Vec:
        """Direction away from the plan."""
        return SIDES[self.name][1]

    @property
    def turn(self) -> float:
        """Turn of dimension lines and their figures."""
        return self.along.heading

    def station(self, ground: Point) -> float:
        """Return where a ground point lies along the side, mm."""
        at = self.view.point(ground)
        return at.x if self.along.dx else at.y

    def at(self, station: float, out: float) -> Point:
        """Return the paper point at a station, `out` mm away from the plan."""
        edge = {"bottom": self.outline.y0, "top": self.outline.y1, "left": self.outline.x0, "right": self.outline.x1}
        away = edge[self.name] + (self.outward.dx + self.outward.dy) * out
        return Point(station, away) if self.along.dx else Point(away, station)


@dataclass(frozen=True, slots=True)
class _Lot:
    span: Span
    low: float
    high: float
    figure: Figure
    before: bool = False            # the figure stands before the low end, not beyond the high one

    @property
    def fits(self) -> bool:
        return self.high - self.low >= self.figure.width + FITS

    @property
    def room(self) -> tuple[float, float]:
        """What the lot takes up in its row, mm along the side."""
        if self.fits:
            return self.low, self.high
        beside = self.figure.width + FITS
        return (self.low - beside, self.high) if self.before else (self.low, self.high + beside)


def _lots(side: Side, spans: Sequence[Span]) -> list[_Lot]:
    found: dict[tuple[float, float], _Lot] = {}
    for span in spans:
        low, high = sorted((side.station(span.start), side.station(span.end)))
        if high - low < TOUCH:
            continue
        figure = Figure(length((high - low) / side.view.factor, side.view.unit, span.check), side.turn)
        found.setdefault((round(low, 2), round(high, 2)), _Lot(span, low, high, figure))    # each dimension once
    return sorted(found.values(), key=lambda lot: (round(lot.high - lot.low, 3), round(lot.low, 3)))


def _overlap(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return a[0] < b[1] - TOUCH and b[0] < a[1] - TOUCH


def _row_of(lot: _Lot, rows: Sequence[Sequence[_Lot]]) -> int:
    """Return the first row outside everything nested in the span in which it has room."""
    own = lot.low, lot.high
    nested = [k for k, row in enumerate(rows) for other in row if _overlap(own, (other.low, other.high))]
    first = max(nested, default=-1) + 1
    for k in range(first, len(rows)):
        if not any(_overlap(lot.room, other.room) for other in rows[k]):
            return k
    return max(first, len(rows))


def packed(side: Side, spans: Sequence[Span], most: int = MOST_ROWS) -> tuple[list[list[_Lot]], list[Span]]:
    """Return rows of spans, the shortest nearest, and the spans for which `most` rows do not suffice."""
    rows: list[list[_Lot]] = []
    left: list[Span] = []
    for lot in _lots(side, spans):
        ways = [lot] if lot.fits else [lot, _Lot(lot.span, lot.low, lot.high, lot.figure, before=True)]
        row, _, way = min(((_row_of(w, rows), k, w) for k, w in enumerate(ways)), key=lambda found: found[:2])
        if row >= most:
            left.append(lot.span)
            continue
        while len(rows) <= row:
            rows.append([])
        rows[row].append(way)
    return rows, left


@dataclass(slots=True)
class _Drawn:
    """What has been drawn already: extension lines by station (how far out), strokes by station and row."""

    reach: dict[float, float]
    strokes: set[tuple[float, int]]


def _extension(side: Side, station: float, out: float, drawn: _Drawn) -> list[Mark]:
    key = round(station, 2)
    start = drawn.reach.get(key, OBJECT_GAP)
    if start >= out + PAST - TOUCH:
        return []
    drawn.reach[key] = out + PAST
    return [stroke(side.at(station, start), side.at(station, out + PAST))]


def _linear(side: Side, lot: _Lot, row: int, drawn: _Drawn) -> Dimension:
    out = FIRST_ROW + NEXT_ROW * row
    a, b = side.at(lot.low, out), side.at(lot.high, out)
    marks: list[Mark] = [stroke(a, b)]
    for station in (lot.low, lot.high):
        marks += _extension(side, station, out, drawn)
        key = (round(station, 2), row)
        if key not in drawn.strokes:
            drawn.strokes.add(key)
            marks.append(oblique(side.at(station, out), side.turn))
    if lot.fits:
        marks.append(lot.figure.above(side.at((lot.low + lot.high) / 2, out)))
    else:
        near, far = (lot.low, lot.room[0]) if lot.before else (lot.high, lot.room[1])
        marks += [stroke(side.at(near, out), side.at(far, out)), lot.figure.above(side.at((near + far) / 2, out))]
    view = side.view
    start, end = sorted((lot.span.start, lot.span.end), key=side.station)
    value = (lot.high - lot.low) / view.factor
    return Dimension(form="linear", points=(start, end), line_at=view.ground(a), value=value, figure=lot.figure.words,
                     marks=tuple(marks), turn=side.turn, element=lot.span.element)


def rows(side: Side, spans: Sequence[Span], most: int = MOST_ROWS) -> tuple[tuple[Dimension, ...], tuple[Span, ...]]:
    """Return the dimensions of spans in rows beside the plan, and the spans left over after `most` rows.

    The shortest stand nearest; a figure that does not fit stands beside its line on the side that has room.
    """
    packing, left = packed(side, spans, most)
    drawn = _Drawn({}, set())
    found = [_linear(side, lot, k, drawn) for k, row in enumerate(packing)
             for lot in sorted(row, key=lambda lot: round(lot.low, 3))]
    return tuple(found), tuple(left)


def _figure_at(side: Side, station: float, out: float, words: str) -> Text:
    """Return a running figure in line with its extension line, beyond its end."""
    level = side.along.dx == 0
    turn = 0.0 if level else math.pi / 2
    at = side.at(station, out)
    across = Vec(0, -CAPITALS / 2) if level else Vec(CAPITALS / 2, 0)
    ahead = side.name in ("right", "top")
    anchor = "start" if ahead else "end"
    return Text(layer=LAYER, at=at + across, words=words, capitals=CAPITALS, anchor=anchor, turn=turn)


def _tail(side: Side, station: float, set_at: float, out: float, words: str) -> list[Mark]:
    """Return the figure at the end of an extension line, jogged aside where stations are close."""
    end = out + PAST
    if abs(set_at - station) < 0.05:
        return [_figure_at(side, station, end + BEYOND, words)]
    jog = stroke(side.at(station, end), side.at(set_at, end + JOG))
    return [jog, _figure_at(side, set_at, end + JOG + BEYOND, words)]


def running(side: Side, zero: Point, stations: Sequence[Point], out: float = FIRST_ROW, element: str = "") \
        -> tuple[Dimension, ...]:
    """Return running dimensions from `zero` to each station (ground points, m) in one row beside the plan.

    A ring stands at zero, strokes at the stations; figures are turned with their extension lines. Stations on
    both sides of zero may be given; equal ones are drawn once.
    """
    places = {round(side.station(p), 2): p for p in sorted(stations, key=lambda p: (p.x, p.y))}
    places.pop(round(side.station(zero), 2), None)
    if not places:
        return ()
    order = sorted((round(side.station(zero), 2), *places))
    set_at = dict(zip(order, spaced(order, STATION_APART), strict=True))
    first = round(side.station(zero), 2)
    ring = Stroke(layer=LAYER, path=Loop.circle(side.at(side.station(zero), out), ZERO_RING), pen="mark")
    found: list[Dimension] = []
    for key, point in sorted(places.items()):
        station = side.station(point)
        value = abs(station - side.station(zero)) / side.view.factor
        words = length(value, side.view.unit)
        marks: list[Mark] = [oblique(side.at(station, out), side.turn),
                             stroke(side.at(station, OBJECT_GAP), side.at(station, out + PAST)),
                             *_tail(side, station, set_at[key], out, words)]
        if not found:
            marks += [ring, stroke(side.at(first, OBJECT_GAP), side.at(first, out - ZERO_RING)),
                      stroke(side.at(first, out + ZERO_RING), side.at(first, out + PAST)),
                      *_tail(side, first, set_at[first], out, "0")]
            marks += _line_past(side, first, min(first, *places), max(first, *places), out)
        found.append(Dimension(form="running", points=(zero, point), line_at=side.view.ground(side.at(station, out)),
                               value=value, figure=words, marks=tuple(marks), turn=side.turn, element=element))
    return tuple(found)


def _line_past(side: Side, zero: float, low: float, high: float, out: float) -> list[Mark]:
    """Return the line of a running row, left open at the ring of its zero."""
    ends = ((low, zero - ZERO_RING), (zero + ZERO_RING, high))
    return [stroke(side.at(a, out), side.at(b, out)) for a, b in ends if b - a > TOUCH]

