"""Offsets: regions grown and inset, bands along paths, parallel paths. Arcs become concentric arcs.

The boundary moved square to itself, joined at its corners, encloses each point as often as the true offset says:
at least once inside, less outside (Chen and McMains 2005, Polygon offsetting by computing winding numbers, for
polygons; here with arcs). Arcs whose radius the offset uses up are replaced by lines through their centre. Nothing
depends on a filter by distance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import ClassVar, Literal

from ..errors import GeometryError, refuse
from .arrange import arranged_sources
from .combine import Regions, union
from .path import Path, Region
from .point import Point, Vec
from .rings import Maker, Run, regions_of
from .segment import TURN, Arc, Line, Segment
from .table import Source
from .tolerance import NODE

TURN_BACK = 1e-4        # radians: corners this near to a full reversal are judged a little away from the vertex


@dataclass(frozen=True, slots=True)
class Corners:
    """What an offset does at a corner that opens: round it, or go on straight while that is at most `limit` times it.

    Beyond the limit a corner is cut off square to its middle, at the offset's own distance from the vertex.
    """

    round: bool
    limit: float

    ROUND: ClassVar[Corners]
    SQUARE: ClassVar[Corners]   # both edges go on until they meet, up to four times the offset

    @staticmethod
    def MITRE(limit: float) -> Corners:  # noqa: N802 - it stands beside ROUND and SQUARE
        """Return pointed corners that reach at most `limit` times the offset from the vertex (1 or more)."""
        if not limit >= 1:
            raise refuse(GeometryError, f"a mitre limit of {limit}", "a limit is 1 or more", "bad-limit")
        return Corners(round=False, limit=limit)


Corners.ROUND = Corners(round=True, limit=1.0)
Corners.SQUARE = Corners(round=False, limit=4.0)


class Ends(StrEnum):
    """How a band ends: cut off square at the path's end, or rounded about it."""

    FLAT = "flat"
    ROUND = "round"


@dataclass(frozen=True, slots=True)
class _Piece:
    """A piece of the raw chain; a `side` lies at the offset's distance, a link only joins."""

    segment: Segment
    side: bool


def _moved(segment: Segment, by: float) -> list[_Piece]:
    """Return the segment moved `by` metres to its right; a used-up arc as two lines through its centre."""
    if isinstance(segment, Line):
        across = Vec.polar(segment.heading() - math.pi / 2, by)
        start, end = segment.start + across, segment.end + across
        return [_Piece(Line(start, end), True)] if start != end else []
    radius = segment.radius + math.copysign(by, by * segment.sweep)
    if radius > 0:
        return [_Piece(Arc.swung(segment.centre, radius, segment.begin, segment.sweep), True)]
    return _links(segment.start, segment.centre, segment.end)


def _links(*points: Point) -> list[_Piece]:
    return [_Piece(Line(a, b), False) for a, b in pairwise(points) if a != b]


def _turn_at(before: Segment, after: Segment) -> float:
    """Return the turn at a joint (radians, + left); a reversal by the side on which the two legs lie."""
    turn = math.remainder(after.heading(0.0) - before.heading(1.0), TURN)
    if abs(turn) < math.pi - TURN_BACK:
        return turn
    reach = 0.5 * min(_span(before), _span(after))
    back = before.point(1 - reach / before.length) - before.end
    on = after.point(reach / after.length) - after.start
    return math.copysign(abs(turn), on.cross(back))


def _span(segment: Segment) -> float:
    return min(segment.length, math.pi / 2 * segment.radius) if isinstance(segment, Arc) else segment.length


