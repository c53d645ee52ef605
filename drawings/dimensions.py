"""Dimensions of a view by ISO 129-1: the entry that drawings call.

Rows outside the plan stand first (running rows nearest, for they start every setting-out), then radii, widths
and angles inside, each clear of what stands already. What finds no place is named in `left`, never dropped in silence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..geometry.errors import Problem, Weight
from ..geometry.kernel.point import Box, Point
from .dimension_inside import Angle, Radius, Width, angle, chords_across, chords_of, radius, width
from .dimension_rows import Side, Span, rows, running
from .obstacles import ObstacleIndex, gathered
from .requests import Obstacles
from .sheet import Dimension, Mark, View


@dataclass(frozen=True, slots=True, kw_only=True)
class RowAsked:
    """Lengths along one side of the plan ('bottom', 'top', 'left', 'right') in parallel rows."""

    side: str
    spans: tuple[Span, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningAsked:
    """Stations along one side of the plan, measured from one zero (ground points, m)."""

    side: str
    zero: Point
    stations: tuple[Point, ...]
    element: str = ""


Asked = RowAsked | RunningAsked | Width | Radius | Angle


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimensioned:
    """The dimensions of a view, and advice for each that found no place."""

    dimensions: tuple[Dimension, ...]
    left: tuple[Problem, ...] = ()


def _left(what: str, element: str, mend: str) -> Problem:
    of = f" of '{element}'" if element else ""
    return Problem(f"the {what}{of} finds no place on the plan", mend, "dimension-no-place", weight=Weight.ADVICE)


def _outside(view: View, outline: Box, asked: Sequence[Asked]) -> tuple[list[Dimension], list[Problem]]:
    found: list[Dimension] = []
    left: list[Problem] = []
    for one in asked:
        if isinstance(one, RunningAsked):
            found += running(Side(one.side, outline, view), one.zero, one.stations, element=one.element)
        elif isinstance(one, RowAsked):
            drawn, over = rows(Side(one.side, outline, view), one.spans)
            found += drawn
            mend = "take a larger scale, or read it from the peg table"
            left += [_left("length", span.element, mend) for span in over]
    return found, left


def _inside(view: View, one: Asked, index: ObstacleIndex, outline: Box) -> tuple[Dimension | None, Problem | None]:
    mend = "take a larger scale; the figure stands in the tables"
    if isinstance(one, Radius):
        made = radius(view, one, index, outline)
        return made, None if made else _left("radius", one.element, mend)
    if isinstance(one, Width):
        made = width(view, one, index)
        return made, None if made else _left("width", one.element, mend)
    if isinstance(one, Angle):
        made = angle(view, one, index)
        return made, None if made else _left("angle", one.element, mend)
    return None, None


def _value_key(dimension: Dimension) -> tuple[str, str, str]:
    return dimension.form, dimension.element, dimension.figure


def dimensioned(view: View, asked: Sequence[Asked], outline: Box, obstacles: Obstacles, within: Box,
                pens: Mapping[str, float]) -> Dimensioned:
    """Return the dimensions of a view. `outline` is the plan's box on paper (mm), `within` the field they may use.

    An inside dimension that says again what the same thing's dimension of that form says already is left out
    (ISO 129-1: each once).
    """
    found, left = _outside(view, outline, asked)
    standing: tuple[Mark, ...] = tuple(found)
    once = {_value_key(d) for d in found}
    for one in asked:
        if isinstance(one, RowAsked | RunningAsked):
            continue
        index = ObstacleIndex(obstacles.joined(gathered(standing, pens)), within)
        made, problem = _inside(view, one, index, outline)
        left += [problem] if problem else []
        if made is not None and _value_key(made) not in once:
            once.add(_value_key(made))
            found.append(made)
            standing = (*standing, made)
    return Dimensioned(dimensions=tuple(found), left=tuple(left))


__all__ = ["Angle", "Asked", "Dimensioned", "Radius", "RowAsked", "RunningAsked", "Side", "Span", "Width",
           "chords_across", "chords_of", "dimensioned", "rows", "running"]
