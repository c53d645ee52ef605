"""DXF entities of single shapes: polylines with true bulges, circles, ellipses, hatch edges, lettering.

Takes: a layout or block of the DXF library and a shape. Gives: entities in it. Handed objects only: the
library itself is known to drawings/dxf.py. Coordinates are rounded here, so that bytes do not hang on the
last bit of a sine.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from ..geometry.kernel.path import Ellipse, Loop, Path, Region, signed_area
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc, Segment
from ..geometry.kernel.tolerance import JOINT
from .dxf_entities import Attributes, ByLibrary, ByText, Maker, Vertex
from .style import PatternLine

DECIMALS = 9
"""Of coordinates. Coarser ones move the radius of a flat arc, which readers find from its ends and its bulge."""

BULGE_DECIMALS = 12

QUARTER = math.pi / 2 + 1e-9
"""Arcs are split so that no piece turns further, for some readers misread a bulge above 1."""


@dataclass(frozen=True, slots=True)
class Plotter:
    """Where entities go: a layout or block, the factor from the shape's unit to the file's, and what makes them."""

    space: Any
    factor: float
    old: bool                       # R12: no light polylines, ellipses or hatches
    make: Maker

    @staticmethod
    def on(space: Any, factor: float, old: bool = False, text: bool = True) -> Plotter:
        """Return the plotter of a layout or block; `text` writes plain entities as text at once where it can."""
        return Plotter(space, factor, old, ByText(space) if text and not old else ByLibrary(space, old))

    def at(self, p: Point) -> tuple[float, float]:
        """Return a point in the file's unit, rounded."""
        return round(p.x * self.factor, DECIMALS) + 0.0, round(p.y * self.factor, DECIMALS) + 0.0

    def size(self, length: float) -> float:
        """Return a length in the file's unit, rounded."""
        return round(length * self.factor, DECIMALS)

    # -------------------------------------------------------- lines

    def vertices(self, segments: Sequence[Segment], closed: bool) -> list[Vertex]:
        """Return x, y, bulge of each vertex; arcs in pieces of at most a quarter turn."""
        out: list[Vertex] = []
        for segment in segments:
            if not isinstance(segment, Arc):
                out.append((*self.at(segment.start), 0.0))
                continue
            count = max(1, math.ceil(abs(segment.sweep) / QUARTER))
            bulge = round(math.tan(segment.sweep / count / 4), BULGE_DECIMALS)
            out += [(*self.at(segment.point(k / count)), bulge) for k in range(count)]
        return out if closed else [*out, (*self.at(segments[-1].end), 0.0)]

    def loop(self, loop: Loop, attributes: Attributes) -> Any:
        """Write a ring: CIRCLE, ELLIPSE while it is one, else a closed polyline."""
        if loop.is_circle:
            arc = loop.segments[0]
            assert isinstance(arc, Arc)
            return self.make.circle(self.at(arc.centre), self.size(arc.radius), attributes)
        if loop.ellipse is not None and not self.old:
            major, ratio = self._axes(loop.ellipse)
            return self.space.add_ellipse(self.at(loop.ellipse.centre), major, ratio, dxfattribs=dict(attributes))
        return self.make.polyline(self.vertices(loop.segments, closed=True), True, attributes)

    def _axes(self, ellipse: Ellipse) -> tuple[tuple[float, float], float]:
        reach = ellipse.half_length * self.factor
        major = (round(reach * math.cos(ellipse.turn), 9), round(reach * math.sin(ellipse.turn), 9))
        return major, round(ellipse.half_width / ellipse.half_length, BULGE_DECIMALS)

    def path(self, path: Path, attributes: Attributes) -> Any:
        """Write an open path: LINE, ARC, or a polyline with bulges."""
        if len(path.segments) > 1:
            return self.make.polyline(self.vertices(path.segments, closed=False), False, attributes)
        segment = path.segments[0]
        if not isinstance(segment, Arc):
            return self.make.line(self.at(segment.start), self.at(segment.end), attributes)
        if segment.is_circle:
            return self.make.circle(self.at(segment.centre), self.size(segment.radius), attributes)
        a, b = sorted((segment.begin, segment.begin + segment.sweep))
        return self.make.arc(self.at(segment.centre), self.size(segment.radius), _degrees(a), _degrees(b), attributes)

    def line(self, shape: Path | Loop, attributes: Attributes) -> Any:
        """Write a path or a ring; a path that comes back to its start is a ring."""
        shape = whole(shape)
        return self.loop(shape, attributes) if isinstance(shape, Loop) else self.path(shape, attributes)

    def disc(self, at: Point, radius: float, attributes: Attributes) -> Any:
        """Write a filled disc as a closed polyline of two half turns as wide as its radius."""
        x, y = self.at(at)
        r = self.size(radius)
        vertices = [(round(x - r / 2, DECIMALS), y, 1.0), (round(x + r / 2, DECIMALS), y, 1.0)]
        return self.make.polyline(vertices, True, attributes, width=r)

    def point(self, at: Point, attributes: Attributes) -> Any:
        """Write a POINT."""
        return self.make.point(self.at(at), attributes)

    # -------------------------------------------------------- areas

    def area(self, region: Region, attributes: Attributes) -> Any:
        """Write an empty HATCH with the region's true edges; the caller fills it."""
        hatch = self.space.add_hatch(color=256, dxfattribs=dict(attributes))
        for loop, flags in _flagged(region):
            if loop.ellipse is not None:
                major, ratio = self._axes(loop.ellipse)
                edge = hatch.paths.add_edge_path(flags=flags)
                edge.add_ellipse(self.at(loop.ellipse.centre), major, ratio, 0, 360, ccw=True)
            else:
                hatch.paths.add_polyline_path(self.vertices(loop.segments, closed=True), is_closed=True, flags=flags)
        return hatch

    def solid(self, region: Region, attributes: Attributes) -> Any:
        """Write a HATCH filled with one colour: that of its layer unless the attributes name another."""
        rings = list(_flagged(region))
        if any(loop.ellipse is not None for loop, _ in rings):
            made = self.area(region, attributes)
            made.set_solid_fill(color=attributes.get("color", 256))
            return made
        corners = [(self.vertices(loop.segments, closed=True), flags) for loop, flags in rings]
        return self.make.solid(corners, attributes)

    # -------------------------------------------------------- lettering

    def lettering(self, words: str, at: Point, capitals: float, turn: float, anchor: str, style: str,
                  attributes: Attributes) -> Any:
        """Write a line of TEXT; its height is that of its capitals."""
        align = {"start": 0, "middle": 1, "end": 2}[anchor]
        return self.make.text(words, self.at(at), self.size(capitals), _degrees(turn), align, style, attributes)


