"""The second half of the certificate for few edges, in plain Python: the same formulas as `clear`."""

from __future__ import annotations

import math
from typing import TypeAlias

from .clear import AXIS, DEPTH, MOVED, ROUNDING
from .few import Row, pairs_near, rows_of
from .few_faces import bulge_of
from .noding import Edges
from .planar import PlanarMap
from .table import Table
from .winding import Labels, UncertainError

Reach: TypeAlias = tuple[float, float, bool, bool, float]
"""Of a curve: how far its two ends are from the other one, on which side of the axis, and how far its pole is."""


def check(edges: Edges, map_: PlanarMap, labels: Labels, table: Table, eps: float) -> None:
    """Do nothing for a sound arrangement; UncertainError if edges cross between nodes or area was lost."""
    check_areas(map_, labels, table, eps)
    depth = DEPTH * eps
    nodes = [(x, y) for x, y in edges.nodes.tolist()]
    centres: list[list[float]] = table.centre.tolist()
    radii: list[float] = table.radius.tolist()
    rows = rows_of(nodes, [(a, b, centres[row], radii[row], sweep) for a, b, sweep, row in zip(
        edges.a.tolist(), edges.b.tolist(), edges.sweep.tolist(), edges.row.tolist(), strict=True)], 0.0)
    for i, j in pairs_near(rows):
        if _cross(rows[i], rows[j], depth):
            raise UncertainError("edges that cross between their nodes", [2 * i, 2 * j])


def check_areas(map_: PlanarMap, labels: Labels, table: Table, eps: float) -> None:
    """Compare the areas of all faces, each as often as it is covered, with those of the outlines as given."""
    times = [sum([n for _, n in state]) for state in labels.states.states]
    found = sum([area * times[state] for area, state in zip(map_.areas.tolist(), labels.of_cycle, strict=True)])
    vertices: list[list[float]] = table.vertices.tolist()
    bx, by = vertices[0]
    given = slack = size = 0.0
    for source, first, last, (cx, cy), r, sweep in zip(table.source, table.first.tolist(), table.last.tolist(),
                                                       table.centre.tolist(), table.radius.tolist(),
                                                       table.sweep.tolist(), strict=True):
        (x, y), (ex, ey) = vertices[first], vertices[last]
        double = (x - bx) * (ey - by) - (y - by) * (ex - bx)
        length = math.hypot(ex - x, ey - y)
        off = 0.0
        size += abs(double)
        if sweep:
            length += r * abs(sweep)
            off = abs(math.hypot(x - cx, y - cy) - r) + abs(math.hypot(ex - cx, ey - cy) - r)
            double += bulge_of(r, sweep)
        given += table.sources[source].weight * double
        slack += length * (MOVED * eps + off)
    if not abs(found - given / 2) <= slack + ROUNDING * size:
        raise UncertainError(f"areas that differ by {found - given / 2:.3e} m2", range(len(map_.origin)))


def _cross(a: Row, b: Row, depth: float) -> bool:
    if a.turn and b.turn:
        return _arcs(a, b, depth)
    if not (a.turn or b.turn):
        return _lines(a, b, depth)
    return _line_and_arc(b, a, depth) if a.turn else _line_and_arc(a, b, depth)


def _beyond(p: float, q: float, depth: float) -> bool:
    return (p < -depth and q > depth) or (q < -depth and p > depth)


def _lines(a: Row, b: Row, depth: float) -> bool:
    dx, dy, x, y, limit = b.dx, b.dy, b.x, b.y, depth * b.length
    if not _beyond(dx * (a.y - y) - dy * (a.x - x), dx * (a.ey - y) - dy * (a.ex - x), limit):
        return False
    dx, dy, x, y, limit = a.dx, a.dy, a.x, a.y, depth * a.length
    return _beyond(dx * (b.y - y) - dy * (b.x - x), dx * (b.ey - y) - dy * (b.ex - x), limit)


def _reaches(of: Reach, side: bool, depth: float) -> bool:
    """Say whether a curve's part on one side of the axis lies on both sides of the other curve."""
    first, last, start, end, pole = of
    if side not in (start, end):
        return False
    return _beyond(first if start == side else pole, last if end == side else pole, depth)


def _sides(first: float, last: float, middle: float, near: float) -> tuple[bool, bool]:
    """Return on which side of the axis two ends lie; those on it are where the middle is."""
    return (middle if abs(first) <= near else first) > 0, (middle if abs(last) <= near else last) > 0


def _line_and_arc(a: Row, b: Row, depth: float) -> bool:
    cx, cy, r, length = b.cx, b.cy, b.radius, a.length
    ux, uy = a.dx / length, a.dy / length
    x, y, ex, ey = a.x - cx, a.y - cy, a.ex - cx, a.ey - cy
    place = ux * y - uy * x
    if abs(place) >= r:
        return False
    first, last = math.sqrt(x * x + y * y) - r, math.sqrt(ex * ex + ey * ey) - r
    if first <= depth and last <= depth:        # the line lies in the circle
        return False
    start, end = _sides(-ux * x - uy * y, -ux * ex - uy * ey, -ux * (x + ex) - uy * (y + ey), AXIS * r)
    line = (first, last, start, end, abs(place) - r)
    reached = [side for side in (True, False) if _reaches(line, side, depth)]
    if not reached:
        return False
    sx, sy, tx, ty = b.x - cx, b.y - cy, b.ex - cx, b.ey - cy
    ahead, after = _sides(-ux * sx - uy * sy, -ux * tx - uy * ty, b.turn * (uy * b.dx - ux * b.dy), AXIS * r)
    arc = (ux * sy - uy * sx - place, ux * ty - uy * tx - place, ahead, after,
           (-r if ahead == (b.turn > 0) else r) - place)
    return any(_reaches(arc, side, depth) for side in reached)


def _arcs(a: Row, b: Row, depth: float) -> bool:
    cx, cy, r, ox, oy, s = a.cx, a.cy, a.radius, b.cx, b.cy, b.radius
    ux, uy = cx - ox, cy - oy
    d = math.sqrt(ux * ux + uy * uy)
    if not abs(r - s) < d < r + s:
        return False
    one = _reach(a, b, ux, uy, d)
    reached = [side for side in (True, False) if _reaches(one, side, depth)]
    if not reached:
        return False
    other = _reach(b, a, -ux, -uy, d)
    # Seen from the other circle the sides change places.
    return any(_reaches(other, not side, depth) for side in reached)


def _reach(a: Row, b: Row, ux: float, uy: float, d: float) -> Reach:
    """Return how an arc reaches towards another's circle, whose centre lies at -(ux, uy), d metres away."""
    x, y, ex, ey, cx, cy, r, ox, oy, s = a.x, a.y, a.ex, a.ey, a.cx, a.cy, a.radius, b.cx, b.cy, b.radius
    start, end = _sides(ux * (y - cy) - uy * (x - cx), ux * (ey - cy) - uy * (ex - cx),
                        -a.turn * (ux * a.dx + uy * a.dy), AXIS * r * d)
    return (_size(x - ox, y - oy) - s, _size(ex - ox, ey - oy) - s, start, end,
            (abs(d - r) if start == (a.turn > 0) else d + r) - s)


def _size(x: float, y: float) -> float:
    return math.sqrt(x * x + y * y)
