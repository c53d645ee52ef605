"""What lies within reach of a tape, and how well two tapes set it: many points against many marks at once.

Takes: points as arrays of metres. Gives: pairs, variances, least errors. Metres and m2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .linear import NEAREST, SHARPEST, reading_variance
from .tape import Tape
from .ways import pairs_of

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


def pair_errors(unit: Floats, var: Floats, seen: Flags) -> tuple[Floats, NDArray[np.intp]]:
    """Return each point's least two-tape error (m, inf if none) and the pair that gives it."""
    least, best = np.full(len(unit), np.inf), np.tile(np.array([0, min(1, unit.shape[1] - 1)]), (len(unit), 1))
    p, one, two = pairs_of(seen)
    ui, uj = unit[p, one], unit[p, two]
    sine = np.abs(ui[:, 0] * uj[:, 1] - ui[:, 1] * uj[:, 0])
    sharp = np.flatnonzero(sine >= SHARPEST)
    p, one, two, sine = p[sharp], one[sharp], two[sharp], sine[sharp]
    error = np.sqrt(var[p, one] + var[p, two]) / np.maximum(sine, 1e-9)
    if len(p):
        starts = np.flatnonzero(np.diff(p, prepend=-1))
        lowest_ = np.minimum.reduceat(error, starts)
        least[p[starts]] = lowest_
        hits = np.flatnonzero(error == np.repeat(lowest_, np.diff(starts, append=len(p))))
        first = hits[np.diff(p[hits], prepend=-1) > 0]
        best[p[first]] = np.column_stack([one[first], two[first]])
    return least, best
