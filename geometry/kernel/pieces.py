"""The pieces of a region inside rectangles that its boundary crosses, by a walk round each rectangle.

The stretches of the boundary inside a rectangle are joined to chains; from where a chain leaves, one walks
anticlockwise along the rectangle to where the next one enters. Arcs stay arcs: a piece's edge names the
segment that it came from, so its centre and radius are that segment's, bit for bit. The walk uses the
rectangle shrunk by SHRINK, so that an edge along the outline is no edge case; areas never do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import GeometryError, refuse
from .inside import Stretches, areas, stretches
from .path import Loop, Region
from .runs import Floats, Frame, Runs
from .segment import Arc, Line, Segment
from .tolerance import NODE

SHRINK = 1e-7
"""Rectangles are this much smaller (m) while edges are joined; the areas certify the result."""

ON_SIDE = 1e-6
"""A chain that ends further from the rectangle's side than this is unmatched."""

SIDE = -1
"""The source of an edge that is a side of the rectangle."""


@dataclass(frozen=True, slots=True)
class Ring:
    """Corners in the frame, anticlockwise (holes clockwise), and the source of the edge that leaves each."""

    corners: tuple[tuple[float, float], ...]
    sources: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """A connected part of rectangle number `rectangle`: its outer ring and its holes, in the frame of the runs."""

    rectangle: int
    outer: Ring
    holes: tuple[Ring, ...]
    area: float

    def sources(self) -> list[int]:
        """Return the sources of all edges, sides of the rectangle as SIDE."""
        return [s for ring in (self.outer, *self.holes) for s in ring.sources]


def _bulge(ring: Ring, segments: Sequence[Segment]) -> float:
    """Return twice the area between the arcs of a ring and their chords."""
    total = 0.0
    corners = ring.corners
    for k, source in enumerate(ring.sources):
        if source == SIDE or not isinstance(segment := segments[source], Arc):
            continue
        a, b = corners[k], corners[(k + 1) % len(corners)]
        s = 2 * math.asin(min(1.0, math.hypot(b[0] - a[0], b[1] - a[1]) / (2 * segment.radius)))
        bulge = s - math.sin(s) if s > 0.02 else s**3 / 6 * (1 - s * s / 20 * (1 - s * s / 42))
        total += math.copysign(segment.radius**2 * bulge, segment.sweep)
    return total


def ring_area(ring: Ring, segments: Sequence[Segment]) -> float:
    """Return the signed area of a ring in m2, arcs counted exactly."""
    c = ring.corners
    x, y = c[0]
    double = sum((c[k - 1][0] - x) * (c[k][1] - y) - (c[k][0] - x) * (c[k - 1][1] - y) for k in range(1, len(c)))
    return (double + _bulge(ring, segments)) / 2


Chain = tuple[list[tuple[float, float]], list[int]]


class _Walk:
    """The chains of one rectangle and the walk round it."""

    def __init__(self, box: tuple[float, float, float, float], segments: Sequence[Segment]) -> None:
        self.x0, self.y0, self.x1, self.y1 = box
        self.w, self.h = self.x1 - self.x0, self.y1 - self.y0
        self.segments = segments

    def along(self, spot: tuple[float, float]) -> float:
        """Return the distance along the rectangle from its lower left corner, anticlockwise; NaN off it."""
        x, y = spot
        off, where = min(
            (
                (abs(y - self.y0), x - self.x0),
                (abs(x - self.x1), self.w + y - self.y0),
                (abs(y - self.y1), self.w + self.h + self.x1 - x),
                (abs(x - self.x0), 2 * self.w + self.h + self.y1 - y),
            ),
            key=lambda pair: pair[0],
        )
        return where if off < ON_SIDE else math.nan

    def corners(self, begin: float, end: float) -> list[tuple[float, float]]:
        """Return the rectangle's corners that lie between two distances along it (end may be over a turn)."""
        w, h = self.w, self.h
        spots = [
            (0.0, (self.x0, self.y0)),
            (w, (self.x1, self.y0)),
            (w + h, (self.x1, self.y1)),
            (2 * w + h, (self.x0, self.y1)),
        ]
        girth = 2 * (w + h)
        return [spot for turn in (0.0, girth) for at, spot in spots if begin < at + turn < end]

    def rings(self, chains: list[Chain]) -> list[Ring] | None:
        """Join open chains by the rectangle's sides to rings; None when one does not reach a side."""
        girth = 2 * (self.w + self.h)
        enters = [self.along(points[0]) for points, _ in chains]
        leaves = [self.along(points[-1]) for points, _ in chains]
        if any(math.isnan(v) for v in (*enters, *leaves)):
            return None
        left = set(range(len(chains)))
        rings = []
        while left:
            first = min(left)
            points: list[tuple[float, float]] = []
            sources: list[int] = []
            k = first
            while True:
                if k not in left:
                    return None
                left.discard(k)
                points += chains[k][0]
                sources += [*chains[k][1], SIDE]
                gaps = [((enters[j] - leaves[k]) % girth, j) for j in ({*left, first})]
                gap, k_next = min(gaps)
                between = self.corners(leaves[k], leaves[k] + gap)
                points += between
                sources += [SIDE] * len(between)
                k = k_next
                if k == first:
                    break
            rings.append(Ring(tuple(points), tuple(sources)))
        return rings

    def whole(self) -> Ring:
        """Return the rectangle itself as a ring."""
        return Ring(((self.x0, self.y0), (self.x1, self.y0), (self.x1, self.y1), (self.x0, self.y1)), (SIDE,) * 4)


