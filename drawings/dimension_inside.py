"""Dimensions inside the plan: widths across a thing where it is emptiest, radii, angles.

Several places are weighed by what lies in their way; a figure never stands on a heavy line, lettering or a
sign. Asked in metres, drawn in mm by ISO 129-1.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from ..geometry.kernel.segment import Arc
from .candidates import claimed, thin_cost
from .dimension_parts import FITS, LAYER, Figure, head, oblique, readable, stroke
from .lengths import length
from .oblong import Floats, bounds
from .obstacles import ObstacleIndex
from .sheet import Dimension, Mark, Stroke, View

OFF_CENTRE_MARK = 2.2
"""A radius line starts this far off its centre mark."""

INSIDE_LONGER = 4.0
OUTSIDE = 4.5
LONGEST_STUB = 26.0
"""Where the centre lies off the paper, the radius line is drawn this far in from the arc."""

LEVEL_CLEAR = math.radians(15)
"""Radius lines keep this far from level and upright."""

SHORT_STUB, BEYOND_PLAN = 16.0, 6.0
"""Length of the shortest line of a radius whose centre is far off, and what it costs to run out beyond the plan."""

FIGURE_SPOTS = (0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78)
ANGLE_RADII = (12.0, 9.0, 16.0, 21.0)
CROSSED = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Width:
    """A width across a thing: chords (pairs of ground points, m) among which the emptiest is drawn."""

    chords: tuple[tuple[Point, Point], ...]
    element: str = ""
    check: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Radius:
    """The radius of an arc, ground metres; `turn` counts the arcs of a sheet: lines turn from one to the next."""

    arc: Arc
    element: str = ""
    turn: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Angle:
    """The angle at `vertex` from the direction of `first` anticlockwise to that of `second` (ground points, m)."""

    vertex: Point
    first: Point
    second: Point
    element: str = ""


def chords_across(path: Path, width: float, count: int = 9) -> tuple[tuple[Point, Point], ...]:
    """Return chords square to a path with half the width (m) on each side, the middle ones first."""
    total = path.length
    found = []
    for k in range(1, count + 1):
        left = total * k / (count + 1)
        for segment in path.segments:
            if left <= segment.length or segment is path.segments[-1]:
                share = min(left / segment.length, 1.0)
                side = Vec.polar(segment.heading(share) + math.pi / 2, width / 2)
                found.append((segment.point(share) + side, segment.point(share) + -side))
                break
            left -= segment.length
    middle = (count - 1) / 2
    return tuple(chord for _, chord in sorted(enumerate(found), key=lambda f: (abs(f[0] - middle), f[0])))


def chords_of(region: Region, heading: float, count: int = 9) -> tuple[tuple[Point, Point], ...]:
    """Return chords of an area on `heading` (radians), from edge to edge, the middle ones first (ground metres)."""
    from ..geometry.kernel.flatten import points_of
    along, across = Vec.polar(heading), Vec.polar(heading + math.pi / 2)
    origin = region.box.centre
    ring = [((p - origin).dot(along), (p - origin).dot(across)) for p in points_of(region.outer, 1e-3)]
    low, high = min(v for _, v in ring), max(v for _, v in ring)
    found = []
    for k in range(1, count + 1):
        v = low + (high - low) * k / (count + 1)
        cuts = sorted(a[0] + (b[0] - a[0]) * (v - a[1]) / (b[1] - a[1])
                      for a, b in zip(ring, ring[1:] + ring[:1], strict=True) if (a[1] > v) != (b[1] > v))
        if len(cuts) == 2:
            found.append((origin + along * cuts[0] + across * v, origin + along * cuts[1] + across * v))
    middle = (len(found) - 1) / 2
    return tuple(chord for _, chord in sorted(enumerate(found), key=lambda f: (abs(f[0] - middle), f[0])))


@dataclass(frozen=True, slots=True)
class _Try:
    """One way to draw a dimension: its price if nothing is in the way, figure box, lines (mm), marks, point of line."""

    price: float
    box: tuple[float, float, float, float, float, float]
    lines: tuple[tuple[Point, Point], ...]
    marks: tuple[Mark, ...]
    at: Point


def _best(tries: Sequence[_Try], index: ObstacleIndex) -> _Try | None:
    """Return the cheapest way whose figure is clear of all that is fixed."""
    if not tries:
        return None
    boxes: Floats = np.array([t.box for t in tries])
    bad = index.outside(bounds(boxes)) | index.struck(boxes) | index.on_signs(boxes) | claimed(boxes, index)
    cost = np.array([t.price for t in tries]) + 2 * thin_cost(boxes, index)
    rows = np.array([(a.x, a.y, b.x, b.y) for t in tries for a, b in t.lines])
    owner = np.array([k for k, t in enumerate(tries) for _ in t.lines])
    blocked = index.blocked_leaders(rows, [""] * len(rows)) | index.run_along(rows)
    np.add.at(cost, owner, CROSSED * index.heavy_crossings(rows))
    np.logical_or.at(bad, owner, blocked)
    cost = np.where(bad, np.inf, np.round(cost, 3))
    best = int(np.argmin(cost))
    return tries[best] if np.isfinite(cost[best]) else None


def _width_tries(a: Point, b: Point, figure: Figure, price: float) -> Iterator[_Try]:
    turn = (b - a).heading
    size = a.distance(b)
    ends: list[Mark] = [oblique(a, turn), oblique(b, turn)]
    unit = (b - a).unit()
    inner = (a + unit * 1.2, b + -(unit * 1.2)) if size > 3.0 else (a.toward(b, 0.45), a.toward(b, 0.55))
    if size >= figure.width + FITS:
        middle = a.toward(b, 0.5)
        yield _Try(price, figure.box(middle), (inner,), (stroke(a, b), *ends, figure.above(middle)), middle)
        return
    for k, (near, way) in enumerate(((b, unit), (a, -unit))):
        far = near + way * (figure.width + FITS)
        spot = near.toward(far, 0.5)
        yield _Try(price + 2.0 + 0.2 * k, figure.box(spot), (inner, (near, far)),
                   (stroke(a, b), stroke(near, far), *ends, figure.above(spot)), spot)


def width(view: View, asked: Width, index: ObstacleIndex) -> Dimension | None:
    """Return a width where its thing is emptiest, or None if its figure finds no place at any chord."""
    tries: list[tuple[_Try, tuple[Point, Point], str]] = []
    for k, (start, end) in enumerate(asked.chords):
        a, b = view.point(start), view.point(end)
        if a.distance(b) < 0.5:
            continue
        figure = Figure(length(start.distance(end), view.unit, asked.check), readable((b - a).heading))
        tries += [(t, (start, end), figure.words) for t in _width_tries(a, b, figure, 0.3 * k)]
    best = _best([t for t, _, _ in tries], index)
    if best is None:
        return None
    (start, end), words = next((chord, words) for t, chord, words in tries if t is best)
    return Dimension(form="aligned", points=(start, end), line_at=view.ground(best.at), value=start.distance(end),
                     figure=words, marks=best.marks, turn=(end - start).heading, element=asked.element)


# ---- radii

def _directions(arc: Arc, turn: int) -> list[float]:
    """Return directions from the centre to the arc, off level and upright; the first ones turn from arc to arc."""
    first = (30, 45, 60)[turn % 3] + 90 * ((turn // 3) % 4)
    wished = [math.radians(first + step) for step in (0, 90, 270, 180, 15, -15, 105, 75, 285, 255, 195, 165)]
    inside = [arc.begin + arc.sweep * share for share in (0.5, 0.38, 0.62, 0.26, 0.74, 0.14, 0.86)]
    found = [a for a in (*wished, *inside) if arc.holds_angle(a)]
    clear = [a for a in found if min(a % (math.pi / 2), math.pi / 2 - a % (math.pi / 2)) >= LEVEL_CLEAR - 1e-9]
    return clear or found


def _inside_tries(centre: Point, tip: Point, radius: float, figure: Figure, price: float) -> Iterator[_Try]:
    way = (tip - centre).unit()
    start = centre + way * OFF_CENTRE_MARK if radius <= 4 * LONGEST_STUB else tip + -(way * LONGEST_STUB)
    size = start.distance(tip)
    if size < figure.width + INSIDE_LONGER:
        return
    marks: tuple[Mark, ...] = (stroke(start, tip), head(tip, way.heading))
    lines = ((start + way * 0.8, tip + -(way * 0.8)),)
    for k, share in enumerate(FIGURE_SPOTS):
        middle = start.toward(tip, share)
        if min(share, 1 - share) * size >= figure.width / 2 + 1.0:
            yield _Try(price + 0.4 * k, figure.box(middle), lines, (*marks, figure.above(middle)), middle)


def _stub_tries(centre: Point, tip: Point, figure: Figure, price: float) -> Iterator[_Try]:
    """Yield a short line inside a large arc: its centre lies far off, and stands in the tables."""
    way = (tip - centre).unit()
    start = tip + -(way * max(SHORT_STUB, figure.width + INSIDE_LONGER + 1.0))
    if centre.distance(tip) > 1.5 * start.distance(tip) + OFF_CENTRE_MARK:
        middle = start.toward(tip, 0.5)
        marks = (stroke(start, tip), head(tip, way.heading), figure.above(middle))
        yield _Try(price, figure.box(middle), ((start, tip + -(way * 0.8)),), marks, middle)


def _keeps(one: _Try, outline: Box) -> bool:
    """Say whether the first line of a try keeps inside the plan's outline."""
    return all(outline.x0 - 1 <= p.x <= outline.x1 + 1 and outline.y0 - 1 <= p.y <= outline.y1 + 1
               for p in one.lines[0])


