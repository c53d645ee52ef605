"""Textures of scattered marks: leaves, gravel, concrete, stones, soil. Whole or absent, the same on every machine.

Takes: a Field in mm. Gives: strokes and dots. Sizes are millimetres on paper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..geometry.kernel.construct import oval
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point, Vec
from ..geometry.kernel.segment import Arc, Line
from .field import Field, Ink, Outline, Spot, scatter
from .sheet import Dot


def leaves(field: Field, per: float) -> Ink:
    """Return leaf crescents: arcs of radius 0.85 over 124 degrees, turned every way, one for each `per` mm2."""
    marks = [crescent(s.at, math.radians(3600 * s.pick % 360), 0.85, 124) for s in scatter(field.box, per)]
    return Ink(strokes=_kept(field, marks))


def gravel(field: Field, per: float) -> Ink:
    """Return loose stones: ovals 1.04 × 0.68 among dots of 0.27."""
    spots = scatter(field.box, per)
    ovals = [oval(s.at, 1.04, 0.68, math.radians(7200 * s.pick % 180)) for s in spots if s.pick < 0.24]
    return Ink(_kept(field, ovals), _dots(field, [s.at for s in spots if s.pick >= 0.24], 0.135))


def concrete(field: Field) -> Ink:
    """Return open triangles of side 1.25 among dots of 0.3."""
    spots = scatter(field.box, 3.4, 0.5)
    stones = [_triangle(s.at, 1.25, math.radians(7200 * s.pick % 120)) for s in spots if s.pick < 0.33]
    return Ink(_kept(field, stones), _dots(field, [s.at for s in spots if s.pick >= 0.33], 0.15))


def sand(field: Field) -> Ink:
    """Return dots of 0.24 in a triangular net of 0.95."""
    pitch, box = 0.95, field.box
    rise = pitch * math.sqrt(3) / 2
    spots = [Point((i + (j % 2) / 2) * pitch, j * rise)
             for j in range(math.floor(box.y0 / rise), math.ceil(box.y1 / rise) + 1)
             for i in range(math.floor(box.x0 / pitch) - 1, math.ceil(box.x1 / pitch) + 1)]
    return Ink(dots=_dots(field, spots, 0.12))


def topsoil(field: Field) -> Ink:
    """Return dots of 0.26 among strokes of 0.84 within 30 degrees of level."""
    spots = scatter(field.box, 2.3)
    dashes = [_dash(s, 0.84, math.radians(120 * s.pick - 90)) for s in spots if s.pick >= 0.5]
    return Ink(_kept(field, dashes), _dots(field, [s.at for s in spots if s.pick < 0.5], 0.13))


def mulch(field: Field) -> Ink:
    """Return strokes of 1.2 in every direction."""
    return Ink(_kept(field, [_dash(s, 1.2, math.radians(3600 * s.pick % 180)) for s in scatter(field.box, 2.6)]))


def stones(field: Field, per: float = 6.5) -> Ink:
    """Return packed stones: the cells of a scatter, 0.47 apart, corners rounded by 0.25, chips left out."""
    import shapely
    box = field.box.grown(6)
    points = shapely.MultiPoint([(s.at.x, s.at.y) for s in scatter(box, per, 0.95)])
    cells = shapely.get_parts(shapely.voronoi_polygons(points))
    apart, corner = 0.47 / 2, 0.25
    shrunk = shapely.buffer(shapely.intersection(cells, field.free), -(apart + corner))
    found = shapely.get_parts(shapely.buffer(shrunk, corner, quad_segs=2))
    rings = sorted([(float(x), float(y)) for x, y in p.exterior.coords][:-1]
                   for p in found if not p.is_empty and p.area >= 0.25)
    return Ink(tuple(Loop.polygon(Point(x, y) for x, y in ring) for ring in rings))


# ---------------------------------------------------------------- single marks

def crescent(at: Point, turn: float, radius: float, degrees: float) -> Path:
    """Return an arc of so many degrees, its middle turned to `turn` (radians) and the mark centred on `at`."""
    half = math.radians(degrees) / 2
    lift = radius * (1 + math.cos(half)) / 2        # from the arc's centre to the middle of the mark
    return Path((Arc.swung(at + Vec.polar(turn, -lift), radius, turn - half, 2 * half),))


def _triangle(at: Point, side: float, turn: float) -> Loop:
    r = side / math.sqrt(3)
    return Loop.polygon(at + Vec.polar(turn + k * 2 * math.pi / 3, r) for k in range(3))


def _dash(spot: Spot, length: float, turn: float) -> Path:
    half = Vec.polar(turn, length / 2)
    return Path((Line(spot.at + -half, spot.at + half),))


def outline(mark: Path | Loop) -> Outline:
    """Return points of a small mark that stand for it in a test: ends and the middle of every arc."""
    points: Outline = []
    for segment in mark.segments:
        points.append((segment.start.x, segment.start.y))
        if isinstance(segment, Arc):
            middle = segment.point(0.5)
            points.append((middle.x, middle.y))
    last = mark.segments[-1].end
    return [*points, (last.x, last.y)]


def _kept(field: Field, marks: Sequence[Path | Loop]) -> tuple[Path | Loop, ...]:
    return tuple(m for m, good in zip(marks, field.holds([outline(m) for m in marks]), strict=True) if good)


def _dots(field: Field, spots: Sequence[Point], radius: float) -> tuple[Dot, ...]:
    good = field.holds_discs(spots, radius)
    return tuple(Dot(at=p, radius=radius) for p, g in zip(spots, good, strict=True) if g)


__all__ = ["concrete", "crescent", "gravel", "leaves", "mulch", "outline", "sand", "stones", "topsoil"]
