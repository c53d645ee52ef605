"""Each edge once: what of a line is not already drawn by a heavier pen.

Works on paper millimetres. Straight pieces are compared with straight pieces and arcs with arcs of the same
centre, exactly; nothing is flattened.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator

from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.segment import TURN, Arc, Line, Segment
from .sheet import Mark, Stroke, flat

BUFFER = 0.1
"""Lines nearer than this (mm) are one line."""

SCRAP = 0.25
"""Left-over pieces shorter than this (mm) are not drawn, covered pieces shorter than this not cut out."""

TOUCHING, TOUCHES = 0.05, 2.5
"""A line and an arc that touch are one line where they are nearer than this (mm), if that is longer than so much."""

CELL = 12.0

Span = tuple[float, float]


class Drawn:
    """Remembers what has been drawn and cuts it out of what comes later."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[int]] = defaultdict(list)
        self._segments: list[Segment] = []
        self.crosses: list[Point] = []      # middles of those on the outlines of things that are to go

    @classmethod
    def of(cls, marks: Iterable[Mark]) -> Drawn:
        """Return what a plan has drawn already: every stroke among its marks."""
        drawn = cls()
        for mark in flat(tuple(marks)):
            if isinstance(mark, Stroke):
                drawn.add(mark.path)
        return drawn

    def add(self, path: Path | Loop) -> None:
        """Remember a line as drawn."""
        for segment in path.segments:
            for cell in _cells(segment.box):
                self._cells[cell].append(len(self._segments))
            self._segments.append(segment)

    def rest(self, path: Path | Loop, near: float = BUFFER) -> tuple[Path | Loop, ...]:
        """Return the stretches of a line that are not drawn yet, within `near` mm (the line itself if none is)."""
        pieces: list[Segment] = []
        whole = True
        for segment in path.segments:
            free = _free(self._covered(segment, near), segment.length)
            whole = whole and free == [(0.0, 1.0)]
            pieces += [segment.part(a, b) if (a, b) != (0.0, 1.0) else segment for a, b in free]
        if whole:
            return (path,)
        return tuple(_chained(pieces, isinstance(path, Loop)))

    def once(self, path: Path | Loop, near: float = BUFFER) -> tuple[Path | Loop, ...]:
        """Return the stretches not drawn yet, and remember the line."""
        rest = self.rest(path, near)
        for piece in rest:
            self.add(piece)
        return rest

    def _covered(self, segment: Segment, near: float) -> list[Span]:
        seen: set[int] = set()
        spans: list[Span] = []
        for cell in _cells(segment.box, near):
            for index in self._cells.get(cell, ()):
                if index not in seen:
                    seen.add(index)
                    spans += shared(segment, self._segments[index], near)
        return spans


def _cells(box: Box, near: float = BUFFER) -> Iterator[tuple[int, int]]:
    box = box.grown(near)
    for i in range(math.floor(box.x0 / CELL), math.floor(box.x1 / CELL) + 1):
        for j in range(math.floor(box.y0 / CELL), math.floor(box.y1 / CELL) + 1):
            yield i, j


def shared(segment: Segment, other: Segment, near: float = BUFFER) -> list[Span]:
    """Return the spans (shares of its length) of `segment` that lie on `other`, within `near` mm."""
    if isinstance(segment, Line) and isinstance(other, Line):
        return _on_line(segment, other, near)
    if isinstance(segment, Arc) and isinstance(other, Arc):
        return _on_arc(segment, other, near)
    if isinstance(segment, Arc) and isinstance(other, Line):
        return _arc_along(segment, other)
    if isinstance(segment, Line) and isinstance(other, Arc):
        return _line_along(segment, other)
    return []


def _touch(arc: Arc, line: Line) -> tuple[float, float]:
    """Return where on its circle an arc may touch a line (radians), and for how far to each side; 0 if it does not."""
    x, y, length = line.start.x, line.start.y, line.length
    wx, wy = (line.end.x - x) / length, (line.end.y - y) / length
    off = wx * (arc.centre.y - y) - wy * (arc.centre.x - x)        # of the centre, to the left of the line
    deep = arc.radius - abs(off)
    if not -TOUCHING < deep < TOUCHING:
        return 0.0, 0.0
    reach = math.acos(max(-1.0, min(1.0, (abs(off) - TOUCHING) / arc.radius)))
    return math.atan2(wy, wx) - math.copysign(math.pi / 2, off), reach