def _outside_tries(centre: Point, tip: Point, radius: float, words: str, price: float) -> Iterator[_Try]:
    way = (tip - centre).unit()
    start = centre + way * min(OFF_CENTRE_MARK, radius / 2) if radius <= LONGEST_STUB else tip + -(way * 8.0)
    knee = tip + way * OUTSIDE
    figure = Figure(words, 0.0)
    side = 1.0 if way.dx >= 0 else -1.0
    far = knee + Vec(side * (figure.width + 1.0), 0.0)
    middle = knee.toward(far, 0.5)
    marks = (stroke(start, knee), head(tip, way.heading), stroke(knee, far), figure.above(middle))
    yield _Try(price + 3.0, figure.box(middle), ((tip + way * 0.8, knee), (knee, far)), marks, middle)


def radius(view: View, asked: Radius, index: ObstacleIndex, outline: Box | None = None) -> Dimension | None:
    """Return a radius on a line from its centre: the figure inside a large arc, else outside on a level shelf.

    The line keeps inside the plan's `outline` (mm) where it can. None if no direction has room.
    """
    arc, factor = asked.arc, view.factor
    centre, size = view.point(arc.centre), arc.radius * factor
    words = f"R {length(arc.radius, view.unit)}"
    tries: list[_Try] = []
    angles: list[float] = []
    for k, angle in enumerate(_directions(arc, asked.turn)):
        tip = centre + Vec.polar(angle, size)
        figure = Figure(words, readable(angle))
        lot = [*_inside_tries(centre, tip, size, figure, 0.6 * k), *_stub_tries(centre, tip, figure, 0.6 * k + 1.0),
               *_outside_tries(centre, tip, size, words, 0.6 * k)]
        if outline is not None:
            lot = [t if _keeps(t, outline) else replace(t, price=t.price + BEYOND_PLAN) for t in lot]
        tries += lot
        angles += [angle] * len(lot)
    best = _best(tries, index)
    if best is None:
        return None
    angle = next(a for t, a in zip(tries, angles, strict=True) if t is best)
    return Dimension(form="radius", points=(arc.centre, arc.centre + Vec.polar(angle, arc.radius)),
                     line_at=view.ground(best.at), value=arc.radius, figure=words, marks=best.marks, turn=angle,
                     element=asked.element)


