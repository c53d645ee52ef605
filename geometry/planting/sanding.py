"""Setting out a bed's groups on the ground: canes K1 … at the ends of borders, taped from one line along the bed.

Takes a planted bed. Gives the line, the canes with distance along and square from it, the borders to be sanded between
canes with the points that they pass, and the order in which pots are stood out: the largest first. Source of the
way: garden planting guides (string grid or sanded outlines, pots stood out largest first, then planted).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..kernel.path import Path, Region
from ..kernel.point import Point, Vec
from ..kernel.segment import TURN, Line, Segment
from ..kernel.station import point_at
from ..kernel.tolerance import TANGENT
from .ground import drift_heading
from .planted import BedPlanting, Group
from .schedule import ORDER

KEY = 6
"""Ends of borders are told apart by coordinates rounded to so many decimals of a metre."""

STRAIGHT = 0.6
"""A straight edge at least this part of the bed's length serves as the line to tape from."""

STEP = 1.0
"""Borders are taped at least every so many metres: the string grid of the guides is 1 m."""


@dataclass(frozen=True, slots=True)
class Taped:
    """A point as taped: metres along the line from its start, metres square from it, + to the left."""

    along: float
    offset: float
    at: Point


@dataclass(frozen=True, slots=True)
class Cane:
    """A cane where borders meet or reach the edge; `groups` are the numbers of the groups round it."""

    name: str
    spot: Taped
    groups: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SandLine:
    """The border between two groups: sand from cane `start` through the points to cane `end`; equal for a ring."""

    groups: tuple[int, int]
    start: str
    end: str
    through: tuple[Taped, ...]
    length: float


@dataclass(frozen=True, slots=True)
class Sanding:
    """All that one bed's groups need on the ground. `on_edge` says whether the line is an edge of the bed itself."""

    bed: str
    start: Point
    end: Point
    on_edge: bool
    canes: tuple[Cane, ...]
    lines: tuple[SandLine, ...]
    standing_order: tuple[int, ...]


_Key = tuple[float, float]


def sanding_of(planted: BedPlanting) -> Sanding:
    """Return how to set out the groups of a bed."""
    start, end, on_edge = _base(planted)
    runs = _runs(planted.groups)
    spots: dict[_Key, Point] = {}
    round_it: dict[_Key, set[int]] = {}
    for pair, run in runs:
        for spot in (run.start, run.end):
            spots.setdefault(_key(spot), spot)
            round_it.setdefault(_key(spot), set()).update(pair)
    taped = {key: _tape(spot, start, end) for key, spot in spots.items()}
    order = sorted(taped, key=lambda k: (round(taped[k].along, 3), round(taped[k].offset, 3), k))
    names = {key: f"K{n}" for n, key in enumerate(order, 1)}
    canes = tuple(Cane(names[k], taped[k], tuple(sorted(round_it[k]))) for k in order)
    lines = [SandLine(pair, names[_key(run.start)], names[_key(run.end)], _through(run, start, end), run.length)
             for pair, run in runs]
    lines.sort(key=lambda line: (int(line.start[1:]), int(line.end[1:]), line.groups))
    return Sanding(planted.name, start, end, on_edge, canes, tuple(lines), standing_order(planted.groups))


def standing_order(groups: Sequence[Group]) -> tuple[int, ...]:
    """Return the numbers of groups in the order in which pots are stood out: trees first, bulbs last."""
    ranked = sorted(groups, key=lambda g: (ORDER.index(g.plant.habit), -g.plant.height, -g.spacing, g.number))
    return tuple(g.number for g in ranked)


def _key(point: Point) -> _Key:
    return (round(point.x, KEY) + 0.0, round(point.y, KEY) + 0.0)


def _tape(point: Point, start: Point, end: Point) -> Taped:
    way = (end - start).unit()
    return Taped((point - start).dot(way) + 0.0, way.cross(point - start) + 0.0, point)


