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
STRIP = 6.0
"""Width of the strips in which candidates are looked for (m)."""
MARGIN = 0.001
"""What is looked at before it is measured lies within the tape and this, metres."""


def lowest(values: Floats, count: int) -> Ints:
    """Return where the `count` smallest values stand, in order; of equals the first one first."""
    if len(values) <= count:
        return np.argsort(values, kind="stable")
    near = np.flatnonzero(values <= np.partition(values, count - 1)[count - 1])
    return near[np.argsort(values[near], kind="stable")[:count]]


def in_reach(points: Floats, others: Floats, lengths: Floats) -> tuple[Ints, Ints]:
    """Return the pairs of `points` and `others` within each point's length of each other, in order of the points.

    Others are held in strips, in each by x; only what lies beside a point in a strip that it reaches is measured, so
    that a large garden costs no more a peg than a small one.
    """
    nothing = np.zeros(0, dtype=np.intp)
    if not len(points) or not len(others):
        return nothing, nothing
    (x0, y0), (x1, y1) = others.min(axis=0), others.max(axis=0)
    wide = x1 - x0 + 1.0                                     # no strip's key reaches into the next one
    strip = ((others[:, 1] - y0) // STRIP).astype(np.intp)
    key = strip * wide + (others[:, 0] - x0)
    order = key.argsort(kind="stable")
    key = key[order]
    x, y, far = points[:, 0] - x0, points[:, 1] - y0, lengths + MARGIN
    first, last = (np.clip((y + way * far) // STRIP, 0, (y1 - y0) // STRIP).astype(np.intp) for way in (-1, 1))
    a = np.arange(len(points)).repeat(last - first + 1)
    strip = np.arange(len(a)) - np.searchsorted(a, a) + first[a]
    aside = np.maximum(np.maximum(strip * STRIP - y[a], y[a] - (strip + 1) * STRIP), 0.0)
    half = np.sqrt(np.maximum(far[a] ** 2 - aside**2, 0.0)) + MARGIN
    low, high = (np.searchsorted(key, strip * wide + np.clip(x[a] + way * half, -0.5, wide - 0.5)) for way in (-1, 1))
    count = np.maximum(high - low, 0)
    b = order.take(np.arange(int(count.sum())) - (count.cumsum() - count - low).repeat(count))
    a = a.repeat(count)
    apart = np.hypot(points[:, 0].take(a) - others[:, 0].take(b), points[:, 1].take(a) - others[:, 1].take(b))
    near = ((apart <= lengths.take(a)) & (apart >= NEAREST)).nonzero()[0]
    return a.take(near), b.take(near)


@dataclass(slots=True)
class Pairs:
    """Targets and candidates (numbers) within a tape of each other: the way from one to the other, m, and its reading.

    They stand candidate by candidate (`first` of each), within one by target. `shut` are known not to see each other,
    those of candidates `looked` at are all known. `by_target` are the same pairs target by target (`begin` of each).
    A reading whose variance is over a target's `most` sets it no better than it was set at first.
    """

    target: Ints
    spot: Ints
    first: Ints
    away_x: Floats
    away_y: Floats
    reach: Floats
    variance: Floats
    shut: Flags
    looked: Flags
    by_target: Ints
    begin: Ints
    most: Floats

    @staticmethod
    def of(targets: Floats, spots: Floats, most: Floats, tape: Tape) -> Pairs:
        """Measure the pairs within a tape whose candidate may set its target with an error below `most` (m).

        Errors are no less than those of both readings, the shorter one at its shortest, and of the nails. What the
        pairs see is looked at when it matters.
        """
        shortest = float(reading_variance(np.zeros(1), tape)[0])
        left = most**2 + SURELY - 3 * tape.peg_sd**2
        target, spot = in_reach(targets, spots, longest(left - shortest, tape))
        begin = np.searchsorted(target, np.arange(len(targets) + 1))
        order = _in_order(spot)
        target, spot = target.take(order), spot.take(order)
        x, y = (targets[:, k].take(target) - spots[:, k].take(spot) for k in (0, 1))
        reach = np.maximum(np.hypot(x, y), 1e-9)
        return Pairs(target, spot, np.searchsorted(spot, np.arange(len(spots) + 1)), x, y, reach,
                     reading_variance(reach, tape), np.zeros(len(spot), dtype=bool), np.zeros(len(spots), dtype=bool),
                     _in_order(target), begin, left)

    def of_targets(self, targets: Ints, variance: Floats) -> Ints:
        """Return the pairs of some targets that may set them better beside a reading of such variance (m2)."""
        begin = self.begin[targets]
        count = self.begin[targets + 1] - begin
        which = self.by_target.take(np.arange(int(count.sum())) + (begin - count.cumsum() + count).repeat(count))
        may = self.variance.take(which) < (self.most[targets] - variance).repeat(count)
        found: Ints = which[may]
        return found


def _in_order(numbers: Ints) -> Ints:
    """Return where numbers stand in their order, of equals the first one first; small ones are sorted by digits."""
    small = numbers.astype(np.uint16) if len(numbers) and numbers.max() < 2**16 else numbers
    return small.argsort(kind="stable")


def longest(variance: Floats, tape: Tape) -> Floats:
    """Return the longest readings (m, within the tape) that are no less sure than such variances (m2)."""
    per_metre = float(reading_variance(np.ones(1), tape)[0] - reading_variance(np.zeros(1), tape)[0])
    over = np.maximum(variance - float(reading_variance(np.zeros(1), tape)[0]), 0.0)
    found: Floats = np.minimum(np.sqrt(over / per_metre), tape.length)
    return found


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
