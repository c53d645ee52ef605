"""Whether curves reach over each other, told by the signs of distances: no crossing is worked out for it.

Circles cross at most once on either side of the line through their centres, and along a circle's half on one side of
that line the distance to the other circle only grows or only falls: so the signs at the ends of each half tell. A line
and a circle are told apart by the line's normal through the centre in the same way.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from .crossings import Flags, Rows
from .table import Floats, Ints, sized

Sides: TypeAlias = tuple[Flags, Flags]
"""Of pairs: crossed on one side of the axis (the side of crossings' first root), and on the other."""

DEPTH = 3.0
"""Curves may reach this many eps beyond each other: nodes moved by eps make as much."""

AXIS = 1e-7         # radians: ends of arcs nearer than this to the line through the centres are on it


def reached(rows: Rows, i: Ints, j: Ints, eps: float) -> Sides:
    """Say on which sides rows `i` and `j` (arcs last) reach more than DEPTH eps beyond each other, both ways."""
    if rows.all_arcs:
        return _arcs(rows.of_rows(i), rows.of_rows(j), DEPTH * eps)
    curved_i, curved_j = rows.turn[i] != 0, rows.turn[j] != 0
    one, other = np.zeros((2, len(i)), dtype=np.bool_)
    for mask, test in ((~curved_j, _lines), (curved_j & ~curved_i, _line_and_arc), (curved_i, _arcs)):
        own = mask.nonzero()[0]
        if len(own):
            one[own], other[own] = test(rows.of_rows(i[own]), rows.of_rows(j[own]), DEPTH * eps)
    return one, other


def _beyond(p: Floats, q: Floats, depth: float) -> Flags:
    out: Flags = (np.minimum(p, q) < -depth) & (np.maximum(p, q) > depth)
    return out


def _lines(a: Floats, b: Floats, depth: float) -> Sides:
    """Lines cross if the ends of each lie on both sides of the other."""
    def off(of: Floats, x: Floats, y: Floats) -> Floats:
        out: Floats = (of[4] * (y - of[1]) - of[5] * (x - of[0])) / of[6]
        return out

    crossed = _beyond(off(b, a[0], a[1]), off(b, a[2], a[3]), depth) & \
        _beyond(off(a, b[0], b[1]), off(a, b[2], b[3]), depth)
    return crossed, np.zeros_like(crossed)


def _reaching(first: Floats, last: Floats, start: Flags, end: Flags, pole: Floats, depth: float) -> Sides:
    """Say whether curves' parts on either side of the axis lie on both sides of the other curve.

    `first` and `last` are the distances of their ends from it, `pole` that of where they pass the axis.
    """
    one = (start | end) & _beyond(np.where(start, first, pole), np.where(end, last, pole), depth)
    other = ~(start & end) & _beyond(np.where(start, pole, first), np.where(end, pole, last), depth)
    return one, other


def _sides(first: Floats, last: Floats, middle: Floats, near: Floats) -> Sides:
    """Return on which side of the axis two ends lie; those on it are where the middle is."""
    there = middle > 0
    return np.where(np.abs(first) <= near, there, first > 0), np.where(np.abs(last) <= near, there, last > 0)


def _line_and_arc(a: Floats, b: Floats, depth: float) -> Sides:
    x, y, ex, ey, dx, dy, length = a[:7]
    sx, sy, tx, ty, bx, by = b[:6]
    cx, cy, r, turn = b[7:]
    ux, uy = dx / length, dy / length
    place = ux * (y - cy) - uy * (x - cx)       # of the line along its left normal, from the centre
    first, last = ux * (cx - x) + uy * (cy - y), ux * (cx - ex) + uy * (cy - ey)
    start, end = _sides(first, last, first + last, AXIS * r)
    one, other = _reaching(sized(x - cx, y - cy) - r, sized(ex - cx, ey - cy) - r, start, end, np.abs(place) - r, depth)
    ahead, after = _sides(ux * (cx - sx) + uy * (cy - sy), ux * (cx - tx) + uy * (cy - ty),
                          turn * (uy * bx - ux * by), AXIS * r)
    here, there = _reaching(ux * (sy - y) - uy * (sx - x), ux * (ty - y) - uy * (tx - x), ahead, after,
                            np.where(ahead == (turn > 0), -r, r) - place, depth)
    return one & here, other & there


def _arcs(a: Floats, b: Floats, depth: float) -> Sides:
    d = sized(a[7] - b[7], a[8] - b[8])
    crossed, beyond = np.zeros((2, len(d)), dtype=np.bool_)
    own = ((np.abs(a[9] - b[9]) < d) & (d < a[9] + b[9])).nonzero()[0]
    count, a, b, d = len(own), a[:, own], b[:, own], d[own]
    one, other = _reaching_arcs(np.concatenate([a, b], axis=1), np.concatenate([b, a], axis=1), np.concatenate([d, d]),
                                depth)
    # Seen from the other circle the sides change places.
    crossed[own], beyond[own] = other[:count] & one[count:], one[:count] & other[count:]
    return crossed, beyond


def _reaching_arcs(a: Floats, b: Floats, d: Floats, depth: float) -> Sides:
    """Say how arcs reach over others' circles, whose centres are d away, on either side of the line to them."""
    x, y, ex, ey, dx, dy, _, cx, cy, r, turn = a
    ox, oy, s = b[7:10]
    ux, uy = cx - ox, cy - oy
    start, end = _sides(ux * (y - cy) - uy * (x - cx), ux * (ey - cy) - uy * (ex - cx), -turn * (ux * dx + uy * dy),
                        AXIS * r * d)
    pole = np.where(start == (turn > 0), np.abs(d - r), d + r) - s
    return _reaching(sized(x - ox, y - oy) - s, sized(ex - ox, ey - oy) - s, start, end, pole, depth)
