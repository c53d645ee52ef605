"""The best order of an element's pegs: several orders tried side by side, peg by peg.

Takes: a bench. Gives: the way for each of its targets, in the order in which they are set. About 3n orders of n pegs
are tried (rotations both ways, and with the opposite peg second). Orders that begin alike are weighed once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .choose import PRIMARY_LIMIT, Bench
from .orders import turns_of
from .shape import shapes_errors
from .weighing import NONE, Found, Nodes

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

UNSET = 10.0
"""What a target that cannot be set adds to the score of an order."""
AT_ONCE = 16
"""Pegs that are weighed again in one go."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A target and its way (its number among all), and all ways as they were weighed when it was set."""

    target: int
    way: int
    found: Found
    node: int


class Trials:
    """Orders tried side by side: for each its covariance, levels and hooks, and what has been set when."""

    def __init__(self, bench: Bench, limit: int) -> None:
        self.bench, self.limit = bench, limit
        self.plan = turns_of(bench.count)
        count = len(self.plan[0].targets)
        self.covariance = np.repeat(bench.start[None], count, axis=0)
        self.level = np.repeat(bench.levels[None], count, axis=0)
        self.hooks = np.full((count, 2), NONE)
        self.ways = np.full((count, bench.count), NONE)
        self.turns = np.full((count, bench.count), NONE)
        self._turn = 0

    def run(self) -> None:
        """Set the pegs of every order, one after another; what finds no way is tried twice more at the end."""
        every = np.arange(len(self.ways))
        for turn in self.plan:
            self._set(turn.firsts, turn.alike, every, turn.targets)
        if not (self.ways == NONE).any():
            return
        for _ in range(2):
            for turn in self.plan:
                left = np.flatnonzero(self.ways[every, turn.targets] == NONE)
                if len(left):
                    self._set(left, every, left, turn.targets)

    def _set(self, firsts: Ints, alike: Ints, orders: Ints, targets: Ints) -> None:
        """Set a target (of each order) in each of `orders`; `alike` says which of `firsts` stands for it."""
        bench, self._turn = self.bench, self._turn + 1
        found = bench.scale.weigh(Nodes(targets[firsts], firsts, self.covariance, self.level[firsts],
                                        self.hooks[firsts]), self.limit)
        best = found.best()
        node, way = found.node[best], found.way[best]
        row, targets = alike[:len(orders)], targets[orders]
        if len(node) < len(firsts):
            which = np.full(len(firsts), NONE)
            which[node] = np.arange(len(node))
            row = which[row]
            set_ = np.flatnonzero(row != NONE)
            row, orders, targets = row[set_], orders[set_], targets[set_]
        me = bench.offset + targets
        self._hang(orders, me, bench.scale.pulled(self.covariance, firsts[node], way)[row],
                   found.error[best][row][:, (0, 1, 1, 2)].reshape(-1, 2, 2))
        self.level[orders, me] = found.level[best][row]
        self.hooks[orders] = np.stack([bench.scale.ways.a[way], bench.scale.ways.b[way]], axis=1)[row]
        self.ways[orders, targets] = way[row]
        self.turns[orders, targets] = self._turn

    def _hang(self, orders: Ints, me: Ints, cross: Floats, own: Floats) -> None:
        """Put a peg's covariance with all sources (n x 2 x 2 sources) and with itself in each of `orders`."""
        count, size = len(self.covariance), self.bench.size
        self.covariance.reshape(count, size, 2, 2 * size)[orders, me] = cross
        self.covariance.reshape(count, 2 * size, size, 2)[orders, :, me] = cross.transpose(0, 2, 1)
        self.covariance.reshape(count, size, 2, size, 2)[orders, me, :, me] = own

    def best(self) -> int:
        """Return the order with the least score; of equals the first."""
        scores = self._scores()
        found = 0
        for k, score in enumerate(scores):
            if score < scores[found] - 1e-9:
                found = k
        return found

    def _scores(self) -> list[float]:
        """Return for each order the root mean square of the final q of its targets, + 10 for each that is not set."""
        done = self.ways != NONE
        whole = np.flatnonzero(done.all(axis=1))
        scores = np.full(len(done), math.inf)
        scores[whole] = self._score(whole, np.arange(self.bench.count))
        for k in np.flatnonzero(~done.all(axis=1)):
            targets = np.flatnonzero(done[k])
            unset = UNSET * (self.bench.count - len(targets))
            scores[k] = unset + (float(self._score(np.array([k]), targets)[0]) if len(targets) else 0.0)
        return [float(s) for s in scores]

    def _score(self, orders: Ints, targets: Ints) -> Floats:
        bench = self.bench
        rows = bench.offset + targets
        every = self.covariance.reshape(len(self.covariance), bench.size, 2, bench.size, 2)
        blocks = every[orders[:, None, None], rows[None, :, None], :, rows[None, None, :]]
        q = 2 * np.sqrt(np.einsum("skkii->sk", blocks)) / bench.position[targets]
        if bench.shape is not None and len(targets) > 1:
            shape = shapes_errors(bench.points[targets], [None] * len(targets), blocks)
            q = np.maximum(q, 2 * shape / bench.shape)
        scores: Floats = np.sqrt(np.mean(q**2, axis=1))
        return scores

    def chosen(self, order: int) -> list[Chosen]:
        """Return what an order sets, in its order, each with all ways as they were weighed then."""
        bench = self.bench
        turns = self.turns[order]
        targets = np.array([k for k in np.argsort(turns, kind="stable") if turns[k] != NONE], dtype=np.intp)
        level = np.repeat(bench.levels[None], len(targets), axis=0)
        hooks = np.full((len(targets), 2), NONE)
        ways = self.ways[order, targets]
        for k in range(1, len(targets)):
            level[k:, bench.offset + targets[k - 1]] = self.level[order, bench.offset + targets[k - 1]]
            hooks[k] = bench.scale.ways.a[ways[k - 1]], bench.scale.ways.b[ways[k - 1]]
        out: list[Chosen] = []
        for begin in range(0, len(targets), AT_ONCE):
            some = slice(begin, begin + AT_ONCE)
            found = bench.scale.weigh(Nodes(targets[some], np.zeros(len(targets[some]), dtype=np.intp),
                                            self.covariance[order][None], level[some], hooks[some]), PRIMARY_LIMIT)
            out += [Chosen(int(k), int(way), found, node)
                    for node, (k, way) in enumerate(zip(targets[some], ways[some], strict=True))]
        return out


def best_order(bench: Bench, limit: int = PRIMARY_LIMIT) -> list[Chosen]:
    """Return the ways of the best order; what could not be set is missing."""
    if bench.count == 1:
        found = bench.look(0, bench.begin(), limit)
        return [Chosen(0, int(found.way[k]), found, 0) for k in found.best()]
    trials = Trials(bench, limit)
    trials.run()
    return trials.chosen(trials.best())