def _flagged(region: Region) -> Iterator[tuple[Loop, int]]:
    """Yield the rings of a region with the flags that a HATCH gives them."""
    yield region.outer, 1
    for hole in region.holes:
        yield hole, 16


def _degrees(angle: float) -> float:
    return round(math.degrees(angle) % 360, 9) % 360


def pattern(lines: Sequence[PatternLine], factor: float) -> list[list[Any]]:
    """Return a hatch pattern in the file's unit: angle, base, offset turned into the plane, dashes."""
    out: list[list[Any]] = []
    for line in lines:
        c, s = math.cos(math.radians(line.angle)), math.sin(math.radians(line.angle))
        move = (line.shift * c - line.offset * s, line.shift * s + line.offset * c)
        out.append([line.angle, _scaled(line.base, factor), _scaled(move, factor),
                    [round(d * factor, 9) for d in line.dashes]])
    return out


def _scaled(pair: tuple[float, float], factor: float) -> tuple[float, float]:
    return round(pair[0] * factor, 9), round(pair[1] * factor, 9)


def lines_of(shape: Region | Loop | Path) -> Iterator[Path | Loop]:
    """Yield the rings or the path of a shape; a path that comes back to its start is a ring."""
    if isinstance(shape, Region):
        yield from (shape.outer, *shape.holes)
    else:
        yield whole(shape)


def whole(shape: Path | Loop) -> Path | Loop:
    """Return a path that ends where it begins, round an area, as the ring that it is; others as they are."""
    if isinstance(shape, Loop) or len(shape.segments) == 1 or not shape.start.distance(shape.end) <= JOINT:
        return shape
    return Loop.of(shape.segments) if abs(signed_area(shape.segments)) > JOINT else shape


__all__ = ["DECIMALS", "Plotter", "lines_of", "pattern"]
