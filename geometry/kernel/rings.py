"""From faces to regions: boundary rings, cut where they touch themselves, of as few segments as can be."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from ..errors import GeometryError, refuse
from .enclosure import turns_of
from .noding import Edges
from .path import Loop, Region, signed_area
from .planar import PlanarMap
from .point import Point
from .segment import TURN, Arc, Line, Segment
from .table import Table

SPECK = 2e-3            # metres: the length of a stretch that may change from one curve to another within eps of it
SLIVER = 1e-5           # m2: rings this small are measured again, with their nodes back on their curves
LEAST_SWEEP = 1e-12     # an arc that turns less is a line


class Run(NamedTuple):
    """Edges of one curve in a row: source number, direction along it (1 or - 1), end nodes, sweep (0: line)."""

    source: int
    way: int
    start: int
    end: int
    sweep: float

    def reversed(self) -> Run:
        """Return the run walked the other way."""
        return Run(self.source, -self.way, self.end, self.start, -self.sweep)


@dataclass(slots=True)
class Maker:
    """Makes runs and segments from edges; every node becomes one Point, the given one where there is one."""

    table: Table
    edges: Edges
    eps: float
    _points: dict[int, Point] = field(default_factory=dict)
    _lists: tuple[list[int], list[int], list[float], list[list[float]]] = field(init=False)
    _ends: tuple[list[int], list[int]] = field(init=False)

    def __post_init__(self) -> None:
        e = self.edges
        self._ends = (e.a.tolist(), e.b.tolist())
        self._lists = (e.row.tolist(), e.along.tolist(), e.sweep.tolist(), e.nodes.tolist())

    @property
    def nodes(self) -> list[list[float]]:
        """Coordinates of all nodes about the table's origin, m."""
        return self._lists[3]

    def point(self, node: int) -> Point:
        """Return the point of a node."""
        found = self._points.get(node)
        if found is None:
            given = self.table.points[node] if node < len(self.table.points) else None
            x, y = self._lists[3][node]
            ox, oy = self.table.origin
            found = self._points[node] = given or Point(x + ox, y + oy)
        return found

    def chord(self, half: int) -> float:
        """Return the chord of a half edge, m."""
        edge, nodes = half >> 1, self._lists[3]
        return math.dist(nodes[self._ends[0][edge]], nodes[self._ends[1][edge]])

    def middle(self, half: int) -> Point:
        """Return the middle of a half edge."""
        edge, nodes = half >> 1, self._lists[3]
        (x, y), (ex, ey) = nodes[self._ends[0][edge]], nodes[self._ends[1][edge]]
        rise = math.tan(self._lists[2][edge] / 4) / 2
        ox, oy = self.table.origin
        return Point((x + ex) / 2 + (ey - y) * rise + ox, (y + ey) / 2 - (ex - x) * rise + oy)

    def run(self, half: int, start: int, end: int) -> Run:
        """Return the run of one half edge between two nodes."""
        rows, along, sweeps, nodes = self._lists
        edge, way = half >> 1, -1 if half & 1 else 1
        source = self.table.source[rows[edge]]
        sweep = sweeps[edge] * way
        segment = self.table.sources[source].segment
        if not sweep and isinstance(segment, Arc):
            # Worked as a line because it hardly rises; it is still the arc that was given.
            ox, oy = self.table.origin
            cx, cy = segment.centre.x - ox, segment.centre.y - oy
            (x, y), (ex, ey) = nodes[start], nodes[end]
            sweep = math.atan2((x - cx) * (ey - cy) - (y - cy) * (ex - cx), (x - cx) * (ex - cx) + (y - cy) * (ey - cy))
        return Run(source, along[edge] * way, start, end, sweep)

    def joined(self, first: Run, second: Run) -> Run | None:
        """Return both runs as one if they are stretches of one curve, else None."""
        if not (first.source == second.source and first.way == second.way) and not self._continues(first, second):
            return None
        return Run(first.source, first.way, first.start, second.end, first.sweep + second.sweep)

    def _continues(self, first: Run, second: Run) -> bool:
        """Say whether a run goes on along the curve of the one before it, by what both curves are."""
        a, b = self.table.sources[first.source].segment, self.table.sources[second.source].segment
        if isinstance(a, Arc) and isinstance(b, Arc):
            same = a.centre.distance(b.centre) + abs(a.radius - b.radius) <= self.eps
            return same and first.sweep * second.sweep > 0
        if isinstance(a, Arc) or isinstance(b, Arc) or first.start == second.end:
            return False
        nodes = self._lists[3]
        (x, y), (jx, jy), (ex, ey) = nodes[first.start], nodes[first.end], nodes[second.end]
        dx, dy = ex - x, ey - y
        length = math.hypot(dx, dy)
        beside = abs(dx * (jy - y) - dy * (jx - x)) <= self.eps * length
        return beside and 0 < dx * (jx - x) + dy * (jy - y) < length * length

    def segment(self, run: Run) -> Segment:
        """Return the segment of a run: the given one itself where nothing of it was cut."""
        given = self.table.sources[run.source].segment
        points = self._points
        start, end = points.get(run.start) or self.point(run.start), points.get(run.end) or self.point(run.end)
        ends = (given.start, given.end) if run.way > 0 else (given.end, given.start)
        if (start, end) == ends and (start != end or run.start == run.end) and _is_all(given, run):
            return given if run.way > 0 else given.reversed()
        if not isinstance(given, Arc) or abs(run.sweep) < LEAST_SWEEP:
            return Line(start, end)
        if run.start == run.end and given.is_circle:
            return given if run.way > 0 else given.reversed()
        begin = math.atan2(start.y - given.centre.y, start.x - given.centre.x)
        sweep = math.copysign(TURN, run.sweep) if run.start == run.end else run.sweep
        return Arc(given.centre, given.radius, begin, sweep, start, end)

    def merged(self, runs: Sequence[Run], closed: bool) -> list[Run]:
        """Return as few runs as can be; a closed ring may begin at another of its corners."""
        kept: list[Run] = []
        for run in runs:
            whole = self.joined(kept[-1], run) if kept else None
            if whole:
                kept[-1] = whole
            else:
                kept.append(run)
        while closed and len(kept) > 1:
            whole = self.joined(kept[-1], kept[0])
            if not whole:
                break
            kept = [whole, *kept[1:-1]]
        return self._without_specks(kept) if closed else kept

    def _without_specks(self, runs: list[Run]) -> list[Run]:
        """Give a speck of another curve between two stretches of one curve back to that curve.

        Where two circles touch, a node beside the point of touch makes such specks; they lie on both curves.
        """
        k = 0
        while len(runs) > 1 and k < len(runs):
            before, speck, after = runs[k - 1], runs[k], runs[(k + 1) % len(runs)]
            turned = self._as_part_of(speck, before)
            same = (before.source, before.way) == (after.source, after.way)
            if not same or turned is None:
                k += 1
                continue
            if len(runs) == 2:
                return [Run(before.source, before.way, before.start, before.start, before.sweep + turned)]
            whole = Run(before.source, before.way, before.start, after.end, before.sweep + turned + after.sweep)
            runs = [whole if run is before else run for run in runs if run is not speck and run is not after]
            k = 0
        return runs

    def _as_part_of(self, speck: Run, of: Run) -> float | None:
        """Return what `speck` turns about the centre of `of` if it is a speck on that curve, else None."""
        nodes = self._lists[3]
        (x, y), (ex, ey) = nodes[speck.start], nodes[speck.end]
        given = self.table.sources[of.source].segment
        if not math.hypot(ex - x, ey - y) < SPECK or abs(speck.sweep) > 1 or not isinstance(given, Arc):
            return None
        ox, oy = self.table.origin
        cx, cy, r = given.centre.x - ox, given.centre.y - oy, given.radius
        rise = math.tan(speck.sweep / 4) / 2
        mx, my = (x + ex) / 2 + (ey - y) * rise, (y + ey) / 2 - (ex - x) * rise
        if max(abs(math.hypot(px - cx, py - cy) - r) for px, py in ((x, y), (mx, my), (ex, ey))) > 3 * self.eps:
            return None
        turned = math.atan2((x - cx) * (ey - cy) - (y - cy) * (ex - cx), (x - cx) * (ex - cx) + (y - cy) * (ey - cy))
        return turned if turned * of.sweep > 0 else None


