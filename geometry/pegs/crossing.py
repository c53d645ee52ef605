"""Strings through one peg, what each costs, and which two of them give the peg back best. Lengths in metres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from ..kernel.point import Point, Vec
from .strings import CROSSING

APART = 0.3
"""No recovery peg stands nearer to another one, metres (judgement)."""

DRIVEN = 6.0
"""What driving the two pegs of a string counts for, in metres of string (judgement)."""

STANDS = -1
"""Number of a point that is no setting: a recovery peg that stands already, and serves another string too."""


@dataclass(frozen=True, slots=True)
class Arm:
    """A recovery peg: toward or away from a named point (its number), at a reading (negative: away).

    `toward` is STANDS where the peg was driven for another string.
    """

    toward: int
    reading: float
    at: Point


@dataclass(frozen=True, slots=True)
class String:
    """A string through the peg: two arms on opposite sides, or both on one side (extension)."""

    first: Arm
    second: Arm
    direction: Vec

    @property
    def length(self) -> float:
        """Both arms together, m."""
        return abs(self.first.reading) + abs(self.second.reading)

    @property
    def cost(self) -> float:
        """Length of both arms, and 4 m more where both lie on one side (judgement)."""
        return self.length + (0.0 if self.opposite else 4.0)

    @property
    def driven(self) -> float:
        """Pegs to be driven for it, weighed in metres of string."""
        return DRIVEN / 2 if self.first.toward == STANDS else DRIVEN

    @property
    def opposite(self) -> bool:
        """Whether the peg lies between its two recovery pegs."""
        return (self.first.reading > 0) != (self.second.reading > 0)


Offer = tuple[String, float]


def cheapest_crossing(offers: Sequence[Offer]) -> tuple[float, tuple[String, String]] | None:
    """Return the cheapest two strings that cross at 45 degrees or more with their ends apart, and what they cost."""
    scored: list[tuple[float, int, int]] = []
    for (i, (one, first)), (j, (two, second)) in combinations(enumerate(offers), 2):
        sine = abs(one.direction.cross(two.direction))
        if sine >= CROSSING:
            scored.append((round(first + second + 2 * (1 - sine), 4), i, j))
    for score, i, j in sorted(scored):
        pair = offers[i][0], offers[j][0]
        ends = [arm.at for s in pair for arm in (s.first, s.second)]
        if all(a.distance(b) >= APART for a, b in combinations(ends, 2)):
            return score, pair
    return None
