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
Ints = NDArray[np.intp]

ALONG = 0.01
"""What may be lain along (clear 0) is shrunk by this (m), so that a tape along its face does not touch it."""
GAP = 0.002
"""Curved bodies are taken as chords within this distance (m)."""


BESIDE = 1e-6
"""Boxes of obstacles are taken wider by this (m), so that no line is lost by rounding."""
AT_ONCE = 2048
"""Lines looked at in one go, each lot against the obstacles near it."""


class Sight:
    """Lines of one building stage: what already stands then blocks them."""

    def __init__(self, obstacles: Sequence[Obstacle], stage: int) -> None:
        import shapely
        standing = [o for o in obstacles if o.stage < stage]
        bodies = [polygon(o.body, GAP) for o in standing]
        self.bodies: list[BaseGeometry] = [b.buffer(-ALONG, join_style="mitre") for b in bodies]
        self.grown: list[BaseGeometry] = [b.buffer(o.clear, quad_segs=16) if o.clear > 0 else body
                                          for b, body, o in zip(bodies, self.bodies, standing, strict=True)]
        self._grown, self._bodies = np.array(self.grown, dtype=object), np.array(self.bodies, dtype=object)
        for shapes in (self._grown, self._bodies):
            shapely.prepare(shapes)
        box = shapely.bounds(self._grown).reshape(-1, 4)
        box += np.array([-1, -1, 1, 1]) * BESIDE
        self._low, self._high = box[:, :2].copy(), box[:, 2:].copy()
        self._half = (self._high - self._low) / 2
        self._middle = self._low + self._half

    def blocked_body(self, points: Floats) -> Flags:
        """Say which points lie within a body itself, where no peg can stand."""
        import shapely
        blocked = np.zeros(len(points), dtype=bool)
        point, body = self._near(points, points)
        blocked[point[shapely.intersects_xy(self._bodies[body], points[point, 0], points[point, 1])]] = True
        return blocked

    def free(self, starts: Floats, ends: Floats) -> Flags:
        """Say which lines from `starts` to `ends` (k x 2 each) meet no grown obstacle.

        A line that begins or ends within an obstacle's band is tested against that obstacle's body only.
        """
        free = np.ones(len(starts), dtype=bool)
        for begin in range(0, len(starts), AT_ONCE):
            some = slice(begin, begin + AT_ONCE)
            line, obstacle = self._near(starts[some], ends[some])
            if len(line):
                free[begin + line[self._meet(starts[some][line], ends[some][line], obstacle)]] = False
        return free

    def _near(self, starts: Floats, ends: Floats) -> tuple[Ints, Ints]:
        """Return the pairs of a line and an obstacle whose upright box it meets: no axis parts them.

        Separating axes of a segment and a box, both sides of the segment and across it (common knowledge, no source).
        """
        nothing = np.zeros(0, dtype=np.intp)
        if not len(starts):
            return nothing, nothing
        low, high = np.minimum(starts, ends).min(axis=0), np.maximum(starts, ends).max(axis=0)
        here = ((self._high >= low) & (self._low <= high)).all(axis=1).nonzero()[0]
        if not len(here):
            return nothing, nothing
        (half_x, half_y), (x, y) = self._half[here].T, self._middle[here].T
        along = (ends - starts) / 2
        reach = np.abs(along)
        middle = starts + along
        dx, dy = middle[:, :1] - x, middle[:, 1:] - y
        line, box = ((np.abs(dx) <= reach[:, :1] + half_x) & (np.abs(dy) <= reach[:, 1:] + half_y)).nonzero()
        if not len(line):
            return nothing, nothing
        along, reach = along[line], reach[line]
        across = np.abs(along[:, 0] * dy[line, box] - along[:, 1] * dx[line, box])
        meets = (across <= half_x[box] * reach[:, 1] + half_y[box] * reach[:, 0] + BESIDE**2).nonzero()[0]
        return line[meets], here[box[meets]]

    def _meet(self, starts: Floats, ends: Floats, obstacle: Ints) -> Flags:
        """Say which lines meet their obstacle: it is grown, unless the line begins or ends in its band."""
        import shapely
        lines: Any = shapely.linestrings(np.stack([starts, ends], axis=1))
        meets = np.asarray(shapely.intersects(self._grown[obstacle], lines), dtype=bool)
        hit = np.flatnonzero(meets)
        if len(hit):
            grown = self._grown[obstacle[hit]]
            lenient = hit[shapely.contains_xy(grown, starts[hit, 0], starts[hit, 1])
                          | shapely.contains_xy(grown, ends[hit, 0], ends[hit, 1])]
            meets[lenient] = shapely.intersects(self._bodies[obstacle[lenient]], lines[lenient])
        return meets


def area_of(boundary: Loop | None) -> Any:
    """Return the boundary as a shapely polygon, or None."""
    return None if boundary is None else polygon(boundary, GAP)