def _is_all(given: Segment, run: Run) -> bool:
    if isinstance(given, Line):
        return True
    return abs(abs(run.sweep) - abs(given.sweep)) < 1e-6 or abs(run.sweep) < LEAST_SWEEP


@dataclass(frozen=True, slots=True)
class _Ring:
    loop: Loop
    hole: bool
    halves: list[int]


def _simple_rings(walk: list[int], origin: list[int]) -> list[list[int]]:
    """Cut a walk of half edges where it comes back to a node, so that no ring touches itself."""
    rings: list[list[int]] = []
    open_: list[int] = []
    at: dict[int, int] = {}
    for half in walk:
        node = origin[half]
        if node in at:
            cut = at[node]
            rings.append(open_[cut:])
            for gone in open_[cut:]:
                at.pop(origin[gone], None)
            del open_[cut:]
        at[node] = len(open_)
        open_.append(half)
    rings.append(open_)
    return rings


def _ring_area(ring: list[int], map_: PlanarMap, nodes: list[list[float]]) -> float:
    origin = map_.origin
    x0, y0 = nodes[origin[ring[0]]]
    terms: list[float] = []
    for half in ring:
        (x, y), (ex, ey) = nodes[origin[half]], nodes[origin[half ^ 1]]
        terms.append((x - x0) * (ey - y0) - (y - y0) * (ex - x0) + map_.bulge[half])
    return math.fsum(terms) / 2


