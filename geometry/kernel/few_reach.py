"""Whether two curves reach over each other, for few rows: the same formulas as `reach`."""

from __future__ import annotations

import math
from typing import TypeAlias

from .few_rows import Row
from .reach import AXIS, DEPTH

Reach: TypeAlias = tuple[float, float, bool, bool, float]
"""Of a curve: how far its two ends are from the other one, on which side of the axis, and how far its pole is."""

Sides: TypeAlias = tuple[bool, bool]
NEITHER = (False, False)


def reached(a: Row, b: Row, eps: float) -> Sides:
    """Say on which sides two rows reach more than DEPTH eps beyond each other: of the first root, of the second."""
    if a.turn and b.turn:
        return _arcs(a, b, DEPTH * eps)
    if not (a.turn or b.turn):
        return _lines(a, b, DEPTH * eps)
    return _line_and_arc(b, a, DEPTH * eps) if a.turn else _line_and_arc(a, b, DEPTH * eps)


def _beyond(p: float, q: float, depth: float) -> bool:
    return (p < -depth and q > depth) or (q < -depth and p > depth)


def _lines(a: Row, b: Row, depth: float) -> Sides:
    dx, dy, x, y, limit = b.dx, b.dy, b.x, b.y, depth * b.length
    if not _beyond(dx * (a.y - y) - dy * (a.x - x), dx * (a.ey - y) - dy * (a.ex - x), limit):
        return NEITHER
    dx, dy, x, y, limit = a.dx, a.dy, a.x, a.y, depth * a.length
    return (_beyond(dx * (b.y - y) - dy * (b.x - x), dx * (b.ey - y) - dy * (b.ex - x), limit), False)


def _reaches(of: Reach, side: bool, depth: float) -> bool:
    """Say whether a curve's part on one side of the axis lies on both sides of the other curve."""
    first, last, start, end, pole = of
    if side not in (start, end):
        return False
    return _beyond(first if start == side else pole, last if end == side else pole, depth)


def _sides(first: float, last: float, middle: float, near: float) -> tuple[bool, bool]:
    """Return on which side of the axis two ends lie; those on it are where the middle is."""
    return (middle if abs(first) <= near else first) > 0, (middle if abs(last) <= near else last) > 0


def _line_and_arc(a: Row, b: Row, depth: float) -> Sides:
    cx, cy, r, length = b.cx, b.cy, b.radius, a.length
    ux, uy = a.dx / length, a.dy / length
    x, y, ex, ey = a.x - cx, a.y - cy, a.ex - cx, a.ey - cy
    place = ux * y - uy * x
    if abs(place) >= r:
        return NEITHER
    first, last = math.sqrt(x * x + y * y) - r, math.sqrt(ex * ex + ey * ey) - r
    if first <= depth and last <= depth:        # the line lies in the circle
        return NEITHER
    start, end = _sides(-ux * x - uy * y, -ux * ex - uy * ey, -ux * (x + ex) - uy * (y + ey), AXIS * r)
    line = (first, last, start, end, abs(place) - r)
    one, two = _reaches(line, True, depth), _reaches(line, False, depth)
    if not (one or two):
        return NEITHER
    sx, sy, tx, ty = b.x - cx, b.y - cy, b.ex - cx, b.ey - cy
    ahead, after = _sides(-ux * sx - uy * sy, -ux * tx - uy * ty, b.turn * (uy * b.dx - ux * b.dy), AXIS * r)
    arc = (ux * sy - uy * sx - place, ux * ty - uy * tx - place, ahead, after,
           (-r if ahead == (b.turn > 0) else r) - place)
    return one and _reaches(arc, True, depth), two and _reaches(arc, False, depth)


def _arcs(a: Row, b: Row, depth: float) -> Sides:
    cx, cy, r, ox, oy, s = a.cx, a.cy, a.radius, b.cx, b.cy, b.radius
    ux, uy = cx - ox, cy - oy
    d = math.sqrt(ux * ux + uy * uy)
    if not abs(r - s) < d < r + s:
        return NEITHER
    own = _reach(a, b, ux, uy, d)
    one, two = _reaches(own, False, depth), _reaches(own, True, depth)
    if not (one or two):
        return NEITHER
    other = _reach(b, a, -ux, -uy, d)
    # Seen from the other circle the sides change places.
    return one and _reaches(other, True, depth), two and _reaches(other, False, depth)


def _reach(a: Row, b: Row, ux: float, uy: float, d: float) -> Reach:
    """Return how an arc reaches towards another's circle, whose centre lies at -(ux, uy), d metres away."""
    x, y, ex, ey, cx, cy, r, ox, oy, s = a.x, a.y, a.ex, a.ey, a.cx, a.cy, a.radius, b.cx, b.cy, b.radius
    start, end = _sides(ux * (y - cy) - uy * (x - cx), ux * (ey - cy) - uy * (ex - cx),
                        -a.turn * (ux * a.dx + uy * a.dy), AXIS * r * d)
    return (_size(x - ox, y - oy) - s, _size(ex - ox, ey - oy) - s, start, end,
            (abs(d - r) if start == (a.turn > 0) else d + r) - s)


def _size(x: float, y: float) -> float:
    return math.sqrt(x * x + y * y)
