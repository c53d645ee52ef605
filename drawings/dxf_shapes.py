"""DXF entities of single shapes: polylines with true bulges, circles, ellipses, hatch edges, lettering.

Takes: a layout or block of the DXF library and a shape. Gives: entities in it. Handed objects only: the
library itself is known to drawings/dxf.py. Coordinates are rounded here, so that bytes do not hang on the
last bit of a sine.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from ..geometry.kernel.path import Ellipse, Loop, Path, Region
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc, Segment
from .style import PatternLine

DECIMALS = 9
"""Of coordinates. Coarser ones move the radius of a flat arc, which readers find from its ends and its bulge."""

BULGE_DECIMALS = 12

QUARTER = math.pi / 2 + 1e-9
"""Arcs are split so that no piece turns further, for some readers misread a bulge above 1."""

Vertex: TypeAlias = tuple[float, float, float]
Attributes: TypeAlias = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Plotter:
    """Where entities go: a layout or block, the factor from the shape's unit to the file's, the DXF version."""

    space: Any
    factor: float
    old: bool                       # R12: no light polylines, ellipses or hatches

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
            return self.space.add_circle(self.at(arc.centre), self.size(arc.radius), dxfattribs=dict(attributes))
        if loop.ellipse is not None and not self.old:
            major, ratio = self._axes(loop.ellipse)
            return self.space.add_ellipse(self.at(loop.ellipse.centre), major, ratio, dxfattribs=dict(attributes))
        return self._polyline(self.vertices(loop.segments, closed=True), True, attributes)

    def _axes(self, ellipse: Ellipse) -> tuple[tuple[float, float], float]:
        reach = ellipse.half_length * self.factor
        major = (round(reach * math.cos(ellipse.turn), 9), round(reach * math.sin(ellipse.turn), 9))
        return major, round(ellipse.half_width / ellipse.half_length, BULGE_DECIMALS)

    def path(self, path: Path, attributes: Attributes) -> Any:
        """Write an open path: LINE, ARC, or a polyline with bulges."""
        attribs = dict(attributes)
        if len(path.segments) > 1:
            return self._polyline(self.vertices(path.segments, closed=False), False, attribs)
        segment = path.segments[0]
        if not isinstance(segment, Arc):
            return self.space.add_line(self.at(segment.start), self.at(segment.end), dxfattribs=attribs)
        if segment.is_circle:
            return self.space.add_circle(self.at(segment.centre), self.size(segment.radius), dxfattribs=attribs)
        a, b = sorted((segment.begin, segment.begin + segment.sweep))
        return self.space.add_arc(self.at(segment.centre), self.size(segment.radius), _degrees(a), _degrees(b),
                                  dxfattribs=attribs)

    def _polyline(self, vertices: list[Vertex], closed: bool, attributes: Attributes) -> Any:
        add = self.space.add_polyline2d if self.old else self.space.add_lwpolyline
        return add(vertices, format="xyb", close=closed, dxfattribs=dict(attributes))

    def line(self, shape: Path | Loop, attributes: Attributes) -> Any:
        """Write a path or a ring."""
        return self.loop(shape, attributes) if isinstance(shape, Loop) else self.path(shape, attributes)

    def disc(self, at: Point, radius: float, attributes: Attributes) -> Any:
        """Write a filled disc as a closed polyline of two half turns as wide as its radius."""
        x, y = self.at(at)
        r = self.size(radius)
        vertices = [(round(x - r / 2, DECIMALS), y, r, r, 1.0), (round(x + r / 2, DECIMALS), y, r, r, 1.0)]
        add = self.space.add_polyline2d if self.old else self.space.add_lwpolyline
        return add(vertices, format="xyseb", close=True, dxfattribs=dict(attributes))

    # -------------------------------------------------------- areas

    def area(self, region: Region, attributes: Attributes) -> Any:
        """Write an empty HATCH with the region's true edges; the caller fills it."""
        hatch = self.space.add_hatch(color=256, dxfattribs=dict(attributes))
        for loop, flags in ((region.outer, 1), *((hole, 16) for hole in region.holes)):
            if loop.ellipse is not None:
                major, ratio = self._axes(loop.ellipse)
                edge = hatch.paths.add_edge_path(flags=flags)
                edge.add_ellipse(self.at(loop.ellipse.centre), major, ratio, 0, 360, ccw=True)
            else:
                hatch.paths.add_polyline_path(self.vertices(loop.segments, closed=True), is_closed=True, flags=flags)
        return hatch

    # -------------------------------------------------------- lettering

    def lettering(self, words: str, at: Point, capitals: float, turn: float, anchor: str,
                  attributes: Attributes) -> Any:
        """Write a line of TEXT; its height is that of its capitals."""
        attribs = {**attributes, "height": self.size(capitals), "insert": self.at(at),
                   "rotation": _degrees(turn)}
        if anchor != "start":
            attribs |= {"halign": 1 if anchor == "middle" else 2, "align_point": self.at(at)}
        return self.space.add_text(words, dxfattribs=attribs)


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
    """Yield the rings or the path of a shape."""
    if isinstance(shape, Region):
        yield from (shape.outer, *shape.holes)
    else:
        yield shape


__all__ = ["DECIMALS", "Attributes", "Plotter", "lines_of", "pattern"]
