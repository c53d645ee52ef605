"""Joined segments: Path (open), Loop (closed, anticlockwise), Region (a loop with holes).

Closed and open are different types: area belongs to Loop and Region, start and end to Path.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from ..errors import GeometryError, refuse
from .point import Box, Point
from .segment import Arc, Line, Segment
from .tolerance import JOINT


def _check_joints(segments: tuple[Segment, ...], closed: bool) -> None:
    if not segments:
        raise refuse(GeometryError, "a path without a segment", "give two points or more", "empty-path")
    pairs = list(pairwise(segments))
    if closed:
        pairs.append((segments[-1], segments[0]))
    for first, second in pairs:
        if first.end is second.start:
            continue
        gap = first.end.distance(second.start)
        if not gap <= JOINT * max(1.0, (abs(first.end.x) + abs(first.end.y)) * 1e-6):
            raise refuse(GeometryError, f"a gap of {gap:.6f} m at ({first.end.x:.3f}, {first.end.y:.3f})",
                         "let each piece start where the last one ends", "open-joint")


def _box_of(segments: tuple[Segment, ...]) -> Box:
    """Return the smallest upright box of joined segments."""
    boxes = [s.box for s in segments if isinstance(s, Arc)]
    xs = [s.start.x for s in segments] + [s.end.x for s in segments]
    ys = [s.start.y for s in segments] + [s.end.y for s in segments]
    return Box(min([min(xs), *(b.x0 for b in boxes)]), min([min(ys), *(b.y0 for b in boxes)]),
               max([max(xs), *(b.x1 for b in boxes)]), max([max(ys), *(b.y1 for b in boxes)]))


@dataclass(frozen=True, slots=True)
class Ellipse:
    """A true ellipse: centre, half length and half width (m, length >= width), turn of the length (radians)."""

    centre: Point
    half_length: float
    half_width: float
    turn: float


@dataclass(frozen=True, slots=True)
class Path:
    """Segments joined end to start, open, walked in their order."""

    segments: tuple[Segment, ...]

    def __post_init__(self) -> None:
        _check_joints(self.segments, closed=False)

    @property
    def start(self) -> Point:
        """Where the path begins."""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """Where the path ends."""
        return self.segments[-1].end

    @property
    def length(self) -> float:
        """Length in metres."""
        return math.fsum(s.length for s in self.segments)

    @property
    def box(self) -> Box:
        """The smallest upright box."""
        return _box_of(self.segments)

    def reversed(self) -> Path:
        """Return the path walked the other way."""
        return Path(tuple(s.reversed() for s in reversed(self.segments)))

    def vertices(self) -> Iterator[Point]:
        """Yield the start, every joint and the end."""
        yield self.start
        yield from (s.end for s in self.segments)

    @staticmethod
    def through(points: Iterable[Point]) -> Path:
        """Return the straight-sided path through two points or more."""
        pts = list(points)
        return Path(tuple(Line(a, b) for a, b in pairwise(pts)))


def _segment_area(segment: Segment, origin: Point) -> float:
    """Twice the signed area between a segment and two rays from `origin`, m2 (Green's theorem)."""
    start, end = segment.start, segment.end
    px, py, qx, qy = start.x - origin.x, start.y - origin.y, end.x - origin.x, end.y - origin.y
    if isinstance(segment, Line):
        return px * qy - py * qx
    s, r, centre = segment.sweep, segment.radius, segment.centre
    bulge = r * r * (s - math.sin(s) if abs(s) > 0.02 else s**3 / 6 * (1 - s * s / 20 * (1 - s * s / 42)))
    if max(abs(math.hypot(start.x - centre.x, start.y - centre.y) - r),
           abs(math.hypot(end.x - centre.x, end.y - centre.y) - r)) < 1e-11 + 1e-14 * r:
        return px * qy - py * qx + bulge
    # An end that shares a node beside the circle is reached by a step of no area: the arc keeps its own.
    cx, cy = centre.x - origin.x, centre.y - origin.y
    ax, ay = cx + r * math.cos(segment.begin), cy + r * math.sin(segment.begin)
    bx, by = cx + r * math.cos(segment.begin + s), cy + r * math.sin(segment.begin + s)
    return (px * ay - py * ax) + (ax * by - ay * bx) + (bx * qy - by * qx) + bulge


def signed_area(segments: Iterable[Segment]) -> float:
    """Return the exact area in m2 inside closed segments, positive when walked anticlockwise.

    Summed about the first point, so that a small loop far from the origin loses no figures.
    """
    segs = list(segments)
    origin = segs[0].start
    return math.fsum(_segment_area(s, origin) for s in segs) / 2


@dataclass(frozen=True, slots=True)
class Loop:
    """Segments joined into a ring, anticlockwise, that does not cross itself.

    `ellipse` is set while the loop is an untouched ellipse; `clockwise` remembers how it was drawn
    (the segments here run anticlockwise all the same). Make one with `Loop.of`.
    """

    segments: tuple[Segment, ...]
    ellipse: Ellipse | None = None
    clockwise: bool = field(default=False, compare=False)
    area: float = field(init=False, compare=False, repr=False)      # m2, exact

    def __post_init__(self) -> None:
        _check_joints(self.segments, closed=True)
        object.__setattr__(self, "area", signed_area(self.segments))
        if not self.area > 0:
            raise refuse(GeometryError, "an outline that encloses nothing", "draw it round an area", "no-area")

    @staticmethod
    def of(segments: Iterable[Segment], ellipse: Ellipse | None = None) -> Loop:
        """Return the loop of `segments`, turned anticlockwise; the first vertex stays the first."""
        segs = tuple(segments)
        _check_joints(segs, closed=True)
        if signed_area(segs) >= 0:
            return Loop(segs, ellipse)
        return Loop(tuple(s.reversed() for s in reversed(segs)), ellipse, clockwise=True)

    @staticmethod
    def polygon(points: Iterable[Point]) -> Loop:
        """Return the straight-sided loop through three points or more."""
        pts = list(points)
        return Loop.of(Line(a, b) for a, b in zip(pts, pts[1:] + pts[:1], strict=True))

    @staticmethod
    def circle(centre: Point, radius: float) -> Loop:
        """Return the circle of `radius` metres, one arc that begins at angle 0."""
        return Loop((Arc.swung(centre, radius, 0.0, 2 * math.pi),))

    @property
    def length(self) -> float:
        """Girth in metres."""
        return math.fsum(s.length for s in self.segments)

    @property
    def box(self) -> Box:
        """The smallest upright box."""
        return _box_of(self.segments)

    @property
    def is_circle(self) -> bool:
        """Whether the loop is one whole circle."""
        return len(self.segments) == 1 and isinstance(self.segments[0], Arc)

    def vertices(self) -> Iterator[Point]:
        """Yield the start of every segment, anticlockwise."""
        yield from (s.start for s in self.segments)

    def as_path(self) -> Path:
        """Return the ring as a path that ends where it starts."""
        return Path(self.segments)


@dataclass(frozen=True, slots=True)
class Region:
    """An area: one outer loop less its holes (anticlockwise loops inside it)."""

    outer: Loop
    holes: tuple[Loop, ...] = ()

    @property
    def area(self) -> float:
        """Area in m2, exact, holes taken off."""
        return math.fsum([self.outer.area, *(-h.area for h in self.holes)])

    @property
    def length(self) -> float:
        """Length of all edges in metres, holes included."""
        return math.fsum([self.outer.length, *(h.length for h in self.holes)])

    @property
    def box(self) -> Box:
        """The smallest upright box."""
        return self.outer.box

    def rings(self) -> Iterator[tuple[Segment, ...]]:
        """Yield each ring's segments with the area on the left: outer anticlockwise, holes clockwise."""
        yield self.outer.segments
        for hole in self.holes:
            yield tuple(s.reversed() for s in reversed(hole.segments))
