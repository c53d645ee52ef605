"""Short ways to put marks on paper: a nib draws strokes, and a few shapes are filled.

All lengths are millimetres on paper, angles radians anticlockwise from x.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from ..geometry.kernel.segment import Arc, Line
from .sheet import Dimension, Fill, Group, Hatch, Mark, PegSign, Stroke, Text

LEAST = 1e-6
"""Strokes shorter than this (mm) are not drawn."""


@dataclass(frozen=True, slots=True)
class Nib:
    """A pen held over one layer: everything it draws has the same pen, dash and classes."""

    layer: str
    pen: str
    dash: str = ""
    classes: tuple[str, ...] = ()
    round_ends: bool = False

    def path(self, path: Path | Loop) -> Stroke:
        """Draw a path or a ring."""
        return Stroke(
            layer=self.layer, path=path, pen=self.pen, dash=self.dash, classes=self.classes, round_ends=self.round_ends
        )

    def line(self, *points: Point) -> Stroke:
        """Draw straight from point to point (two or more)."""
        return self.path(Path.through(points))

    def across(self, x0: float, x1: float, y: float) -> Stroke:
        """Draw a level line."""
        return self.line(Point(x0, y), Point(x1, y))

    def upright(self, x: float, y0: float, y1: float) -> Stroke:
        """Draw an upright line."""
        return self.line(Point(x, y0), Point(x, y1))

    def outline(self, *points: Point) -> Stroke:
        """Draw a closed straight-sided outline (three points or more)."""
        return self.path(Loop.polygon(points))

    def box(self, box: Box) -> Stroke:
        """Draw an upright rectangle."""
        return self.path(rectangle(box))

    def ring(self, centre: Point, radius: float) -> Stroke:
        """Draw a circle."""
        return self.path(Loop.circle(centre, radius))

    def arc(self, centre: Point, radius: float, begin: float, sweep: float) -> Stroke:
        """Draw an arc from angle `begin` over `sweep`."""
        return self.path(Path((Arc.swung(centre, radius, begin, sweep),)))

    def cross(self, at: Point, reach: float) -> tuple[Stroke, Stroke]:
        """Draw an upright cross of half length `reach`."""
        return self.across(at.x - reach, at.x + reach, at.y), self.upright(at.x, at.y - reach, at.y + reach)

    def saltire(self, at: Point, reach: float) -> tuple[Stroke, Stroke]:
        """Draw a diagonal cross that reaches `reach` each way along x and y."""
        a, b = Vec(reach, reach), Vec(reach, -reach)
        return self.line(at + -a, at + a), self.line(at + -b, at + b)


def rectangle(box: Box) -> Loop:
    """Return an upright rectangle as a loop."""
    return Loop.polygon((Point(box.x0, box.y0), Point(box.x1, box.y0), Point(box.x1, box.y1), Point(box.x0, box.y1)))


def filled(layer: str, loop: Loop, tone: str = "black", classes: tuple[str, ...] = ()) -> Fill:
    """Fill a loop."""
    return Fill(layer=layer, region=Region(loop), tone=tone, classes=classes)


def blot(layer: str, *points: Point, tone: str = "black") -> Fill:
    """Fill a straight-sided shape."""
    return filled(layer, Loop.polygon(points), tone)


def block(layer: str, box: Box, tone: str = "black") -> Fill:
    """Fill an upright rectangle."""
    return filled(layer, rectangle(box), tone)


def disc(layer: str, centre: Point, radius: float, tone: str = "black") -> Fill:
    """Fill a circle."""
    return filled(layer, Loop.circle(centre, radius), tone)


def half_disc(centre: Point, radius: float, heading: float) -> Loop:
    """Return the half circle on the side that `heading` (radians) points to."""
    arc = Arc.swung(centre, radius, heading - math.pi / 2, math.pi)
    return Loop.of((arc, Line(arc.end, arc.start)))


def arrow(layer: str, tip: Point, heading: float, length: float, spread: float) -> Fill:
    """Fill a slender arrowhead at `tip` that points to `heading`; `spread` is its whole angle (radians)."""
    back = -Vec.polar(heading, length)
    side = Vec.polar(heading + math.pi / 2, length * math.tan(spread / 2))
    return blot(layer, tip, tip + back + side, tip + back + -side)


def open_head(nib: Nib, tip: Point, heading: float, length: float, spread: float) -> Stroke:
    """Draw an open arrowhead at `tip`; `spread` is its whole angle (radians)."""
    back = heading + math.pi
    return nib.line(tip + Vec.polar(back - spread / 2, length), tip, tip + Vec.polar(back + spread / 2, length))


def shape(points: Sequence[tuple[float, float]], at: Point, turn: float = 0.0) -> tuple[Point, ...]:
    """Return points given as (right, up) of `at`, turned by `turn`."""
    c, s = math.cos(turn), math.sin(turn)
    return tuple(Point(at.x + x * c - y * s, at.y + x * s + y * c) for x, y in points)


def group(layer: str, name: str, marks: Iterable[Mark], title: str = "") -> Group:
    """Return marks as one thing; `name` holds its classes, parted by spaces."""
    return Group(layer=layer, classes=tuple(name.split()), marks=tuple(marks), title=title)


def moved_layer(marks: Iterable[Mark], layer: str) -> tuple[Mark, ...]:
    """Return marks put into another layer, with all that they hold."""
    out: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Group | Dimension | PegSign):
            out.append(replace(mark, layer=layer, marks=moved_layer(mark.marks, layer)))
        else:
            out.append(replace(mark, layer=layer))
    return tuple(out)


SPECK = 1e-6
"""Strokes of a texture shorter than this are rounding, mm."""


def moved(marks: Iterable[Mark], by: Vec) -> tuple[Mark, ...]:
    """Return marks moved on the paper by `by`; what they stand for on the ground stays."""
    return tuple(_move(mark, by) for mark in marks)


def _move(mark: Mark, by: Vec) -> Mark:
    if isinstance(mark, Stroke):
        return replace(mark, path=_moved_path(mark.path, by))
    if isinstance(mark, Fill):
        return replace(mark, region=_moved_region(mark.region, by))
    if isinstance(mark, Text):
        return replace(mark, at=mark.at + by)
    if isinstance(mark, Hatch):
        return replace(
            mark,
            strokes=tuple(_moved_path(s, by) for s in mark.strokes if s.length > SPECK),
            dots=tuple(replace(d, at=d.at + by) for d in mark.dots),
            solid=tuple(_moved_region(r, by) for r in mark.solid),
        )
    if isinstance(mark, Group):
        return replace(mark, marks=moved(mark.marks, by))
    assert isinstance(mark, Dimension | PegSign)
    return replace(mark, marks=moved(mark.marks, by))


def _moved_segments(segments: Sequence[Line | Arc], by: Vec) -> tuple[Line | Arc, ...]:
    """Return segments that follow each other, moved; those that share a point share it still.

    A line so short that its ends are one point at its new place is left out.
    """
    found: list[Line | Arc] = []
    first, last = segments[0].start, segments[0].start
    begun = at = first + by
    for segment in segments:
        start = at if segment.start is last else segment.start + by
        last = segment.end
        at = begun if last is first else last + by
        if isinstance(segment, Arc):
            found.append(Arc(segment.centre + by, segment.radius, segment.begin, segment.sweep, start, at))
        elif start != at:
            found.append(Line(start, at))
    return tuple(found)


def _moved_region(region: Region, by: Vec) -> Region:
    return Region(moved_loop(region.outer, by), tuple(moved_loop(h, by) for h in region.holes))


def moved_loop(loop: Loop, by: Vec) -> Loop:
    """Return a loop moved on the paper."""
    return Loop(_moved_segments(loop.segments, by))


def _moved_path(path: Path | Loop, by: Vec) -> Path | Loop:
    return moved_loop(path, by) if isinstance(path, Loop) else Path(_moved_segments(path.segments, by))
