"""Textures of rows and lines: turf, water, hedge, cut brick and stone, ground, timber, obstacles.

Takes: a Field in mm. Gives: strokes. Rows lie along the edge so that the middle stays free for lettering.
Sizes are millimetres on paper, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from ..geometry.kernel.path import Path
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.segment import Arc
from .field import Field, Ink, Outline, path
from .scattered import crescent, outline

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TURF_ROWS = ((1.0, 1.3, 0.8), (2.2, 1.8, 0.8), (3.7, 2.7, 0.85), (5.7, 4.1, 0.9), (8.3, 6.4, 0.9), (11.6, 9.6, 0.9))
"""Distance from the edge, spacing, blade."""

GOLDEN = 0.618
"""Share of a step by which rows are moved against each other, so that no columns show."""


def turf(field: Field, rows: int = len(TURF_ROWS)) -> Ink:
    """Return upright blades on rows along the edge, thinning inward; the middle stays white.

    Spacing is counted as sqrt((dx/s)^2 + (dy/(s+1))^2), so that blades on upright edges do not run together.
    """
    blades = [[(x, y - blade / 2), (x, y + blade / 2)]
              for k, (away, step, blade) in enumerate(TURF_ROWS[:rows])
              for ring in _rings(field.whole.buffer(-away, join_style="mitre"))
              for x, y in _stations(ring, step, step + 1, GOLDEN * k)]
    return Ink(tuple(path(b) for b, good in zip(blades, field.holds(blades), strict=True) if good))


def _rings(shape: BaseGeometry) -> list[Outline]:
    """Return the rings of an area as points, each begun at its lowest leftmost point so that the order is settled."""
    import shapely
    rings = []
    for part in shapely.get_parts(shape):
        for ring in (part.exterior, *part.interiors) if part.geom_type == "Polygon" and not part.is_empty else ():
            points = [(float(x), float(y)) for x, y in ring.coords][:-1]
            k = points.index(min(points))
            rings.append([*points[k:], *points[:k + 1]])
    return sorted(rings)


def _stations(ring: Outline, across: float, up: float, start: float) -> Iterator[tuple[float, float]]:
    """Yield points along a ring, a whole number of steps of about 1 in the measure (dx/across, dy/up)."""
    spans = [math.hypot((b[0] - a[0]) / across, (b[1] - a[1]) / up) for a, b in pairwise(ring)]
    total = math.fsum(spans)
    count = round(total)
    if count < 1:
        return
    k, walked = 0, 0.0
    for n in range(count):
        goal = (n + start % 1) * total / count
        while k < len(spans) - 1 and walked + spans[k] < goal:
            walked += spans[k]
            k += 1
        share = (goal - walked) / spans[k] if spans[k] > 0 else 0.0
        (ax, ay), (bx, by) = ring[k], ring[k + 1]
        yield ax + (bx - ax) * share, ay + (by - ay) * share


def water(field: Field) -> Ink:
    """Return shore lines, widening inward, corners rounded, each from the second on with a gap to the upper left."""
    import shapely
    box = field.box
    middle = field.whole.centroid
    away, gap, k, lines = 0.8, 1.0, 0, []
    while True:
        soft = 1.2 + 1.1 * k
        ring = field.whole.buffer(-(away + soft)).buffer(soft, quad_segs=24)
        if ring.is_empty:
            break
        line: BaseGeometry = ring.boundary
        if k:
            half = math.radians(12 + 9 * k)
            far = math.hypot(box.width, box.height) + 1
            turn = math.radians(135)
            line = line.difference(shapely.Polygon([(middle.x, middle.y), *(
                (middle.x + far * math.cos(turn + s * half), middle.y + far * math.sin(turn + s * half))
                for s in (1.0, 0.33, -0.33, -1.0))]))
        lines += [[(float(x), float(y)) for x, y in part.coords] for part in _joined(line)]
        away, gap, k = away + gap, min(gap * 1.38, 9.0) if k else 1.4, k + 1
    return Ink(tuple(path(piece) for piece in field.cut(lines, least=1.1)))


def _joined(line: BaseGeometry) -> list[BaseGeometry]:
    import shapely
    merged = shapely.line_merge(line) if line.geom_type != "LineString" else line
    return list(shapely.get_parts(merged))


def lines(field: Field, angle: float, apart: float, dashes: tuple[float, float] = (0.0, 0.0), moved: float = 0.0,
          shape: BaseGeometry | None = None) -> Ink:
    """Return straight lines `apart` mm at `angle` degrees, full or (on, off), each moved along by a share of these."""
    target = field if shape is None else Field(shape, shape.intersection(field.free))
    return Ink(tuple(path(p) for p in target.cut(_family(field.box, angle, apart, dashes, moved))))


def _family(box: Box, angle: float, apart: float, dashes: tuple[float, float], moved: float) -> Iterator[Outline]:
    turn = math.radians(angle)
    c, s = math.cos(turn), math.sin(turn)
    corners = [(x * c + y * s, y * c - x * s) for x in (box.x0, box.x1) for y in (box.y0, box.y1)]
    u0, u1 = min(u for u, _ in corners), max(u for u, _ in corners)
    v0, v1 = min(v for _, v in corners), max(v for _, v in corners)
    period = sum(dashes)
    for k in range(math.floor(v0 / apart), math.ceil(v1 / apart) + 1):
        v = k * apart
        for a, b in ([(u0 - 1, u1 + 1)] if not period else _dashed(u0, u1, dashes[0], period, moved * k)):
            yield [(a * c - v * s, a * s + v * c), (b * c - v * s, b * s + v * c)]


def _dashed(u0: float, u1: float, on: float, period: float, moved: float) -> Iterator[tuple[float, float]]:
    start = math.floor(u0 / period) - 1
    for n in range(start, math.ceil(u1 / period) + 1):
        a = (n + moved % 1) * period
        yield a, a + on


def obstacle(field: Field) -> Ink:
    """Return 45 degree lines in a band 4 wide inside the outline: what a tape cannot pass."""
    return lines(field, 45, 1.5, shape=field.whole.difference(field.whole.buffer(-4.0, join_style="mitre")))


def ground(field: Field, deep: float = 9.0) -> Ink:
    """Return combs of three strokes, leaning right and left in turn, in a band `deep` mm along the upper side."""
    box = field.box
    strokes: list[list[Outline]] = []
    reach = 2.4 * math.cos(math.pi / 4)
    for j in range(math.floor((box.y1 - deep) / 4.2) - 1, math.ceil(box.y1 / 4.2) + 1):
        lean = 1 if j % 2 == 0 else -1
        for i in range(math.floor(box.x0 / 8.4) - 1, math.ceil(box.x1 / 8.4) + 1):
            x, y = i * 8.4 + (j % 2) * 4.2, j * 4.2
            if y >= box.y1 - deep:
                strokes.append([[(x + 1.2 * n, y), (x + 1.2 * n + lean * reach, y + reach)] for n in range(3)])
    flat = [s for comb in strokes for s in comb]
    good = field.holds(flat)
    kept = [flat[3 * k + n] for k in range(len(strokes)) if all(good[3 * k:3 * k + 3]) for n in range(3)]
    return Ink(tuple(path(s) for s in kept))


def timber_along(field: Field, turn: float = 0.0) -> Ink:
    """Return waves along the grain (`turn` degrees), 1.3 apart, 9 long and 0.22 high."""
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    box = field.box
    reach = math.hypot(box.width, box.height) / 2 + 9
    middle = box.centre
    waves = []
    for k in range(-math.ceil(reach / 1.3), math.ceil(reach / 1.3) + 1):
        wave = [(u, k * 1.3 + 0.11 * math.sin(2 * math.pi * (u / 9 + 0.382 * k)))
                for u in (n * 0.75 for n in range(-math.ceil(reach / 0.75), math.ceil(reach / 0.75) + 1))]
        waves.append([(middle.x + u * c - v * s, middle.y + u * s + v * c) for u, v in wave])
    return Ink(tuple(path(p) for p in field.cut(waves)))


def timber_across(field: Field) -> Ink:
    """Return growth rings, 1.2 apart, about a point near the lower left corner."""
    box = field.box
    x, y = box.x0 + 0.12 * box.width, box.y0 - 0.15 * box.height
    far = math.hypot(box.x1 - x, box.y1 - y)
    rings = []
    for k in range(1, math.ceil(far / 1.2) + 1):
        r, steps = 1.2 * k, max(16, math.ceil(9 * math.sqrt(1.2 * k)))
        rings.append([(x + r * math.cos(2 * math.pi * n / steps), y + r * math.sin(2 * math.pi * n / steps))
                      for n in range(steps + 1)])
    return Ink(tuple(path(p) for p in field.cut(rings)))


def hedge(field: Field, middle: Path, width: float) -> Ink:
    """Return rows of crescents along a hedge's middle line, every second row turned about and moved half a pitch.

    `width` is that of the hedge, mm; a hedge under 2.5 has one row.
    """
    from ..geometry.kernel.station import heading_at, point_at
    rows = max(1, math.floor((width - 0.8) / 1.7))
    count = max(1, round(middle.length / 2.3))
    marks = []
    for row in range(rows):
        off = (row - (rows - 1) / 2) * 1.7
        for k in range(count):
            station = (k + (0.5 if row % 2 else 0.25)) * middle.length / count
            turn = heading_at(middle, station) + math.pi / 2
            at = point_at(middle, station)
            spot = Point(at.x + off * math.cos(turn), at.y + off * math.sin(turn))
            marks.append(crescent(spot, turn + (math.pi if row % 2 else 0.0), 0.8, 128))
    good = field.holds([outline(m) for m in marks])
    return Ink(tuple(m for m, g in zip(marks, good, strict=True) if g))


def rings_of(centre: Point, radius: float, pitch: float, field: Field) -> Ink:
    """Return units laid in rings about a centre: rings `pitch` apart and whole numbers of joints square to them."""
    strokes: list[Path] = []
    joints: list[Outline] = []
    for k in range(1, math.ceil(radius / pitch) + 1):
        r = k * pitch
        if r < radius - pitch / 2:
            strokes.append(Path((Arc.swung(centre, r, 0.0, 2 * math.pi),)))
        count = max(1, math.floor(2 * math.pi * (r - pitch / 2) / pitch))
        inner, outer = (r - pitch, min(r, radius))
        for n in range(count if k > 1 else 0):
            turn = 2 * math.pi * (n + (k % 2) / 2) / count
            joints.append([(centre.x + q * math.cos(turn), centre.y + q * math.sin(turn)) for q in (inner, outer)])
    whole = [s for s, good in zip(strokes, field.holds([_round(s) for s in strokes]), strict=True) if good]
    cut = [_round(s) for s in strokes if s not in whole]
    return Ink((*whole, *(path(p) for p in field.cut([*cut, *joints]))))


def _round(circle: Path, steps: int = 96) -> Outline:
    arc = circle.segments[0]
    return [(p.x, p.y) for p in (arc.point(n / steps) for n in range(steps + 1))]


def joined(inks: Sequence[Ink]) -> Ink:
    """Return several lots of ink as one."""
    return Ink(tuple(s for i in inks for s in i.strokes), tuple(d for i in inks for d in i.dots))


__all__ = ["TURF_ROWS", "ground", "hedge", "joined", "lines", "obstacle", "rings_of", "timber_across", "timber_along",
           "turf", "water"]
