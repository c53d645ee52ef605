"""The cut units of a layout: their pieces, the kind of cut, slivers, and the length of saw cut.

Takes: a layout. Gives: one CutUnit for each unit that is sawn. Lengths in metres, areas in m2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from ..kernel.path import Region
from ..kernel.pieces import SIDE, Piece, Ring, pieces_of, region_of
from ..kernel.segment import Arc, Segment
from .laying import Layout

SLIVER = 0.25
"""A piece under this share of the unit's area, or thinner than this share of its shorter side, is a sliver:
closing units are not less than a quarter of a full unit (works specification "Laying of interlocking paver
block", read in excerpt)."""


class Cut(StrEnum):
    """How a piece is sawn, from the edges that the outline gave it."""

    SQUARE = "square"
    OBLIQUE = "oblique"
    NOTCH = "notch"
    CURVED = "curved"
    HOLED = "holed"


@dataclass(frozen=True, slots=True)
class CutUnit:
    """One unit that is sawn: its place in the layout, lattice name, pieces, kind of cut and saw lengths (m)."""

    number: int
    name: tuple[int, int, int]
    pieces: tuple[Piece, ...]
    kind: Cut
    area: float
    sliver: bool
    straight_saw: float
    curved_saw: float

    @property
    def straight(self) -> bool:
        """Whether the saw runs along lines only."""
        return self.kind in (Cut.SQUARE, Cut.OBLIQUE, Cut.NOTCH)


def _chord(ring: Ring, k: int) -> tuple[tuple[float, float], tuple[float, float]]:
    return ring.corners[k], ring.corners[(k + 1) % len(ring.corners)]


def _depth(box: Sequence[float], spot: tuple[float, float]) -> float:
    return min(spot[0] - box[0], box[2] - spot[0], spot[1] - box[1], box[3] - spot[1])


def _middle(a: tuple[float, float], b: tuple[float, float], segment: Segment) -> tuple[float, float]:
    """Return the middle of an edge; of an arc the point furthest from the chord."""
    x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    if not isinstance(segment, Arc):
        return x, y
    dx, dy = b[0] - a[0], b[1] - a[1]
    chord = math.hypot(dx, dy)
    if not chord > 0:
        return x, y
    rise = segment.radius - math.sqrt(max(segment.radius**2 - chord * chord / 4, 0.0))
    rise = math.copysign(rise, segment.sweep)
    return x + dy / chord * rise, y - dx / chord * rise


def _edge_length(a: tuple[float, float], b: tuple[float, float], segment: Segment) -> float:
    chord = math.hypot(b[0] - a[0], b[1] - a[1])
    if not isinstance(segment, Arc):
        return chord
    return 2 * segment.radius * math.asin(min(1.0, chord / (2 * segment.radius)))


@dataclass(slots=True)
class _Sawn:
    """What the outline does inside one unit, gathered edge by edge."""

    straight: float = 0.0
    curved: float = 0.0
    arcs: bool = False
    headings: list[float] | None = None

    def add(self, box: Sequence[float], ring: Ring, segments: Sequence[Segment], ease: float) -> None:
        """Take the edges of a ring that lie deeper in the unit than the ease."""
        self.headings = self.headings or []
        for k, source in enumerate(ring.sources):
            if source == SIDE:
                continue
            a, b = _chord(ring, k)
            if max(_depth(box, spot) for spot in (a, b, _middle(a, b, segments[source]))) <= ease:
                continue
            length = _edge_length(a, b, segments[source])
            if isinstance(segments[source], Arc):
                self.arcs = True
                self.curved += length
            else:
                self.straight += length
                self.headings.append(math.atan2(b[1] - a[1], b[0] - a[0]))

    def kind(self) -> Cut:
        """Return the kind of cut by the edges seen."""
        if self.arcs:
            return Cut.CURVED
        headings = self.headings or []
        if any(abs(math.sin(h - headings[0])) > 1e-6 for h in headings):
            return Cut.NOTCH
        if headings and min(abs(math.sin(headings[0])), abs(math.cos(headings[0]))) > 1e-6:
            return Cut.OBLIQUE
        return Cut.SQUARE


def outline_points(ring: Ring, segments: Sequence[Segment]) -> list[tuple[float, float]]:
    """Return the corners of a ring and the middles of its arcs."""
    points = []
    for k, source in enumerate(ring.sources):
        a, b = _chord(ring, k)
        points.append(a)
        if source != SIDE and isinstance(segments[source], Arc):
            points.append(_middle(a, b, segments[source]))
    return points


def _hull(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the convex hull, anticlockwise (monotone chain)."""
    spots = sorted(set(points))
    halves = []
    for row in (spots, spots[::-1]):
        half: list[tuple[float, float]] = []
        for p in row:
            while len(half) > 1 and (half[-1][0] - half[-2][0]) * (p[1] - half[-2][1]) <= (
                half[-1][1] - half[-2][1]
            ) * (p[0] - half[-2][0]):
                half.pop()
            half.append(p)
        halves.append(half[:-1])
    return halves[0] + halves[1]


def least_width(points: Sequence[tuple[float, float]]) -> float:
    """Return the least width of the hull of some points, m: it is met square to an edge of the hull."""
    hull = _hull(points)
    best = math.inf
    for a, b in zip(hull, hull[1:] + hull[:1], strict=True):
        length = math.hypot(b[0] - a[0], b[1] - a[1])
        if length > 0:
            reach = max((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) for p in hull)
            best = min(best, reach / length)
    return best if math.isfinite(best) else 0.0


def _thinner(piece: Piece, layout: Layout, width: float) -> bool:
    """Say whether a piece is thinner than `width`, m. Its area is at most its least width by the unit's diagonal."""
    unit = layout.unit
    if piece.area > width * math.hypot(unit.length, unit.width):
        return False
    return least_width(outline_points(piece.outer, layout.runs.segments)) < width


def is_sliver(piece: Piece, layout: Layout) -> bool:
    """Say whether a piece is under a quarter of the unit, or thinner than a quarter of its shorter side."""
    unit = layout.unit
    return piece.area < SLIVER * unit.area or _thinner(piece, layout, SLIVER * min(unit.length, unit.width))


def _cut_unit(number: int, pieces: Sequence[Piece], layout: Layout) -> CutUnit:
    box = layout.boxes[number].tolist()
    sawn = _Sawn()
    kept = tuple(p for p in pieces if not _thinner(p, layout, layout.ease)) or tuple(pieces)
    for piece in kept:
        for ring in (piece.outer, *piece.holes):
            sawn.add(box, ring, layout.runs.segments, layout.ease)
    kind = Cut.HOLED if any(p.holes for p in kept) else sawn.kind()
    i, j, m = (int(v) for v in layout.names[number])
    sliver = any(is_sliver(p, layout) for p in kept)
    return CutUnit(number, (i, j, m), kept, kind, math.fsum(p.area for p in kept), sliver, sawn.straight, sawn.curved)


def cut_units(layout: Layout) -> tuple[CutUnit, ...]:
    """Return the units of `layout` that are sawn, in the order of the layout.

    Pieces thinner than the ease are dropped (the joint takes them). GeometryError 'unit-walk' where the
    outline cannot be followed through a unit.
    """
    numbers = [int(k) for k in (~layout.whole).nonzero()[0]]
    if not numbers:
        return ()
    found = pieces_of(layout.runs, layout.boxes[numbers])
    return tuple(_cut_unit(number, pieces, layout) for number, pieces in zip(numbers, found, strict=True))


def regions_of(cuts: Sequence[CutUnit], layout: Layout) -> tuple[Region, ...]:
    """Return the pieces of some cut units as regions of the garden, arcs kept."""
    return tuple(region_of(piece, layout.frame, layout.runs.segments) for cut in cuts for piece in cut.pieces)
