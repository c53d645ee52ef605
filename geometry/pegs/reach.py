"""What lies within reach of a tape, and how well two tapes set it: many points against many marks at once.

Takes: points as arrays of metres. Gives: pairs, variances, least errors. Metres and m2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .linear import NEAREST, SHARPEST, reading_variance
from .tape import Tape

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.intp]

SURELY = 1e-9
"""What could be below a limit by this however sums are rounded is looked at, m2."""
MARGIN = 0.001
"""What is looked at before it is measured lies within the tape and this, metres."""


def lowest(values: Floats, count: int) -> Ints:
    """Return where the `count` smallest values stand, in order; of equals the first one first."""
    if len(values) <= count:
        return np.argsort(values, kind="stable")
    near = np.flatnonzero(values <= np.partition(values, count - 1)[count - 1])
    return near[np.argsort(values[near], kind="stable")[:count]]


def in_reach(points: Floats, others: Floats, length: float) -> tuple[Ints, Ints]:
    """Return the pairs of `points` and `others` within a tape of each other, in order of the points.

    Only what lies within a band along x is measured, so that a large garden costs no more a peg than a small one.
    """
    order = np.argsort(others[:, 0], kind="stable")
    along = others[order, 0]
    low = np.searchsorted(along, points[:, 0] - length - MARGIN)
    high = np.searchsorted(along, points[:, 0] + length + MARGIN)
    count = high - low
    a = np.repeat(np.arange(len(points)), count)
    b = order[np.arange(len(a)) - np.repeat(np.cumsum(count) - count - low, count)]
    near = np.abs(points[a, 1] - others[b, 1]) <= length + MARGIN
    a, b = a[near], b[near]
    apart = np.hypot(*(points[a] - others[b]).T)
    near = (apart <= length) & (apart >= NEAREST)
    a, b = a[near], b[near]
    order = np.lexsort((b, a))
    return a[order], b[order]


@dataclass(slots=True)
class Pairs:
    """Targets and candidates (numbers) within a tape of each other: the way from one to the other, m, and its reading.

    They stand candidate by candidate (`first` of each), within one by target. `shut` are known not to see each other,
    those of candidates `looked` at are all known.
    """

    target: Ints
    spot: Ints
    first: Ints
    away: Floats
    reach: Floats
    variance: Floats
    shut: Flags
    looked: Flags

    @staticmethod
    def of(targets: Floats, spots: Floats, most: Floats, tape: Tape) -> Pairs:
        """Measure the pairs within a tape whose candidate may set its target with an error below `most` (m).

        Errors are no less than those of both readings, the shorter one at its shortest, and of the nails. What the
        pairs see is looked at when it matters.
        """
        target, spot = in_reach(targets, spots, tape.length)
        away = targets[target] - spots[spot]
        reach = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-9)
        least = reading_variance(reach, tape) + float(reading_variance(np.zeros(1), tape)[0]) + 3 * tape.peg_sd**2
        may = np.flatnonzero(least < most[target] ** 2 + SURELY)
        may = may[np.argsort(spot[may], kind="stable")]
        target, spot, away, reach = target[may], spot[may], away[may], reach[may]
        return Pairs(target, spot, np.searchsorted(spot, np.arange(len(spots) + 1)), away, reach,
                     reading_variance(reach, tape), np.zeros(len(spot), dtype=bool), np.zeros(len(spots), dtype=bool))


def variances(points: Floats, marks: Floats, blocks: Floats, tape: Tape) -> tuple[Floats, Floats]:
    """Return unit vectors from marks to points (p x m x 2) and the variance along each, the mark's own included."""
    away = points[:, None, :] - marks[None, :, :]
    reach = np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-9)
    unit = away / reach[..., None]
    own = np.einsum("pmi,mij,pmj->pm", unit, blocks, unit)
    return unit, reading_variance(reach, tape) + own


class Least:
    """Each point's least two-tape error from the marks known so far (m, inf if none), and the pair that gives it."""

    def __init__(self, points: Floats, tape: Tape) -> None:
        self.points, self.tape = points, tape
        self.count = 0
        self.error = np.full(len(points), np.inf)
        self.pair = np.zeros((len(points), 2), dtype=np.intp)
        self._unit, self._var = np.zeros((16, len(points), 2)), np.zeros((16, len(points)))
        self._seen = np.zeros((16, len(points)), dtype=bool)

    def add(self, place: Floats, block: Floats, seen: Flags) -> None:
        """Take up a mark: where it stands, its covariance (m2), and which points see it."""
        k = self.count
        if k == len(self._unit):
            self._unit, self._var, self._seen = (np.concatenate([held, np.zeros_like(held)])
                                                 for held in (self._unit, self._var, self._seen))
        unit, var = variances(self.points, place[None], block[None], self.tape)
        self._unit[k], self._var[k], self._seen[k] = unit[:, 0], var[:, 0], seen
        self.count += 1
        rows = np.flatnonzero(seen)
        if not (k and len(rows)):
            return
        one, two = self._unit[:k, rows], self._unit[k, rows]
        sine = np.abs(one[..., 0] * two[:, 1] - one[..., 1] * two[:, 0])
        error = np.sqrt(self._var[:k, rows] + self._var[k, rows]) / np.maximum(sine, 1e-9)
        error[~self._seen[:k, rows] | (sine < SHARPEST)] = np.inf
        first = np.argmin(error, axis=0)
        least = error[first, np.arange(len(rows))]
        old = self.error[rows]
        better = np.flatnonzero((least < old) | ((least == old) & (first < self.pair[rows, 0]) & (least < np.inf)))
        rows = rows[better]
        self.error[rows] = least[better]
        self.pair[rows, 0], self.pair[rows, 1] = first[better], k

    def keep(self, which: Flags) -> None:
        """Go on with some of the points only."""
        self.points, self.error, self.pair = self.points[which], self.error[which], self.pair[which]
        self._unit, self._var, self._seen = self._unit[:, which], self._var[:, which], self._seen[:, which]
