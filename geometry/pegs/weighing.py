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

_AXES = ((0, 0), (0, 1), (1, 1))
_PARTS = ((0, 0), (0, 1), (1, 0), (1, 1))
_FIRST = [4 * (block == 1) + 2 * r + i for r, _ in _AXES for block in range(3) for i, _ in _PARTS]
_SECOND = [4 * (block > 0) + 2 * s + j for _, s in _AXES for block in range(3) for _, j in _PARTS]
_MIXED = [12 * c + 8 + q for c in range(3) for q in range(4)]
_THIRD = [2 * s + i for _, s in _AXES for i, _ in _PARTS]
_FOURTH = [4 + 2 * r + j for r, _ in _AXES for _, j in _PARTS]
"""Which entries of S_a (0 to 3) and S_b (4 to 7) are multiplied, and where a second product is added."""

NEVER = 1_000_000
"""Level of what does not stand."""
NONE = -1


@dataclass(frozen=True, slots=True)
class Nodes:
    """Targets to be weighed, each in a state of the ground: a covariance (its number of several), levels, hooks in use.

    `covariance` is states x 2 sources x 2 sources, x and y of each; `level` is nodes x sources, NEVER for what does not
    stand yet.
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
        new = (self.node[1:] != self.node[:-1]).nonzero()[0] + 1
        which = np.zeros(len(self.key), dtype=np.intp)
        which[new] = 1
        which = which.cumsum()
        least = np.minimum.reduceat(self.key, np.concatenate([[0], new]))
        hits = (self.key == least[which]).nonzero()[0]
        whose = which[hits]
        first: Ints = hits[np.concatenate([[True], whose[1:] != whose[:-1]])]
        return first


class Scale:
    """Weighs the ways of one element's targets."""

    def __init__(self, ways: Ways, targets: Sequence[Target], places: Floats, first_own: int,
                 tolerance: tuple[Floats, float | None], pegs: Floats, peg_sd: float) -> None:
        """Take ways in order, places of all sources (the targets last), the first own one, tolerances in m."""
        self.ways, self.size, self.own = ways, len(places), first_own
        self.position, self.shape = tolerance
        self.first = np.searchsorted(ways.owner, np.arange(len(targets) + 1))
        self._cost = EFFORT_WEIGHT * (effort(ways, pegs) + 2 * HOOK_WEIGHT)
        self._factors = _factors(ways)
        self._base = ways.noise.reshape(-1, 4).take((0, 1, 3), axis=1) + np.array([1.0, 0.0, 1.0]) * peg_sd**2
        self._shift_a, self._shift_b = (s.transpose(0, 2, 1).reshape(-1, 4) for s in (ways.sa, ways.sb))
        self._needs = np.array([_need(t) for t in targets]).reshape(-1, 3)
        away = places[len(places) - len(targets):, None, :] - places[None, first_own:, :]
        e = away / np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-9)[..., None]
        self._along = (e[..., :, None] * e[..., None, :]).reshape(*e.shape[:2], 4)
        own = np.arange(first_own, len(places))
        self._own_blocks = self._blocks(own, own).T.ravel()
        self._joint = np.concatenate([self._blocks(ways.a, ways.a), self._blocks(ways.b, ways.b),
                                      self._blocks(ways.a, ways.b)]).T.copy()

    def _blocks(self, a: Ints, b: Ints) -> Ints:
        """Return where xx, xy, yx, yy of sources a with b stand in a covariance, in four rows."""
        side = 2 * self.size
        first = 2 * a * side + 2 * b
        return np.stack([first, first + 1, first + side, first + side + 1])

    def weigh(self, nodes: Nodes, limit: int) -> Found:
        """Return all ways that are open: whose sources stand, not deeper than `limit` allows."""
        begin = self.first[nodes.target]
        count = self.first[nodes.target + 1] - begin
        node = np.arange(len(count)).repeat(count)
        way = np.arange(len(node)) + (begin - count.cumsum() + count).repeat(count)
        row = node * self.size
        at_a, at_b = self.ways.a.take(way) + row, self.ways.b.take(way) + row
        level = np.maximum(nodes.level.take(at_a), nodes.level.take(at_b)) + 1
        open_ = (level <= limit).nonzero()[0]
        node, way, level, at_a, at_b = (v.take(open_) for v in (node, way, level, at_a, at_b))
        error = self._errors(nodes, node, way)
        needs, position = self._needs.take(nodes.target, axis=0), self.position.take(nodes.target)
        q = 2 * np.sqrt(np.einsum("kc,kc->k", error, needs.take(node, axis=0))) / position.take(node)
        if self.shape is not None:
            q = np.maximum(q, 2 * np.sqrt(self._shapes(nodes, node, way, (at_a, at_b), error)) / self.shape)
        held = np.zeros((len(count), self.size))
        which, hook = (nodes.hooks != NONE).nonzero()
        held[which, nodes.hooks[which, hook]] = EFFORT_WEIGHT * HOOK_WEIGHT
        cost = level + q + (self._cost.take(way) - held.take(at_a) - held.take(at_b))
        return Found(node, way, error, q, level, np.where(q <= GOOD, cost, 1000.0 + q).round(6))

    def pulled(self, covariance: Floats, state: Ints, way: Ints) -> Floats:
        """Return the covariance of the peg of each way with all sources in its state (n x 2 x 2 sources)."""
        w, side = self.ways, 2 * self.size
        row, held = state * self.size, covariance.reshape(-1, 2, side)
        found: Floats = w.sa[way] @ held[row + w.a[way]] + w.sb[way] @ held[row + w.b[way]]
        return found

    def _errors(self, nodes: Nodes, node: Ints, way: Ints) -> Floats:
        at = self._joint.take(way, axis=0)
        if len(nodes.covariance) > 1:
            at += (nodes.state * (4 * self.size**2)).take(node)[:, None]
        found: Floats = np.einsum("kcq,kq->kc", self._factors.take(way, axis=0), nodes.covariance.take(at))
        found += self._base.take(way, axis=0)
        return found

    def _shapes(self, nodes: Nodes, node: Ints, way: Ints, ends: tuple[Ints, Ints], error: Floats) -> Floats:
        """Return the mean variance (m2) of each way's peg along the lines to its fellows that stand; 0 without any."""
        standing = nodes.level[:, self.own:] < NEVER
        number = standing.sum(axis=1)
        if not number.any():
            return np.zeros(len(node))
        share = standing / np.maximum(number, 1)[:, None]
        along = self._along.take(nodes.target, axis=0) * share[:, :, None]
        count, fellows = share.shape
        to_fellows = nodes.covariance[nodes.state, :, 2 * self.own:]
        seen = (to_fellows @ along.reshape(count, 2 * fellows, 2)).reshape(count * self.size, 4)
        blocks = nodes.covariance.reshape(len(nodes.covariance), -1).take(self._own_blocks, axis=1)
        themselves = np.einsum("nq,nq->n", blocks.take(nodes.state, axis=0), along.reshape(count, -1))
        mean = along.sum(axis=1)
        spread = np.stack([mean[:, 0], mean[:, 1] + mean[:, 2], mean[:, 3]], axis=1)
        found: Floats = np.einsum("kc,kc->k", error, spread.take(node, axis=0)) + themselves.take(node)
        for end, shift in zip(ends, (self._shift_a, self._shift_b), strict=True):
            found -= 2 * np.einsum("kq,kq->k", shift.take(way, axis=0), seen.take(end, axis=0))
        return np.maximum(found, 0.0)


def _need(target: Target) -> tuple[float, float, float]:
    """Return how much of xx, xy, yy counts: square to the curve for a curve peg, else both axes."""
    n = target.normal
    return (1.0, 0.0, 1.0) if n is None else (n.dx * n.dx, 2 * n.dx * n.dy, n.dy * n.dy)


def _factors(ways: Ways) -> Floats:
    """Return what each entry of C_aa, C_bb, C_ab adds to the error xx, xy, yy of each way (k x 3 x 12)."""
    each = np.concatenate([ways.sa.reshape(-1, 4).T, ways.sb.reshape(-1, 4).T])
    found = each[_FIRST] * each[_SECOND]
    found[_MIXED] += each[_THIRD] * each[_FOURTH]
    factors: Floats = found.T.copy().reshape(-1, 3, 12)          # a view would be copied each time ways are taken
    return factors