def _base(planted: BedPlanting) -> tuple[Point, Point, bool]:
    """Return the line to tape from, the bed on its left: its longest straight edge, or one along its long side."""
    regions = planted.bed.regions
    straight = [s for r in regions for s in _straights(r.outer.segments)]
    longest = max(straight, key=lambda s: (round(s.length, 6), -s.start.x, -s.start.y), default=None)
    largest = max(regions, key=lambda r: r.area)
    heading = drift_heading(largest)
    spots = [s.point(k / 4) for r in regions for s in r.outer.segments for k in range(4)]
    along = Vec.polar(heading)
    reach = [(p - spots[0]).dot(along) for p in spots]
    if longest is not None and longest.length >= STRAIGHT * (max(reach) - min(reach)):
        return longest.start, longest.end, True
    low = min((p - spots[0]).dot(along.left()) for p in spots)
    corner = spots[0] + along * min(reach) + along.left() * low
    return corner, corner + along * (max(reach) - min(reach)), False


def _straights(segments: Sequence[Segment]) -> list[Line]:
    """Return the straight edges of a ring, those that continue each other as one."""
    lines: list[Line] = []
    for segment in segments:
        if not isinstance(segment, Line):
            continue
        last = lines[-1] if lines else None
        turn = math.remainder(last.heading() - segment.heading(), TURN) if last else math.pi
        if last and last.end == segment.start and abs(turn) < TANGENT:
            lines[-1] = Line(last.start, segment.end)
        else:
            lines.append(segment)
    return lines


def _runs(groups: Sequence[Group]) -> list[tuple[tuple[int, int], Path]]:
    """Return the borders that two groups share, each once, joined from their common segments."""
    owners: dict[tuple[_Key, _Key, _Key], list[tuple[int, Segment]]] = {}
    for group in groups:
        for segment in _segments(group.region):
            owners.setdefault(_edge(segment), []).append((group.number, segment))
    pairs: dict[tuple[int, int], list[Segment]] = {}
    for shared in owners.values():
        if len(shared) == 2 and shared[0][0] != shared[1][0]:
            pair = (min(shared[0][0], shared[1][0]), max(shared[0][0], shared[1][0]))
            pairs.setdefault(pair, []).append(next(s for n, s in shared if n == pair[0]))
    meets = _meetings(groups)
    return [(pair, path) for pair, segments in sorted(pairs.items()) for path in _joined(segments, meets)]


def _segments(region: Region) -> list[Segment]:
    return [s for ring in region.rings() for s in ring]


def _edge(segment: Segment) -> tuple[_Key, _Key, _Key]:
    """Return what tells an edge from others whichever way it is walked."""
    a, b = sorted((_key(segment.start), _key(segment.end)))
    middle = segment.point(0.5)
    return a, (round(middle.x, 4), round(middle.y, 4)), b


def _meetings(groups: Sequence[Group]) -> set[_Key]:
    """Return the points at which three groups meet: borders end there."""
    seen: dict[_Key, set[int]] = {}
    for group in groups:
        for segment in _segments(group.region):
            seen.setdefault(_key(segment.start), set()).add(group.number)
    return {key for key, numbers in seen.items() if len(numbers) > 2}


def _joined(segments: list[Segment], meets: set[_Key]) -> list[Path]:
    """Join segments end to start into paths that stop where three groups meet."""
    after = {_key(s.start): s for s in segments}
    ends = {_key(s.end) for s in segments}
    starts = [s for s in segments if _key(s.start) not in ends or _key(s.start) in meets]
    paths, used = [], set()
    for first in [*starts, *segments]:
        run: list[Segment] = []
        at: Segment | None = first
        while at is not None and _key(at.start) not in used:
            used.add(_key(at.start))
            run.append(at)
            at = None if _key(at.end) in meets else after.get(_key(at.end))
        if run:
            paths.append(Path(tuple(run)))
    return paths


def _through(run: Path, start: Point, end: Point) -> tuple[Taped, ...]:
    """Return the half-way point of a short border, points at most STEP apart on a long one."""
    parts = max(2, math.ceil(run.length / STEP - 1e-9))
    return tuple(_tape(point_at(run, run.length * k / parts), start, end) for k in range(1, parts))
