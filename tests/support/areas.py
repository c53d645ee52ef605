"""Plain regions for tests of quantities, and the bonds and units that tests lay on them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc, Line, Segment
from pegbook.geometry.quantities.patterns import Unit


def polygon(*corners: tuple[float, float], holes: Sequence[Loop] = ()) -> tuple[Region, ...]:
    """Return a straight-sided region."""
    return (Region(Loop.polygon(Point(x, y) for x, y in corners), tuple(holes)),)


def rectangle(
    width: float, height: float, x: float = 0.0, y: float = 0.0, holes: Sequence[Loop] = ()
) -> tuple[Region, ...]:
    """Return an upright rectangle with its lower left corner at (x, y)."""
    return polygon((x, y), (x + width, y), (x + width, y + height), (x, y + height), holes=holes)


def disc(radius: float, x: float = 0.0, y: float = 0.0, hole: float = 0.0) -> tuple[Region, ...]:
    """Return a circle, or a ring when `hole` is given."""
    holes = (Loop.circle(Point(x, y), hole),) if hole else ()
    return (Region(Loop.circle(Point(x, y), radius), holes),)


def rounded(width: float, height: float, r: float) -> tuple[Region, ...]:
    """Return a rectangle with rounded corners."""
    segments: list[Segment] = []
    corners = [(width - r, r, -90), (width - r, height - r, 0), (r, height - r, 90), (r, r, 180)]
    arcs = [Arc.swung(Point(x, y), r, math.radians(a), math.pi / 2) for x, y, a in corners]
    for k, arc in enumerate(arcs):
        segments += [Line(arcs[k - 1].end, arc.start), arc]
    return (Region(Loop.of(segments)),)


def moved(regions: Sequence[Region], turn: float, dx: float, dy: float) -> tuple[Region, ...]:
    """Return regions turned about the origin and then moved."""

    def spot(p: Point) -> Point:
        c, s = math.cos(turn), math.sin(turn)
        return Point(c * p.x - s * p.y + dx, s * p.x + c * p.y + dy)

    def segment(s: Segment) -> Segment:
        if isinstance(s, Line):
            return Line(spot(s.start), spot(s.end))
        return Arc(spot(s.centre), s.radius, s.begin + turn, s.sweep, spot(s.start), spot(s.end))

    def loop(ring: Loop) -> Loop:
        return Loop(tuple(segment(s) for s in ring.segments))

    return tuple(Region(loop(r.outer), tuple(loop(h) for h in r.holes)) for r in regions)


def unit(length: float, width: float, joint: float = 0.0, **more: object) -> Unit:
    """Return a unit from millimetres."""
    return Unit(length=length / 1000, width=width / 1000, joint=joint / 1000, **more)  # type: ignore[arg-type]


def line(*points: tuple[float, float]) -> Path:
    """Return the straight path through some points."""
    return Path.through(Point(x, y) for x, y in points)
