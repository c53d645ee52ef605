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
from .oblong import Indices
from .pool import Pool

HARM_SHARE, HARM_LAST = 6.0, 30.0
"""What it costs to take a neighbour's places: by the share taken, and more for its last."""

LEAST_GAIN = 1e-6
POLISH_ROUNDS = 4
DEPTH = 2
MOST_BLOCKERS = 2
EFFORT = 3000
"""Arrangements tried to find one label a place by moving others aside; then it stands on nothing."""


class Search(Pool):
    """A pool of options and the choice made so far, one option a label or none."""

    def __init__(self, labels: int, pool: Options) -> None:
        super().__init__(labels)
        self.chosen: Indices = np.full(labels, -1, dtype=np.int64)
        self.blocked: Indices = np.zeros(0, dtype=np.int64)
        self.clock = self.effort = 0
        self.stamp: Indices = np.zeros(labels, dtype=np.int64)   # when something near a label last moved
        self.offer(pool)

    def offer(self, more: Options) -> None:
        """Add options to the pool, and say which of them are blocked by what stands."""
        first = len(self.pool)
        self.add(more)
        _, struck = self.in_the_way(self.chosen[self.chosen >= 0], np.arange(first, len(self.pool)))
        self.blocked = np.concatenate((self.blocked, np.bincount(struck, minlength=len(more))))

    # ---- the choice

    def take(self, option: int) -> Indices:
        """Let a label stand at an option; return the options that this blocks."""
        label = int(self.pool.owner[option])
        self.chosen[label] = option
        struck = self.barred(option)
        self.blocked[struck] += 1
        self._touch(struck)
        return struck

    def leave(self, label: int) -> None:
        """Take a label up again."""
        option = int(self.chosen[label])
        self.chosen[label] = -1
        struck = self.barred(option)
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
        near = self.neighbours(around, label)
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
        barred = self.barred(option)
        owners = self.pool.owner[barred]
        found: list[int] = sorted(owners[self.chosen[owners] == barred].tolist())
        return found

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

    def _elsewhere(self, blocker: int, option: int, movers: Sequence[int], gain: float = np.inf) -> Indices:
        """Return the options of `blocker` that are free once `option` is taken and `movers` have left.

        Only those that cost less than `gain` more than where it stands.
        """
        own = self.of[blocker]
        rise = self.pool.cost[own] - self.pool.cost[self.chosen[blocker]]
        own = own[(self.blocked[own] <= len(movers)) & (own != self.chosen[blocker]) & (gain - rise > LEAST_GAIN)]
        if len(own):
            own = own[self.clear_of(own, option)]
        left = self.blocked[own].copy()
        for mover in movers if len(own) else ():
            if mover != blocker and self.chosen[mover] >= 0:
                left -= ~self.clear_of(own, int(self.chosen[mover]))
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
            self.learn([self._better(label) for label in range(self.labels)
                        if self.chosen[label] >= 0 and seen[label] < self.stamp[label]])
            for label in range(self.labels):
                if self.chosen[label] >= 0 and seen[label] < self.stamp[label]:
                    seen[label] = self.clock
                    moved += self._cheaper(label)
            if not moved:
                return

    def _better(self, label: int) -> Indices:
        """Return the cheaper places of a label that few stand in the way of, the cheapest first."""
        own, now = self.of[label], float(self.pool.cost[self.chosen[label]])
        better = own[(self.pool.cost[own] < now - LEAST_GAIN) & (self.blocked[own] <= MOST_BLOCKERS)]
        return better[self.pool.cost[better].argsort(kind="stable")]

    def _cheaper(self, label: int) -> bool:
        now = float(self.pool.cost[self.chosen[label]])
        for option in self._better(label).tolist():
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
            places = self._elsewhere(blocker, option, movers, gain)
            if not len(places):
                return False
            gain -= float(cost[places].min()) - float(cost[self.chosen[blocker]])
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
        """Construct, offer leaders to labels that stand nowhere or dearer than the cheapest leader, and polish.

        Then labels beside those are offered leaders too: they may make room for less than they gain.
        """
        self.construct()
        dear = [k for k in wanted if self.chosen[k] < 0 or self.pool.cost[self.chosen[k]] > LEADER_BASE]
        beside = self._beside(dear, wanted)
        if dear:
            self.lead(dear, leaders)
        self.polish()
        if beside:
            self.offer(leaders(beside))
            self.stamp[:] = self.clock + 1
            self.polish()

    def _beside(self, labels: Sequence[int], wanted: Sequence[int]) -> list[int]:
        """Return the other wanted labels whose places reach into those of `labels`."""
        box = self.label_area
        own = box[labels]
        over = box[:, None, :2] < own[None, :, 2:], own[None, :, :2] < box[:, None, 2:]
        meets = np.all(np.concatenate(over, axis=2), axis=2)
        near = set(np.flatnonzero(np.any(meets, axis=1)).tolist()) - set(labels)
        return sorted(near.intersection(wanted))

    def lead(self, labels: Sequence[int], leaders: Callable[[Sequence[int]], Options]) -> None:
        """Give these labels leaders, those with the fewest free ones first, moving others aside if need be."""
        found = leaders(labels)
        if len(found):
            self.offer(found)
        order = sorted(labels, key=lambda label: (len(self.free(label)), label))
        for label in order:
            if self.chosen[label] < 0:
                self.settle(label)
