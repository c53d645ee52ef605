"""The smoothest curve through given points: a cubic in pieces, with heading and curvature continuous throughout.

Spans are timed by the root of their chord (centripetal), which keeps short spans between long ones from looping.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Cubic:
    """Times of the given points, and value and slope (m, m per unit of time) at each; curves in between are cubics."""

    times: Floats
    values: Floats
    slopes: Floats

    @property
    def end(self) -> float:
        """The time of the last point; the first is at 0."""
        return float(self.times[-1])

    def at(self, times: Floats) -> tuple[Floats, Floats]:
        """Return positions and velocities at `times`, one row each."""
        k = np.clip(np.searchsorted(self.times, times, side="right") - 1, 0, len(self.times) - 2)
        h = self.times[k + 1] - self.times[k]
        u = ((times - self.times[k]) / h)[:, None]
        h = h[:, None]
        p, q, m, n = self.values[k], self.values[k + 1], self.slopes[k], self.slopes[k + 1]
        c = (3 * (q - p) / h - 2 * m - n) / h
        d = (2 * (p - q) / h + m + n) / (h * h)
        v = u * h
        places = np.where(u < 1, p + v * (m + v * (c + v * d)), q)     # the last point exactly as given
        return places, m + v * (2 * c + 3 * v * d)


def through(points: Floats, closed: bool, headings: Sequence[float | None] = (None, None)) -> Cubic:
    """Return the cubic through the rows of `points`; without a heading (radians) an end is left unbent.

    A closed curve returns to its first point, which is given once.
    """
    values = np.vstack([points, points[:1]]) if closed else points
    h: Floats = np.sqrt(np.hypot(*np.diff(values, axis=0).T))
    count = len(values)
    matrix = np.zeros((count, count))
    right = np.zeros((count, 2))
    rates = np.diff(values, axis=0) / h[:, None]
    for k in range(1, count - 1):
        _row(matrix, right, k, (k - 1, k, k + 1), (h[k - 1], h[k]), (rates[k - 1], rates[k]))
    if closed:
        _row(matrix, right, 0, (count - 2, 0, 1), (h[-1], h[0]), (rates[-1], rates[0]))
        matrix[-1, -1], matrix[-1, 0] = 1.0, -1.0
    else:
        for k, beside, rate, heading in ((0, 1, rates[0], headings[0]), (-1, -2, rates[-1], headings[1])):
            if heading is None:
                matrix[k, k], matrix[k, beside], right[k] = 2.0, 1.0, 3 * rate
            else:
                matrix[k, k] = 1.0
                right[k] = np.array([math.cos(heading), math.sin(heading)]) * math.hypot(*rate)
    slopes: Floats = np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
    return Cubic(np.concatenate([[0.0], np.cumsum(h)]), values, slopes)


def _row(matrix: Floats, right: Floats, row: int, columns: tuple[int, int, int],
         h: tuple[float, float], rates: tuple[Floats, Floats]) -> None:
    """Write the condition that the curvature at a point is the same on both sides."""
    for column, weight in zip(columns, (1 / h[0], 2 / h[0] + 2 / h[1], 1 / h[1]), strict=True):
        matrix[row, column] += weight
    right[row] = 3 * (rates[0] / h[0] + rates[1] / h[1])