def _chains(s: Stretches, first: int, last: int, runs: Runs) -> tuple[list[Chain], list[Ring]]:
    """Join the stretches first..last of one rectangle: open chains, and rings that close inside it."""
    run, after = s.run[first:last].tolist(), runs.after
    at = {p: first + k for k, p in enumerate(run)}
    follows = {
        k: at[n] for p, k in at.items() if not s.cut_out[k] and (n := int(after[p])) in at and not s.cut_in[at[n]]
    }
    heads = sorted(set(at.values()) - set(follows.values()))
    open_: list[Chain] = []
    used: set[int] = set()

    def follow(k: int) -> Chain:
        points, sources = [(float(s.xa[k]), float(s.ya[k]))], []
        while k not in used:
            used.add(k)
            points.append((float(s.xb[k]), float(s.yb[k])))
            sources.append(int(runs.source[s.run[k]]))
            if k not in follows:
                break
            k = follows[k]
        return points, sources

    open_ += [follow(head) for head in heads]
    closed = []
    for k in sorted(at.values()):
        if k not in used:
            points, sources = follow(k)
            closed.append(Ring(tuple(points[:-1]), tuple(sources)))
    return open_, closed


def _holds(ring: Ring, spot: tuple[float, float]) -> bool:
    """Say whether a point lies in the ring's chords (enough to give a hole to its piece)."""
    inside = False
    c = ring.corners
    for a, b in zip(c, c[1:] + c[:1], strict=True):
        if (a[1] > spot[1]) != (b[1] > spot[1]) and spot[0] < a[0] + (spot[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]):
            inside = not inside
    return inside


def _assemble(number: int, walk: _Walk, chains: list[Chain], closed: list[Ring]) -> list[Piece] | None:
    segments = walk.segments
    outers = walk.rings(chains)
    if outers is None:
        return None
    sized = [(ring, ring_area(ring, segments)) for ring in closed]
    outers += [ring for ring, area in sized if area > 0]
    holes = [ring for ring, area in sized if area <= 0]
    if not outers or (not chains and holes and not any(_holds(o, holes[0].corners[0]) for o in outers)):
        outers.append(walk.whole())
    def held(ring: Ring) -> tuple[Ring, ...]:
        return tuple(hole for hole in holes if len(outers) == 1 or _holds(ring, hole.corners[0]))

    def size(ring: Ring) -> float:
        return ring_area(ring, segments) + sum(ring_area(hole, segments) for hole in held(ring))

    return [Piece(number, ring, held(ring), size(ring)) for ring in outers]


def pieces_of(runs: Runs, boxes: Floats) -> list[list[Piece]]:
    """Return for each rectangle the pieces of the region inside it (every rectangle is partly covered).

    The exact areas certify the walk; raises GeometryError 'unit-walk' naming the rectangle's place (in the
    frame of the runs) where they disagree, which happens when an outline crosses itself.
    """
    exact = areas(runs, boxes)
    shrunk = boxes + np.array([SHRINK, SHRINK, -SHRINK, -SHRINK])
    s = stretches(runs, shrunk)
    bounds = np.searchsorted(s.rectangle, np.arange(len(boxes) + 1))
    found = []
    for k in range(len(boxes)):
        x0, y0, x1, y1 = shrunk[k].tolist()
        walk = _Walk((x0, y0, x1, y1), runs.segments)
        chains, closed = _chains(s, int(bounds[k]), int(bounds[k + 1]), runs)
        pieces = _assemble(k, walk, chains, closed)
        slack = 2 * SHRINK * (walk.w + walk.h) + NODE
        if pieces is None or not abs(sum(p.area for p in pieces) - exact[k]) <= slack * 2:
            raise refuse(
                GeometryError,
                f"the outline cannot be followed through the unit at ({x0:.3f}, {y0:.3f})",
                "check that the outline does not cross or touch itself there",
                "unit-walk",
            )
        found.append(pieces)
    return found


def _segments(ring: Ring, frame: Frame, sources: Sequence[Segment]) -> list[Segment]:
    places = [frame.outward(x, y) for x, y in ring.corners]
    segments: list[Segment] = []
    n = len(places)
    for k, source in enumerate(ring.sources):
        a, b = places[k], places[(k + 1) % n]
        if not a.distance(b) > 0:
            continue
        origin = None if source == SIDE else sources[source]
        if isinstance(origin, Arc):
            previous = segments[-1] if segments else None
            if isinstance(previous, Arc) and k and ring.sources[k - 1] == source:
                a = previous.start
                segments.pop()
            segments.append(Arc.between(origin.centre, origin.radius, a, b, origin.sweep > 0))
        else:
            segments.append(Line(a, b))
    return segments


def region_of(piece: Piece, frame: Frame, sources: Sequence[Segment]) -> Region:
    """Return a piece as a region of the garden; its arcs keep centre and radius of their source bit for bit."""
    holes = tuple(Loop.of(_segments(hole, frame, sources)) for hole in piece.holes)
    return Region(Loop.of(_segments(piece.outer, frame, sources)), holes)


__all__ = ["SIDE", "Piece", "Ring", "pieces_of", "region_of", "ring_area"]
