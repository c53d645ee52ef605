"""Measures of areas that need more than a sum: the centroid.

Lengths, areas and boxes are properties of the shapes themselves. Metres throughout.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from .path import Loop, Region
from .point import Point
from .segment import Line, Segment


def _moments(segment: Segment, origin: Point) -> tuple[float, float, float]:
    """Return twice the area and the first moments (x, y) between a segment and two rays from `origin`."""
    p, q = segment.start - origin, segment.end - origin
    twice = p.cross(q)
    mx, my = twice * (p.dx + q.dx) / 6, twice * (p.dy + q.dy) / 6
    if isinstance(segment, Line):
        return twice, mx, my
    s, r = segment.sweep, segment.radius
    bulge = r * r * (s - math.sin(s) if abs(s) > 0.02 else s**3 / 6 * (1 - s * s / 20 * (1 - s * s / 42)))
    # A circular segment has its centroid 4 r sin^3(s/2) / 3 (s - sin s) from the centre (handbooks, from memory).
    reach = 4 * r**3 * math.sin(s / 2) ** 3 / (3 * bulge)
    middle = segment.begin + s / 2
    centre = segment.centre - origin
    at_x, at_y = centre.dx + reach * math.cos(middle), centre.dy + reach * math.sin(middle)
    return twice + bulge, mx + bulge * at_x / 2, my + bulge * at_y / 2


def _centroid(rings: Iterable[tuple[Segment, ...]], origin: Point) -> Point:
    parts = [_moments(s, origin) for ring in rings for s in ring]
    area = math.fsum(p[0] for p in parts) / 2
    return Point(origin.x + math.fsum(p[1] for p in parts) / area, origin.y + math.fsum(p[2] for p in parts) / area)


def centroid(shape: Loop | Region) -> Point:
    """Return the centre of gravity of an area, exact for arcs (metres)."""
    if isinstance(shape, Loop):
        return _centroid((shape.segments,), shape.segments[0].start)
    return _centroid(shape.rings(), shape.outer.segments[0].start)