def regions_of(map_: PlanarMap, maker: Maker, classes: Sequence[int]) -> dict[int, tuple[Region, ...]]:
    """Return for each class above 0 the regions that its cycles make up; neighbours of one class are one region."""
    left = [classes[c] for c in map_.cycle]
    nodes = maker.nodes
    used = bytearray(len(left))
    found: dict[int, list[_Ring]] = {}
    borders = [e for e, (one, other) in enumerate(zip(left[::2], left[1::2], strict=True)) if one != other]
    for first in [half for e in borders for half in (2 * e, 2 * e + 1)]:
        own = left[first]
        if own <= 0 or used[first]:
            continue
        walk: list[int] = []
        half = first
        while not used[half]:
            used[half] = 1
            walk.append(half)
            half = map_.following[half]
            while left[half ^ 1] == own:
                half = map_.following[half ^ 1]
        rings = _simple_rings(walk, map_.origin)
        cycle = map_.cycle[first]
        for ring in rings:
            whole = len(ring) == len(map_.cycles[cycle]) and all(map_.cycle[h] == cycle for h in ring)
            area = float(map_.areas[cycle]) if whole else _ring_area(ring, map_, nodes)
            if abs(area) > maker.eps * maker.eps:
                loop = _loop(ring, map_, maker, area)
                if loop:
                    found.setdefault(own, []).append(_Ring(loop, area < 0, ring))
    return {own: _nested(rings, maker) for own, rings in found.items()}


def _loop(ring: list[int], map_: PlanarMap, maker: Maker, area: float) -> Loop | None:
    """Return the loop of a ring; None for a sliver that closes once its nodes are back on their curves."""
    origin = map_.origin
    runs = maker.merged([maker.run(half, origin[half], origin[half ^ 1]) for half in ring], closed=True)
    if area < 0:
        runs = [run.reversed() for run in reversed(runs)]
    first = min(range(len(runs)), key=lambda k: (runs[k].source, runs[k].start))
    segments = tuple(maker.segment(run) for run in runs[first:] + runs[:first])
    return Loop(segments) if abs(area) > SLIVER or signed_area(segments) > 0 else None


def _nested(rings: list[_Ring], maker: Maker) -> tuple[Region, ...]:
    """Give each hole to the smallest outer ring round it."""
    outers = [ring.loop for ring in rings if not ring.hole]
    holes: list[list[Loop]] = [[] for _ in outers]
    areas = [loop.area for loop in outers]
    boxes = [loop.box for loop in outers] if len(rings) > len(outers) > 1 else []
    for hole, halves in ((ring.loop, ring.halves) for ring in rings if ring.hole):
        if len(outers) == 1:
            holes[0].append(hole)
            continue
        # The middle of an edge lies on no other ring, as the middle of a whole segment might.
        spot = maker.middle(max(halves, key=maker.chord))
        around = [k for k, b in enumerate(boxes) if b.x0 <= spot.x <= b.x1 and b.y0 <= spot.y <= b.y1
                  and areas[k] > hole.area and turns_of(outers[k].segments, spot) > 0]
        if not around:
            raise refuse(GeometryError, f"a hole near ({spot.x:.3f}, {spot.y:.3f}) without an outline round it",
                         "move the outlines there a millimetre apart", "uncertain")
        holes[min(around, key=areas.__getitem__)].append(hole)
    return tuple(Region(outer, tuple(inner)) for outer, inner in zip(outers, holes, strict=True))
