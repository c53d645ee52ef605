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


@dataclass(frozen=True, slots=True)
class Pairs:
    """Targets and candidates (numbers) that see each other: the way from one to the other, m, and its reading."""

    target: Ints
    spot: Ints
    away: Floats
    reach: Floats
    variance: Floats

    @staticmethod
    def of(targets: Floats, spots: Floats, seen: tuple[Ints, Ints], tape: Tape) -> Pairs:
        """Measure the pairs that see each other."""
        target, spot = seen
        away = targets[target] - spots[spot]
        reach = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-9)
        return Pairs(target, spot, away, reach, reading_variance(reach, tape))


def variances(points: Floats, marks: Floats, blocks: Floats, tape: Tape) -> tuple[Floats, Floats]:
    """Return unit vectors from marks to points (p x m x 2) and the variance along each, the mark's own included."""
    away = points[:, None, :] - marks[None, :, :]
    reach = np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-9)
    unit = away / reach[..., None]
    own = np.einsum("pmi,mij,pmj->pm", unit, blocks, unit)
    return unit, reading_variance(reach, tape) + own


def pair_errors(unit: Floats, var: Floats, seen: Flags) -> tuple[Floats, NDArray[np.intp]]:
    """Return each point's least two-tape error (m, inf if none) and the pair that gives it."""
    count = unit.shape[1]
    i, j = np.triu_indices(count, 1)
    if not len(i):
        return np.full(len(unit), np.inf), np.zeros((len(unit), 2), dtype=np.intp)
    least, best = np.full(len(unit), np.inf), np.zeros(len(unit), dtype=np.intp)
    p, pair = np.nonzero(seen[:, i] & seen[:, j])
    one, two = i[pair], j[pair]
    sine = np.abs(unit[p, one, 0] * unit[p, two, 1] - unit[p, one, 1] * unit[p, two, 0])
    sharp = sine >= SHARPEST
    p, pair, one, two, sine = p[sharp], pair[sharp], one[sharp], two[sharp], sine[sharp]
    error = np.sqrt(var[p, one] + var[p, two]) / np.maximum(sine, 1e-9)
    np.minimum.at(least, p, error)
    first = np.flatnonzero(error == least[p])[::-1]             # the first of equals is written last
    best[p[first]] = pair[first]
    return least, np.column_stack([i[best], j[best]])
