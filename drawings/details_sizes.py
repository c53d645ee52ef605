"""The sizes of a detail: each on its row, its figure between its strokes or beside them where nothing else is.

Takes: measures of a Detail and a view. Gives: marks in paper millimetres. After ISO 129-1: a figure that does not
fit between its extension lines stands beside them, on its line drawn on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TypeAlias

from ..geometry.kernel.path import Path
from ..geometry.kernel.point import Point
from .details_parts import Detail, Measure
from .draft import Nib
from .lettering import width
from .once import Drawn as Once
from .sheet import Dimension, Mark, Stroke, Text, View
from .wrapping import FIGURES

ROW_FIRST, ROW_NEXT = 8.0, 7.0

EASY = 2.0
"""A figure stands between its strokes if they are so much farther apart, mm."""

TOUCH = 1e-6

_At: TypeAlias = Callable[[float, float], Point]


@dataclass(frozen=True, slots=True)
class Sized:
    """A measure on its row: its figure between the strokes ('between'), or beyond its low or high end."""

    measure: Measure
    figure: str
    where: str = "between"


def sized(detail: Detail, factor: float) -> tuple[Sized, ...]:
    """Return the measures of a detail drawn at `factor` mm to the metre; crowded ones on a row of their own.

    Rows beyond the first stand in the order of their lengths, the shortest nearest (ISO 129-1).
    """
    found: list[Sized] = []
    rows = {side: max((m.row for m in detail.measures if m.side == side), default=0) for side in SIDES}
    for measure in sorted(detail.measures, key=lambda m: m.side == "below"):
        hangs = any(one.where == "low" and one.measure.side == "left" for one in found)
        one = _on_row(measure, detail, factor, ("high", "low") if measure.side != "below" or hangs else ("low", "high"))
        if one is None:
            rows[measure.side] += 1
            one = _moved(replace(measure, row=rows[measure.side]), detail, factor)
        found.append(one)
    return tuple(replace(one, measure=replace(one.measure, row=_rank(one.measure, found))) for one in found)


def _moved(measure: Measure, detail: Detail, factor: float) -> Sized:
    """Return a measure on a row of its own, its figure at the end where no extension line of another runs."""
    figure, (low, high) = _figure(measure, detail), _ends(measure)
    need = (4.0 + width(figure, "regular", FIGURES)) / factor
    stations = [end for m in detail.measures if m.side == measure.side for end in _ends(m)]
    above = any(high + TOUCH < station < high + need for station in stations)
    below = any(low - need < station < low - TOUCH for station in stations)
    return Sized(measure, figure, "low" if above and not below else "high")


def _rank(measure: Measure, found: list[Sized]) -> int:
    """Return the row of a measure once rows beyond the first are in the order of their lengths."""
    if not measure.row:
        return 0
    longest: dict[int, float] = {}
    for other in (one.measure for one in found if one.measure.side == measure.side and one.measure.row):
        low, high = _ends(other)
        longest[other.row] = max(longest.get(other.row, 0.0), high - low)
    return 1 + sorted(longest, key=lambda row: (round(longest[row], 6), row)).index(measure.row)


SIDES = ("left", "right", "above", "below")


def _ends(measure: Measure) -> tuple[float, float]:
    a, b = (measure.start.x, measure.end.x) if measure.side in {"above", "below"} else (measure.start.y, measure.end.y)
    return min(a, b), max(a, b)


def _figure(measure: Measure, detail: Detail) -> str:
    low, high = _ends(measure)
    return detail.say(high - low)


def _on_row(measure: Measure, detail: Detail, factor: float, first: tuple[str, str]) -> Sized | None:
    """Return a measure as it stands on its own row; None if its neighbours leave its figure no room there."""
    figure = _figure(measure, detail)
    low, high = _ends(measure)
    if (high - low) * factor - width(figure, "regular", FIGURES) >= EASY:
        return Sized(measure, figure)
    row = [_ends(m) for m in detail.measures if m is not measure and (m.side, m.row) == (measure.side, measure.row)]
    need = (4.0 + width(figure, "regular", FIGURES)) / factor
    free = {"high": not any(other[1] > high + TOUCH and other[0] < high + need for other in row),
            "low": not any(other[0] < low - TOUCH and other[1] > low - need for other in row)}
    where = next((one for one in first if free[one]), None)
    return Sized(measure, figure, where) if where else None


def size_marks(sizes: tuple[Sized, ...], view: View, once: Once, right: float) -> Iterator[Mark]:
    """Yield the marks of all sizes; each line is drawn once. Those at the right are set out from x = `right`."""
    struck: list[Point] = []
    for one in sorted(sizes, key=lambda one: one.where != "between"):     # no line that runs on shortens another
        yield _size(one, view, once, right, struck)


def _size(one: Sized, view: View, once: Once, right: float, struck: list[Point]) -> Dimension:
    """Return one size: extension lines from 1.5 off the thing, strokes, the figure above its line.

    Neighbours share a stroke: those that stand already are in `struck`.
    """
    m = one.measure
    level = m.side in {"above", "below"}
    out = 1 if m.side in {"above", "right"} else -1
    box, off = view.window, ROW_FIRST + ROW_NEXT * m.row
    row = (box.y1 if out > 0 else box.y0) + out * off if level else (right if out > 0 else box.x0) + out * off
    ends = sorted((view.point(m.start), view.point(m.end)), key=lambda p: p.x if level else p.y)
    wide = width(one.figure, "regular", FIGURES)

    def at(along: float, across: float) -> Point:
        return Point(along, across) if level else Point(across, along)

    low, high = ((p.x if level else p.y) for p in ends)
    marks: list[Mark] = []
    for p, station in zip(ends, (low, high), strict=True):
        start = (p.y if level else p.x) + 1.5 * out
        marks += _thin(once, at(station, start), at(station, row + 2.0 * out))
        if not any(at(station, row).distance(other) < 0.1 for other in struck):
            struck.append(at(station, row))
            marks.append(_stroke(at(station, row)))
    marks += _line(one.where, low, high, row, wide, at, once)
    middle = {"between": (low + high) / 2, "high": high + 1.8 + wide / 2, "low": low - 1.8 - wide / 2}[one.where]
    place = at(middle, row + 0.9) if level else at(middle, row - 0.9)
    turn = 0.0 if level else math.pi / 2
    marks.append(Text(layer="dimensions", at=place, words=one.figure, anchor="middle", turn=turn))
    return Dimension(
        form="linear",
        points=(m.start, m.end),
        line_at=view.ground(at(low, row)),
        value=_ends(m)[1] - _ends(m)[0],
        figure=one.figure,
        marks=tuple(marks),
        turn=turn,
        view=view.name,
    )


def _line(where: str, low: float, high: float, row: float, wide: float, at: _At, once: Once) -> list[Mark]:
    """Return the dimension line, drawn on under a figure beside it and a little at the other end."""
    if where == "between":
        return _thin(once, at(low, row), at(high, row))
    if where == "high":
        first, second = at(high, row), at(high + 3.6 + wide, row)
        return [*_thin(once, at(low - 2.0, row), first), *_thin(once, first, second)]
    first, second = at(low, row), at(low - 3.6 - wide, row)
    return [*_thin(once, first, at(high + 2.0, row)), *_thin(once, second, first)]


def _thin(once: Once, start: Point, end: Point) -> list[Mark]:
    """Return what of a thin line is not drawn already."""
    if start.distance(end) < 0.3:
        return []
    nib = Nib("dimensions", "thin")
    return [nib.path(piece) for piece in once.once(Path.through((start, end)))]


def _stroke(at: Point) -> Stroke:
    half = 2.75 / 2 * math.sqrt(0.5)
    return Nib("dimensions", "mark").line(Point(at.x - half, at.y - half), Point(at.x + half, at.y + half))
