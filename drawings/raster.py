"""Where a plan holds ink, in small cells: says of many upright boxes at once which are surely clear, which surely not.

Takes points along what is drawn. What lies between sure and sure is left to an exact test. Paper millimetres.
"""

from __future__ import annotations

import numpy as np

from ..geometry.kernel.point import Box
from .oblong import Flags, Floats, Indices

CELL = 0.5
"""Side of a cell, mm."""

STEP = 0.25
"""Points stand no further apart along a line than this, mm."""

RIM = 3.0
"""The cells reach this far beyond the field: as far as anything just outside it matters, mm."""


def along(ends: Floats) -> Floats:
    """Return points along straight pieces (rows of x0, y0, x1, y1), both ends of each among them."""
    size = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
    count = np.maximum(2, np.ceil(size / STEP).astype(np.int64) + 1)
    which = np.repeat(np.arange(len(ends)), count)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)) / (count[which] - 1)
    return np.asarray(ends[which, :2] + (ends[which, 2:] - ends[which, :2]) * share[:, None])


class Raster:
    """Points counted in cells, so that one look at four corners says how many lie in a box."""

    def __init__(self, points: Floats, field: Box) -> None:
        self.x0, self.y0 = field.x0 - RIM, field.y0 - RIM
        self.across = int(np.ceil((field.width + 2 * RIM) / CELL))
        self.up = int(np.ceil((field.height + 2 * RIM) / CELL))
        self.corner, self.most = np.array([self.x0, self.y0]), np.array([self.across, self.up])
        i = np.floor((points[:, 0] - self.x0) / CELL).astype(np.int64)
        j = np.floor((points[:, 1] - self.y0) / CELL).astype(np.int64)
        here = (i >= 0) & (i < self.across) & (j >= 0) & (j < self.up)
        cells = np.zeros((self.up + 1, self.across + 1), dtype=np.int32)
        cells[j[here] + 1, i[here] + 1] = 1
        np.cumsum(cells, axis=1, out=cells)
        self.sums = np.cumsum(cells, axis=0, out=cells)

    def _count(self, left: Indices, low: Indices, right: Indices, high: Indices) -> Indices:
        sums = self.sums
        return np.asarray(sums[high, right] - sums[low, right] - sums[high, left] + sums[low, left], dtype=np.int64)

    def clear(self, bounds: Floats) -> Flags:
        """Say which boxes (x0, y0, x1, y1) hold no line, nor any part of one; false where a box leaves the cells."""
        low = np.floor((bounds[:, :2] - STEP / 2 - self.corner) / CELL).astype(np.int64)
        high = np.floor((bounds[:, 2:] + STEP / 2 - self.corner) / CELL).astype(np.int64) + 1
        inside = (low[:, 0] >= 0) & (low[:, 1] >= 0) & (high[:, 0] <= self.across) & (high[:, 1] <= self.up)
        (i0, j0), (i1, j1) = self._within(low), self._within(high)
        return np.asarray(inside & (self._count(i0, j0, i1, j1) == 0))

    def held(self, bounds: Floats) -> Flags:
        """Say which boxes surely hold a point: one stands in a cell that lies wholly inside."""
        low = np.ceil((bounds[:, :2] - self.corner) / CELL).astype(np.int64)
        high = np.floor((bounds[:, 2:] - self.corner) / CELL).astype(np.int64)
        (i0, j0), (i1, j1) = self._within(low), self._within(np.maximum(low, high))
        return np.asarray(self._count(i0, j0, i1, j1) > 0)

    def _within(self, cells: Indices) -> Indices:
        """Return columns and rows of cells, those outside as the nearest ones."""
        return np.asarray(np.minimum(np.maximum(cells, 0), self.most).T, dtype=np.int64)
