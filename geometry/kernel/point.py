"""Places and displacements: two types with the same two numbers, so that they cannot be mixed up.

Point minus point is a Vec, Point plus Vec is a Point; point plus point does not exist.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ..errors import GeometryError, refuse


@dataclass(frozen=True, slots=True)
class Vec:
    """A displacement in metres."""

    dx: float
    dy: float

    def __add__(self, other: Vec) -> Vec:
        return Vec(self.dx + other.dx, self.dy + other.dy)

    def __sub__(self, other: Vec) -> Vec:
        return Vec(self.dx - other.dx, self.dy - other.dy)

    def __mul__(self, factor: float) -> Vec:
        return Vec(self.dx * factor, self.dy * factor)

    def __neg__(self) -> Vec:
        return Vec(-self.dx, -self.dy)

    def dot(self, other: Vec) -> float:
        """Return the scalar product in m2."""
        return self.dx * other.dx + self.dy * other.dy

    def cross(self, other: Vec) -> float:
        """Return the signed area (m2) of the parallelogram; positive if `other` lies to the left."""
        return self.dx * other.dy - self.dy * other.dx

    @property
    def length(self) -> float:
        """Length in metres."""
        return math.hypot(self.dx, self.dy)

    @property
    def heading(self) -> float:
        """Direction in radians, anticlockwise from +x, in (-pi, pi]."""
        return math.atan2(self.dy, self.dx)

    def unit(self) -> Vec:
        """Return the vector of length 1 in this direction; GeometryError for the null vector."""
        size = self.length
        if not size > 0:
            raise refuse(GeometryError, "a direction between two equal points",
                         "give two different points", "no-direction")
        return Vec(self.dx / size, self.dy / size)

    def left(self) -> Vec:
        """Return this vector turned by a quarter turn to the left."""
        return Vec(-self.dy, self.dx)

    @staticmethod
    def polar(heading: float, length: float = 1.0) -> Vec:
        """Return the displacement of `length` metres on `heading` radians."""
        return Vec(length * math.cos(heading), length * math.sin(heading))


@dataclass(frozen=True, slots=True)
class Point:
    """A place in the frame of the garden, metres."""

    x: float
    y: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.x) and math.isfinite(self.y)):
            raise refuse(GeometryError, f"a point at ({self.x}, {self.y})",
                         "coordinates are finite numbers", "not-finite")

    def __sub__(self, other: Point) -> Vec:
        return Vec(self.x - other.x, self.y - other.y)

    def __add__(self, by: Vec) -> Point:
        return Point(self.x + by.dx, self.y + by.dy)

    def distance(self, other: Point) -> float:
        """Return the distance to `other` in metres."""
        return math.hypot(self.x - other.x, self.y - other.y)

    def toward(self, other: Point, share: float) -> Point:
        """Return the point that lies `share` of the way to `other` (0 here, 1 there)."""
        return Point(self.x + (other.x - self.x) * share, self.y + (other.y - self.y) * share)


def near(a: Point, b: Point, within: float) -> bool:
    """Say whether two points are at most `within` metres apart. (`==` is exact.)"""
    return a.distance(b) <= within


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle in metres, from (x0, y0) to (x1, y1)."""

    x0: float
    y0: float
    x1: float
    y1: float

    @staticmethod
    def of(points: Iterable[Point]) -> Box:
        """Return the smallest box round one point or more; ValueError for none."""
        pts = list(points)
        xs, ys = [p.x for p in pts], [p.y for p in pts]
        return Box(min(xs), min(ys), max(xs), max(ys))

    @staticmethod
    def around(boxes: Iterable[Box]) -> Box:
        """Return the smallest box round one box or more; ValueError for none."""
        all_ = list(boxes)
        return Box(min(b.x0 for b in all_), min(b.y0 for b in all_),
                   max(b.x1 for b in all_), max(b.y1 for b in all_))

    def grown(self, by: float) -> Box:
        """Return the box with every side moved out by `by` metres."""
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def meets(self, other: Box) -> bool:
        """Say whether the two boxes share a point."""
        return self.x0 <= other.x1 and other.x0 <= self.x1 and self.y0 <= other.y1 and other.y0 <= self.y1

    @property
    def width(self) -> float:
        """Extent along x in metres."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Extent along y in metres."""
        return self.y1 - self.y0

    @property
    def centre(self) -> Point:
        """The middle of the box."""
        return Point((self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2)