def _open_corner(at: Point, start: Point, end: Point, heading: float, turn: float, by: float,
                 corners: Corners) -> list[_Piece]:
    """Return what joins two moved segments round an open corner `at`; `heading` is that of the first at its end."""
    size = abs(by)
    if corners.round:
        begin = heading - math.copysign(math.pi / 2, by)
        arc = Arc.swung(at, size, begin, turn)
        return [*_links(start, arc.start), _Piece(arc, True), *_links(arc.end, end)]
    half = abs(turn) / 2
    if math.cos(half) * corners.limit >= 1:
        tip = at + Vec.polar(heading + turn / 2 - math.copysign(math.pi / 2, by), size / math.cos(half))
        return [_Piece(p.segment, True) for p in _links(start, tip, end)]
    reach = size * math.tan(half / 2)
    first, second = start + Vec.polar(heading, reach), end + Vec.polar(heading + turn, -reach)
    return [_Piece(p.segment, True) for p in _links(start, first, second, end)]


def _chain(segments: Sequence[Segment], by: float, corners: Corners, closed: bool) -> list[_Piece]:
    """Return the raw chain `by` metres to the right of joined segments."""
    chain: list[_Piece] = []
    moved = [_moved(segment, by) for segment in segments]
    for k, segment in enumerate(segments):
        chain += moved[k]
        if k + 1 == len(segments) and not closed:
            break
        following = (k + 1) % len(segments)
        after = segments[following]
        at = segment.end
        here = moved[k][-1].segment.end if moved[k] else at
        there = moved[following][0].segment.start if moved[following] else after.start
        turn = _turn_at(segment, after)
        if abs(turn * by) <= NODE / 4:
            chain += _links(here, there)
        elif turn * by > 0 and here != at and there != after.start:
            chain += _open_corner(at, here, there, segment.heading(1.0), turn, by, corners)
        elif turn * by > 0:
            chain += _round_used_up(segment, after, at, here, there, turn, by, corners)
        else:
            chain += _links(here, at, there)
    return chain


def _round_used_up(before: Segment, after: Segment, at: Point, here: Point, there: Point, turn: float, by: float,
                   corners: Corners) -> list[_Piece]:
    """Return the join of an open corner one of whose legs is used up: its own fan, entered from the vertex."""
    out = math.copysign(math.pi / 2, by)
    start = here if here != at else at + Vec.polar(before.heading(1.0) - out, abs(by))
    end = there if there != after.start else at + Vec.polar(after.heading(0.0) - out, abs(by))
    return [*_links(here, start), *_open_corner(at, start, end, before.heading(1.0), turn, by, corners),
            *_links(end, there)]


def _sources(chain: Iterable[_Piece], weight: int) -> list[Source]:
    return [Source(piece.segment, 0, weight) for piece in chain]


def _enclosed(sources: Sequence[Source]) -> Regions:
    """Return the area that the sources enclose once or more."""
    if not sources:
        return ()
    whole = arranged_sources(sources)
    kept = [1 if any(n > 0 for _, n in state) else 0 for state in whole.labels.states.states]
    return regions_of(whole.map, whole.maker(), [kept[s] for s in whole.labels.of_cycle]).get(1, ())


def _need_finite(value: float, what: str) -> None:
    if not math.isfinite(value):
        raise refuse(GeometryError, f"{what} of {value} m", "give a length", "bad-length")


def grown(regions: Iterable[Region], by: float, corners: Corners = Corners.ROUND) -> Regions:
    """Return the regions with every edge moved out by `by` metres (in, if negative): all points within that distance.

    Arcs keep their centre, their radius changes by `by`. Holes and necks close where they are narrower than the
    growth; nothing is left of a region that an inset uses up.
    """
    given = list(regions)
    _need_finite(by, "growth")
    if not by:
        return union(given)
    if by < 0 and len(given) > 1:
        given = list(union(given))
    sources: list[Source] = []
    for region in given:
        for ring in region.rings():
            sources += _sources(_chain(ring, by, corners, closed=True), 1)
    return _enclosed(sources)


def inset(regions: Iterable[Region], by: float, corners: Corners = Corners.ROUND) -> Regions:
    """Return the regions with every edge moved in by `by` metres; `corners` are those that open inward."""
    return grown(regions, -by, corners)


