"""Stations: distance along a path to point and heading, and back from a point to its station.

Stations are metres from the start, offsets metres square to the path, + to the left. On a loop they run
anticlockwise from its first vertex.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import GeometryError, refuse
from .path import Loop, Path
from .point import Point, Vec
from .segment import TURN, Arc, Line, Segment
from .tolerance import JOINT, NODE


@dataclass(frozen=True, slots=True)
class Projection:
    """The nearest place of a path to a point: station, offset (+ left), the foot itself and the distance, metres."""

    station: float
    offset: float
    foot: Point
    distance: float


def _find(path: Path | Loop, station: float) -> tuple[int, float]:
    """Return the segment that holds `station`, and the share of it; at a joint the segment that begins there."""
    total = path.length
    if not -JOINT <= station <= total + JOINT:
        raise refuse(GeometryError, f"a distance of {station:.3f} m along a line of {total:.3f} m",
                     f"give a distance from 0 to {total:.3f} m", "off-the-line")
    left = min(max(station, 0.0), total)
    for k, segment in enumerate(path.segments):
        if left < segment.length - NODE or k == len(path.segments) - 1:
            return k, min(max(left / segment.length, 0.0), 1.0)
        left = max(left - segment.length, 0.0)
    raise AssertionError("a path has a segment")


def point_at(path: Path | Loop, station: float) -> Point:
    """Return the point at `station` metres; GeometryError beyond the ends."""
    k, share = _find(path, station)
    return path.segments[k].point(share)


def heading_at(path: Path | Loop, station: float) -> float:
    """Return the direction of travel (radians, -pi to pi) at `station`; at a corner that of the leg that follows."""
    k, share = _find(path, station)
    return math.remainder(path.segments[k].heading(share), TURN)


def nearest_share(segment: Segment, point: Point) -> float:
    """Return the share (0 to 1) of the segment's length at which it comes nearest to `point`."""
    if isinstance(segment, Line):
        along = segment.end - segment.start
        return min(max((point - segment.start).dot(along) / along.dot(along), 0.0), 1.0)
    out = point - segment.centre
    if not out.length > 0:
        return 0.0
    turn = (out.heading - segment.begin) * math.copysign(1.0, segment.sweep) % TURN
    if turn <= abs(segment.sweep):
        return turn / abs(segment.sweep)
    return 1.0 if point.distance(segment.end) < point.distance(segment.start) else 0.0


def _side(path: Path | Loop, k: int, share: float, away: Vec) -> float:
    """Return + 1 if `away`, from the foot to the point, leads left of the path, else - 1."""
    segments = path.segments
    ways = [segments[k].heading(share)]
    closed = isinstance(path, Loop)
    if share <= 0 and (k > 0 or closed):
        ways.append(segments[k - 1].heading(1.0))
    if share >= 1 and (k + 1 < len(segments) or closed):
        ways.append(segments[(k + 1) % len(segments)].heading(0.0))
    # At a corner the point may lie square to neither leg: the sum of both directions tells its side.
    ahead = sum((Vec.polar(way) for way in ways), Vec(0.0, 0.0))
    return 1.0 if ahead.cross(away) >= 0 else -1.0


def project(path: Path | Loop, point: Point) -> Projection:
    """Return the nearest place of the path; of equally near ones that with the lowest station."""
    best: tuple[float, int, float, Point] | None = None
    for k, segment in enumerate(path.segments):
        share = nearest_share(segment, point)
        foot = segment.point(share)
        apart = foot.distance(point)
        if best is None or apart < best[0]:
            best = (apart, k, share, foot)
    if best is None:
        raise AssertionError("a path has a segment")
    apart, k, share, foot = best
    station = math.fsum([*(s.length for s in path.segments[:k]), path.segments[k].length * share])
    return Projection(station, apart * _side(path, k, share, point - foot), foot, apart)


def _between(path: Path | Loop, low: float, high: float) -> list[Segment]:
    first, from_share = _find(path, low)
    last, to_share = _find(path, high)
    pieces: list[Segment] = []
    for k in range(first, last + 1):
        segment = path.segments[k]
        a, b = (from_share if k == first else 0.0), (to_share if k == last else 1.0)
        if (b - a) * segment.length > NODE:
            whole = a <= 0 and b >= 1
            pieces.append(segment if whole else segment.part(a, b))
    return pieces


def stretch(path: Path | Loop, from_station: float, to_station: float) -> Path:
    """Return the part between two stations; backwards on a path, on through the start on a loop, if from > to.

    GeometryError beyond the ends or if nothing is left.
    """
    if from_station <= to_station:
        pieces = _between(path, from_station, to_station)
    elif isinstance(path, Loop):
        pieces = _between(path, from_station, path.length) + _between(path, 0.0, to_station)
    else:
        return stretch(path, to_station, from_station).reversed()
    if not pieces:
        raise refuse(GeometryError, f"a stretch from {from_station:.3f} m to {to_station:.3f} m, which has no length",
                     "give two different distances", "no-length")
    return Path(tuple(_joined(pieces)))


def _one_circle(first: Arc, second: Arc) -> bool:
    same = (first.centre, first.radius) == (second.centre, second.radius)
    return same and first.sweep * second.sweep > 0 and abs(first.sweep + second.sweep) < TURN


def _joined(pieces: list[Segment]) -> list[Segment]:
    """Weld two pieces of one arc that meet at a loop's start."""
    merged: list[Segment] = []
    for piece in pieces:
        last = merged[-1] if merged else None
        if isinstance(last, Arc) and isinstance(piece, Arc) and _one_circle(last, piece):
            merged[-1] = Arc(last.centre, last.radius, last.begin, last.sweep + piece.sweep, last.start, piece.end)
        else:
            merged.append(piece)
    return merged
