"""Edges cut into monotone runs: along a run x only grows or only falls, and so does y.

Takes: regions. Gives: numpy columns, one entry a run, in a frame turned about a given origin. Every end
ordinate is stored once and shared bit for bit with the neighbour, so that no count of crossings can slip
between two runs by rounding. Lengths in metres, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from .path import Region
from .point import Point
from .segment import Arc, Line, Segment

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Flags: TypeAlias = NDArray[np.bool_]

QUARTER = math.pi / 2
LEAST_SPLIT = 1e-9
"""An arc that passes an axis extreme by less than this angle is not split there."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A frame with its origin at `origin`, turned by `turn` radians: the frame that units are laid in."""

    origin: Point
    turn: float = 0.0

    @property
    def axis(self) -> tuple[float, float]:
        """Cosine and sine of the turn, exact at the quarter turns."""
        quarters = self.turn / QUARTER
        if abs(quarters - round(quarters)) < 1e-14:
            return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
        return math.cos(self.turn), math.sin(self.turn)

    def inward(self, point: Point) -> tuple[float, float]:
        """Return the coordinates of `point` in this frame."""
        c, s = self.axis
        dx, dy = point.x - self.origin.x, point.y - self.origin.y
        return c * dx + s * dy, c * dy - s * dx

    def outward(self, x: float, y: float) -> Point:
        """Return the place of the frame's (x, y) in the garden."""
        c, s = self.axis
        return Point(self.origin.x + c * x - s * y, self.origin.y + s * x + c * y)


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Monotone runs as columns. The lower end is (xl, yl), the upper (xu, yu); `up` is +1 or -1 as it is walked.

    A straight run has radius 0. An arc's run lies on side `sx` (right +1) and `sy` (above +1) of its
    centre. `source` numbers the segment that it comes from, `after` the run that follows in its ring.
    """

    xl: Floats
    yl: Floats
    xu: Floats
    yu: Floats
    up: Floats
    cx: Floats
    cy: Floats
    r: Floats
    sx: Floats
    sy: Floats
    source: Ints
    after: Ints
    segments: tuple[Segment, ...]

    @property
    def x_least(self) -> Floats:
        """The smaller x of each run."""
        return np.minimum(self.xl, self.xu)

    @property
    def x_most(self) -> Floats:
        """The larger x of each run."""
        return np.maximum(self.xl, self.xu)

    def mirrored(self) -> Runs:
        """Return the runs with x and y exchanged (the lower end is then the one of smaller x)."""
        flip = self.xl > self.xu

        def pick(a: Floats, b: Floats) -> Floats:
            return np.where(flip, b, a)

        return Runs(
            xl=pick(self.yl, self.yu),
            yl=pick(self.xl, self.xu),
            xu=pick(self.yu, self.yl),
            yu=pick(self.xu, self.xl),
            up=np.where(flip, -self.up, self.up),
            cx=self.cy,
            cy=self.cx,
            r=self.r,
            sx=self.sy,
            sy=self.sx,
            source=self.source,
            after=self.after,
            segments=self.segments,
        )

    def part(self, keep: Flags) -> Runs:
        """Return the runs that `keep` marks (`after` then still numbers the whole set)."""
        return replace(self, **{name: getattr(self, name)[keep] for name in _COLUMNS})


_COLUMNS = ("xl", "yl", "xu", "yu", "up", "cx", "cy", "r", "sx", "sy", "source", "after")


def _extremes(arc: Arc, turn: float, centre: tuple[float, float]) -> tuple[list[tuple[float, float]], list[float]]:
    """Return the axis extremes strictly inside the sweep, in walking order, and all angles with both ends."""
    begin, end = arc.begin - turn, arc.begin + arc.sweep - turn
    low, high = min(begin, end), max(begin, end)
    first = math.ceil((low + LEAST_SPLIT) / QUARTER)
    last = math.floor((high - LEAST_SPLIT) / QUARTER)
    numbers = list(range(first, last + 1))
    if arc.sweep < 0:
        numbers.reverse()
    x, y, r = centre[0], centre[1], arc.radius
    spots = ((x + r, y), (x, y + r), (x - r, y), (x, y - r))
    return [spots[k % 4] for k in numbers], [begin, *(k * QUARTER for k in numbers), end]


Row: TypeAlias = tuple[float, float, float, float, float, float, float, float, float]


def _rows(segment: Segment, start: tuple[float, float], end: tuple[float, float], frame: Frame) -> Iterator[Row]:
    """Yield x, y of both ends as walked, then centre, radius and sides of each monotone run."""
    if isinstance(segment, Line):
        yield (*start, *end, 0.0, 0.0, 0.0, 0.0, 0.0)
        return
    centre = frame.inward(segment.centre)
    spots, angles = _extremes(segment, frame.turn, centre)
    ends = [start, *spots, end]
    for a, b, first, second in zip(ends, ends[1:], angles, angles[1:], strict=False):
        middle = (first + second) / 2
        sides = math.copysign(1.0, math.cos(middle)), math.copysign(1.0, math.sin(middle))
        # x falls where the run goes up on the upper side; a run too short to agree is straight
        grows = (b[0] - a[0]) * (b[1] - a[1]) * sides[0] * sides[1] <= 0
        yield (*a, *b, *centre, segment.radius, *sides) if grows else (*a, *b, 0.0, 0.0, 0.0, 0.0, 0.0)


def runs_of(regions: Sequence[Region], frame: Frame) -> Runs:
    """Return the monotone runs of all edges of `regions` in `frame`, the area on the left of each.

    The regions must not overlap (areas are summed with their winding).
    """
    rows: list[Row] = []
    source: list[int] = []
    after: list[int] = []
    segments: list[Segment] = []
    for ring in (ring for region in regions for ring in region.rings()):
        corners = [frame.inward(s.start) for s in ring]
        first = len(rows)
        for k, segment in enumerate(ring):
            new = list(_rows(segment, corners[k], corners[(k + 1) % len(ring)], frame))
            rows += new
            source += [len(segments)] * len(new)
            segments.append(segment)
        after += [*range(first + 1, len(rows)), first]
    table = np.array(rows, dtype=np.float64).reshape(-1, 9)
    down = table[:, 1] > table[:, 3]
    low, high = (
        np.where(down[:, None], table[:, 2:4], table[:, :2]),
        np.where(down[:, None], table[:, :2], table[:, 2:4]),
    )
    return Runs(
        low[:, 0],
        low[:, 1],
        high[:, 0],
        high[:, 1],
        np.where(down, -1.0, 1.0),
        table[:, 4],
        table[:, 5],
        table[:, 6],
        table[:, 7],
        table[:, 8],
        np.array(source, dtype=np.int64),
        np.array(after, dtype=np.int64),
        tuple(segments),
    )


def area_of(regions: Iterable[Region]) -> float:
    """Return the exact area of several regions in m2."""
    return math.fsum(region.area for region in regions)
