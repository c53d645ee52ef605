"""The second half of the certificate: edges that were noded must not cross, and nothing may have been lost.

Two edges cross at a place only if each reaches beyond the other there. Circles cross at most once on either side of the
line through their centres, and along a circle's half on one side of that line the distance to the other circle only
grows or only falls: so the signs at the ends of each half tell, without a crossing being worked out again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .crossings import Flags, Rows, pairs_near
from .noding import Edges
from .planar import PlanarMap, bulges
from .table import Floats, Ints, Table, sized
from .winding import Labels, UncertainError

DEPTH = 3.0
"""Edges may reach this many eps beyond each other: nodes moved by eps make as much."""

MOVED = 1.0
"""Areas may differ by this many eps along all outlines: what moving nodes can do."""

AXIS = 1e-7         # radians: ends of arcs nearer than this to the line through the centres are on it
ROUNDING = 1e-13    # of the sum of the sizes of what is summed


@dataclass(frozen=True, slots=True)
class _Halves:
    """Of a curve's part on one side of the axis: how far its ends are from the other curve; `there` if it has one."""

    low: Floats
    high: Floats
    there: Flags


def check(edges: Edges, map_: PlanarMap, labels: Labels, table: Table, eps: float) -> None:
    """Do nothing for a sound arrangement; UncertainError if edges cross between nodes or area was lost."""
    check_areas(map_, labels, table, eps)
    i, j = _crossed(edges, table, eps)
    if len(i):
        raise UncertainError("edges that cross between their nodes", [2 * int(i[0]), 2 * int(j[0])])


def check_areas(map_: PlanarMap, labels: Labels, table: Table, eps: float) -> None:
    """Compare the areas of all faces, each as often as it is covered, with those of the outlines as given."""
    times = [sum(n for _, n in state) for state in labels.states.states]
    found = float(map_.areas @ np.array([times[s] for s in labels.of_cycle], dtype=np.float64)) if labels.of_cycle \
        else 0.0
    weight = np.array([s.weight for s in table.sources], dtype=np.float64)[np.array(table.source)]
    base = table.vertices[0]
    (x, y), (ex, ey) = (table.start - base).T, (table.end - base).T
    double = x * ey - y * ex
    given = float(weight @ (double + bulges(table.radius, table.sweep))) / 2
    length = sized(ex - x, ey - y) + table.radius * np.abs(table.sweep)
    cx, cy = (table.centre - base).T
    off = np.abs(sized(x - cx, y - cy) - table.radius) + np.abs(sized(ex - cx, ey - cy) - table.radius)
    off = np.where(table.sweep == 0, 0.0, off)
    slack = float((length * (MOVED * eps + off)).sum()) + ROUNDING * float(np.abs(double).sum())
    if not abs(found - given) <= slack:
        raise UncertainError(f"areas that differ by {found - given:.3e} m2", range(len(map_.origin)))


def _crossed(edges: Edges, table: Table, eps: float) -> tuple[Ints, Ints]:
    """Return pairs of edges that reach more than DEPTH eps beyond each other on both sides of a place."""
    if not len(edges.a):
        return edges.a, edges.a
    rows = _rows(edges, table)
    i, j = pairs_near(rows)
    curved_i, curved_j = rows.turn[i] != 0, rows.turn[j] != 0
    swap = curved_i & ~curved_j
    i, j = np.where(swap, j, i), np.where(swap, i, j)
    curved_i, curved_j = curved_i & ~swap, curved_j | swap
    bad = np.zeros(len(i), dtype=bool)
    for mask, test in ((~curved_j, _lines), (curved_j & ~curved_i, _line_and_arc), (curved_i, _arcs)):
        own = mask.nonzero()[0]
        if len(own):
            bad[own] = test(rows.of_rows(i[own]), rows.of_rows(j[own]), DEPTH * eps)
    return i[bad], j[bad]


def _rows(edges: Edges, table: Table) -> Rows:
    row = edges.row
    return Rows.of(Table((), table.origin, edges.nodes, (), [], edges.a, edges.b, table.centre[row], table.radius[row],
                         edges.sweep), 0.0)


def _beyond(p: Floats, q: Floats, depth: float) -> Flags:
    out: Flags = (np.minimum(p, q) < -depth) & (np.maximum(p, q) > depth)
    return out


