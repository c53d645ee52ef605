"""How often closed segments run round a point, and whether a point lies in an area: no arrangement needed."""

from __future__ import annotations

import math
from collections.abc import Iterable

from .path import Region
from .point import Point
from .segment import Line, Segment
from .station import nearest_share


def _chord_turns(start: Point, end: Point, point: Point) -> tuple[int, bool]:
    """Return the chord's crossing count, and whether the point is right of it (half-open rule for points on it)."""
    dx, dy = end.x - start.x, end.y - start.y
    side = dx * (point.y - start.y) - dy * (point.x - start.x)
    right = side < 0 or (side == 0 and (dy > 0 or (dy == 0 and dx < 0)))
    if start.y <= point.y < end.y:
        return (1 if side > 0 else 0), right
    if end.y <= point.y < start.y:
        return (-1 if side < 0 else 0), right
    return 0, right


def _turns(segment: Segment, point: Point) -> int:
    if isinstance(segment, Line):
        return _chord_turns(segment.start, segment.end, point)[0]
    if abs(segment.sweep) > math.pi * (1 + 1e-12):
        return _turns(segment.part(0.0, 0.5), point) + _turns(segment.part(0.5, 1.0), point)
    count, right = _chord_turns(segment.start, segment.end, point)
    if point.distance(segment.centre) < segment.radius:
        if segment.sweep > 0 and right:
            return count + 1
        if segment.sweep < 0 and not right:
            return count - 1
    return count


def turns_of(segments: Iterable[Segment], point: Point) -> int:
    """Return how often closed segments run anticlockwise round `point` (not on them)."""
    return sum(_turns(segment, point) for segment in segments)


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
