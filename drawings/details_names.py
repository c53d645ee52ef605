"""Names beside a detail, in a column at its right and, for what lies behind a wall, one at its left.

Each stands as near the height of what it names as its neighbours and the extension lines of sizes allow; leaders
do not cross. Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..geometry.kernel.point import Point
from .columns import heights
from .details_parts import Tag
from .labelled import leader_marks
from .lettering import broken, width
from .sheet import Mark, Text, View
from .wrapping import FIGURES

PITCH = 4.3
CAPITALS = 2.5

ROOM = 28.0
"""The longest line of a name, mm."""

LEADER = 6.0
"""Names stand so far from the detail, mm."""

GAP = 0.8
"""A leader ends so far before its name."""

APART = 4.0
"""Clear space between two names."""

FAR = -1e6

LEVEL = 0.5
"""A leader that would rise or fall by no more runs level, its dot so far from its place, mm."""

KEPT = 1.0
"""A name keeps so far off the extension line of a size."""


@dataclass(frozen=True, slots=True)
class Name:
    """A name to be placed: where its leader ends, and its lines."""

    at: Point
    lines: tuple[str, ...]

    @property
    def height(self) -> float:
        """From the top of the capitals of its first line to the foot of its last."""
        return CAPITALS + PITCH * (len(self.lines) - 1)

    @property
    def width(self) -> float:
        """Of its longest line."""
        return max(width(line, "regular", FIGURES) for line in self.lines)


def name_of(tag: Tag, view: View) -> Name:
    """Return a tag as it is to be lettered."""
    return Name(view.point(tag.at), tuple(piece for line in tag.lines for piece in broken(line, ROOM)))


def wide(names: Sequence[Name]) -> float:
    """Return the width of a column with its leaders, 0 without names."""
    return LEADER + GAP + max(name.width for name in names) if names else 0.0


def column(
    names: Sequence[Name], x: float, out: int, keep: Sequence[float] = (), floor: float = FAR
) -> Iterator[Mark]:
    """Yield names in a column that begins at x and runs out to the right (out 1) or the left (-1).

    `keep` holds the heights of the lines that cross the column: no name stands on one, and none below `floor` if
    there is room above.
    """
    edge = x + out * LEADER
    ordered = sorted(names, key=lambda n: (-round(n.at.y, 6), out * n.at.x))
    for _ in range(len(ordered) ** 2 + 1):
        tops = _tops(ordered, keep, floor)
        crossing = _crossing(ordered, tops, edge)
        if crossing is None:
            break
        ordered[crossing], ordered[crossing + 1] = ordered[crossing + 1], ordered[crossing]
    for name, top in zip(ordered, tops, strict=True):
        yield from _lettered(name, top, edge, out)


def lowest(names: Sequence[Name], keep: Sequence[float] = (), floor: float = FAR) -> float:
    """Return how low a column of these names reaches."""
    ordered = sorted(names, key=lambda n: -round(n.at.y, 6))
    return min((top - name.height for name, top in zip(ordered, _tops(ordered, keep, floor), strict=True)), default=0.0)


def _tops(names: Sequence[Name], keep: Sequence[float], floor: float) -> list[float]:
    """Return the tops of names in their order from the top down, each as near to its thing as can be."""
    tops: list[float] = []
    limit = float("inf")
    wishes = heights([n.at.y + CAPITALS / 2 for n in names], [n.height + APART for n in names], floor, -FAR)
    for name, wish in zip(names, wishes, strict=True):
        want = min(wish, limit)
        spots = [want, *(y - KEPT for y in keep), *(y + KEPT + name.height for y in keep)]
        free = [t for t in spots if t <= limit + 1e-9 and not any(t - name.height - KEPT < y - 1e-9 and
                                                                y + 1e-9 < t + KEPT for y in keep)]
        top = min(free, key=lambda t: (round(abs(t - want), 6), -t)) if free else want
        tops.append(top)
        limit = top - name.height - APART
    return tops


def _crossing(names: Sequence[Name], tops: Sequence[float], edge: float) -> int | None:
    """Return the number of the first name whose leader crosses that of the next one; None if none does."""
    ends = [(name.at, Point(edge, top - CAPITALS / 2)) for name, top in zip(names, tops, strict=True)]
    for k, ((a, b), (c, d)) in enumerate(pairwise(ends)):
        if _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0:
            return k
    return None


def _side(a: Point, b: Point, p: Point) -> float:
    return (b - a).cross(p - a)


def _lettered(name: Name, top: float, edge: float, out: int) -> Iterator[Mark]:
    base = top - CAPITALS
    end = Point(edge, base + CAPITALS / 2)
    start = Point(name.at.x, end.y) if abs(end.y - name.at.y) <= LEVEL else name.at
    leader, _ = leader_marks((start, end), True)
    yield leader
    for i, line in enumerate(name.lines):
        yield Text(layer="labels", at=Point(edge + out * GAP, base - PITCH * i), words=line,
                   anchor="start" if out > 0 else "end", classes=("label",))