def _lines(a: Floats, b: Floats, depth: float) -> Flags:
    """Lines cross if the ends of each lie on both sides of the other."""
    def off(of: Floats, x: Floats, y: Floats) -> Floats:
        out: Floats = (of[4] * (y - of[1]) - of[5] * (x - of[0])) / of[6]
        return out

    return _beyond(off(b, a[0], a[1]), off(b, a[2], a[3]), depth) & \
        _beyond(off(a, b[0], b[1]), off(a, b[2], b[3]), depth)


def _part(first: Floats, last: Floats, first_side: Flags, last_side: Flags, pole: Floats, side: bool) -> _Halves:
    """Return the ends of the part of curves on one side of the axis; `pole` is the distance where they pass it."""
    if side:
        there, starts, ends = first_side | last_side, first_side, last_side
    else:
        there, starts, ends = ~(first_side & last_side), ~first_side, ~last_side
    return _Halves(np.where(starts, first, pole), np.where(ends, last, pole), there)


def _met(one: tuple[Floats, Floats, Flags, Flags, Floats], other: tuple[Floats, Floats, Flags, Flags, Floats],
         depth: float) -> Flags:
    out = np.zeros(len(one[0]), dtype=np.bool_)
    for side in (True, False):
        a, b = _part(*one, side), _part(*other, side)
        out |= a.there & b.there & _beyond(a.low, a.high, depth) & _beyond(b.low, b.high, depth)
    return out


def _sides(first: Floats, last: Floats, middle: Floats, near: Floats) -> tuple[Flags, Flags]:
    """Return on which side of the axis two ends lie; those on it are where the middle is."""
    there = middle > 0
    return np.where(np.abs(first) <= near, there, first > 0), np.where(np.abs(last) <= near, there, last > 0)


def _line_and_arc(a: Floats, b: Floats, depth: float) -> Flags:
    x, y, ex, ey, dx, dy, length = a[:7]
    sx, sy, tx, ty, bx, by = b[:6]
    cx, cy, r, turn = b[7:]
    ux, uy = dx / length, dy / length
    place = ux * (y - cy) - uy * (x - cx)       # of the line along its left normal, from the centre
    first, last = ux * (cx - x) + uy * (cy - y), ux * (cx - ex) + uy * (cy - ey)
    start, end = _sides(first, last, first + last, AXIS * r)
    line = (sized(x - cx, y - cy) - r, sized(ex - cx, ey - cy) - r, start, end, np.abs(place) - r)
    ahead, after = _sides(ux * (cx - sx) + uy * (cy - sy), ux * (cx - tx) + uy * (cy - ty),
                          turn * (uy * bx - ux * by), AXIS * r)
    arc = (ux * (sy - y) - uy * (sx - x), ux * (ty - y) - uy * (tx - x), ahead, after,
           np.where(ahead == (turn > 0), -r, r) - place)
    return _met(line, arc, depth)


def _arcs(a: Floats, b: Floats, depth: float) -> Flags:
    x, y, ex, ey, dx, dy = a[:6]
    sx, sy, tx, ty, bx, by = b[:6]
    (cx, cy, r, turn), (ox, oy, s, other_turn) = a[7:], b[7:]
    ux, uy = cx - ox, cy - oy                   # from the second centre to the first
    d = sized(ux, uy)
    start, end = _sides(ux * (y - cy) - uy * (x - cx), ux * (ey - cy) - uy * (ex - cx), -turn * (ux * dx + uy * dy),
                        AXIS * r * d)
    ahead, after = _sides(ux * (sy - oy) - uy * (sx - ox), ux * (ty - oy) - uy * (tx - ox),
                          -other_turn * (ux * bx + uy * by), AXIS * s * d)
    one = (sized(x - ox, y - oy) - s, sized(ex - ox, ey - oy) - s, start, end,
           np.where(start == (turn > 0), np.abs(d - r), d + r) - s)
    other = (sized(sx - cx, sy - cy) - r, sized(tx - cx, ty - cy) - r, ahead, after,
             np.where(ahead == (other_turn > 0), d + s, np.abs(d - s)) - r)
    return _met(one, other, depth)
