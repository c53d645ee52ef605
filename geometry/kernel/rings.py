"""From faces to regions: rings of boundary edges, pieces of one curve joined again, holes given to their outlines."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass

from .path import Loop, Path, Region, signed_area
from .planar import Planar
from .point import Point
from .segment import TURN, Arc, Line, Segment
from .table import Table
from .winding import winding


@dataclass(frozen=True, slots=True)
class Piece:
    """An edge as it is walked: its nodes, sweep in that direction, and the row that owns its geometry."""

    a: int
    b: int
    sweep: float
    row: int
    along: bool                     # runs in its row's direction
    edge: int


class Joiner:
    """Turns runs of pieces back into segments, as few as can be, with the sources' own centres and radii."""

    def __init__(self, table: Table, graph: Planar, eps: float) -> None:
        self.table, self.edges, self.eps = table, graph.edges, eps
        self.graph = graph
        self._points: dict[int, Point] = {}

    def piece(self, h: int) -> Piece:
        """Return half-edge `h` as a piece."""
        edges, e = self.edges, h >> 1
        a, b, sweep, along = int(edges.a[e]), int(edges.b[e]), float(edges.sweep[e]), int(edges.along[e])
        if h & 1:
            a, b, sweep, along = b, a, -sweep, -along
        return Piece(a, b, sweep, int(edges.row[e]), along > 0, e)

    def point(self, node: int) -> Point:
        """Return a node's place: the very point that was given, where one was."""
        found = self._points.get(node)
        if found is None:
            given = self.table.points[node] if node < len(self.table.points) else None
            if given is None:
                x, y = self.edges.nodes[node].tolist()
                given = Point(x + self.table.origin[0], y + self.table.origin[1])
            found = self._points[node] = given
        return found

    def source(self, piece: Piece) -> Segment:
        """Return the segment that owns a piece's geometry."""
        return self.table.sources[self.table.source[piece.row]].segment

    def _same_curve(self, run: Sequence[Piece], piece: Piece) -> bool:
        first = run[-1]
        if (first.sweep == 0) != (piece.sweep == 0) or first.sweep * piece.sweep < 0:
            return False
        one, two = self.source(first), self.source(piece)
        if first.sweep:
            assert isinstance(one, Arc)
            assert isinstance(two, Arc)
            total = abs(math.fsum(p.sweep for p in run) + piece.sweep)
            near = one.centre.distance(two.centre) + abs(one.radius - two.radius) <= self.eps
            return total <= TURN + 1e-9 and (one is two or near)
        start, joint, end = self.point(run[0].a), self.point(run[-1].b), self.point(piece.b)
        chord = end - start
        size = chord.length
        if not size > self.eps or not (joint - start).dot(chord) > 0 or not (end - joint).dot(chord) > 0:
            return False
        return all(abs(chord.cross(self.point(p.b) - start)) <= self.eps * size for p in run)

    def _segment(self, run: Sequence[Piece]) -> Segment:
        start, end = self.point(run[0].a), self.point(run[-1].b)
        owner = self.source(min(run, key=lambda p: p.row))
        whole = owner if run[0].along else owner.reversed()
        alone = all(self.source(p) is owner for p in run)
        if alone and (whole.start, whole.end) == (start, end) and not (isinstance(whole, Arc) and whole.is_circle):
            return whole
        if not run[0].sweep:
            return Line(start, end)
        assert isinstance(owner, Arc)
        sweep = math.fsum(p.sweep for p in run)
        if run[0].a == run[-1].b:
            sweep = math.copysign(TURN, sweep)
        begin = (start - owner.centre).heading
        return Arc(owner.centre, owner.radius, begin, sweep, start, end)

    def ring(self, pieces: Sequence[Piece]) -> tuple[Segment, ...]:
        """Return the segments of a closed run of pieces."""
        runs = self._runs(pieces)
        if len(runs) > 1 and self._same_curve(runs[-1], runs[0][0]) and self._joins(runs[-1], runs[0]):
            runs[0] = [*runs.pop(), *runs[0]]
        return tuple(self._segment(run) for run in runs)

    def _joins(self, last: list[Piece], first: list[Piece]) -> bool:
        run = list(last)
        for piece in first:
            if not self._same_curve(run, piece):
                return False
            run.append(piece)
        return True

    def open(self, pieces: Sequence[Piece]) -> Path:
        """Return an open run of pieces as a path."""
        return Path(tuple(self._segment(run) for run in self._runs(pieces)))

    def _runs(self, pieces: Sequence[Piece]) -> list[list[Piece]]:
        runs: list[list[Piece]] = [[pieces[0]]]
        for piece in pieces[1:]:
            if self._same_curve(runs[-1], piece):
                runs[-1].append(piece)
            else:
                runs.append([piece])
        return runs


def boundaries(graph: Planar, kinds: Sequence[Hashable]) -> Iterator[tuple[Hashable, list[int]]]:
    """Yield each simple ring of half-edges that parts one kind of cycle (on its left) from others, with that kind.

    `kinds` goes by cycle; None is kept out. Rings are cut where they touch themselves.
    """
    cycle, following = graph.cycle, graph.following
    edge = [kinds[cycle[h]] is not None and kinds[cycle[h]] != kinds[cycle[h ^ 1]] for h in range(len(cycle))]
    done = [False] * len(cycle)
    for start in range(len(cycle)):
        if not edge[start] or done[start]:
            continue
        walk: list[int] = []
        h = start
        while not done[h]:
            done[h] = True
            walk.append(h)
            h = following[h]
            while not edge[h]:
                h = following[h ^ 1]
        for ring in _simple(graph, walk):
            yield kinds[cycle[start]], ring


def _simple(graph: Planar, walk: list[int]) -> Iterator[list[int]]:
    """Cut a closed walk at nodes that it passes more than once."""
    origin = graph.origin
    held: list[int] = []
    seen: dict[int, int] = {}
    for h in walk:
        node = int(origin[h])
        if node in seen:
            back = seen[node]
            ring = held[back:]
            for other in ring:
                seen.pop(int(origin[other]), None)
            del held[back:]
            yield ring
        seen[node] = len(held)
        held.append(h)
    if held:
        yield held


def regions_of(joiner: Joiner, kinds: Sequence[Hashable]) -> dict[Hashable, tuple[Region, ...]]:
    """Return the regions of every kind of cycle, in the order of their first edges."""
    outers: dict[Hashable, list[Loop]] = {}
    holes: dict[Hashable, list[Loop]] = {}
    for kind, ring in boundaries(joiner.graph, kinds):
        segments = joiner.ring([joiner.piece(h) for h in ring])
        area = signed_area(segments)
        if area == 0:
            continue
        loop = Loop(segments) if area > 0 else Loop(tuple(s.reversed() for s in reversed(segments)))
        (outers if area > 0 else holes).setdefault(kind, []).append(loop)
    return {kind: _with_holes(loops, holes.get(kind, [])) for kind, loops in outers.items()}


def _with_holes(outers: list[Loop], holes: list[Loop]) -> tuple[Region, ...]:
    mine: list[list[Loop]] = [[] for _ in outers]
    areas = [loop.area for loop in outers]
    solid = [Region(loop) for loop in outers]
    for hole in holes:
        middle = hole.segments[0].point(0.5)
        around = [k for k, region in enumerate(solid) if areas[k] > hole.area and winding([region], middle)]
        if around:
            mine[min(around, key=lambda k: areas[k])].append(hole)
    return tuple(Region(outer, tuple(held)) for outer, held in zip(outers, mine, strict=True))