# ---- angles

def angle(view: View, asked: Angle, index: ObstacleIndex) -> Dimension | None:
    """Return an angle on an arc between two slender arrows, its figure outside the arc; None if it has no room."""
    first, second = (asked.first - asked.vertex).heading, (asked.second - asked.vertex).heading
    sweep = (second - first) % (2 * math.pi)
    vertex = view.point(asked.vertex)
    value = math.degrees(sweep)
    words = f"{value:.1f}°"
    tries = []
    for k, size in enumerate(ANGLE_RADII):
        if size * sweep < 7.0:
            continue
        arc = Arc.swung(vertex, size, first, sweep)
        figure = Figure(words, 0.0)
        out = Vec.polar(first + sweep / 2)
        reach = size + 1.2 + abs(out.dx) * figure.width / 2 + abs(out.dy) * 1.6
        middle = vertex + out * reach + Vec(0.0, -2.15)
        bend = 1.25 / size                           # an arrow lies along the chord of its own length
        marks: tuple[Mark, ...] = (
            Stroke(layer=LAYER, path=Path((arc,)), pen="thin"), head(arc.start, first - math.pi / 2 + bend),
            head(arc.end, second + math.pi / 2 - bend), figure.above(middle))
        tries.append(_Try(0.5 * k, figure.box(middle), ((arc.point(0.3), arc.point(0.7)),), marks, arc.point(0.5)))
    best = _best(tries, index)
    if best is None:
        return None
    return Dimension(form="angular", points=(asked.vertex, asked.first, asked.second), line_at=view.ground(best.at),
                     value=value, figure=words, marks=best.marks, element=asked.element)
