"""In which orders the pegs of a shape are tried, and which of several ways is preferred."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .linear import Ways, effort

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

GOOD = 0.8
"""A way that errs by less than this share of the tolerance is good: then the shallow and easy one is taken."""

EFFORT_WEIGHT = 0.3
HOOK_WEIGHT = 0.7


def orders_of(count: int) -> list[tuple[int, ...]]:
    """Return the orders to try for `count` pegs, fewer for many pegs, the declared one first."""
    if count <= 1:
        return [tuple(range(count))]
    found: dict[tuple[int, ...], None] = {}
    for start in range(count):
        for way in (1, -1):
            found[tuple((start + way * k) % count for k in range(count))] = None
    for start in range(count):
        turn = [(start + k) % count for k in range(count)]
        far = turn.pop(count // 2)
        found[(turn[0], far, *turn[1:])] = None
    most = 18 if count <= 7 else 8 if count <= 12 else 3
    return list(found)[:most] if count <= 7 else list(found)[::max(1, len(found) // most)][:most]


def rank(w: Ways, q: Floats, level: Floats, pegs: Floats, hooks: frozenset[int]) -> Ints:
    """Return the ways in order of preference: good and shallow and easy first, then by q; ties by kind and source."""
    new = np.full(len(w), 2.0)
    for hook in hooks:
        new -= (w.a == hook).astype(float) + (w.b == hook)
    cost = level + q + EFFORT_WEIGHT * (effort(w, pegs) + HOOK_WEIGHT * new)
    good = q <= GOOD
    key = np.where(good, cost, 1000.0 + q)
    return np.lexsort((w.b, w.a, w.kind, np.round(key, 6)))
