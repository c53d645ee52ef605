"""Where a tape or a string can lie: lines tested against obstacles grown by what they must be cleared by.

Takes: obstacles, points as arrays of metres. Gives: for many lines at once whether they are free.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..features import Obstacle
from ..kernel.flatten import polygon
from ..kernel.path import Loop

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

ALONG = 0.01
"""What may be lain along (clear 0) is shrunk by this (m), so that a tape along its face does not touch it."""
GAP = 0.002
"""Curved bodies are taken as chords within this distance (m)."""


class Sight:
    """Lines of one building stage: what already stands then blocks them."""

    def __init__(self, obstacles: Sequence[Obstacle], stage: int) -> None:
        import shapely
        standing = [o for o in obstacles if o.stage < stage]
        bodies = [polygon(o.body, GAP) for o in standing]
        self.bodies: list[BaseGeometry] = [b.buffer(-ALONG, join_style="mitre") for b in bodies]
        self.grown: list[BaseGeometry] = [b.buffer(o.clear, quad_segs=16) if o.clear > 0 else body
                                          for b, body, o in zip(bodies, self.bodies, standing, strict=True)]
        self.whole: Any = shapely.union_all(self.grown) if self.grown else None
        if self.whole is not None:
            shapely.prepare(self.whole)
        self._tree: Any = shapely.STRtree(self.grown) if self.grown else None
        self._body: Any = shapely.union_all(self.bodies) if self.bodies else None
        if self._body is not None:
            shapely.prepare(self._body)

    def bands(self, points: Floats) -> list[frozenset[int]]:
        """Return for each point the obstacles in whose band (or body) it lies."""
        found: list[set[int]] = [set() for _ in range(len(points))]
        if self._tree is not None and len(points):
            import shapely
            for k, obstacle in self._tree.query(shapely.points(points), predicate="within").T:
                found[int(k)].add(int(obstacle))
        return [frozenset(s) for s in found]

    def inside(self, points: Floats) -> Flags:
        """Say which points lie in a body or too near to it."""
        return np.array([bool(b) for b in self.bands(points)], dtype=bool)

    def blocked_body(self, points: Floats) -> Flags:
        """Say which points lie within a body itself, where no peg can stand."""
        import shapely
        if not self.bodies or not len(points):
            return np.zeros(len(points), dtype=bool)
        spots = shapely.points(points)
        return np.asarray(shapely.intersects(self._body, spots), dtype=bool)

    def free(self, starts: Floats, ends: Floats) -> Flags:
        """Say which lines from `starts` to `ends` (k x 2 each) meet no grown obstacle.

        A line that begins or ends within an obstacle's band is tested against that obstacle's body only.
        """
        if self.whole is None or not len(starts):
            return np.ones(len(starts), dtype=bool)
        import shapely
        lines: Any = shapely.linestrings(np.stack([starts, ends], axis=1))
        free = ~np.asarray(shapely.intersects(self.whole, lines), dtype=bool)
        shut = np.flatnonzero(~free)
        if not len(shut):
            return free
        bands = [a | b for a, b in zip(self.bands(starts[shut]), self.bands(ends[shut]), strict=True)]
        lenient = [k for k, band in enumerate(bands) if band]
        if not lenient:
            return free
        some = lines[shut[lenient]]
        met, obstacle = self._tree.query(some, predicate="intersects")
        in_band = np.array([o in bands[lenient[m]] for m, o in zip(met, obstacle, strict=True)], dtype=bool)
        blocked = np.zeros(len(lenient), dtype=bool)
        blocked[met[~in_band]] = True
        bodies = np.array(self.bodies, dtype=object)[obstacle[in_band]]
        through = np.asarray(shapely.intersects(bodies, some[met[in_band]]), dtype=bool)
        blocked[met[in_band][through]] = True
        free[shut[lenient]] = ~blocked
        return free


def area_of(boundary: Loop | None) -> Any:
    """Return the boundary as a shapely polygon, or None."""
    return None if boundary is None else polygon(boundary, GAP)
