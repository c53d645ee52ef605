"""Outlines from elsewhere that nearly meet are made to meet, and what moved is told; never done in silence.

Drawn twice, one edge comes as two that differ by a fraction of a millimetre: true slivers to an exact kernel.
Welding takes the first outline as it is and draws those after it to it: arcs on nearly the same circle take
its centre and radius, corners near one of its corners or edges move there, and edges that pass close beside one of
its corners are drawn through it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..errors import GeometryError, refuse
from .construct import arc_by_radius, arc_through
from .path import Loop, Region
from .point import Point
from .segment import Arc, Line, Segment
from .station import nearest_share
from .tolerance import NODE, WELD


@dataclass(frozen=True, slots=True)
class Move:
    """A corner that welding moved: of which outline, from where to where."""

    name: str
    before: Point
    after: Point

    @property
    def distance(self) -> float:
        """How far it moved, metres."""
        return self.before.distance(self.after)


@dataclass(frozen=True, slots=True)
class Welded:
    """The regions by name, and every move of a corner, in the order in which they were made."""

    regions: Mapping[str, tuple[Region, ...]]
    moves: tuple[Move, ...]


class _Welder:
    """Holds the corners and edges that are settled."""

    def __init__(self, within: float) -> None:
        self.within = within
        self.corners: list[Point] = []
        self.edges: list[Segment] = []
        self.moves: list[Move] = []

    def corner(self, name: str, point: Point, circles: Sequence[tuple[Point, float]]) -> Point:
        """Return where a corner goes: to the nearest settled corner, or else on to the nearest settled edge."""
        near = min(self.corners, key=point.distance, default=None)
        at = near if near is not None and near.distance(point) <= self.within else self._on_edge(point)
        if at is None and circles:
            (centre, radius), out = circles[0], point - circles[0][0]
            off = abs(out.length - radius)
            at = centre + out.unit() * radius if off > NODE / 10 else None
        if at is None or at == point:
            return point
        if point.distance(at) > NODE:
            self.moves.append(Move(name, point, at))
        return at

    def _on_edge(self, point: Point) -> Point | None:
        best: Point | None = None
        for edge in self.edges:
            box = edge.box.grown(self.within)
            if not (box.x0 <= point.x <= box.x1 and box.y0 <= point.y <= box.y1):
                continue
            foot = edge.point(nearest_share(edge, point))
            if foot.distance(point) <= (best.distance(point) if best else self.within):
                best = foot
        return best

    def _cut(self, segment: Segment) -> list[Segment]:
        """Return a segment cut where it passes beside a settled corner, so that it can be drawn there."""
        box = segment.box.grown(self.within)
        shares: list[float] = []
        for at in self.corners:
            if box.x0 <= at.x <= box.x1 and box.y0 <= at.y <= box.y1:
                share = nearest_share(segment, at)
                foot = segment.point(share)
                off_ends = min(foot.distance(segment.start), foot.distance(segment.end))
                if NODE < foot.distance(at) <= self.within < off_ends:
                    shares.append(share)
        cuts = [0.0]
        for share in sorted(shares):
            if (share - cuts[-1]) * segment.length > self.within:
                cuts.append(share)
        if len(cuts) == 1:
            return [segment]
        parts: list[Segment] = [segment.part(a, b) for a, b in pairwise([*cuts, 1.0])]
        return _rejoined(parts, closed=False)

    def circles(self, arc: Arc) -> list[tuple[Point, float]]:
        """Return the settled circles that an arc is nearly on, in the order in which they were settled."""
        found: dict[tuple[float, float, float], tuple[Point, float]] = {}
        for edge in self.edges:
            if isinstance(edge, Arc) and \
                    edge.centre.distance(arc.centre) + abs(edge.radius - arc.radius) <= self.within:
                found.setdefault((edge.centre.x, edge.centre.y, edge.radius), (edge.centre, edge.radius))
        return list(found.values())

    def circle(self, arc: Arc) -> tuple[Point, float]:
        """Return the first settled circle that an arc is nearly on, or its own."""
        return next(iter(self.circles(arc)), (arc.centre, arc.radius))

    def _redrawn(self, segment: Segment, start: Point, end: Point) -> Segment:
        """Return a segment between moved ends: on a settled circle if one has both, else of its radius or middle."""
        if isinstance(segment, Line):
            return segment if (start, end) == (segment.start, segment.end) else Line(start, end)
        known = self.circles(segment)
        left = segment.sweep > 0
        for centre, radius in [*known, (segment.centre, segment.radius)]:
            if max(abs(p.distance(centre) - radius) for p in (start, end)) <= NODE:
                if (start, end, centre, radius) == (segment.start, segment.end, segment.centre, segment.radius):
                    return segment
                return Arc.between(centre, radius, start, end, left)
        radius, middle = known[0][1] if known else segment.radius, segment.point(0.5)
        if start.distance(end) < 2 * radius:
            arc = arc_by_radius(start, end, radius, left, abs(segment.sweep) > math.pi)
            if arc.point(0.5).distance(middle) <= self.within / 2:
                return arc
        # Near half a turn a radius tells little of where an arc runs: its middle does.
        first, last = start - segment.start, end - segment.end
        return arc_through(start, middle + (first + last) * 0.5, end)

    def loop(self, name: str, loop: Loop) -> Loop:
        """Return a loop drawn to what is settled; it is not settled itself yet."""
        circles = [self.circle(s) if isinstance(s, Arc) else None for s in loop.segments]
        if loop.is_circle and circles[0] is not None:
            centre, radius = circles[0]
            arc = loop.segments[0]
            return loop if isinstance(arc, Arc) and (centre, radius) == (arc.centre, arc.radius) else \
                Loop.circle(centre, radius)
        given = [part for segment in loop.segments for part in self._cut(segment)]
        circles = [self.circle(s) if isinstance(s, Arc) else None for s in given]
        corners: list[Point] = []
        for k, segment in enumerate(given):
            beside = [c for c, s in ((circles[k - 1], given[k - 1]), (circles[k], segment))
                      if c is not None and isinstance(s, Arc) and c != (s.centre, s.radius)]
            corners.append(self.corner(name, segment.start, beside))
        made: list[Segment] = []
        for k, segment in enumerate(given):
            start, end = corners[k], corners[(k + 1) % len(corners)]
            if start.distance(end) > NODE:
                made.append(self._redrawn(segment, start, end))
        if not made:
            raise refuse(GeometryError, f"an outline of {name} that is smaller than the welding distance",
                         "weld within less", "too-small")
        same = all(a is b for a, b in zip(made, loop.segments, strict=False)) and len(made) == len(loop.segments)
        return loop if same else Loop.of(_rejoined(made))


def _rejoined(segments: list[Segment], closed: bool = True) -> list[Segment]:
    """Close the gaps that dropped specks leave."""
    joined: list[Segment] = []
    for k, segment in enumerate(segments):
        start = segments[k - 1].end
        if segment.start == start or (k == 0 and not closed):
            joined.append(segment)
        elif isinstance(segment, Line):
            joined.append(Line(start, segment.end))
        else:
            joined.append(Arc(segment.centre, segment.radius, segment.begin, segment.sweep, start, segment.end))
    return joined


def weld(named: Mapping[str, Sequence[Region]], within: float = WELD) -> Welded:
    """Return regions by name with edges nearer than `within` metres (0.5 mm) made one, and what moved.

    The first name keeps its outlines; those after it are drawn to it. GeometryError for an outline that vanishes.
    """
    welder = _Welder(within)
    done: dict[str, tuple[Region, ...]] = {}
    for name, regions in named.items():
        found = tuple(Region(welder.loop(name, region.outer), tuple(welder.loop(name, hole) for hole in region.holes))
                      for region in regions)
        done[name] = found
        for region in found:
            for ring in (region.outer, *region.holes):
                welder.edges += ring.segments
                if not ring.is_circle:      # which begins anywhere
                    welder.corners += ring.vertices()
    return Welded(done, tuple(welder.moves))
