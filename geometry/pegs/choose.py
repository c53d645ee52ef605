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

from .ground import MARK, Ground
from .linear import NEAREST, ties_form
from .plan import Target
from .sight import Sight
from .ways import Ways, feet, feet_beyond, join, line_ways, tie_ways
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
    """What is set so far of an element: the covariance of its sources, their levels, and the hooks in use."""

    covariance: Floats
    level: Ints
    hooks: frozenset[int]


class Bench:
    """One element's targets with all sources within reach, and every way that is free of obstacles.

    `others` are numbers of other elements' primary pegs, `fellows` of own pegs that stand already; `centres` lists for
    each target the centres of its arcs: numbers of what stands, or -1 - k for the target k itself.
    """

    def __init__(self, ground: Ground, sight: Sight, targets: Sequence[Target], tolerance: tuple[float, float | None],
                 others: Sequence[int], fellows: Sequence[int], centres: Sequence[Sequence[int]]) -> None:
        self.ground, self.sight, self.targets = ground, sight, targets
        self.tape = ground.tape
        self.count = len(targets)
        self.points = np.array([(t.at.x, t.at.y) for t in targets]).reshape(-1, 2)
        self._gather(others, fellows)
        self._tolerances(tolerance)
        self._centres = [[self.local[c] if c >= 0 else self.offset - 1 - c for c in own if c < 0 or c in self.local]
                         for own in centres]
        every = self._all_ways()
        self.scale = Scale(every, targets, self.places, int(np.argmax(self.own)), (self.position, self.shape),
                           self.pegs, self.tape.peg_sd)
        self.ways = [every.pick(slice(*ends)) for ends in zip(self.scale.first, self.scale.first[1:], strict=False)]

    # what is within reach

    def _gather(self, others: Sequence[int], fellows: Sequence[int]) -> None:
        """Choose sources: the nearest marks and pegs that each target sees, then the element's own targets."""
        ground = self.ground
        marks = ground.marks
        pool = [*marks, *(o for o in others if o not in fellows)]
        apart = np.hypot(*(self.points[:, None, :] - ground.places[pool][None, :, :]).transpose(2, 0, 1))
        is_mark = np.arange(len(pool)) < len(marks)
        k, m = np.nonzero((apart <= self.tape.length) & (apart > 0.01) & _nearest(apart, is_mark))
        seen = np.zeros(apart.shape, dtype=bool)
        seen[k, m] = self.sight.free(ground.places[np.array(pool, dtype=np.intp)[m]], self.points[k])
        allowed = np.zeros_like(seen)
        for group, most in ((np.flatnonzero(is_mark), KEEP_MARKS), (np.flatnonzero(~is_mark), KEEP_OTHERS)):
            far = np.where(seen[:, group], apart[:, group], np.inf)
            near = group[np.argsort(far, axis=1, kind="stable")[:, :most]]
            np.put_along_axis(allowed, near, True, axis=1)
        allowed &= seen
        used = np.flatnonzero(allowed.any(axis=0))
        self.numbers = [pool[c] for c in used] + list(fellows)
        self.size = len(self.numbers) + self.count
        self.offset = len(self.numbers)
        self.local = {number: k for k, number in enumerate(self.numbers)}
        self.places = np.vstack([ground.places[self.numbers].reshape(-1, 2), self.points])
        self.allowed = np.zeros((self.count, self.size), dtype=bool)
        self.allowed[:, :len(used)] = allowed[:, used]
        self._own(len(fellows))

    def _own(self, fellows: int) -> None:
        """See which of the element's own pegs each target sees; lay out levels and covariance of what stands."""
        first = self.offset - fellows
        a, b = np.meshgrid(np.arange(self.count), np.arange(first, self.size), indexing="ij")
        far = a + self.offset != b
        free = self.sight.free(self.points[a[far]], self.places[b[far]])
        free &= np.hypot(*(self.points[a[far]] - self.places[b[far]]).T) <= self.tape.length
        self.allowed[a[far], b[far]] = free
        self.own = np.arange(self.size) >= first
        ground = self.ground
        self.pegs = np.array([0.0 if ground.settings[n].standing <= 1 else 1.0 for n in self.numbers]
                             + [1.0] * self.count)
        self.levels = np.array([ground.settings[n].level for n in self.numbers] + [NEVER] * self.count, dtype=np.intp)
        self.start = np.zeros((self.size, self.size, 2, 2))
        self.start[:self.offset, :self.offset] = ground.joint(self.numbers)

    def _tolerances(self, tolerance: tuple[float, float | None]) -> None:
        ground = self.ground
        control = [k for k in ground.marks if ground.settings[k].standing == MARK]
        apart = np.hypot(*(self.points[:, None, :] - ground.places[control][None]).transpose(2, 0, 1)).min(axis=1)
        self.position = np.maximum(tolerance[0], NEVER_BELOW * np.sqrt(apart))
        self.shape = tolerance[1]

    def _all_ways(self) -> Ways:
        """Work out the geometry of every way; strings and feet are tested in one call for the whole element."""
        ties = tie_ways(self.points, self.places, self.allowed, self.tape, self._centres)
        lines = line_ways(self.points, self.places, self.allowed, self.own, self.tape)
        a, b, foot = self.places[lines.a], self.places[lines.b], feet(self.points, self.places, lines)
        ends = np.where(feet_beyond(foot, a, b)[:, None], foot, a)
        free = self.sight.free(np.vstack([b, foot]), np.vstack([ends, self.points[lines.owner]]))
        return join(ties, lines.pick(free[:len(lines)] & free[len(lines):])).in_order(self.size)

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
        pairs = tie_ways(self.points[k:k + 1], self.places, seen[None], self.tape, (), math.sin(math.radians(20)))
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
                block = block + si @ state.covariance[i, j] @ sj.T
        return float(np.sqrt(np.trace(block)))


def _nearest(apart: Floats, marks: Flags) -> Flags:
    """Say which sources are among the nearest of each target, marks and pegs counted apart."""
    keep = np.zeros(apart.shape, dtype=bool)
    for group in (np.flatnonzero(marks), np.flatnonzero(~marks)):
        near = group[np.argsort(apart[:, group], axis=1, kind="stable")[:, :LOOK]]
        np.put_along_axis(keep, near, True, axis=1)
    return keep
