"""All segments of all operands in one table of numbers, ready to be crossed with each other.

A column is one side of an operation (all the regions of a union, say): its windings are counted together.
Arcs are cut at half a turn and nearly straight ones are treated as lines; the segments themselves are kept
beside the table, so that results carry their centres and radii bit for bit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from .path import Path, Region
from .point import Point
from .segment import Arc, Segment

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]

TINY = 1e-300       # keeps nothing over nothing from being asked for
STEP = 1024.0       # metres: origins are multiples of it, so that subtracting one loses no figure


def sized(x: Floats, y: Floats) -> Floats:
    """Return the lengths of vectors, rounded as square roots are: the same bits on every processor."""
    out: Floats = np.sqrt(x * x + y * y)
    return out


def angles(up: Floats, along: Floats) -> Floats:
    """Return directions in radians by the plain library's function, the same bits on every processor."""
    return np.array(list(map(math.atan2, up.tolist(), along.tolist())))


class Source(NamedTuple):
    """One segment as given: its column, and how it counts (1, -1 for a hole's, 0 for an open line's)."""

    segment: Segment
    column: int
    weight: int


@dataclass(frozen=True, slots=True)
class Table:
    """One row for each line, arc or half of a long arc. Coordinates are about `origin`, metres.

    `first` and `last` index `vertices`; `radius` and `sweep` are 0 in rows worked as lines. `whole` is the number of
    vertices that were given (those after it halve long arcs).
    """

    sources: tuple[Source, ...]
    origin: tuple[float, float]
    vertices: Floats
    points: tuple[Point | None, ...]
    source: list[int]
    first: Ints
    last: Ints
    centre: Floats
    radius: Floats
    sweep: Floats

    @property
    def start(self) -> Floats:
        """Start of each row."""
        return self.vertices.take(self.first, axis=0)

    @property
    def end(self) -> Floats:
        """End of each row."""
        return self.vertices.take(self.last, axis=0)


def sources_of(columns: Sequence[Iterable[Region]], lines: Iterable[Path] = ()) -> list[Source]:
    """Return the segments of regions, a column for each group, then those of open lines in one column more."""
    found: list[Source] = []
    for column, regions in enumerate(columns):
        for region in regions:
            found += [Source(segment, column, 1) for segment in region.outer.segments]
            found += [Source(segment, column, -1) for hole in region.holes for segment in hole.segments]
    found += [Source(segment, len(columns), 0) for line in lines for segment in line.segments]
    return found


def _origin(sources: Sequence[Source]) -> tuple[float, float]:
    """Return the multiple of STEP nearest to the middle; (0, 0) for a garden with a frame of its own."""
    xs = [s.segment.start.x for s in sources]
    ys = [s.segment.start.y for s in sources]
    return (STEP * round((min(xs) + max(xs)) / (2 * STEP)), STEP * round((min(ys) + max(ys)) / (2 * STEP)))


def table_of(sources: Sequence[Source], eps: float) -> Table:
    """Return the table of `sources`; arcs that rise less than `eps` over their chord are worked as lines."""
    ox, oy = _origin(sources)
    known: dict[tuple[float, float], int] = {}
    points: list[Point | None] = []
    rows: list[tuple[int, int, int, float, float, float, float]] = []
    long_rows: list[int] = []
    last_point, last = None, -1
    for number, (segment, _, _) in enumerate(sources):
        point = segment.start
        if point is last_point:         # neighbours in an outline share it
            first = last
        else:
            first = known.setdefault((point.x, point.y), len(points))
            if first == len(points):
                points.append(point)
        last_point = point = segment.end
        last = known.setdefault((point.x, point.y), len(points))
        if last == len(points):
            points.append(point)
        if not isinstance(segment, Arc) or segment.radius * (1 - math.cos(segment.sweep / 2)) < eps:
            rows.append((number, first, last, 0.0, 0.0, 0.0, 0.0))
        else:
            centre = segment.centre
            if abs(segment.sweep) > math.pi * (1 + 1e-12):
                long_rows.append(len(rows))
            rows.append((number, first, last, centre.x - ox, centre.y - oy, segment.radius, segment.sweep))
    vertices = [(p.x - ox, p.y - oy) for p in points if p]
    for k in reversed(long_rows):
        number, first, end, cx, cy, radius, sweep = rows[k]
        arc = sources[number].segment
        middle = len(vertices)
        angle = arc.begin + sweep / 2 if isinstance(arc, Arc) else 0.0
        vertices.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
        points.append(None)
        rows[k:k + 1] = [(number, first, middle, cx, cy, radius, sweep / 2),
                         (number, middle, end, cx, cy, radius, sweep / 2)]
    figures = np.fromiter(chain.from_iterable(rows), np.float64, 7 * len(rows)).reshape(-1, 7)
    corners: Ints = figures[:, 1:3].astype(np.int64)
    return Table(tuple(sources), (ox, oy), np.array(vertices), tuple(points), [row[0] for row in rows],
                 corners[:, 0], corners[:, 1], figures[:, 3:5].copy(), figures[:, 5], figures[:, 6])
