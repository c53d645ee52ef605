"""The only place where an arc becomes chords; the gap between chord and arc, metres, must be stated.

Points lie on the arc. With `keep_area` those within an arc stand a little outside, so that the area is
kept exactly: n steps of t radians make n - 2 triangles between two moved points and two beside an end,
(n - 2) x^2 sin t + 2 x sin t = n t for points at x times the radius.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ..errors import GeometryError, refuse
from .path import Loop, Path, Region
from .point import Point
from .segment import Arc

if TYPE_CHECKING:
    from shapely import LineString, Polygon

MOST_CHORDS = 1_000_000


def chords(arc: Arc, gap: float) -> int:
    """Return how many equal chords keep within `gap` metres of the arc (sagitta r (1 - cos(t/2)))."""
    if not gap > 0:
        raise refuse(GeometryError, f"arcs drawn as chords within {gap} m",
                     "give a gap of more than nothing", "bad-gap")
    step = 2 * math.acos(1 - gap / arc.radius) if gap < arc.radius else math.pi
    step = min(step, math.pi / 2) if step > 0 else abs(arc.sweep) / MOST_CHORDS
    return min(max(1, math.ceil(abs(arc.sweep) / step - 1e-9)), MOST_CHORDS)


def _coordinates(arc: Arc, gap: float, keep_area: bool) -> list[tuple[float, float]]:
    """Return start and inner points of an arc, its end left out."""
    first = [(arc.start.x, arc.start.y)]
    count = chords(arc, 0.7 * gap if keep_area else gap)   # moved points stand out by up to 4/3 of a sagitta
    step = arc.sweep / count
    cx, cy, radius, begin = arc.centre.x, arc.centre.y, arc.radius, arc.begin
    if keep_area and count > 1:
        s = math.sin(step)
        radius *= count * step / (s + math.copysign(math.sqrt(s * s + (count - 2) * s * count * step), s))
    cos, sin = math.cos, math.sin
    return first + [(cx + radius * cos(begin + k * step), cy + radius * sin(begin + k * step)) for k in range(1, count)]


def _walk(shape: Path | Loop, gap: float, keep_area: bool) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for segment in shape.segments:
        if isinstance(segment, Arc):
            found += _coordinates(segment, gap, keep_area)
        else:
            found.append((segment.start.x, segment.start.y))
    if isinstance(shape, Path):
        found.append((shape.end.x, shape.end.y))
    return found


def coordinates(path: Path | Loop, gap: float) -> list[tuple[float, float]]:
    """Return the places along a path, or a loop closed, arcs as chords within `gap` metres."""
    found = _walk(path, gap, keep_area=False)
    return [*found, found[0]] if isinstance(path, Loop) else found


def points_of(shape: Path | Loop, gap: float, keep_area: bool = False) -> list[Point]:
    """Return the points of a path (both ends) or loop (the first is not repeated) with arcs as chords within `gap`."""
    return [Point(x, y) for x, y in _walk(shape, gap, keep_area)]


def polygon(region: Region | Loop, gap: float, keep_area: bool = False) -> Polygon:
    """Return the shapely polygon of a region, arcs as chords within `gap` metres."""
    from shapely import Polygon
    if isinstance(region, Loop):
        return Polygon(_walk(region, gap, keep_area))
    return Polygon(_walk(region.outer, gap, keep_area), [_walk(hole, gap, keep_area) for hole in region.holes])


def line(path: Path | Loop, gap: float) -> LineString:
    """Return the shapely line of a path, or of a loop closed, arcs as chords within `gap` metres."""
    from shapely import LineString
    return LineString(coordinates(path, gap))
