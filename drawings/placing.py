"""The constructive search: which of its places each label takes. No clock, no chance, no solver.

The label with the fewest free places goes first; it takes the place of least own cost and least harm to
the others. Labels left over go on leaders, if need be by moving one or two that stand in the way. Then
cheaper places are taken as long as the whole gets cheaper. Every tie is broken by number.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence

import numpy as np

from .candidates import LEADER_BASE, Options
from .clearance import fat, reach
from .oblong import Flags, Floats, Indices, apart, grown, leader_distance, strikes
from .obstacles import LEADER_CLEAR

HARM_SHARE, HARM_LAST = 6.0, 30.0
"""What it costs to take a neighbour's places: by the share taken, and more for its last."""

LEAST_GAIN = 1e-6
POLISH_ROUNDS = 4
DEPTH = 2
MOST_BLOCKERS = 2
EFFORT = 3000
"""Arrangements tried to find one label a place by moving others aside; then it stands on nothing."""


class Search:
    """A pool of options and the choice made so far, one option a label or none."""

    def __init__(self, labels: int, pool: Options) -> None:
        self.labels = labels
        self.chosen: Indices = np.full(labels, -1, dtype=np.int64)
        self.blocked: Indices = np.zeros(0, dtype=np.int64)
        self.pool = Options.none()
        self.of: list[Indices] = [np.zeros(0, dtype=np.int64) for _ in range(labels)]
        self.area: Floats = np.zeros((0, 4))
        self.label_area: Floats = np.tile(np.array([np.inf, np.inf, -np.inf, -np.inf]), (labels, 1))
        self.clock = self.effort = 0
        self.stamp: Indices = np.zeros(labels, dtype=np.int64)   # when something near a label last moved
        self.offer(pool)

    # ---- the pool

    def offer(self, more: Options) -> None:
        """Add options to the pool."""
        first = len(self.pool)
        self.pool = Options.joined((self.pool, more)) if first else more
        area = reach(more)
        self.area = np.concatenate((self.area, area))
        self.blocked = np.concatenate((self.blocked, np.zeros(len(more), dtype=np.int64)))
        self._fat = fat(self.pool)
        self._wide = grown(self.pool.boxes, LEADER_CLEAR)
        self._upright = self.pool.boxes[:, 5] == 0.0
        self._led = ~np.isnan(self.pool.leaders[:, 0])
        order = np.argsort(more.owner, kind="stable")
        owners, starts = np.unique(more.owner[order], return_index=True)
        lots = np.split(order, starts[1:]) if len(owners) else []
        for owner, lot in zip(owners.tolist(), lots, strict=True):
            self.of[owner] = np.concatenate((self.of[owner], lot + first))
            box = self.label_area[owner]
            box[:2] = np.minimum(box[:2], area[lot, :2].min(axis=0))
            box[2:] = np.maximum(box[2:], area[lot, 2:].max(axis=0))
        fresh = np.arange(first, len(self.pool))
        for option in self.chosen[self.chosen >= 0].tolist():
            self.blocked[self._struck(option, fresh)] += 1

    def clash(self, a: Indices, b: Indices) -> Flags:
        """Say which pairs of options (index arrays that broadcast together) cannot both be taken."""
        p, q = self.area[a], self.area[b]
        meet = (p[..., 0] < q[..., 2]) & (q[..., 0] < p[..., 2]) & (p[..., 1] < q[..., 3]) & (q[..., 1] < p[..., 3])
        a, b = np.broadcast_to(a, meet.shape), np.broadcast_to(b, meet.shape)
        simple = ~(self._led[a] | self._led[b]) & self._upright[a] & self._upright[b]
        hard = meet & ~simple
        if hard.any():
            meet = meet.copy()
            meet[hard] = self._clash_exactly(a[hard], b[hard])
        return meet

    def _clash_exactly(self, a: Indices, b: Indices) -> Flags:
        """Test pairs (flat arrays) of which at least one is turned or stands on a leader."""
        leaders = self.pool.leaders
        p, q = self._fat[a], self._fat[b]
        gap = np.maximum(np.abs(p[:, 0] - q[:, 0]) - p[:, 2] - q[:, 2], np.abs(p[:, 1] - q[:, 1]) - p[:, 3] - q[:, 3])
        found = gap < 0
        turned = np.flatnonzero(~(self._upright[a] & self._upright[b]))
        if len(turned):
            found[turned] = apart(p[turned], q[turned]) < 0
        for one, other in ((a, b), (b, a)):
            which = np.flatnonzero(self._led[other] & ~found)
            if len(which):
                found[which] = strikes(self._wide[one[which]], leaders[other[which]])
        both = np.flatnonzero(self._led[a] & self._led[b] & ~found)
        if len(both):
            found[both] = leader_distance(leaders[a[both]], leaders[b[both]]) < LEADER_CLEAR
        return found

    def _neighbours(self, area: Floats, but: int) -> Indices:
        """Options of all labels (but one) that could reach into `area`."""
        box = self.label_area
        near = (box[:, 0] < area[2]) & (area[0] < box[:, 2]) & (box[:, 1] < area[3]) & (area[1] < box[:, 3])
        near[but] = False
        lots = [self.of[label] for label in np.flatnonzero(near).tolist()]
        return np.concatenate(lots) if lots else np.zeros(0, dtype=np.int64)

    def _struck(self, option: int, among: Indices) -> Indices:
        """Options `among` these, of other labels, that cannot stand beside `option`."""
        p, q = self.area[option], self.area[among]
        among = among[(p[0] < q[:, 2]) & (q[:, 0] < p[2]) & (p[1] < q[:, 3]) & (q[:, 1] < p[3])
                      & (self.pool.owner[among] != self.pool.owner[option])]
        return among[self.clash(np.full(len(among), option), among)] if len(among) else among

    # ---- the choice

    def take(self, option: int) -> Indices:
        """Let a label stand at an option; return the options that this blocks."""
        label = int(self.pool.owner[option])
        self.chosen[label] = option
        struck = self._struck(option, self._neighbours(self.area[option], label))
        self.blocked[struck] += 1
        self._touch(struck)
        return struck

    def leave(self, label: int) -> None:
        """Take a label up again."""
        option = int(self.chosen[label])
        self.chosen[label] = -1
        struck = self._struck(option, self._neighbours(self.area[option], label))
        self.blocked[struck] -= 1
        self._touch(struck)

    def _touch(self, options: Indices) -> None:
        self.clock += 1
        self.stamp[self.pool.owner[options]] = self.clock

    def free(self, label: int) -> Indices:
        """Return the options of a label that nothing blocks."""
        own = self.of[label]
        free: Indices = own[self.blocked[own] == 0]
        return free

    def cost(self) -> float:
        """Return the cost of all that stands."""
        return float(np.round(self.pool.cost[self.chosen[self.chosen >= 0]].sum(), 3))

    def unplaced(self) -> list[int]:
        """Return the labels that stand nowhere."""
        return np.flatnonzero(self.chosen < 0).tolist()

    def construct(self) -> None:
        """Place labels, the most constrained first, at the place of least cost and harm."""
        count = np.array([len(self.free(label)) if self.chosen[label] < 0 else 0 for label in range(self.labels)])
        heap = [(int(count[label]), label) for label in range(self.labels) if count[label] > 0]
        heapq.heapify(heap)
        while heap:
            left, label = heapq.heappop(heap)
            if self.chosen[label] >= 0 or left != count[label] or left == 0:
                continue
            struck = self.take(self._least_harm(label, count))
            fresh = struck[self.blocked[struck] == 1]
            for other, taken in zip(*np.unique(self.pool.owner[fresh], return_counts=True), strict=True):
                count[other] -= taken
                if self.chosen[other] < 0 and count[other] > 0:
                    heapq.heappush(heap, (int(count[other]), int(other)))

    def _least_harm(self, label: int, count: Indices) -> int:
        free = self.free(label)
        area = self.area[free]
        around = np.array([area[:, 0].min(), area[:, 1].min(), area[:, 2].max(), area[:, 3].max()])
        near = self._neighbours(around, label)
        near = near[(self.blocked[near] == 0) & (self.chosen[self.pool.owner[near]] < 0)]
        q = self.area[near]
        near = near[(around[0] < q[:, 2]) & (q[:, 0] < around[2]) & (around[1] < q[:, 3]) & (q[:, 1] < around[3])]
        score = self.pool.cost[free].copy()
        if len(near):
            hits = self.clash(free[:, None], near[None, :])
            owners = self.pool.owner[near]
            starts = np.flatnonzero(np.concatenate(([True], owners[1:] != owners[:-1])))
            taken = np.add.reduceat(hits, starts, axis=1, dtype=np.int64)
            left = count[owners[starts]][None, :]
            score += (HARM_SHARE * taken / left).sum(axis=1) + HARM_LAST * (taken >= left).sum(axis=1)
        return int(free[np.argmin(np.round(score, 6))])

    # ---- moving what stands

    def _blockers(self, option: int) -> list[int]:
        """Labels that stand in the way of an option."""
        standing = self.chosen[self.chosen >= 0]
        return sorted(self.pool.owner[self._struck(option, standing)].tolist())

    def _undo(self, before: dict[int, int]) -> None:
        for label in before:
            if self.chosen[label] >= 0:
                self.leave(label)
        for option in before.values():
            if option >= 0:
                self.take(option)

    def settle(self, label: int, depth: int = DEPTH, tries: int = 60, effort: int = EFFORT) -> dict[int, int] | None:
        """Place a label, moving up to two others aside to a depth of `depth`.

        Returns what was chosen before for every label that moved, or None (nothing changed) if it cannot be done.
        """
        self.effort = effort
        return self._settled(label, depth, frozenset(), tries)

    def _settled(self, label: int, depth: int, locked: frozenset[int], tries: int) -> dict[int, int] | None:
        free = self.free(label)
        if len(free):
            self.take(int(free[np.argmin(self.pool.cost[free])]))
            return {label: -1}
        if depth == 0:
            return None
        own = self.of[label]
        own = own[np.lexsort((self.pool.cost[own], self.blocked[own]))][:tries]
        for option in own[np.argsort(self.pool.cost[own], kind="stable")].tolist():
            done = self._push(option, depth, locked, tries)
            if done is not None:
                return done
        return None

    def _elsewhere(self, blocker: int, option: int, movers: Sequence[int]) -> Indices:
        """Return the options of `blocker` that are free once `option` is taken and `movers` have left."""
        own = self.of[blocker]
        own = own[(self.blocked[own] <= len(movers)) & (own != self.chosen[blocker])]
        own = own[~self.clash(np.full(len(own), option), own)]
        left = self.blocked[own].copy()
        for mover in movers:
            if mover != blocker and self.chosen[mover] >= 0:
                left -= self.clash(np.full(len(own), self.chosen[mover]), own)
        free: Indices = own[left == 0]
        return free

    def _push(self, option: int, depth: int, locked: frozenset[int], tries: int) -> dict[int, int] | None:
        """Take an option whose blockers can be placed elsewhere."""
        label = int(self.pool.owner[option])
        if self.blocked[option] > MOST_BLOCKERS or self.effort <= 0:
            return None
        self.effort -= 1
        blockers = self._blockers(option)
        if locked & set(blockers):
            return None
        if depth == 1 and not all(len(self._elsewhere(b, option, blockers)) for b in blockers):
            return None
        before = {label: -1, **{b: int(self.chosen[b]) for b in blockers}}
        for blocker in blockers:
            self.leave(blocker)
        self.take(option)
        for blocker in blockers:
            moved = self._settled(blocker, depth - 1, locked | {label, *blockers}, tries // 3)
            if moved is None:
                self._undo(before)
                return None
            for other, option_before in moved.items():
                before.setdefault(other, option_before)
        return before

    def polish(self, rounds: int = POLISH_ROUNDS) -> None:
        """Take cheaper places, in the order of labels, also by moving one or two others, while the sum falls.

        A label is looked at again only if something near it has moved since.
        """
        seen: Indices = np.full(self.labels, -1, dtype=np.int64)
        for _ in range(rounds):
            moved = 0
            for label in range(self.labels):
                if self.chosen[label] >= 0 and seen[label] < self.stamp[label]:
                    seen[label] = self.clock
                    moved += self._cheaper(label)
            if not moved:
                return

    def _cheaper(self, label: int) -> bool:
        own, now = self.of[label], float(self.pool.cost[self.chosen[label]])
        better = own[(self.pool.cost[own] < now - LEAST_GAIN) & (self.blocked[own] <= MOST_BLOCKERS)]
        better = better[np.argsort(self.pool.cost[better], kind="stable")]
        for option in better.tolist():
            if self.blocked[option] == 0:
                self.leave(label)
                self.take(option)
                return True
            if self._swap(label, option, now - float(self.pool.cost[option])):
                return True
        return False

    def _swap(self, label: int, option: int, gain: float) -> bool:
        """Take `option` if its blockers find other places for less than `gain`."""
        blockers = self._blockers(option)
        movers = (label, *blockers)
        cost = self.pool.cost
        for blocker in blockers:
            places = self._elsewhere(blocker, option, movers)
            if not len(places):
                return False
            gain -= float(cost[places].min()) - float(cost[self.chosen[blocker]])
            if not gain > LEAST_GAIN:
                return False
        before = {b: int(self.chosen[b]) for b in movers}
        for other in movers:
            self.leave(other)
        self.take(option)
        if self._settle_within(blockers, before, float(cost[before[label]]) - float(cost[option])):
            return True
        self._undo(before)
        return False

    def _settle_within(self, labels: Sequence[int], before: dict[int, int], gain: float) -> bool:
        """Place labels at their cheapest free places if that costs less than `gain` more than `before`."""
        for label in labels:
            free = self.free(label)
            if not len(free):
                return False
            best = int(free[np.argmin(self.pool.cost[free])])
            gain -= float(self.pool.cost[best]) - float(self.pool.cost[before[label]])
            if not gain > LEAST_GAIN:
                return False
            self.take(best)
        return True

    def run(self, wanted: Sequence[int], leaders: Callable[[Sequence[int]], Options]) -> None:
        """Construct, offer leaders to labels that stand nowhere or dearer than the cheapest leader, and polish."""
        self.construct()
        dear = [k for k in wanted if self.chosen[k] < 0 or self.pool.cost[self.chosen[k]] > LEADER_BASE]
        if dear:
            self.lead(dear, leaders)
        self.polish()

    def lead(self, labels: Sequence[int], leaders: Callable[[Sequence[int]], Options]) -> None:
        """Give these labels leaders, those with the fewest free ones first, moving others aside if need be."""
        found = leaders(labels)
        if len(found):
            self.offer(found)
        order = sorted(labels, key=lambda label: (len(self.free(label)), label))
        for label in order:
            if self.chosen[label] < 0:
                self.settle(label)
