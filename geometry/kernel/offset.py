"""Parallel outlines: regions grown and inset, bands of paths, parallel paths. Arcs stay about their own centres.

A raw chain runs beside the outline: parallel lines, concentric arcs, an arc about each corner that opens on that
side, and at corners that close a way by the corner itself. Everything that it winds round at least once is the grown
(or inset) region, exactly: collapse of arcs and of holes comes out by itself. After Chen and McMains, "Polygon
offsetting by computing winding numbers", IDETC 2005 (for polygons; with arcs here).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from ..errors import GeometryError, refuse
from .combine import Arrangement, Regions, arrangement
from .path import Path, Region
from .point import Point, Vec
from .rings import Joiner, boundaries
from .segment import Arc, Line, Segment
from .table import Source
from .tolerance import NODE, TANGENT

MITRE = 4.0
"""A mitre reaches at most this many offsets from its corner; a sharper corner is cut off square."""


class Corners(StrEnum):
    """How a corner that opens is carried round: by an arc about it, or by the two edges drawn on until they meet."""

    ROUND = "round"
    SQUARE = "square"


class Ends(StrEnum):
    """How a band ends."""

    FLAT = "flat"
    ROUND = "round"


@dataclass(frozen=True, slots=True)
class _Beside:
    """A segment moved to the right by an offset: the moved one (None where an arc collapsed), and the original."""

    moved: Segment | None
    given: Segment


def _right(heading: float) -> Vec:
    return Vec(math.sin(heading), -math.cos(heading))


def _moved(segment: Segment, by: float) -> _Beside:
    """Return a segment `by` metres to its right (left if negative)."""
    if isinstance(segment, Line):
        step = (segment.end - segment.start).unit().left() * -by
        return _Beside(Line(segment.start + step, segment.end + step), segment)
    radius = segment.radius + (by if segment.sweep > 0 else -by)
    if not radius > NODE:
        return _Beside(None, segment)
    c, share = segment.centre, radius / segment.radius
    start, end = c + (segment.start - c) * share, c + (segment.end - c) * share
    return _Beside(Arc(c, radius, segment.begin, segment.sweep, start, start if segment.is_circle else end), segment)


def _line(a: Point, b: Point) -> Iterator[Segment]:
    if a.distance(b) > 1e-12:
        yield Line(a, b)


def _corner(one: _Beside, two: _Beside, by: float, corners: Corners) -> Iterator[Segment]:
    """Yield what joins two moved segments at the corner between their originals."""
    at = one.given.end
    leaving, coming = one.given.heading(1.0), two.given.heading(0.0)
    from_here = one.moved.end if one.moved else at
    to_there = two.moved.start if two.moved else at
    turn = math.remainder(coming - leaving, 2 * math.pi)
    opens = turn * math.copysign(1.0, by) > 0 or abs(turn) > math.pi - TANGENT
    if abs(turn) <= 1e-12 and one.moved and two.moved:
        yield from _line(from_here, to_there)
    elif not opens:
        yield from _line(from_here, at)
        yield from _line(at, to_there)
    else:
        a, b = at + _right(leaving) * by, at + _right(coming) * by
        a, b = (from_here if one.moved else a), (to_there if two.moved else b)
        yield from _line(from_here, a)
        yield from _round_corner(at, a, b, leaving, turn, by, corners)
        yield from _line(b, to_there)


def _round_corner(at: Point, a: Point, b: Point, leaving: float, turn: float, by: float,
                  corners: Corners) -> Iterator[Segment]:
    if a.distance(b) <= 1e-12:
        return
    half = math.cos(turn / 2)
    if corners is Corners.ROUND or abs(turn) > math.pi - TANGENT:
        left = by > 0
        begin = (a - at).heading
        sweep = abs(turn) if left else -abs(turn)
        yield Arc(at, abs(by), begin, sweep, a, b)
    elif half * MITRE >= 1:
        meet = a + Vec.polar(leaving, abs(by) * math.tan(abs(turn) / 2))
        yield from _line(a, meet)
        yield from _line(meet, b)
    else:
        yield from _line(a, b)


def _body(piece: _Beside) -> Iterator[Segment]:
    if piece.moved is not None:
        yield piece.moved
        return
    assert isinstance(piece.given, Arc)
    yield from _line(piece.given.start, piece.given.centre)
    yield from _line(piece.given.centre, piece.given.end)


def _ring(segments: Sequence[Segment], by: float, corners: Corners) -> list[Segment]:
    """Return the raw chain `by` metres to the right of a ring."""
    pieces = [_moved(segment, by) for segment in segments]
    chain: list[Segment] = []
    for k, piece in enumerate(pieces):
        chain += _body(piece)
        chain += _corner(piece, pieces[(k + 1) % len(pieces)], by, corners)
    return chain


def _wound(chains: Iterable[Sequence[Segment]]) -> Regions:
    sources = [Source(segment, 0, 1) for chain in chains for segment in chain]
    if not sources:
        return ()
    found = arrangement(sources).regions(lambda label: True if dict(label).get(0, 0) > 0 else None)
    return found.get(True, ())


def grown(regions: Iterable[Region], by: float, corners: Corners = Corners.ROUND) -> Regions:
    """Return the regions with every edge moved out by `by` metres (in, if negative); empty where nothing is left."""
    whole = tuple(regions)
    if not math.isfinite(by):
        raise refuse(GeometryError, f"an offset of {by} m", "give a length in metres", "bad-offset")
    if by == 0:
        return whole
    return _wound(_ring(ring, by, corners) for region in whole for ring in region.rings())


def inset(regions: Iterable[Region], by: float, corners: Corners = Corners.ROUND) -> Regions:
    """Return the regions with every edge moved in by `by` metres; empty where nothing is left."""
    return grown(regions, -by, corners)


def band(path: Path, width: float, ends: Ends = Ends.FLAT, corners: Corners = Corners.ROUND) -> Regions:
    """Return the ground within half of `width` (m) of a path; a path that ends where it starts makes a ring."""
    if not (width > 0 and math.isfinite(width)):
        raise refuse(GeometryError, f"a band {width:.3f} m wide", "a width is more than nothing", "bad-width")
    half = width / 2
    back = path.reversed().segments
    if path.start.distance(path.end) <= NODE:
        return _wound([_ring(path.segments, half, corners), _ring(back, half, corners)])
    chain: list[Segment] = []
    for segments in (path.segments, back):
        chain += _open(segments, half, corners)
        chain += _cap(segments[-1], half, ends)
    return _wound([chain])


def _open(segments: Sequence[Segment], by: float, corners: Corners) -> list[Segment]:
    """Return the raw chain `by` metres to the right of an open path, without its ends."""
    pieces = [_moved(segment, by) for segment in segments]
    chain: list[Segment] = []
    for k, piece in enumerate(pieces):
        chain += _body(piece)
        if k + 1 < len(pieces):
            chain += _corner(piece, pieces[k + 1], by, corners)
    return chain


def _cap(last: Segment, half: float, ends: Ends) -> Iterator[Segment]:
    """Yield the end of a band: from its right side to its left, seen along the path."""
    at, heading = last.end, last.heading(1.0)
    side = _right(heading) * half
    moved = _moved(last, half).moved
    left = _moved(last.reversed(), half).moved
    a = moved.end if moved else at
    b = left.start if left else at
    if ends is Ends.FLAT:
        yield from _line(a, at)
        yield from _line(at, b)
        return
    yield from _line(a, at + side)
    yield Arc(at, half, side.heading, math.pi, at + side, at + -side)
    yield from _line(at + -side, b)


def parallel(path: Path, by: float, corners: Corners = Corners.ROUND) -> tuple[Path, ...]:
    """Return the path `by` metres to the left (right if negative), trimmed where it would cross itself.

    Empty where the offset swallows the whole path; several pieces where it parts. In the path's direction.
    """
    if not math.isfinite(by):
        raise refuse(GeometryError, f"an offset of {by} m", "give a length in metres", "bad-offset")
    if by == 0:
        return (path,)
    if by < 0:
        return tuple(p.reversed() for p in reversed(parallel(path.reversed(), -by, corners)))
    direct = _direct(path, by, corners)
    if direct is not None:
        return (direct,)
    chain = _open(path.segments, -by, corners)
    strip = [Source(s, 0, 1) for s in path.segments]
    strip += [Source(s, 0, 1) for s in _line(path.end, chain[-1].end)]
    beside = [Source(s.reversed(), 0, 1) for s in reversed(chain)]
    closing = [Source(s, 0, 1) for s in _line(chain[0].start, path.start)]
    return _picked(arrangement([*strip, *beside, *closing]), {id(source) for source in beside}, path)


def _direct(path: Path, by: float, corners: Corners) -> Path | None:
    """Return the parallel path where nothing collapses, closes or meets itself."""
    pieces = [_moved(segment, -by) for segment in path.segments]
    chain: list[Segment] = []
    for k, piece in enumerate(pieces):
        if piece.moved is None:
            return None
        chain.append(piece.moved)
        if k + 1 < len(pieces):
            turn = math.remainder(pieces[k + 1].given.heading(0.0) - piece.given.heading(1.0), 2 * math.pi)
            if turn > TANGENT:
                return None
            chain += [s for s in _corner(piece, pieces[k + 1], -by, corners) if s.length > NODE]
    made = arrangement([Source(s, 0, 0) for s in chain])
    crossed = len(made.edges.a) != len(chain) + sum(1 for s in chain if isinstance(s, Arc) and abs(s.sweep) > math.pi)
    return None if crossed else Path(_welded(chain))


def _welded(chain: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return a chain whose neighbours share their points exactly."""
    out: list[Segment] = [chain[0]]
    for segment in chain[1:]:
        out.append(replace(segment, start=out[-1].end))
    return tuple(out)


def _picked(made: Arrangement, wanted: set[int], path: Path) -> tuple[Path, ...]:
    """Return the stretches of the strip's boundary that come from the wanted sources, in the path's direction."""
    from .station import project

    joiner = Joiner(made.table, made.graph, made.eps)
    kinds = [True if dict(label).get(0, 0) > 0 else None for label in made.labels]
    found: list[Path] = []
    for _, ring in boundaries(made.graph, kinds):
        pieces = [joiner.piece(h) for h in ring]
        good = [id(made.table.sources[made.table.source[p.row]]) in wanted for p in pieces]
        if not all(good) and any(good):
            first = next(k for k in range(len(good)) if good[k] and not good[k - 1])
            pieces, good = pieces[first:] + pieces[:first], good[first:] + good[:first]
        start = 0
        while start < len(good):
            stop = start
            while stop < len(good) and good[stop]:
                stop += 1
            if stop > start:
                found.append(joiner.open(pieces[start:stop]).reversed())
            start = stop + 1
    return tuple(sorted(found, key=lambda p: project(path, p.segments[0].point(0.5)).station))
