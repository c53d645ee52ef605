"""Strings that serve several pegs at once: fewer recovery pegs to drive, write on and find again.

Takes: the pegs that a dig takes away. Gives: lines through two or more of them, the most useful first, chosen so
that each peg has two that cross well. Whether recovery pegs find a place at the ends is asked of the caller. Metres.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..kernel.point import Point, Vec

PASSES = 0.0015
"""A string that passes a peg within this gives it back, metres: less than a nail."""

LONGEST = 10.0
"""Longest arm of a string: from its outermost peg to the end beyond it, metres."""

WHOLE = 20.0
"""Longest string, end to end, metres: what one person still pulls straight (common practice, no source)."""

CROSSING = math.sin(math.radians(45))
"""Two strings give a peg back where they cross at 45 degrees or more."""

STRANGERS = 6
"""Lines to this many nearest pegs of other shapes are looked at, besides those to a shape's own pegs."""

MARGIN = 0.1
"""Pegs are looked at as far off as the longest string and this, metres."""

APART = 0.3
"""Pegs nearer to each other than this give no direction, metres."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A peg that a dig takes away: its number, where it stands, and the shape that it belongs to."""

    peg: int
    at: Point
    shape: int


@dataclass(frozen=True, slots=True)
class Shared:
    """A line through several pegs, in their order along `direction`."""

    pegs: tuple[Taken, ...]
    direction: Vec

    @property
    def length(self) -> float:
        """From its first peg to its last, m."""
        return self.pegs[0].at.distance(self.pegs[-1].at)

    @property
    def shapes(self) -> int:
        """How many shapes its pegs belong to."""
        return len({t.shape for t in self.pegs})


def shared_strings(pegs: Sequence[Taken], possible: Callable[[Shared], bool]) -> tuple[Shared, ...]:
    """Return lines that serve two pegs or more, each peg on two at most, and these crossing at 45 degrees or more.

    The line that helps most pegs comes first; of equals one within a shape, then the shorter one. Greedy cover, as
    good as any quick method for sets (common practice, no source). `possible` says whether a line can be strung.
    """
    lines = list(_lines(pegs))
    served: dict[int, list[Vec]] = {t.peg: [] for t in pegs}

    def helped(line: Shared) -> int:
        return sum(1 for t in line.pegs if _wants(served[t.peg], line.direction))

    def key(number: int, line: Shared) -> tuple[int, int, float, int]:
        return -helped(line), line.shapes, round(line.length, 4), number

    queue = [key(number, line) for number, line in enumerate(lines)]
    heapq.heapify(queue)
    chosen: list[Shared] = []
    while queue:
        entry = heapq.heappop(queue)
        line = lines[entry[3]]
        now = key(entry[3], line)
        if now[0] > -2:
            continue
        if now != entry:
            heapq.heappush(queue, now)
        elif possible(line):
            chosen.append(line)
            for t in line.pegs:
                if _wants(served[t.peg], line.direction):
                    served[t.peg].append(line.direction)
    return tuple(chosen)


def _wants(has: Sequence[Vec], direction: Vec) -> bool:
    return not has or (len(has) == 1 and abs(has[0].cross(direction)) >= CROSSING)


def _lines(pegs: Sequence[Taken]) -> Iterator[Shared]:
    """Yield each line through two pegs near each other once, with all pegs between them that it passes."""
    if len(pegs) < 2:
        return
    places = np.array([(t.at.x, t.at.y) for t in pegs])
    shapes = np.array([t.shape for t in pegs])
    seen: set[tuple[int, ...]] = set()
    tried: set[tuple[int, int]] = set()
    for i in range(len(pegs)):                               # nothing farther off is ever on a line from here
        around = np.flatnonzero((np.abs(places[:, 0] - places[i, 0]) <= WHOLE + MARGIN)
                                & (np.abs(places[:, 1] - places[i, 1]) <= WHOLE + MARGIN))
        away = places[around] - places[i]
        apart = np.hypot(*away.T)
        here = int(np.searchsorted(around, i))
        which = around.tolist()
        close = [pegs[k] for k in which]
        for j in _near(apart, shapes[around] == shapes[i]):
            pair = min(i, which[j]), max(i, which[j])
            if pair in tried:
                continue
            tried.add(pair)
            line = _line(close, here, j, away)
            numbers = tuple(sorted(t.peg for t in line.pegs))
            if numbers not in seen:
                seen.add(numbers)
                yield line


def _near(apart: Any, own: Any) -> list[int]:
    """Return a shape's own pegs within reach, and the nearest of other shapes."""
    order = np.argsort(np.round(apart, 3), kind="stable")
    order = order[(apart[order] >= APART) & (apart[order] <= WHOLE - 2 * APART)]
    return [int(k) for k in (*order[own[order]], *order[~own[order]][:STRANGERS])]


def _line(pegs: Sequence[Taken], i: int, j: int, away: Any) -> Shared:
    i, j, away = (i, j, away) if i < j else (j, i, away - away[j])
    direction = (pegs[j].at - pegs[i].at).unit()
    along = away @ np.array([direction.dx, direction.dy])
    aside = np.abs(away @ np.array([-direction.dy, direction.dx]))
    on = np.flatnonzero((aside <= PASSES) & (along >= -PASSES) & (along <= along[j] + PASSES))
    return Shared(tuple(pegs[int(k)] for k in on[np.argsort(along[on], kind="stable")]), direction)
