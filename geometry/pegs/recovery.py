"""Recovery pegs: outside every dig, set through the peg that they serve, so that crossing strings give it back.

Takes: pegs that a dig takes away, digs, obstacles, boundary. Gives: for each two strings of two pegs, or one string and
a distance. Set through the peg, not from control: where a recovery peg stands does not matter then, and the peg found
again is the same peg. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from ..kernel.point import Point, Vec
from .crossing import APART, DRIVEN, STANDS, Arm, Offer, String, cheapest_crossing
from .sight import Sight
from .strings import LONGEST, PASSES, WHOLE, Shared, Taken, shared_strings

INSIDE_BOUNDARY = 0.1
CLEAR_OF_OBSTACLES = 0.1
LEAST_ARM = 0.3
WELL = math.sin(math.radians(60))
ENOUGH_STRINGS = 6
"""No more directions are looked at when this many strings are found and two of them cross well."""

BEYOND = 1.0
"""A string gives back a peg that lies beyond its ends by this share of its length at most: the error of its ends (2 mm
each) is then 4.5 mm at the peg, as where strings cross at 45 degrees."""

AT_LEAST = 2
"""Strings looked at in one go, once enough are found that do not cross well yet."""

SURELY = 0.001
"""What is cheaper by this (m) is cheaper however sums are rounded."""

AT_ONCE = 16
"""Places looked at in one go along a string, nearest first; then four times as many, and so on."""

STEP = 0.1
"""Distances are free, so they are whole tenths: no rounding shift."""

FEET_STEP = 0.1524

SQUARE_WORTH = 12.0
"""Metres of string and walking that a string square to the peg's curve is worth: two more pegs and 3 m on either side
(judgement)."""

SQUARE_WITHIN = 0.01
"""A string is square to a curve within this (radians): 1 cm in a metre, more than rounding turns it by."""

HUBS = 12
"""Standing recovery pegs that are looked at as an end of a further string."""


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


def _directions(at: Point, sights: Sequence[tuple[int, Point]]) -> list[tuple[int, Vec]]:
    """Return the directions from a peg to named points, each once."""
    found: list[tuple[int, Vec]] = []
    for number, point in sights:
        if point.distance(at) >= LEAST_ARM:
            direction = (point - at).unit()
            if not any(abs(direction.cross(other)) < 0.02 for _, other in found):
                found.append((number, direction))
    return found


def _ranked(offer: tuple[int, tuple[String, float]]) -> tuple[bool, bool, float, int]:
    """Order strings that must do alone: those that stand first, then those with the peg between their ends."""
    number, (string, cost) = offer
    return cost > 0, not string.opposite, round(cost, 4), number


def _worth(string: String, square: Vec | None) -> float:
    """Return what a string is worth for being square to the curve that its peg stands on, metres."""
    if square is None or not string.opposite or abs(string.direction.cross(square)) >= SQUARE_WITHIN:
        return 0.0
    return SQUARE_WORTH


def _apart(points: Any, others: Any) -> Any:
    """Say which places keep their distance from recovery pegs that stand already."""
    if not len(others) or not len(points):
        return np.ones(len(points), dtype=bool)
    dx, dy = points[:, :1] - others[:, 0], points[:, 1:] - others[:, 1]
    return (dx * dx + dy * dy).min(axis=1) >= APART**2


class Keeper:
    """Finds places for recovery pegs, keeping them apart."""

    def __init__(self, digs: Sequence[Any], boundary: Any, sight: Sight, clear: float, step: float) -> None:
        import shapely

        self.sight, self.step = sight, step
        self.dug: Any = shapely.union_all(list(digs)) if digs else None
        self.zone: Any = None if self.dug is None else self.dug.buffer(clear, quad_segs=16)
        self.plot: Any = None if boundary is None else boundary.buffer(-INSIDE_BOUNDARY)
        bodies = [b.buffer(CLEAR_OF_OBSTACLES) for b in sight.grown]
        shut = bodies if self.zone is None else [self.zone, *bodies]
        self.shut: Any = shapely.union_all(shut) if shut else None
        for shape in (self.zone, self.plot, self.shut):
            shapely.prepare(shape)
        self._taken_at: Any = np.zeros((256, 2))
        self._count = 0
        self._ids: set[int] = set()
        self.known: list[String] = []
        self._lines: Any = np.zeros((256, 6))
        self._near: Any = np.zeros((0, 2))
        self._shared: dict[int, list[Shared]] = {}

    def share(self, pegs: Sequence[Taken]) -> None:
        """Choose the strings that serve several of these pegs; `keep` then prefers them."""
        for shared in shared_strings(pegs, lambda line: self._along((line,), line.pegs[0])[0] is not None):
            for taken in shared.pegs:
                self._shared.setdefault(taken.peg, []).append(shared)

    def _along(self, lines: Sequence[Shared], taken: Taken) -> list[String | None]:
        """Return strings of shared lines as set from one of their pegs: an end beyond each outermost peg."""
        towards: list[tuple[int, Vec]] = []
        ways: list[tuple[Vec, float]] = []
        for line in lines:
            first, last = line.pegs[0], line.pegs[-1]
            toward, back = (first, last) if taken.peg == last.peg else (last, first)
            way = (toward.at - taken.at).unit()             # exactly at it: that is how the string is stretched
            towards.append((toward.peg, way))
            ways += [(way, taken.at.distance(toward.at)), (-way, taken.at.distance(back.at))]
        places = self._places(taken.at, ways) if ways else []
        return [None if ahead is None or behind is None or ahead[0] + behind[0] > WHOLE
                else String(Arm(toward, *ahead), Arm(toward, -behind[0], behind[1]), way)
                for (toward, way), ahead, behind in zip(towards, places[::2], places[1::2], strict=True)]

    def needs(self, at: Point) -> bool:
        """Say whether a peg would be dug away, or stands too near to a dig."""
        import shapely

        return self.zone is not None and bool(shapely.intersects_xy(self.zone, at.x, at.y))

    def _fits(self, points: Any) -> Any:
        """Return which places (numbers) are clear of digs and obstacles and within the boundary."""
        import shapely

        left = np.arange(len(points))
        for shape, wanted in ((self.shut, False), (self.plot, True)):
            if shape is not None and len(left):
                inside = shapely.intersects_xy(shape, points[left, 0], points[left, 1])
                left = left[inside if wanted else ~inside]
        return left

    def _places(self, at: Point, ways: Sequence[tuple[Vec, float]]) -> list[tuple[float, Point] | None]:
        """Return for each way (direction, how far off to begin) the nearest place where a recovery peg may stand.

        None where there is none, or where it is not seen from the peg.
        """
        firsts = np.array([max(1, math.ceil((beyond + LEAST_ARM) / self.step - 1e-9)) for _, beyond in ways])
        ends = np.array([int((beyond + LONGEST) / self.step) + 1 for _, beyond in ways])
        unit = np.array([(way.dx, way.dy) for way, _ in ways])
        away = np.hypot(self._near[:, 0] - at.x, self._near[:, 1] - at.y)
        found: list[tuple[float, Point] | None] = [None] * len(ways)
        begin, size, left = 0, AT_ONCE, (firsts < ends).nonzero()[0]
        while len(left):
            size = min(size, int((ends - firsts)[left].max()) - begin)
            steps = firsts[left, None] + np.arange(begin, begin + size)
            reach = steps * self.step
            points = np.stack([at.x + reach * unit[left, :1], at.y + reach * unit[left, 1:]], axis=2)
            flat = points.reshape(-1, 2)
            fit = self._fits(flat)
            fit = fit[_apart(flat[fit], self._near[away <= reach.max() + 2 * APART])]
            good = np.zeros(len(flat), dtype=bool)
            good[fit] = True
            good = good.reshape(steps.shape) & (steps < ends[left, None])
            first = good.argmax(axis=1)
            met = good[np.arange(len(left)), first]
            for row in met.nonzero()[0].tolist():
                m = int(first[row])
                x, y = points[row, m].tolist()
                found[int(left[row])] = float(steps[row, m]) * self.step, Point(x, y)
            begin, size = begin + size, 4 * size
            left = left[~met & (ends[left] - firsts[left] > begin)]
        return self._seen(at, found)

    def _seen(self, at: Point, found: list[tuple[float, Point] | None]) -> list[tuple[float, Point] | None]:
        spots = np.array([(place[1].x, place[1].y) for place in found if place is not None]).reshape(-1, 2)
        free = iter(self.sight.free(np.broadcast_to((at.x, at.y), spots.shape), spots))
        return [place if place is not None and next(free) else None for place in found]

    def strings(self, at: Point, sights: Sequence[tuple[int, Point]]) -> list[String]:
        """Return the strings that can be stretched through a peg: toward named points, its own fellows first."""
        found: list[String] = []
        towards = _directions(at, sights)
        begin = 0
        while begin < len(towards):
            some = towards[begin:begin + max(ENOUGH_STRINGS - len(found), AT_LEAST)]
            begin += len(some)
            for (_, direction), arms in zip(some, self._arms(at, some), strict=True):
                if arms is None:
                    continue
                found.append(String(*arms, direction))
                if len(found) >= ENOUGH_STRINGS and _crosses_well(found):
                    return found
        return found

    def _arms(self, at: Point, towards: Sequence[tuple[int, Vec]]) -> list[tuple[Arm, Arm] | None]:
        """Return both ends of each string through a peg: either side of it, else two on one side, well apart."""
        places = self._places(at, [(way, 0.0) for _, direction in towards for way in (direction, -direction)])
        found: list[tuple[Arm, Arm] | None] = [None] * len(towards)
        beyond: list[tuple[int, int, tuple[float, Point], Vec]] = []
        for k, ((number, way), ahead, behind) in enumerate(zip(towards, places[::2], places[1::2], strict=True)):
            if ahead is not None and behind is not None:
                found[k] = Arm(number, *ahead), Arm(number, -behind[0], behind[1])
            elif ahead is not None:
                beyond.append((k, 1, ahead, way))
            elif behind is not None:
                beyond.append((k, -1, behind, -way))
        if beyond:
            ways = [(way, near[0] * (1 + 1 / BEYOND) - LEAST_ARM) for _, _, near, way in beyond]
            for (k, sign, near, _), far in zip(beyond, self._places(at, ways), strict=True):
                if far is not None:
                    number = towards[k][0]
                    found[k] = Arm(number, sign * near[0], near[1]), Arm(number, sign * far[0], far[1])
        return found

    def keep(self, peg: int, at: Point, sights: Sequence[tuple[int, Point]], square: Vec | None = None) -> Way | None:
        """Return the way back to a peg, its recovery pegs taken; None where none can stand.

        For a peg on a curve `square` is the direction square to it: a string that way is preferred, since it keeps the
        edge where it belongs even if the peg found again slides along the other string.
        """
        taken = self._taken_at[: self._count]
        self._near = taken[(np.abs(taken - (at.x, at.y)) <= WHOLE + 1).all(axis=1)]
        offers: list[Offer] = []
        for more, least in self._offers(peg, at, sights):
            offers += more
            valued = [(string, cost - _worth(string, square)) for string, cost in offers]
            best = cheapest_crossing(valued)
            after = least if square is None else least - SQUARE_WORTH
            if best is not None and best[0] + SURELY < after + min(least, *(cost for _, cost in valued)):
                break                                       # no pair with a string yet to be looked for is cheaper
        if best is not None:
            return self._taken(Way(peg, "crossing", best[1]))
        if offers:
            one = min(enumerate(offers), key=_ranked)[1][0]
            return self._taken(Way(peg, "line", (one,)))
        return None

    def _offers(self, peg: int, at: Point, sights: Sequence[tuple[int, Point]]) -> Iterator[tuple[list[Offer], float]]:
        """Yield strings that may give a peg back, each with its cost: those that stand are free, shared ones cheap.

        With each lot goes what a string of a later one costs at least.
        """
        found: list[Offer] = [(string, 0.0) for string in self._through(at)]

        def fresh(string: String) -> bool:
            return all(abs(string.direction.cross(other.direction)) > 0.02 for other, _ in found)

        lines = self._shared.get(peg, ())
        if lines:
            own = next(t for t in lines[0].pegs if t.peg == peg)
            for shared, string in zip(lines, self._along(lines, own), strict=True):
                if string is not None and fresh(string):
                    found.append((string, (string.driven + string.cost) / len(shared.pegs)))
        arms = 2 * LEAST_ARM
        yield list(found), DRIVEN / 2 + arms
        more = [(s, s.driven + s.cost) for s in self._from_standing(at) if fresh(s)]
        found += more
        yield more, DRIVEN + arms
        yield [(s, s.driven + s.cost) for s in self.strings(at, sights) if fresh(s)], math.inf

    def _from_standing(self, at: Point) -> list[String]:
        """Return strings from recovery pegs that stand, over a peg and on to a new one: one peg to drive, not two."""
        away = np.round(np.hypot(*(self._near - (at.x, at.y)).T), 4)
        order = [int(k) for k in np.argsort(away, kind="stable") if LEAST_ARM <= away[k] <= LONGEST]
        spots = self._near[order[:HUBS]]
        seen = self.sight.free(np.array([[at.x, at.y]] * len(spots)).reshape(-1, 2), spots)
        hubs = [Point(float(x), float(y)) for x, y in spots[seen]]
        if not hubs:
            return []
        ways = [(hub - at).unit() for hub in hubs]
        behind = self._places(at, [(-way, 0.0) for way in ways])
        return [String(Arm(STANDS, hub.distance(at), hub), Arm(STANDS, -place[0], place[1]), way)
                for hub, way, place in zip(hubs, ways, behind, strict=True) if place is not None]

    def _through(self, at: Point) -> list[String]:
        """Return strings that stand and pass over a peg: one string down a side serves both its corners."""
        if not self.known:
            return []
        x, y, ux, uy, far_x, far_y = self._lines[: len(self.known)].T
        off = np.abs(ux * (at.y - y) - uy * (at.x - x))
        along = (ux * (at.x - x) + uy * (at.y - y)) / np.hypot(far_x - x, far_y - y)
        reach = np.maximum(np.hypot(at.x - x, at.y - y), np.hypot(at.x - far_x, at.y - far_y))
        held = (along >= -BEYOND) & (along <= 1 + BEYOND)
        return [self.known[int(k)] for k in np.flatnonzero((off <= PASSES) & (reach <= WHOLE) & held)]

    def _taken(self, way: Way) -> Way:
        for string in way.strings:
            if id(string) not in self._ids:
                self._ids.add(id(string))
                self.known.append(string)
                a, b = string.first.at, string.second.at
                u = (b - a).unit()
                if len(self.known) > len(self._lines):
                    self._lines = np.vstack([self._lines, np.zeros_like(self._lines)])
                self._lines[len(self.known) - 1] = a.x, a.y, u.dx, u.dy, b.x, b.y
                if string.first.toward != STANDS:
                    self._take(string.first.at)
                self._take(string.second.at)
        return way

    def _take(self, at: Point) -> None:
        if self._count == len(self._taken_at):
            self._taken_at = np.vstack([self._taken_at, np.zeros_like(self._taken_at)])
        self._taken_at[self._count] = at.x, at.y
        self._count += 1
