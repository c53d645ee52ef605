"""Ways weighed, many of them in many states of the ground at once.

A way's q is the larger of twice the predicted error over the tolerance, in position and in shape. Takes: ways, the
covariance and level of their sources. Gives: errors (m2), q, and which way is preferred.

With shifts S_a, S_b and covariances C the error of a peg p set from a and b is linear in the blocks C_aa, C_bb, C_ab;
its factors are worked out once. In shape counts the mean over the fellows f of the variance of the distance along
e = (p - f)/|p - f|: e' C_pp e + e' C_ff e - 2 e' (S_a C_af + S_b C_bf) e, whose sums over f are taken once a source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .plan import Target
from .ways import Ways, effort

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

GOOD = 0.8
"""A way that errs by less than this share of the tolerance is good: then the shallow and easy one is taken."""
EFFORT_WEIGHT = 0.3
HOOK_WEIGHT = 0.7

NEVER = 1_000_000
"""Level of what does not stand."""
NONE = -1


@dataclass(frozen=True, slots=True)
class Nodes:
    """Targets to be weighed, each in a state of the ground: a covariance (its number of several), levels, hooks in use.

    `covariance` is states x sources x sources x 2 x 2; `level` is nodes x sources, NEVER for what does not stand yet.
    """

    target: Ints
    state: Ints
    covariance: Floats
    level: Ints
    hooks: Ints                                  # nodes x 2, NONE where there is none


@dataclass(frozen=True, slots=True)
class Found:
    """Open ways of some nodes, node by node, in each by kind and source: error xx, xy, yy (m2), q, level, rank."""

    node: Ints
    way: Ints
    error: Floats
    q: Floats
    level: Ints
    key: Floats

    def of(self, node: int) -> slice:
        """Return where the ways of one node stand."""
        return slice(*np.searchsorted(self.node, [node, node + 1]))

    def best(self) -> Ints:
        """Return where the way to take stands for each node that has any: the first of the least keys."""
        if not len(self.key):
            return np.zeros(0, dtype=np.intp)
        starts = np.flatnonzero(np.diff(self.node, prepend=-1))
        least = np.minimum.reduceat(self.key, starts)
        count = np.diff(starts, append=len(self.key))
        hits = np.flatnonzero(self.key == np.repeat(least, count))
        first: Ints = hits[np.diff(self.node[hits], prepend=-1) > 0]
        return first


class Scale:
    """Weighs the ways of one element's targets."""

    def __init__(self, ways: Ways, targets: Sequence[Target], places: Floats, first_own: int,
                 tolerance: tuple[Floats, float | None], pegs: Floats, peg_sd: float) -> None:
        """Take ways in order, places of all sources (the targets last), the first own one, tolerances in m."""
        self.ways, self.size, self.own = ways, len(places), first_own
        self.position, self.shape = tolerance
        self.first = np.searchsorted(ways.owner, np.arange(len(targets) + 1))
        self.cost = effort(ways, pegs)
        self._factors = _factors(ways)
        self._base = ways.noise.reshape(-1, 4)[:, (0, 1, 3)] + np.array([1.0, 0.0, 1.0]) * peg_sd**2
        self._shifts = np.stack([ways.sa.reshape(-1, 4), ways.sb.reshape(-1, 4)], axis=1)
        self._needs = np.array([_need(t) for t in targets]).reshape(-1, 3)
        away = places[len(places) - len(targets):, None, :] - places[None, first_own:, :]
        e = away / np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-9)[..., None]
        self._along = e[..., :, None] * e[..., None, :]

    def weigh(self, nodes: Nodes, limit: int) -> Found:
        """Return all ways that are open: whose sources stand, not deeper than `limit` allows."""
        begin = self.first[nodes.target]
        count = self.first[nodes.target + 1] - begin
        node = np.repeat(np.arange(len(count)), count)
        way = np.arange(len(node)) + np.repeat(begin - np.cumsum(count) + count, count)
        a, b = self.ways.a[way], self.ways.b[way]
        level = np.maximum(nodes.level[node, a], nodes.level[node, b]) + 1
        open_ = np.flatnonzero(level <= limit)
        node, way, a, b, level = (v[open_] for v in (node, way, a, b, level))
        error = self._errors(nodes, node, way, a, b)
        needs = self._needs[nodes.target[node]]
        q = 2 * np.sqrt((error * needs).sum(axis=1)) / self.position[nodes.target[node]]
        if self.shape is not None:
            q = np.maximum(q, 2 * np.sqrt(self._shapes(nodes, node, way, a, b, error)) / self.shape)
        new = np.full(len(node), 2.0)
        for hook in nodes.hooks.T:
            held = hook[node]
            new -= (a == held).astype(np.float64) + (b == held)
        cost = level + q + EFFORT_WEIGHT * (self.cost[way] + HOOK_WEIGHT * new)
        return Found(node, way, error, q, level, np.round(np.where(q <= GOOD, cost, 1000.0 + q), 6))

    def _errors(self, nodes: Nodes, node: Ints, way: Ints, a: Ints, b: Ints) -> Floats:
        blocks = nodes.covariance.reshape(-1, 4)
        at_a, at_b = ((nodes.state[node] * self.size + s) * self.size for s in (a, b))
        joint = np.concatenate([blocks[at_a + a], blocks[at_b + b], blocks[at_a + b]], axis=1)
        found: Floats = self._base[way] + np.einsum("kcq,kq->kc", self._factors[way], joint)
        return found

    def _shapes(self, nodes: Nodes, node: Ints, way: Ints, a: Ints, b: Ints, error: Floats) -> Floats:
        """Return the mean variance (m2) of each way's peg along the lines to its fellows that stand; 0 without any."""
        standing = nodes.level[:, self.own:] < NEVER
        if not standing.any():
            return np.zeros(len(node))
        share = standing / np.maximum(standing.sum(axis=1), 1)[:, None]
        along = self._along[nodes.target] * share[:, :, None, None]
        to_fellows = nodes.covariance[:, :, self.own:][nodes.state]
        count, size, fellows = to_fellows.shape[:3]
        seen = (to_fellows.transpose(0, 1, 3, 2, 4).reshape(count, 2 * size, 2 * fellows)
                @ along.reshape(count, 2 * fellows, 2)).reshape(-1, 2, 2).transpose(0, 2, 1).reshape(-1, 4)
        themselves = np.einsum("nffij,nfij->n", to_fellows[:, self.own:], along)
        mean = along.sum(axis=1).reshape(-1, 4)
        spread = np.column_stack([mean[:, 0], mean[:, 1] + mean[:, 2], mean[:, 3]])
        shifts = self._shifts[way]
        mutual = (np.einsum("kq,kq->k", shifts[:, 0], seen[node * self.size + a])
                  + np.einsum("kq,kq->k", shifts[:, 1], seen[node * self.size + b]))
        found: Floats = (error * spread[node]).sum(axis=1) + themselves[node] - 2 * mutual
        return np.maximum(found, 0.0)


def _need(target: Target) -> tuple[float, float, float]:
    """Return how much of xx, xy, yy counts: square to the curve for a curve peg, else both axes."""
    n = target.normal
    return (1.0, 0.0, 1.0) if n is None else (n.dx * n.dx, 2 * n.dx * n.dy, n.dy * n.dy)


def _factors(ways: Ways) -> Floats:
    """Return what each entry of C_aa, C_bb, C_ab adds to the error xx, xy, yy of each way (k x 3 x 12)."""
    found = np.empty((len(ways), 3, 12))
    for c, (r, s) in enumerate(((0, 0), (0, 1), (1, 1))):
        for q, (i, j) in enumerate(((0, 0), (0, 1), (1, 0), (1, 1))):
            found[:, c, q] = ways.sa[:, r, i] * ways.sa[:, s, j]
            found[:, c, 4 + q] = ways.sb[:, r, i] * ways.sb[:, s, j]
            found[:, c, 8 + q] = ways.sa[:, r, i] * ways.sb[:, s, j] + ways.sa[:, s, i] * ways.sb[:, r, j]
    return found
