"""Where printed readings put a peg, in plain scalar formulas: what setting, proof and the site have in common.

Takes: places of marks and readings (m). Gives: the place; None where tapes do not meet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..kernel.point import Point

ROUNDS = 60


def across(a: Point, b: Point, r1: float, r2: float, left: bool) -> Point | None:
    """Return where two tapes cross, left or right of the line from a to b; None if they do not meet."""
    d = a.distance(b)
    if not abs(r1 - r2) < d < r1 + r2:
        return None
    along = (d * d + r1 * r1 - r2 * r2) / (2 * d)
    out = math.sqrt(max(r1 * r1 - along * along, 0.0))
    u = (b - a) * (1 / d)
    return a + u * along + u.left() * (out if left else -out)


def along_line(a: Point, b: Point, along: float, out: float) -> Point:
    """Return the point `along` the line from a to b, and `out` square to its left."""
    u = (b - a).unit()
    return a + u * along + u.left() * out


def three_tapes(marks: Sequence[Point], readings: Sequence[float], left: bool) -> Point | None:
    """Return the middle of the little triangle: least squares of equal weights, begun from two tapes and the side."""
    at = across(marks[0], marks[1], readings[0], readings[1], left)
    for _ in range(ROUNDS):
        if at is None:
            return None
        xx = xy = yy = bx = by = 0.0
        for mark, reading in zip(marks, readings, strict=True):
            way = at - mark
            reach = way.length
            if not reach > 0:
                return None
            ux, uy, v = way.dx / reach, way.dy / reach, reading - reach
            xx, xy, yy, bx, by = xx + ux * ux, xy + ux * uy, yy + uy * uy, bx + ux * v, by + uy * v
        det = xx * yy - xy * xy
        if not det > 1e-9:
            return None
        dx, dy = (yy * bx - xy * by) / det, (xx * by - xy * bx) / det
        at = Point(at.x + dx, at.y + dy)
        if math.hypot(dx, dy) < 1e-12:
            break
    return at
