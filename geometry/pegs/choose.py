"""Everything that one element's pegs may be set from, and the best way for each.

Takes: what stands, the element's targets, what can be seen. Gives: a bench, which knows every way that is free of
obstacles. Ways are weighed by q, the larger of twice the error over tolerance, in position and in shape; among the
good ones (q <= 0.8) the shallow and easy one wins, else the least q.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .ground import AUXILIARY, MARK, Ground
from .linear import NEAREST, ties_form
from .plan import Target
from .sight import Sight
from .ways import Ways, join, line_ways, lines_of, pairs_of, tie_ways
from .weighing import NEVER, NONE, Found, Nodes, Scale

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

KEEP_MARKS = 8
KEEP_OTHERS = 5
LOOK = 20
"""Sources looked at from a target: the nearest marks, and the nearest pegs; what is kept is seen."""
PRIMARY_LIMIT = 2
SECONDARY_LIMIT = 3
NEVER_BELOW = 0.008
"""Position tolerance is never taken smaller than this times the root of the metres to the nearer mark (judgement)."""


@dataclass(frozen=True, slots=True)
class State:
    """What is set so far of an element: the covariance of its sources (x and y of each), levels, and hooks in use."""

    covariance: Floats
    level: Ints
    hooks: frozenset[int]


class Bench:
    """One element's targets with all sources within reach, and every way that is free of obstacles.

    `others` are numbers of other elements' primary pegs, `fellows` of own pegs that stand already; `centres` lists for
    each target the centres of its arcs: numbers of what stands, or -1 - k for the target k itself. Without `hang` no
    target is a source of another.
    """

    def __init__(self, ground: Ground, sight: Sight, targets: Sequence[Target], tolerance: tuple[float, float | None],
                 others: Sequence[int], fellows: Sequence[int], centres: Sequence[Sequence[int]], *,
                 hang: bool = True) -> None:
        self.ground, self.sight, self.targets = ground, sight, targets
        self.tape = ground.tape
        self.count, self.hang = len(targets), hang
        self.points = np.array([(t.at.x, t.at.y) for t in targets]).reshape(-1, 2)
        self._gather(others, fellows)
        self._tolerances(tolerance)
        self._centres = [[self.local[c] if c >= 0 else self.offset - 1 - c for c in own if c < 0 or c in self.local]
                         for own in centres]
        self.scale = Scale(self._all_ways(), targets, self.places, int(np.argmax(self.own)),
                           (self.position, self.shape), self.pegs, self.tape.peg_sd)

    def ways(self, k: int) -> Ways:
        """Return the ways of one target."""
        return self.scale.ways.pick(slice(*self.scale.first[k:k + 2].tolist()))

    # what is within reach

    def _gather(self, others: Sequence[int], fellows: Sequence[int]) -> None:
        """Choose sources: the nearest marks and pegs that each target sees, then the element's own targets."""
        ground, count = self.ground, self.count
        pool = np.array([*ground.marks, *(o for o in others if o not in fellows)], dtype=np.intp)
        away = self.points[:, None, :] - ground.places[pool][None, :, :]
        apart = np.hypot(away[..., 0], away[..., 1])
        marks = len(ground.marks)
        near = np.concatenate([_nearest(apart[:, :marks]), marks + _nearest(apart[:, marks:])], axis=1)
        reach = np.take_along_axis(apart, near, axis=1)
        may = (reach <= self.tape.length) & (reach > 0.01)
        target, column = may.nonzero()
        own = np.concatenate([ground.places[list(fellows)].reshape(-1, 2), self.points])
        seen, among = self._look(ground.places[pool[near[target, column]]], target, own)
        may[target, column] = seen
        cut = min(LOOK, marks)
        may[:, :cut] &= may[:, :cut].cumsum(axis=1) <= KEEP_MARKS
        may[:, cut:] &= may[:, cut:].cumsum(axis=1) <= KEEP_OTHERS
        allowed = np.zeros(apart.shape, dtype=bool)
        np.put_along_axis(allowed, near, may, axis=1)
        used = np.flatnonzero(allowed.any(axis=0))
        self.numbers = [*pool[used].tolist(), *fellows]
        self.size = len(self.numbers) + count
        self.offset = len(self.numbers)
        self.local = {number: k for k, number in enumerate(self.numbers)}
        self.places = np.concatenate([ground.places[pool[used]], own])
        self.allowed = np.concatenate([allowed[:, used], among], axis=1)
        self._lay_out(self.offset - len(fellows))

    def _look(self, sources: Floats, targets: Ints, own: Floats) -> tuple[Flags, Flags]:
        """Say which targets see their sources, and (targets x own) which own pegs (fellows, then targets) each sees."""
        hang = self.count if self.hang else 0
        first = len(own) - self.count
        before = np.tri(self.count, first + hang, first - 1, dtype=bool)          # fellows, and targets before it
        a, b = before.nonzero()
        free = self.sight.free(np.concatenate([sources, self.points[a]]),
                               np.concatenate([self.points[targets], own[b]]))
        away = self.points[a] - own[b]
        own_free = free[len(sources):] & (np.hypot(away[:, 0], away[:, 1]) <= self.tape.length)
        among = np.zeros((self.count, len(own)), dtype=bool)
        among[a, b] = own_free
        fellow_less = among[:, first:]
        among[:, first:] = fellow_less | fellow_less.T
        return free[:len(sources)], among

    def _lay_out(self, first: int) -> None:
        """Lay out levels and covariance of what stands."""
        ground = self.ground
        self.own = np.arange(self.size) >= first
        settings = [ground.settings[n] for n in self.numbers]
        self.pegs = np.array([0.0 if s.standing <= AUXILIARY else 1.0 for s in settings] + [1.0] * self.count)
        self.levels = np.array([s.level for s in settings] + [NEVER] * self.count, dtype=np.intp)
        self.start = np.zeros((2 * self.size, 2 * self.size))
        held = ground.joint(self.numbers).transpose(0, 2, 1, 3)
        self.start[:2 * self.offset, :2 * self.offset] = held.reshape(2 * self.offset, 2 * self.offset)

    def _tolerances(self, tolerance: tuple[float, float | None]) -> None:
        ground = self.ground
        control = [k for k in ground.marks if ground.settings[k].standing == MARK]
        away = self.points[:, None, :] - ground.places[control][None]
        apart = np.hypot(away[..., 0], away[..., 1]).min(axis=1)
        self.position = np.maximum(tolerance[0], NEVER_BELOW * np.sqrt(apart))
        self.shape = tolerance[1]

    def _all_ways(self) -> Ways:
        """Work out the geometry of every way; strings and feet are tested in one call for the whole element."""
        pairs = pairs_of(self.allowed)
        ties = tie_ways(self.points, self.places, pairs, self.tape, self._centres)
        lines = lines_of(self.points, self.places, pairs, self.tape)
        b, (feet, ends) = self.places.take(lines.b, axis=0), lines.feet(self.places)
        free = self.sight.free(np.concatenate([b, feet]), np.concatenate([ends, self.points.take(lines.owner, axis=0)]))
        lines = lines.pick((free[:len(b)] & free[len(b):]).nonzero()[0])
        return join(ties, line_ways(lines, self.own, self.tape)).in_order(self.size)

    # weighing

    def begin(self) -> State:
        """Return the state before any of the targets is set."""
        return State(self.start, self.levels, frozenset())

    def look(self, k: int, state: State, limit: int) -> Found:
        """Return the ways open for target k now."""
        hooks = np.full((1, 2), NONE)
        hooks[0, :len(state.hooks)] = sorted(state.hooks)
        nodes = Nodes(np.array([k]), np.zeros(1, dtype=np.intp), state.covariance[None], state.level[None], hooks)
        return self.scale.weigh(nodes, limit)

    def weigh(self, k: int, state: State, limit: int) -> tuple[Ints, Floats, Floats, Ints]:
        """Return the ways open for target k now: their numbers, q, errors xx, xy, yy (m2) and level."""
        found = self.look(k, state, limit)
        return found.way - self.scale.first[k], found.q, found.error, found.level

    def pick(self, k: int, state: State, limit: int) -> tuple[int, float] | None:
        """Return the way to take for target k (its number) and its q; None if none is open."""
        found = self.look(k, state, limit)
        best = found.best()
        return None if not len(best) else (int(found.way[best[0]] - self.scale.first[k]), float(found.q[best[0]]))

    def three(self, k: int, state: State, limit: int) -> tuple[tuple[int, int, int], float] | None:
        """Return three sources for a target whose best pair cuts between 20 and 30 degrees; None if there are none."""
        seen = self.allowed[k] & (state.level < limit)
        usable = np.flatnonzero(seen)
        pairs = tie_ways(self.points[k:k + 1], self.places, pairs_of(seen[None]), self.tape, (),
                         math.sin(math.radians(20)))
        best: tuple[float, tuple[int, int, int]] | None = None
        for i in np.argsort(-pairs.sine, kind="stable")[:6]:
            for third in usable:
                if third in (pairs.a[i], pairs.b[i]):
                    continue
                trio = (int(pairs.a[i]), int(pairs.b[i]), int(third))
                error = self._three_error(k, trio, state)
                if error is not None and (best is None or error < best[0] - 1e-9):
                    best = error, trio
        return None if best is None else (best[1], 2 * best[0] / float(self.position[k]))

    def _three_error(self, k: int, trio: tuple[int, int, int], state: State) -> float | None:
        sources = [self.places[i] for i in trio]
        reach = [float(np.hypot(*(self.points[k] - s))) for s in sources]
        if min(reach) < NEAREST or max(reach) > self.tape.length:
            return None
        form = ties_form(self.points[k], sources, self.tape)
        block = (form.noise * form.sds**2) @ form.noise.T + np.eye(2) * self.tape.peg_sd**2
        for i, si in zip(trio, form.shifts, strict=True):
            for j, sj in zip(trio, form.shifts, strict=True):
                block = block + si @ state.covariance[2 * i:2 * i + 2, 2 * j:2 * j + 2] @ sj.T
        return float(np.sqrt(np.trace(block)))


def _nearest(apart: Floats) -> Ints:
    """Return the nearest sources of each target, nearest first."""
    return apart.argsort(axis=1, kind="stable")[:, :LOOK]
