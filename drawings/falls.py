"""Where the arrow of a fall stands: in the middle of its surface, or beside what stands or hangs there.

Takes: features and a view. Gives: a point in paper millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..geometry.features import Feature, Role
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from ..geometry.kernel.station import project
from .brief import Brief
from .sheet import View
from .symbols import readable

LONG, HIGH = 12.5, 4.0
"""The arrow with its ratio above it is as long and as high, mm."""

FREE = 3.0
"""An arrow so far from all else stands free, mm."""

STEPS = 8
"""Places along and across the surface that are tried."""

IN_THE_WAY = frozenset({Role.BEAM, Role.RAFTER, Role.POST, Role.LEVEL, Role.FURNITURE, Role.CROWN})


def fall_place(feature: Feature, brief: Brief, view: View) -> Point:
    """Return the middle of a fall's arrow: the given one if it is free, else the freest place on the surface."""
    assert isinstance(feature.shape, Path)
    path = view.path(feature.shape)
    way = (path.end - path.start).unit()
    given = path.start.toward(path.end, 0.5)
    others = _others(brief, view)
    if _clearance(given, way, others, ()) >= FREE:
        return given
    surface = tuple(view.region(f.shape) for f in brief.features
                    if f.element == feature.element and isinstance(f.shape, Region) and f.role is not Role.EDGE_BAND)
    found = [(-min(FREE, round(_clearance(at, way, others, surface), 3)), round(at.distance(given), 3), at)
             for at in _tried(surface)]
    return min(found, key=lambda item: (*item[:2], item[2].x, item[2].y))[2] if found else given


def _tried(surface: tuple[Region, ...]) -> Iterator[Point]:
    for region in surface:
        box = region.box
        for i in range(1, STEPS):
            for j in range(1, STEPS):
                yield Point(box.x0 + box.width * i / STEPS, box.y0 + box.height * j / STEPS)


def _others(brief: Brief, view: View) -> tuple[tuple[Path | Point, Box], ...]:
    """Return the lines and points that an arrow keeps off, on paper, with their boxes."""
    found: list[Path | Point] = []
    for feature in brief.features:
        if feature.role in IN_THE_WAY:
            if isinstance(feature.shape, Path):
                found.append(view.path(feature.shape))
            elif isinstance(feature.shape, Point):
                found.append(view.point(feature.shape))
    return tuple((one, Box.of((one,)) if isinstance(one, Point) else one.box) for one in found)


def _clearance(at: Point, way: Vec, others: tuple[tuple[Path | Point, Box], ...],
               surface: tuple[Region, ...]) -> float:
    """Return how far an arrow is from all else, FREE at least where nothing is nearer; less than 0 off its surface."""
    from ..geometry.kernel.enclosure import inside_region

    up = Vec.polar(readable(way.heading)[1])
    spots = [at + way * (LONG * s) + up * (HIGH * t) for s in (-0.5, -0.25, 0.0, 0.25, 0.5) for t in (0.0, 0.5, 1.0)]
    if surface and not any(all(inside_region(region, spot) for spot in spots) for region in surface):
        return -1.0
    reach = Box.of(spots).grown(FREE)
    near = [one for one, box in others if box.meets(reach)]
    apart = [spot.distance(o) if isinstance(o, Point) else project(o, spot).distance for o in near for spot in spots]
    return min(apart, default=FREE)


__all__ = ["fall_place"]