def _both_sides(path: Path, half: float, corners: Corners, closed: bool) -> tuple[list[_Piece], list[_Piece]]:
    right = _chain(path.segments, half, corners, closed)
    left = _chain(path.segments, -half, corners, closed)
    return right, left


def _is_closed(path: Path) -> bool:
    return path.start.distance(path.end) <= NODE


def _caps(path: Path, half: float, right: list[_Piece], left: list[_Piece], ends: str) -> list[Source]:
    """Return what closes a band at both ends of its path."""
    caps: list[_Piece] = []
    first, last = path.segments[0], path.segments[-1]
    spots = ((right[-1].segment.end, path.end, left[-1].segment.end, last.heading(1.0) - math.pi / 2),
             (left[0].segment.start, path.start, right[0].segment.start, first.heading(0.0) + math.pi / 2))
    for here, at, there, begin in spots:
        if ends == "round":
            arc = Arc.swung(at, half, begin, math.pi)
            caps += [*_links(here, arc.start), _Piece(arc, True), *_links(arc.end, there)]
        else:
            caps += _links(here, at, there)
    return _sources(caps, 1)


def band(path: Path, width: float, ends: Ends | Literal["flat", "round"] = Ends.FLAT,
         corners: Corners = Corners.ROUND) -> Regions:
    """Return the area within half of `width` metres of a path, its ends cut off flat or rounded.

    A path that ends where it starts makes a ring without ends. GeometryError for a width of nothing.
    """
    if not (width > 0 and math.isfinite(width)):
        raise refuse(GeometryError, f"a band of width {width} m", "a width is more than nothing", "no-size")
    closed = _is_closed(path)
    right, left = _both_sides(path, width / 2, corners, closed)
    sources = _sources(right, 1) + _sources(left, -1)
    if not closed:
        sources += _caps(path, width / 2, right, left, ends)
    return _enclosed(sources)


def parallel(path: Path, by: float, corners: Corners = Corners.ROUND) -> tuple[Path, ...]:
    """Return the paths `by` metres to the left of a path (right, if negative), in its direction.

    Stretches nearer than that to another part of the path are left out, so there may be several paths or none.
    """
    _need_finite(by, "distance")
    if not by:
        return (path,)
    closed = _is_closed(path)
    right, left = _both_sides(path, abs(by), corners, closed)
    asked = left if by > 0 else right
    sources = _sources(asked, -1 if by > 0 else 1) + _sources(right if by > 0 else left, 1 if by > 0 else -1)
    if not closed:
        sources += _caps(path, abs(by), right, left, "flat")
    whole = arranged_sources(sources)
    held = [any(n > 0 for _, n in state) for state in whole.labels.states.states]
    maker = whole.maker()
    stretches: list[list[Run]] = []
    for row, edge, way in zip(*(part.tolist() for part in whole.edges.parts), strict=True):
        source = whole.table.source[row]
        if source >= len(asked) or not asked[source].side:
            continue
        half = 2 * edge if way > 0 else 2 * edge + 1
        left_held, right_held = (held[whole.labels.of_cycle[whole.map.cycle[h]]] for h in (half, half ^ 1))
        if left_held == right_held:
            continue
        run = maker.run(half, whole.map.origin[half], whole.map.origin[half ^ 1])
        if stretches and stretches[-1][-1].end == run.start:
            stretches[-1].append(run)
        else:
            stretches.append([run])
    return tuple(_paths(maker, stretches, closed))


def _paths(maker: Maker, stretches: list[list[Run]], closed: bool) -> list[Path]:
    if closed and len(stretches) > 1 and stretches[-1][-1].end == stretches[0][0].start:
        stretches = [stretches[-1] + stretches[0], *stretches[1:-1]]
    return [Path(tuple(maker.segment(run) for run in maker.merged(runs, closed=False))) for runs in stretches]
