"""Where the views of the details sheet are cut, marked on a plan: a heavy stroke, a peg head with the view's letter.

Takes: a stage whose brief knows the cuts, and the marks that stand already. Gives: one mark a view, on the first of its
places that is free; lettering comes later and keeps clear. Paper millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.features import Cut
from ..geometry.kernel.point import Box, Point, Vec
from . import symbols
from .details_cuts import SectionMark, looking
from .obstacles import ObstacleIndex, gathered
from .plan import shown_at
from .planned import Stage
from .requests import Obstacles
from .sheet import Group, Mark
from .symbols import CUT_STROKE, HEAD, NIB

LEAST = 1.2
"""The stroke of a cut begins at least so far from the edge that is cut, mm."""

OFF = (1.0, 4.0, 8.0, 13.0, 18.0)
"""How far off its thing the head of an elevation may stand, mm."""

ON = (0.0, 3.0, 6.0, 10.0, 15.0)
"""How far beyond the end of a cut its stroke may begin, mm."""

OTHER_END, NEXT_PLACE, FURTHER, CROSSED = 2.0, 0.5, 0.5, 3.0
"""What it costs to mark the left-hand end of a cut, to take the next of its places, each mm further
out, and a heavy line under the stroke."""


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place for a mark: the mark, the box of its head, its stroke (x0, y0, x1, y1), and what it costs to take it."""

    mark: Group
    head: Box
    stroke: tuple[float, float, float, float] | None
    cost: float


def cut_marks(on: Stage, marks: Sequence[Mark], walls: Obstacles) -> tuple[Group, ...]:
    """Return the marks of all views that are cut on the part of the garden that a sheet shows."""
    standing = gathered(marks, on.pens).joined(walls)
    found: list[Group] = []
    for view in on.brief.section_marks:
        best = _best(tuple(_spots(view, on)), ObstacleIndex(standing, on.within))
        if best is not None:
            found.append(best.mark)
            standing = standing.joined(Obstacles(closed=_covered(best)))
    return tuple(found)


def _covered(spot: _Spot) -> tuple[Box, ...]:
    if spot.stroke is None:
        return (spot.head,)
    x0, y0, x1, y1 = spot.stroke
    return spot.head, Box.of((Point(x0, y0), Point(x1, y1))).grown(0.5)


def _best(spots: Sequence[_Spot], index: ObstacleIndex) -> _Spot | None:
    """Return the place that costs least of those on no lettering and no sign, the head on no heavy line."""
    best: tuple[float, _Spot] | None = None
    for spot in spots:
        head = spot.head
        boxes = np.array([(head.centre.x, head.centre.y, head.width / 2, head.height / 2, 1.0, 0.0)])
        if index.outside(np.array([(head.x0, head.y0, head.x1, head.y1)])).any() or index.struck(boxes).any():
            continue
        strokes = np.array([spot.stroke or ()]).reshape(-1, 4)
        barred = index.blocked_leaders(strokes, [""] * len(strokes)).any() or index.run_along(strokes).any()
        if barred or index.on_signs(boxes).any():
            continue
        cost = spot.cost + float(index.thin_length(boxes).sum()) + CROSSED * float(index.heavy_crossings(strokes).sum())
        if best is None or round(cost, 3) < best[0]:
            best = round(cost, 3), spot
    return best[1] if best else None


def _spots(view: SectionMark, on: Stage) -> Iterator[_Spot]:
    """Yield the places at which a view may be marked."""
    for rank, cut in enumerate(view.places):
        if shown_at(cut.at, on.brief):
            yield from (_elevation if view.elevation else _section)(view.letter, cut, NEXT_PLACE * rank, on)


def _section(letter: str, cut: Cut, cost: float, on: Stage) -> Iterator[_Spot]:
    at, reach = on.view.point(cut.at), max(cut.reach * on.view.factor, LEAST)
    for way, extra in ((cut.along, 0.0), (-cut.along, OTHER_END)):
        for beyond in ON:
            start = at + way * (reach + beyond)
            end = start + way * CUT_STROKE
            mark = symbols.section_mark(start, way.heading, looking(cut).heading, letter)
            head = _head_box(symbols.section_head(start, way.heading), looking(cut))
            yield _Spot(mark, head, (start.x, start.y, end.x, end.y), cost + extra + FURTHER * beyond)


def _elevation(letter: str, cut: Cut, cost: float, on: Stage) -> Iterator[_Spot]:
    at, way = on.view.point(cut.at), looking(cut)
    for off in OFF:
        head = at + way * -(off + NIB + HEAD / 2)
        yield _Spot(symbols.elevation_mark(head, way.heading, letter), _head_box(head, way), None, cost + FURTHER * off)


def _head_box(head: Point, way: Vec) -> Box:
    """Return the box of a peg head with its nib."""
    return Box.of(symbols.head_corners(head, way.heading))
