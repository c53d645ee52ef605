"""The two things that every edge is made of: a straight Line and a circular Arc.

An arc's centre, radius, begin angle and signed sweep are the truth (they are what a builder swings);
its two end points stand beside them so that neighbours in a path share a point exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from ..errors import GeometryError, refuse
from .point import Box, Point, Vec
from .tolerance import JOINT

TURN = 2 * math.pi
QUARTER = math.pi / 2


@dataclass(frozen=True, slots=True)
class Line:
    """A straight edge from `start` to `end` (two different points)."""

    start: Point
    end: Point

    def __post_init__(self) -> None:
        if not self.start.distance(self.end) > 0:
            raise refuse(GeometryError, f"a line of no length at ({self.start.x:.3f}, {self.start.y:.3f})",
                         "give two different points", "no-length")

    @property
    def length(self) -> float:
        """Length in metres."""
        return self.start.distance(self.end)

    def reversed(self) -> Line:
        """Return the same edge walked the other way."""
        return Line(self.end, self.start)

    def point(self, share: float) -> Point:
        """Return the point at `share` (0 to 1) of the length."""
        return self.start.toward(self.end, share)

    def heading(self, share: float = 0.0) -> float:
        """Return the direction of travel in radians (the same everywhere)."""
        return (self.end - self.start).heading

    def part(self, from_share: float, to_share: float) -> Line:
        """Return the stretch between two shares of the length (0 <= from < to <= 1)."""
        a = self.start if from_share <= 0 else self.point(from_share)
        return Line(a, self.end if to_share >= 1 else self.point(to_share))

    @property
    def box(self) -> Box:
        """The smallest upright box."""
        a, b = self.start, self.end
        return Box(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y))


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular edge: centre, radius (m), begin angle and signed sweep (radians, + anticlockwise).

    At most one turn. `start` and `end` belong to these within JOINT (scaled to the coordinates);
    make one with `Arc.swung` or `Arc.between`.
    """

    centre: Point
    radius: float
    begin: float
    sweep: float
    start: Point
    end: Point

    def __post_init__(self) -> None:
        if not (self.radius > 0 and math.isfinite(self.radius)):
            raise refuse(GeometryError, f"an arc of radius {self.radius:.3f}",
                         "a radius is more than nothing", "bad-radius")
        if not 0 < abs(self.sweep) <= TURN + 1e-12:
            raise refuse(GeometryError, f"an arc that turns by {math.degrees(self.sweep):.3f} degrees",
                         "an arc turns by more than nothing and at most once round", "bad-sweep")
        cx, cy, r, begin = self.centre.x, self.centre.y, self.radius, self.begin
        ends = ((begin, self.start), (begin + self.sweep, self.end))
        # The usual case first, without the slack of large arcs and far places.
        if all(abs(cx + r * math.cos(angle) - at.x) + abs(cy + r * math.sin(angle) - at.y) < JOINT
               for angle, at in ends):
            return
        slack = JOINT * max(1.0, r * 1e-3, (abs(cx) + abs(cy)) * 1e-6)
        for angle, end in ends:
            off = math.hypot(cx + r * math.cos(angle) - end.x, cy + r * math.sin(angle) - end.y)
            if not off <= slack:
                raise refuse(GeometryError, f"an arc whose end ({end.x:.6f}, {end.y:.6f}) is not on it",
                             "give ends that lie on the circle", "off-arc")

    def _swing(self, share: float) -> Point:
        return self.centre + Vec.polar(self.begin + self.sweep * share, self.radius)

    @staticmethod
    def swung(centre: Point, radius: float, begin: float, sweep: float) -> Arc:
        """Return the arc swung from `begin` by `sweep` radians; a full turn ends where it starts."""
        start = centre + Vec.polar(begin, radius) if radius > 0 else centre
        full = abs(abs(sweep) - TURN) < 1e-12
        end = start if full or not radius > 0 else centre + Vec.polar(begin + sweep, radius)
        return Arc(centre, radius, begin, sweep, start, end)

    @staticmethod
    def between(centre: Point, radius: float, start: Point, end: Point, left: bool) -> Arc:
        """Return the arc about `centre` from `start` to `end`, anticlockwise when `left`.

        Equal ends make a full turn. The ends are kept as given (they must lie on the circle).
        """
        begin = (start - centre).heading
        turn = ((end - centre).heading - begin) % TURN
        sweep = (turn or TURN) if left else ((turn - TURN) if turn else -TURN)
        return Arc(centre, radius, begin, sweep, start, end)

    @property
    def length(self) -> float:
        """Length along the arc in metres."""
        return self.radius * abs(self.sweep)

    @property
    def is_circle(self) -> bool:
        """Whether this is a whole turn."""
        return abs(self.sweep) >= TURN - 1e-12

    def reversed(self) -> Arc:
        """Return the same edge walked the other way: same centre and radius, bit for bit."""
        return Arc(self.centre, self.radius, self.begin + self.sweep, -self.sweep, self.end, self.start)

    def point(self, share: float) -> Point:
        """Return the point at `share` (0 to 1) of the length."""
        if share <= 0:
            return self.start
        return self.end if share >= 1 else self._swing(share)

    def heading(self, share: float = 0.0) -> float:
        """Return the direction of travel in radians at `share` of the length."""
        return self.begin + self.sweep * share + math.copysign(math.pi / 2, self.sweep)

    def part(self, from_share: float, to_share: float) -> Arc:
        """Return the stretch between two shares of the length (0 <= from < to <= 1)."""
        return Arc(self.centre, self.radius, self.begin + self.sweep * from_share,
                   self.sweep * (to_share - from_share), self.point(from_share), self.point(to_share))

    def holds_angle(self, angle: float) -> bool:
        """Say whether the direction `angle` (radians, from the centre) lies within the sweep."""
        turn = (angle - self.begin) % TURN if self.sweep > 0 else (self.begin - angle) % TURN
        return turn <= abs(self.sweep)

    @property
    def box(self) -> Box:
        """The smallest upright box, axis extremes within the sweep included."""
        cx, cy, r = self.centre.x, self.centre.y, self.radius
        x0, x1 = sorted((self.start.x, self.end.x))
        y0, y1 = sorted((self.start.y, self.end.y))
        low, high = sorted((self.begin, self.begin + self.sweep))
        for k in range(math.ceil(low / QUARTER), math.floor(high / QUARTER) + 1):
            match k % 4:
                case 0:
                    x1 = max(x1, cx + r)
                case 1:
                    y1 = max(y1, cy + r)
                case 2:
                    x0 = min(x0, cx - r)
                case _:
                    y0 = min(y0, cy - r)
        return Box(x0, y0, x1, y1)


Segment: TypeAlias = Line | Arc