def _arc_along(arc: Arc, line: Line) -> list[Span]:
    at, reach = _touch(arc, line)
    low, spans = (at - reach - arc.begin) if arc.sweep > 0 else (arc.begin - at - reach), []
    for start in (low % TURN - TURN, low % TURN):
        s0, s1 = max(0.0, start), min(abs(arc.sweep), start + 2 * reach)
        if (s1 - s0) * arc.radius > TOUCHES and _beside(arc.part(s0 / abs(arc.sweep), s1 / abs(arc.sweep)), line):
            spans.append((s0 / abs(arc.sweep), s1 / abs(arc.sweep)))
    return spans


def _beside(piece: Segment, line: Line) -> bool:
    """Say whether a piece lies beside a line from end to end."""
    way, first = (line.end - line.start).unit(), line.start
    return all(-SCRAP < way.dot(p - first) < line.length + SCRAP for p in (piece.start, piece.end))


def _line_along(line: Line, arc: Arc) -> list[Span]:
    way, spans = (line.end - line.start).unit(), []
    for low, high in _arc_along(arc, line):
        ends = sorted(way.dot(arc.point(share) - line.start) / line.length for share in (low, high))
        spans.append((max(0.0, ends[0]), min(1.0, ends[1])))
    return spans


def _on_line(a: Line, b: Line, near: float) -> list[Span]:
    x, y, length = a.start.x, a.start.y, a.length
    wx, wy = (a.end.x - x) / length, (a.end.y - y) / length
    px, py, qx, qy = b.start.x - x, b.start.y - y, b.end.x - x, b.end.y - y
    o0, o1 = wx * py - wy * px, wx * qy - wy * qx           # how far to the left of the first line
    if (o0 > near and o1 > near) or (o0 < -near and o1 < -near):
        return []
    s0, s1 = wx * px + wy * py, wx * qx + wy * qy           # how far along it
    if s0 > s1:
        s0, o0, s1, o1 = s1, o1, s0, o0
    if not s1 - s0 > 1e-9:
        return []
    slope = (o1 - o0) / (s1 - s0)
    low, high = max(0.0, s0), min(length, s1)
    if abs(slope) > 1e-12:
        ends = sorted(((-near - o0) / slope + s0, (near - o0) / slope + s0))
        low, high = max(low, ends[0]), min(high, ends[1])
    elif abs(o0) > near:
        return []
    return [(low / length, high / length)] if high - low > SCRAP else []


def _on_arc(a: Arc, b: Arc, near: float) -> list[Span]:
    if a.centre.distance(b.centre) + abs(a.radius - b.radius) > near:
        return []
    if b.is_circle:
        return [(0.0, 1.0)]
    low = b.begin if b.sweep > 0 else b.begin + b.sweep
    start = (low - a.begin) % TURN if a.sweep > 0 else (a.begin - low - abs(b.sweep)) % TURN
    spans = []
    for begin in (start - TURN, start):
        s0, s1 = max(0.0, begin), min(abs(a.sweep), begin + abs(b.sweep))
        if (s1 - s0) * a.radius > SCRAP:
            spans.append((s0 / abs(a.sweep), s1 / abs(a.sweep)))
    return spans


def _free(covered: Iterable[Span], length: float) -> list[Span]:
    """Return the spans of 0 to 1 that are not covered, scraps left out."""
    free: list[Span] = []
    at = 0.0
    scrap = SCRAP / length
    for low, high in sorted(covered):
        if low - at > scrap:
            free.append((at, low))
        at = max(at, high)
    if at == 0.0:
        return [(0.0, 1.0)]
    if 1.0 - at > scrap:
        free.append((at, 1.0))
    return free


def _chained(pieces: list[Segment], ring: bool) -> Iterator[Path]:
    """Join pieces that follow each other."""
    runs: list[list[Segment]] = []
    for piece in pieces:
        if runs and runs[-1][-1].end.distance(piece.start) < 1e-7:
            runs[-1].append(piece)
        else:
            runs.append([piece])
    if ring and len(runs) > 1 and runs[-1][-1].end.distance(runs[0][0].start) < 1e-7:
        runs[0] = runs.pop() + runs[0]
    for run in runs:
        yield Path(tuple(run))
