"""Named points of a shape: what a person may point at, counted in the order in which the shape was drawn.

`corner n` are the points where the edge turns, `tangent n` those where line and arc (or two arcs) meet
smoothly, `centre n` the centres of arcs, `centre` the middle of the whole, `focus n` the foci of an
untouched ellipse; an open path has `start`, `middle` and `end`. A straight joint between two lines of a
loop counts as a corner, so that corners keep the numbers in which they were written. Shapes of several pieces
put `piece n` in front, holes `hole n`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from .measure import centroid
from .path import Loop, Path, Region
from .point import Point, Vec, near
from .segment import TURN, Arc, Line, Segment
from .station import point_at
from .tolerance import JOINT, TANGENT

Named: TypeAlias = Point | Path | Loop | Region | Sequence[Region] | Sequence[Loop]


class Sort(StrEnum):
    """What a named point is."""

    CENTRE = "centre"  # of the whole shape
    CORNER = "corner"
    TANGENT = "tangent point"
    ARC_CENTRE = "arc centre"
    FOCUS = "focus"
    END = "end"  # start or end of a path
    MIDDLE = "middle"


@dataclass(frozen=True, slots=True)
class NamedPoint:
    """A point of a shape by its name; `radius` (m) for the centre of an arc, else 0."""

    name: str
    at: Point
    sort: Sort
    radius: float = 0.0


def parts(shape: Named) -> dict[str, NamedPoint]:
    """Return the named points of a shape by name, in the order in which it was drawn."""
    return {point.name: point for point in _parts(shape)}


def _parts(shape: Named) -> Iterator[NamedPoint]:
    if isinstance(shape, Point):
        yield NamedPoint("centre", shape, Sort.CENTRE)
    elif isinstance(shape, Path):
        yield from _path_parts(shape)
    elif isinstance(shape, Loop):
        yield from _loop_parts(shape)
    elif isinstance(shape, Region):
        yield from _region_parts(shape)
    else:
        yield from _pieces(list(shape))


def _pieces(shapes: list[Region | Loop]) -> Iterator[NamedPoint]:
    if len(shapes) == 1:
        yield from _parts(shapes[0])
        return
    for number, piece in enumerate(shapes, 1):
        for point in _parts(piece):
            yield NamedPoint(f"piece {number} {point.name}", point.at, point.sort, point.radius)


def _region_parts(region: Region) -> Iterator[NamedPoint]:
    for point in _loop_parts(region.outer):
        whole = point.name == "centre" and bool(region.holes)
        yield NamedPoint(point.name, centroid(region), point.sort) if whole else point
    for number, hole in enumerate(region.holes, 1):
        for point in _loop_parts(hole):
            yield NamedPoint(f"hole {number} {point.name}", point.at, point.sort, point.radius)


def drawn(loop: Loop) -> tuple[Segment, ...]:
    """Return the segments of a loop in the order and direction in which it was drawn."""
    if not loop.clockwise:
        return loop.segments
    return tuple(segment.reversed() for segment in reversed(loop.segments))


def _loop_parts(loop: Loop) -> Iterator[NamedPoint]:
    if loop.ellipse is not None:
        yield from _ellipse_parts(loop)
        return
    if loop.is_circle:
        arc = loop.segments[0]
        assert isinstance(arc, Arc)
        yield NamedPoint("centre", arc.centre, Sort.CENTRE, arc.radius)
        return
    yield NamedPoint("centre", centroid(loop), Sort.CENTRE)
    segments = drawn(loop)
    yield from _joints(list(zip((segments[-1], *segments[:-1]), segments, strict=True)))
    yield from _arc_centres(segments)


def _ellipse_parts(loop: Loop) -> Iterator[NamedPoint]:
    ellipse = loop.ellipse
    assert ellipse is not None
    yield NamedPoint("centre", ellipse.centre, Sort.CENTRE)
    away = Vec.polar(ellipse.turn, math.sqrt(max(ellipse.half_length**2 - ellipse.half_width**2, 0.0)))
    yield NamedPoint("focus 1", ellipse.centre + -away, Sort.FOCUS)
    yield NamedPoint("focus 2", ellipse.centre + away, Sort.FOCUS)
    along, across = Vec.polar(ellipse.turn, ellipse.half_length), Vec.polar(ellipse.turn, ellipse.half_width).left()
    for number, to in enumerate((-along, -across, along, across), 1):
        yield NamedPoint(f"end {number}", ellipse.centre + to, Sort.END)


def _path_parts(path: Path) -> Iterator[NamedPoint]:
    yield NamedPoint("start", path.start, Sort.END)
    yield NamedPoint("middle", point_at(path, path.length / 2), Sort.MIDDLE)
    yield NamedPoint("end", path.end, Sort.END)
    pairs = list(zip(path.segments, path.segments[1:], strict=False))
    yield from _joints(pairs)
    yield from _arc_centres(path.segments)


def _joints(pairs: Sequence[tuple[Segment, Segment]]) -> Iterator[NamedPoint]:
    corners = tangents = 0
    for before, after in pairs:
        if _one_arc(before, after):
            continue
        straight = isinstance(before, Line) and isinstance(after, Line)
        if straight or not smooth(before, after):
            corners += 1
            yield NamedPoint(f"corner {corners}", after.start, Sort.CORNER)
        else:
            tangents += 1
            yield NamedPoint(f"tangent {tangents}", after.start, Sort.TANGENT)


def smooth(before: Segment, after: Segment) -> bool:
    """Say whether two joined segments run on without a corner (headings within 1e-3 of a radian, 0.06 degrees).

    Coarser than TANGENT, because a joint of typed coordinates that is meant as smooth carries their rounding.
    """
    turn = (after.heading(0.0) - before.heading(1.0)) % TURN
    return min(turn, TURN - turn) <= max(TANGENT, 1e-3)


def _one_arc(before: Segment, after: Segment) -> bool:
    return (
        isinstance(before, Arc)
        and isinstance(after, Arc)
        and before.sweep * after.sweep > 0
        and near(before.centre, after.centre, JOINT)
        and abs(before.radius - after.radius) <= JOINT
    )


def _arc_centres(segments: Sequence[Segment]) -> Iterator[NamedPoint]:
    found: list[Arc] = []
    for segment in segments:
        if isinstance(segment, Line) or any(
            near(arc.centre, segment.centre, JOINT) and abs(arc.radius - segment.radius) <= JOINT for arc in found
        ):
            continue
        found.append(segment)
        yield NamedPoint(f"centre {len(found)}", segment.centre, Sort.ARC_CENTRE, segment.radius)
