"""Where the views of the details sheet are cut, marked on a plan: a heavy stroke, a peg head with the view's letter.

Takes: a stage whose brief knows the cuts, and the marks that stand already. Gives: one mark a view, on the first of its
places that is free; lettering comes later and keeps clear. Paper millimetres.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..geometry.features import Cut
from ..geometry.kernel.point import Box, Point, Vec
from . import symbols
from .details_cuts import SectionMark, looking
from .oblong import Floats, bounds
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
    """A place for a mark: how to draw it, the box of its head, its stroke (x0, y0, x1, y1), and what it costs."""

    draw: Callable[[], Group]
    head: Box
    stroke: tuple[float, float, float, float] | None
    cost: float


def cut_marks(on: Stage, marks: Sequence[Mark], walls: Obstacles) -> tuple[tuple[Group, ...], tuple[str, ...]]:
    """Return the marks of all views that are cut on the part of the garden that a sheet shows, and the letters left.

    A view is left without a mark where none of its places is free: the sheet has to say so.
    """
    index = ObstacleIndex(gathered(marks, on.pens).joined(walls), on.within)
    found: list[Group] = []
    left: list[str] = []
    taken: tuple[Box, ...] = ()
    for view in on.brief.section_marks:
        spots = tuple(_spots(view, on))
        best = _best(spots, index, ObstacleIndex(Obstacles(closed=taken), on.within))
        if best is not None:
            found.append(best.draw())
            taken += _covered(best)
        elif spots:
            left.append(view.letter)
    return tuple(found), tuple(left)


def _covered(spot: _Spot) -> tuple[Box, ...]:
    if spot.stroke is None:
        return (spot.head,)
    x0, y0, x1, y1 = spot.stroke
    return spot.head, Box.of((Point(x0, y0), Point(x1, y1))).grown(0.5)


def _best(spots: Sequence[_Spot], index: ObstacleIndex, taken: ObstacleIndex) -> _Spot | None:
    """Return the place that costs least of those on no lettering and no sign, the head on no heavy line."""
    h = [spot.head for spot in spots]
    heads = np.array([(b.centre.x, b.centre.y, b.width / 2, b.height / 2, 1.0, 0.0) for b in h]).reshape(-1, 6)
    strokes = np.array([spot.stroke or (np.nan,) * 4 for spot in spots]).reshape(-1, 4)
    free = np.arange(len(spots))
    for barred in (lambda k: index.outside(bounds(heads[k])), lambda k: index.struck(heads[k]),
                   lambda k: taken.struck(heads[k]), lambda k: index.on_signs(heads[k]),
                   lambda k: _on_stroke(strokes[k], lambda s: index.blocked_leaders(s, [""] * len(s))),
                   lambda k: _on_stroke(strokes[k], lambda s: taken.blocked_leaders(s, [""] * len(s))),
                   lambda k: _on_stroke(strokes[k], index.run_along)):
        free = free[~barred(free)]
    if not len(free):
        return None
    cost = np.array([spots[k].cost for k in free.tolist()]) + index.thin_length(heads[free])
    cost += CROSSED * _on_stroke(strokes[free], index.heavy_crossings)
    return spots[int(free[np.argmin(cost.round(3))])]


def _on_stroke(strokes: Floats, ask: Callable[[Floats], NDArray[Any]]) -> NDArray[Any]:
    """Return what is said of each stroke; nothing of a mark that has none."""
    drawn = ~np.isnan(strokes[:, 0])
    said = ask(strokes[drawn])
    found = np.zeros(len(strokes), dtype=said.dtype)
    found[drawn] = said
    return found


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
            draw = partial(symbols.section_mark, start, way.heading, looking(cut).heading, letter)
            head = _head_box(symbols.section_head(start, way.heading), looking(cut))
            yield _Spot(draw, head, (start.x, start.y, end.x, end.y), cost + extra + FURTHER * beyond)


def _elevation(letter: str, cut: Cut, cost: float, on: Stage) -> Iterator[_Spot]:
    at, way = on.view.point(cut.at), looking(cut)
    for off in OFF:
        head = at + way * -(off + NIB + HEAD / 2)
        draw = partial(symbols.elevation_mark, head, way.heading, letter)
        yield _Spot(draw, _head_box(head, way), None, cost + FURTHER * off)


def _head_box(head: Point, way: Vec) -> Box:
    """Return the box of a peg head with its nib."""
    return Box.of(symbols.head_corners(head, way.heading))
