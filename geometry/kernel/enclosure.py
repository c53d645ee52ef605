"""How often closed segments run round a point, and whether a point lies in an area: no arrangement needed."""

from __future__ import annotations

import math
from collections.abc import Iterable

from .path import Region
from .point import Point
from .segment import Line, Segment
from .station import nearest_share


def _turns(segment: Segment, x: float, y: float) -> int:
    """Return what one segment adds: its chord's crossing (half open in y), and the part of its circle beside it."""
    sx, sy, ex, ey = segment.start.x, segment.start.y, segment.end.x, segment.end.y
    dx, dy = ex - sx, ey - sy
    side = dx * (y - sy) - dy * (x - sx)
    turns = 0
    if sy <= y < ey:
        turns = 1 if side > 0 else 0
    elif ey <= y < sy:
        turns = -1 if side < 0 else 0
    if isinstance(segment, Line) or not math.hypot(x - segment.centre.x, y - segment.centre.y) < segment.radius:
        return turns
    if not (dx or dy):
        return turns + (1 if segment.sweep > 0 else -1)
    right = side < 0 or (side == 0 and (dy > 0 or (dy == 0 and dx < 0)))
    if segment.sweep > 0:
        return turns + int(right)
    return turns - int(not right)


def turns_of(segments: Iterable[Segment], point: Point) -> int:
    """Return how often closed segments run anticlockwise round `point` (not on them)."""
    x, y = point.x, point.y
    return sum([_turns(segment, x, y) for segment in segments])


def distance_to(segments: Iterable[Segment], point: Point) -> float:
    """Return the distance in metres from `point` to the nearest of `segments`."""
    return min(point.distance(segment.point(nearest_share(segment, point))) for segment in segments)


def inside_region(region: Region, point: Point) -> bool:
    """Say whether `point` (not on an edge) lies in the region."""
    return turns_of(region.outer.segments, point) > 0 and not any(turns_of(h.segments, point) for h in region.holes)


def on_edge(region: Region, point: Point, within: float) -> bool:
    """Say whether `point` lies within `within` metres of an edge of the region."""
    rings = (region.outer, *region.holes)
    return any(distance_to(ring.segments, point) <= within for ring in rings)
