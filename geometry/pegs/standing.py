"""Where a mark may be driven: on open ground, clear of digs and of what stands there. Lengths in metres."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .sight import Sight

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

CLEAR_OF_DIG = 0.4
CLEAR_OF_OBSTACLE = 0.3
RING = 0.3


@dataclass(frozen=True, slots=True)
class Site:
    """Where marks may stand: the boundary or the garden's box, less digs and obstacles, each with its clearance."""

    inside: Any                                  # shapely geometry
    corners: Floats

    @staticmethod
    def of(boundary: Any, digs: Sequence[Any], sight: Sight, points: Floats) -> Site:
        """Return the ground on which marks may stand."""
        import shapely
        whole = boundary
        if whole is None:
            low, high = points.min(axis=0) - 2.0, points.max(axis=0) + 2.0
            whole = shapely.box(low[0], low[1], high[0], high[1])
        shut = [d.buffer(CLEAR_OF_DIG) for d in digs] + [g.buffer(CLEAR_OF_OBSTACLE) for g in sight.grown]
        inside = whole.buffer(-0.1)
        if shut:
            inside = inside.difference(shapely.union_all(shut))
        shapely.prepare(inside)
        round_ = [np.array(ring.coords)[:-1] for g in sight.grown
                  for part in shapely.get_parts(g.buffer(0.4, join_style="mitre").simplify(0.2))
                  for ring in [part.exterior] if not part.is_empty]
        return Site(inside, np.vstack(round_) if round_ else np.zeros((0, 2)))

    def holds(self, points: Floats) -> Flags:
        """Say at which points a mark may stand."""
        import shapely
        flags: Flags = np.asarray(shapely.intersects(self.inside, shapely.points(points)), dtype=bool)
        return flags

    def candidates(self) -> Floats:
        """Return the places worth considering, those on obstacles' corners first."""
        import shapely
        if self.inside.is_empty:        # nothing is left between obstacles and boundary
            return self.corners
        x0, y0, x1, y1 = self.inside.bounds
        step = min(1.6, max(0.8, math.sqrt((x1 - x0) * (y1 - y0) / 350)))
        gx, gy = np.meshgrid(np.arange(x0 + step / 2, x1, step), np.arange(y0 + step / 2, y1, step))
        ring = self.inside.buffer(0.1).convex_hull.exterior.segmentize(2 * step)
        inner = ring.buffer(RING).interiors
        edge = np.array(shapely.get_coordinates(inner[0] if inner else ring))
        points = np.vstack([self.corners, np.column_stack([gx.ravel(), gy.ravel()]), edge[::max(1, len(edge) // 60)]])
        found: Floats = points[self.holds(points)]
        return found
