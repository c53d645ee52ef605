"""The best way for each peg of an element, and the best order of its pegs.

Takes: what stands, the element's primary targets, what can be seen. Gives: a way and a place in the order
for each. Ways are weighed by q, the larger of twice the error over tolerance, in position and in shape;
among the good ones (q <= 0.8) the shallow and easy one wins, else the least q. About 3n orders of the n
pegs are tried: rotations both ways, and with the opposite peg second.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .ground import MARK, Ground
from .linear import EYE, NEAREST, Ways, join, line_ways, tie_ways, ties_form
from .orders import orders_of, rank
from .plan import Target
from .shape import shape_errors
from .sight import Sight

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

KEEP_MARKS = 8
KEEP_OTHERS = 5
LOOK = 20
"""Sources looked at from a target: the nearest marks, and the nearest pegs; what is kept is seen."""
UNSET = 10.0
PRIMARY_LIMIT = 2
SECONDARY_LIMIT = 3
NEVER_BELOW = 0.008
"""Position tolerance is never taken smaller than this times the root of the metres to the nearer mark (judgement)."""


@dataclass(frozen=True, slots=True)
class State:
    """An order being tried: what is set so far (local), and how."""

    covariance: Floats
    ready: Flags
    level: Ints
    q: tuple[float, ...]
    picks: tuple[tuple[int, int], ...]           # target, way
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
        self.ways = self._all_ways()
        self.normals = [None if t.normal is None else np.array([t.normal.dx, t.normal.dy]) for t in targets]

    # what is within reach

    def _gather(self, others: Sequence[int], fellows: Sequence[int]) -> None:
        """Choose sources: the nearest marks and pegs that each target sees, then the element's own targets."""
        ground = self.ground
        marks = [k for k, s in enumerate(ground.settings) if s.standing <= 1]
        pool = [*marks, *(o for o in others if o not in fellows)]
        apart = np.hypot(*(self.points[:, None, :] - ground.places[pool][None, :, :]).transpose(2, 0, 1))
        is_mark = np.arange(len(pool)) < len(marks)
        k, m = np.nonzero((apart <= self.tape.length) & (apart > 0.01) & _nearest(apart, is_mark))
        seen = np.zeros(apart.shape, dtype=bool)
        seen[k, m] = self.sight.free(ground.places[np.array(pool, dtype=np.intp)[m]], self.points[k])
        allowed = np.zeros_like(seen)
        for row in range(self.count):
            for group, most in ((is_mark, KEEP_MARKS), (~is_mark, KEEP_OTHERS)):
                near = np.flatnonzero(seen[row] & group)
                allowed[row, near[np.argsort(apart[row, near], kind="stable")[:most]]] = True
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
        self.levels = np.array([ground.settings[n].level for n in self.numbers] + [0] * self.count, dtype=np.intp)
        rows = [ground.rows[n] for n in self.numbers]
        self.start = np.zeros((self.size, self.size, 2, 2))
        self.start[:self.offset, :self.offset] = ground.covariance[np.ix_(rows, rows)]

    def _tolerances(self, tolerance: tuple[float, float | None]) -> None:
        ground = self.ground
        control = [k for k, s in enumerate(ground.settings) if s.standing == MARK]
        apart = np.hypot(*(self.points[:, None, :] - ground.places[control][None]).transpose(2, 0, 1)).min(axis=1)
        self.position = np.maximum(tolerance[0], NEVER_BELOW * np.sqrt(apart))
        self.shape = tolerance[1]

    def _all_ways(self) -> list[Ways]:
        """Weigh the geometry of every way once; strings and feet are tested in one call for the whole element."""
        ties: list[Ways] = []
        lines: list[Ways] = []
        for k in range(self.count):
            usable = np.flatnonzero(self.allowed[k])
            ties.append(tie_ways(self.points[k], self.places, usable, self.tape, self._centres[k]))
            lines.append(self._lines(k, usable))
        starts, ends, owner = [], [], []
        for k, w in enumerate(lines):
            feet = self._feet(k, w)
            p = np.broadcast_to(self.points[k], feet.shape)
            starts += [self.places[w.b], feet]
            beyond = feet_beyond(feet, self.places[w.a], self.places[w.b])
            ends += [np.where(beyond[:, None], feet, self.places[w.a]), p]
            owner.append(len(w))
        free = self.sight.free(np.vstack(starts), np.vstack(ends)) if starts else np.zeros(0, dtype=bool)
        out = []
        at = 0
        for k, count in enumerate(owner):
            ok = free[at:at + count] & free[at + count:at + 2 * count]
            at += 2 * count
            out.append(join([ties[k], lines[k].pick(ok)]))
        return out

    def _lines(self, k: int, usable: Ints) -> Ways:
        first, second = np.triu_indices(len(usable), 1)
        return line_ways(self.points[k], self.places, (usable[first], usable[second]), self.own, self.tape)

    def _feet(self, k: int, ways: Ways) -> Floats:
        """Return where the offset leaves its line."""
        a, b = self.places[ways.a], self.places[ways.b]
        u = (b - a) / np.maximum(np.hypot(*(b - a).T), 1e-9)[:, None]
        feet: Floats = a + u * np.einsum("kj,kj->k", self.points[k] - a, u)[:, None]
        return feet

    # weighing

    def begin(self) -> State:
        """Return the state before any of the targets is set."""
        ready = np.arange(self.size) < self.offset
        return State(self.start, ready, self.levels, (math.nan,) * self.count, (), frozenset())

    def weigh(self, k: int, state: State, limit: int) -> tuple[Ints, Floats, Floats, Floats]:
        """Return the ways open for target k now: their numbers, q, covariance (m2) and level."""
        open_, w, level = self._open(k, state, limit)
        spread = self._spread(w, state)
        return open_, self._q(k, w, state, spread), spread, level

    def _open(self, k: int, state: State, limit: int) -> tuple[Ints, Ways, Floats]:
        """Return the ways open for target k now: their numbers, themselves, and their level."""
        ways = self.ways[k]
        level = np.maximum(state.level[ways.a], state.level[ways.b]) + 1
        may = state.ready[ways.a] & state.ready[ways.b] & (level <= limit)
        open_ = np.flatnonzero(may)
        w = ways if len(open_) == len(ways) else ways.pick(open_)
        return open_, w, level[open_].astype(np.float64)

    def _spread(self, w: Ways, state: State) -> Floats:
        c = state.covariance
        shifts = np.concatenate([w.sa, w.sb], axis=2)
        joint = np.empty((len(w), 4, 4))
        joint[:, :2, :2], joint[:, 2:, 2:] = c[w.a, w.a], c[w.b, w.b]
        mixed = c[w.a, w.b]
        joint[:, :2, 2:], joint[:, 2:, :2] = mixed, mixed.transpose(0, 2, 1)
        spread: Floats = w.noise + shifts @ joint @ shifts.transpose(0, 2, 1) + EYE * self.tape.peg_sd**2
        return spread

    def _q(self, k: int, w: Ways, state: State, spread: Floats) -> Floats:
        normal = self.normals[k]
        if normal is None:
            position = np.sqrt(spread[:, 0, 0] + spread[:, 1, 1])
        else:
            position = np.sqrt(np.einsum("i,kij,j->k", normal, spread, normal))
        q: Floats = 2 * position / self.position[k]
        fellows = np.flatnonzero(state.ready & self.own)
        if self.shape is None or not len(fellows):
            return q
        c = state.covariance
        away = self.points[k] - self.places[fellows]
        e = away / np.maximum(np.hypot(*away.T), 1e-9)[:, None]
        seen = np.einsum("sfij,fj->sfi", c[:, fellows], e)          # what each source does to each line
        mutual = (np.einsum("fi,kij,kfj->kf", e, w.sa, seen[w.a]) + np.einsum("fi,kij,kfj->kf", e, w.sb, seen[w.b]))
        own = np.einsum("fi,fij,fj->f", e, c[fellows, fellows], e)
        ex, ey = e.T
        xx, both, yy = spread[:, 0, 0, None], (spread[:, 0, 1] + spread[:, 1, 0])[:, None], spread[:, 1, 1, None]
        var = (xx * (ex * ex) + both * (ex * ey) + yy * (ey * ey)) + own - 2 * mutual
        shape = np.sqrt(np.maximum(var, 0.0).mean(axis=1))
        worse: Floats = np.maximum(q, 2 * shape / self.shape)
        return worse

    def pick(self, k: int, state: State, limit: int) -> tuple[int, float] | None:
        """Return the way to take for target k (its number) and its q; None if none is open."""
        open_, w, level = self._open(k, state, limit)
        if not len(open_):
            return None
        q = self._q(k, w, state, self._spread(w, state))
        best = rank(w, q, level, self.pegs, state.hooks)[0]
        return int(open_[best]), float(q[best])

    def put(self, k: int, way: int, q: float, state: State) -> State:
        """Return the state with target k set by `way`."""
        w = self.ways[k].pick(np.array([way]))
        a, b, me = int(w.a[0]), int(w.b[0]), self.offset + k
        c = state.covariance.copy()
        cross = w.sa[0] @ c[a] + w.sb[0] @ c[b]
        c[me, :] = cross
        c[:, me] = cross.transpose(0, 2, 1)
        c[me, me] = self._spread(w, state)[0]
        ready = state.ready.copy()
        ready[me] = True
        level = state.level.copy()
        level[me] = max(level[a], level[b]) + 1
        qs = list(state.q)
        qs[k] = q
        return State(c, ready, level, tuple(qs), (*state.picks, (k, way)), frozenset((a, b)))

    # orders

    def best(self, todo: Sequence[int], limit: int = PRIMARY_LIMIT) -> State:
        """Return the best of the orders tried; what could not be set is missing from its picks."""
        kept: dict[tuple[int, ...], State] = {(): self.begin()}
        best: tuple[float, State] | None = None
        for order in orders_of(len(todo)):
            state = self._run([todo[i] for i in order], kept, limit, math.inf if best is None else best[0])
            if state is None:
                continue
            score = self.score(state, todo)
            if best is None or score < best[0] - 1e-9:
                best = score, state
        assert best is not None
        return best[1]

    def _run(self, order: Sequence[int], kept: dict[tuple[int, ...], State], limit: int, best: float) -> State | None:
        """Return the state after an order; None once its positions alone are worse than the best score so far."""
        key: tuple[int, ...] = ()
        state = kept[()]
        left: list[int] = []
        for k in order:
            longer = (*key, k)
            if longer not in kept:
                found = self.pick(k, state, limit)
                kept[longer] = state if found is None else self.put(k, *found, state)
            if kept[longer] is state:
                left.append(k)
            key, state = longer, kept[longer]
            if self._least(state, len(order)) > best:
                return None
        for _ in range(2):
            for k in list(left):
                found = self.pick(k, state, limit)
                if found is not None:
                    state = self.put(k, *found, state)
                    left.remove(k)
        return state

    def _least(self, state: State, count: int) -> float:
        """Return what the score of `count` targets is at least, given those that are set."""
        total = 0.0
        for k, _ in state.picks:
            block = state.covariance[self.offset + k, self.offset + k]
            total += 4 * float(block[0, 0] + block[1, 1]) / float(self.position[k]) ** 2
        return math.sqrt(total / count) - 1e-6

    def score(self, state: State, todo: Sequence[int]) -> float:
        """Return the root mean square of the final q of the targets, + 10 for each that is not set."""
        done = [k for k, _ in state.picks]
        if not done:
            return UNSET * len(todo)
        rows = [self.offset + k for k in done]
        c = state.covariance[np.ix_(rows, rows)]
        position = np.sqrt(np.einsum("kii->k", c[range(len(done)), range(len(done))]))
        q = 2 * position / self.position[done]
        if self.shape is not None and len(done) > 1:
            shape = shape_errors(self.points[done], [None] * len(done), c)
            q = np.maximum(q, 2 * shape / self.shape)
        return float(np.sqrt(np.mean(q**2))) + UNSET * (len(todo) - len(done))

    def three(self, k: int, state: State, limit: int) -> tuple[tuple[int, int, int], float] | None:
        """Return three sources for a target whose best pair cuts between 20 and 30 degrees; None if there are none."""
        usable = np.flatnonzero(self.allowed[k] & state.ready & (state.level < limit))
        pairs = tie_ways(self.points[k], self.places, usable, self.tape, (), math.sin(math.radians(20)))
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


def feet_beyond(feet: Floats, a: Floats, b: Floats) -> Flags:
    """Say which feet lie beyond a, seen from b, so that the string must reach that far."""
    beyond: Flags = np.einsum("kj,kj->k", feet - a, b - a) < 0
    return beyond
