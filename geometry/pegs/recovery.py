"""Recovery pegs: outside every dig, set through the peg that they serve, so that crossing strings give it back.

Takes: pegs that a dig takes away, digs, obstacles, boundary. Gives: for each two strings of two pegs, or one string and
a distance. Set through the peg, not from control: where a recovery peg stands does not matter then, and the peg found
again is the same peg. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from ..kernel.point import Point, Vec
from .sight import Sight

INSIDE_BOUNDARY = 0.1
CLEAR_OF_OBSTACLES = 0.1
APART = 0.3
"""No recovery peg stands nearer to another one, metres (judgement)."""

LONGEST = 10.0
"""Longest arm of a string, metres."""

LEAST_ARM = 0.3
CROSSING = math.sin(math.radians(45))
WELL = math.sin(math.radians(60))
ENOUGH_STRINGS = 6
"""No more directions are looked at when this many strings are found and two of them cross well."""

PASSES = 0.0015
"""A string that passes a peg within this gives it back, metres: less than a nail."""

STEP = 0.1
"""Distances are free, so they are whole tenths: no rounding shift."""

FEET_STEP = 0.1524


@dataclass(frozen=True, slots=True)
class Arm:
    """A recovery peg: toward or away from a named point (its number), at a reading (negative: away)."""

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
    def opposite(self) -> bool:
        """Whether the peg lies between its two recovery pegs."""
        return (self.first.reading > 0) != (self.second.reading > 0)


@dataclass(frozen=True, slots=True)
class Way:
    """How one peg is found again: 'crossing' (two strings), 'line' (one string and its distance) or 'ties'."""

    peg: int
    method: str
    strings: tuple[String, ...]


def _crosses_well(strings: Sequence[String]) -> bool:
    """Say whether two of the strings cross at 60 degrees or more with the peg between their ends."""
    straight = [s for s in strings if s.opposite]
    return any(abs(a.direction.cross(b.direction)) >= WELL for a, b in combinations(straight, 2))


class Keeper:
    """Finds places for recovery pegs, keeping them apart."""

    def __init__(self, digs: Sequence[Any], boundary: Any, sight: Sight, clear: float, step: float) -> None:
        import shapely

        self.sight, self.step = sight, step
        self.dug: Any = shapely.union_all(list(digs)) if digs else None
        self.zone: Any = None if self.dug is None else self.dug.buffer(clear, quad_segs=16)
        self.plot: Any = None if boundary is None else boundary.buffer(-INSIDE_BOUNDARY)
        self.bodies: Any = (
            shapely.union_all([b.buffer(CLEAR_OF_OBSTACLES) for b in sight.grown]) if sight.grown else None
        )
        for shape in (self.zone, self.plot, self.bodies):
            if shape is not None:
                shapely.prepare(shape)
        self._taken_at: Any = np.zeros((256, 2))
        self._count = 0
        self._ids: set[int] = set()
        self.known: list[String] = []
        self._lines: list[tuple[float, float, float, float, float, float]] = []
        self._near: Any = np.zeros((0, 2))

    def needs(self, at: Point) -> bool:
        """Say whether a peg would be dug away, or stands too near to a dig."""
        import shapely

        return self.zone is not None and bool(shapely.intersects_xy(self.zone, at.x, at.y))

    def _fits(self, points: Any) -> Any:
        import shapely

        good = np.ones(len(points), dtype=bool)
        if self.plot is not None:
            good &= shapely.intersects_xy(self.plot, points[:, 0], points[:, 1])
        for shape in (self.zone, self.bodies):
            if shape is not None:
                good &= ~shapely.intersects_xy(shape, points[:, 0], points[:, 1])
        return good

    def _places(self, at: Point, direction: Vec, count: int) -> list[tuple[float, Point]]:
        """Return the nearest places along a direction where a recovery peg may stand and be seen from the peg."""
        steps = np.arange(max(1, math.ceil(LEAST_ARM / self.step - 1e-9)), int(LONGEST / self.step) + 1)
        points = np.column_stack([at.x + steps * self.step * direction.dx, at.y + steps * self.step * direction.dy])
        good = np.flatnonzero(self._fits(points) & self._apart(points))
        found: list[tuple[float, Point]] = []
        for k in good:
            spot = Point(float(points[k, 0]), float(points[k, 1]))
            if any(spot.distance(other) < APART for _, other in found):
                continue
            found.append((float(steps[k]) * self.step, spot))
            if len(found) == count:
                break
        if not found:
            return []
        starts = np.array([[at.x, at.y]] * len(found))
        free = self.sight.free(starts, np.array([[p.x, p.y] for _, p in found]))
        return [place for place, seen in zip(found, free, strict=True) if seen]

    def _apart(self, points: Any) -> Any:
        """Say which places keep their distance from the recovery pegs that stand already."""
        if not len(self._near):
            return np.ones(len(points), dtype=bool)
        d = points[:, None, :] - self._near[None]
        return ((d**2).sum(axis=2) >= APART**2).all(axis=1)

    def strings(self, at: Point, sights: Sequence[tuple[int, Point]]) -> list[String]:
        """Return the strings that can be stretched through a peg: toward named points, its own fellows first."""
        found: list[String] = []
        used: list[Vec] = []
        for number, point in sights:
            if point.distance(at) < LEAST_ARM:
                continue
            direction = (point - at).unit()
            if any(abs(direction.cross(other)) < 0.02 for other in used):
                continue
            used.append(direction)
            ahead, behind = self._places(at, direction, 2), self._places(at, -direction, 2)
            if ahead and behind:
                first, second = Arm(number, ahead[0][0], ahead[0][1]), Arm(number, -behind[0][0], behind[0][1])
            elif len(ahead) == 2:
                first, second = (Arm(number, r, p) for r, p in ahead)
            elif len(behind) == 2:
                first, second = (Arm(number, -r, p) for r, p in behind)
            else:
                continue
            found.append(String(first, second, direction))
            if len(found) >= ENOUGH_STRINGS and _crosses_well(found):
                break
        return found

    def keep(self, peg: int, at: Point, sights: Sequence[tuple[int, Point]]) -> Way | None:
        """Return the way back to a peg, its recovery pegs taken; None where none can stand."""
        taken = self._taken_at[: self._count]
        self._near = taken[(np.abs(taken - (at.x, at.y)) <= LONGEST + 1).all(axis=1)]
        strings = self._through(at)
        fresh = len(strings)
        strings += [
            s for s in self.strings(at, sights) if all(abs(s.direction.cross(k.direction)) > 0.02 for k in strings)
        ]
        best: tuple[tuple[float, int, int], tuple[String, String]] | None = None
        for (i, one), (j, two) in combinations(enumerate(strings), 2):
            sine = abs(one.direction.cross(two.direction))
            ends = [arm.at for s in (one, two) for arm in (s.first, s.second)]
            if sine < CROSSING or any(a.distance(b) < APART for a, b in combinations(ends, 2)):
                continue
            cost = sum(s.cost for k, s in ((i, one), (j, two)) if k >= fresh)
            score = round(cost + 2 * (1 - sine), 4), i, j
            if best is None or score < best[0]:
                best = score, (one, two)
        if best is not None:
            return self._taken(Way(peg, "crossing", best[1]))
        if strings:
            one = min(
                enumerate(strings), key=lambda s: (s[0] >= fresh, not s[1].opposite, round(s[1].length, 4), s[0])
            )[1]
            return self._taken(Way(peg, "line", (one,)))
        return None

    def _through(self, at: Point) -> list[String]:
        """Return strings that pass over a peg already: one string down a side serves both its corners."""
        if not self._lines:
            return []
        x, y, ux, uy, far_x, far_y = np.array(self._lines).T
        off = np.abs(ux * (at.y - y) - uy * (at.x - x))
        reach = np.maximum(np.hypot(at.x - x, at.y - y), np.hypot(at.x - far_x, at.y - far_y))
        return [self.known[int(k)] for k in np.flatnonzero((off <= PASSES) & (reach <= LONGEST))]

    def _taken(self, way: Way) -> Way:
        for string in way.strings:
            if id(string) not in self._ids:
                self._ids.add(id(string))
                self.known.append(string)
                a, b = string.first.at, string.second.at
                u = (b - a).unit()
                self._lines.append((a.x, a.y, u.dx, u.dy, b.x, b.y))
                self._take(string.first.at)
                self._take(string.second.at)
        return way

    def _take(self, at: Point) -> None:
        if self._count == len(self._taken_at):
            self._taken_at = np.vstack([self._taken_at, np.zeros_like(self._taken_at)])
        self._taken_at[self._count] = at.x, at.y
        self._count += 1
