"""The ground on which a group's plants may stand: its outline drawn in by half a spacing, clear of single plants.

Takes exact regions. Gives shapely polygons that never reach outside the true ground (to 0.3 mm), and clear distances.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..kernel.flatten import polygon
from ..kernel.path import Region
from ..kernel.point import Point
from .cells import FIGURES, Floats

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

CHORD = 3e-4
"""Arcs become chords within this gap (m) before they are drawn in: a third of what the rules allow."""

SIMPLER = 1e-3
"""The drawn-in ground may be simplified by this (m); it is drawn in by as much more."""

ROUND = 24
"""Chords to a quarter circle where ground is drawn in round a corner."""


@dataclass(frozen=True, slots=True)
class Clear:
    """A round place in which no plant of a group may stand: a single plant's or a stem's. Metres."""

    at: Point
    radius: float


def ground_of(region: Region, spacing: float, clear: Sequence[Clear] = ()) -> BaseGeometry:
    """Return where plants `spacing` metres apart may stand in a region: half a spacing inside, clear of `clear`."""
    from shapely import Point as Spot
    from shapely import union_all

    half = spacing / 2 + SIMPLER
    ground: BaseGeometry = polygon(region, CHORD).buffer(-half, quad_segs=ROUND).simplify(SIMPLER)
    near = [Spot(c.at.x, c.at.y).buffer((c.radius + half) / np.cos(np.pi / 64), quad_segs=16) for c in clear
            if c.at.x + c.radius + half > region.box.x0 and c.at.x - c.radius - half < region.box.x1
            and c.at.y + c.radius + half > region.box.y0 and c.at.y - c.radius - half < region.box.y1]
    if near:
        ground = ground.difference(union_all(near))
    return ground


def pieces_of(ground: BaseGeometry) -> list[Polygon]:
    """Return the polygons of a shape, largest first."""
    from shapely import get_parts

    parts = [p for p in get_parts(ground) if p.geom_type == "Polygon" and p.area > 0]
    return sorted(parts, key=lambda p: (-p.area, p.bounds))


def edges_of(ground: BaseGeometry) -> Floats:
    """Return all straight edges of a polygonal shape as rows x, y, dx, dy; the shape lies on their left."""
    from shapely.geometry.polygon import orient

    rows = []
    for part in map(orient, pieces_of(ground)):
        for ring in (part.exterior, *part.interiors):
            ends = np.asarray(ring.coords)
            rows.append(np.column_stack([ends[:-1], np.diff(ends, axis=0)]))
    return np.concatenate(rows) if rows else np.zeros((0, 4))


def drift_heading(region: Region) -> float:
    """Return the direction (radians) in which a region is longest: of the largest spread of its edge's points."""
    spots = np.asarray(polygon(region, 0.01).exterior.segmentize(0.1).coords)
    spread = np.cov((spots - spots.mean(axis=0)).T)
    values, ways = np.linalg.eigh(spread)      # the sign and the last bits of its ways are the library's own
    way = ways[:, int(np.argmax(values))]
    heading = round(float(np.arctan2(way[1], way[0])), FIGURES)
    return heading if -np.pi / 2 < heading <= np.pi / 2 else heading - float(np.copysign(np.pi, heading))
