"""Noding of few rows, in plain Python: where numpy's fixed cost is more than the work.

Formula for formula and in the same order as `crossings`, `nodes` and `noding`, so that the results are the same
bit for bit whichever is used; a test holds them to it.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from itertools import islice, pairwise
from typing import NamedTuple, TypeAlias

import numpy as np

from . import noding
from .crossings import LONG, PARALLEL
from .few_reach import reached
from .few_rows import Row, Spot, Spots, pairs_near, rows_of
from .noding import BACK, Delta, Edges
from .table import TINY, Table

Met: TypeAlias = tuple[float, float, int, tuple[int, int]]
"""A crossing: its place, its kind (of lines 0; line and arc 1 to 3; arcs 4 to 6), and the rows."""

SIDE = (0, 0, 1, 2, 0, 1, 2)        # of the axis: first root, second, touching
NONE: set[int] = set()


class Piece(NamedTuple):
    """A row cut between two of its nodes."""

    row: int
    a: int
    b: int
    sweep: float


def edges_of(table: Table, eps: float, most: float = math.inf) -> Edges:
    """Return the edges of all rows of `table`, noded within `eps` metres, as `noding.edges_of` does.

    With over `most` pairs of arcs near each other that one is quicker, and is asked.
    """
    points: Spots = [(x, y) for x, y in table.vertices.tolist()]
    rows = rows_of(points, zip(table.first.tolist(), table.last.tolist(), table.centre.tolist(),
                               table.radius.tolist(), table.sweep.tolist(), strict=True), eps)
    pairs = pairs_near(rows)
    if len(pairs) > most and sum([1 for i, j in pairs if rows[i].turn and rows[j].turn]) > most:
        return noding.edges_of(table, eps)
    met = _crossings(rows, pairs, eps)
    points += [(x, y) for x, y, _, _ in met]
    label = _clustered(points, eps)
    pieces = _pieces(table, rows, points, label, eps)
    return _merged(table, points, pieces, eps, _suspect(rows, pairs, met, label, pieces, eps))


def _suspect(rows: list[Row], pairs: list[tuple[int, int]], met: list[Met], label: list[int], pieces: list[Piece],
             eps: float) -> bool:
    """Say whether rows reach over each other where no crossing was found, or where its node is not on both of them."""
    found: dict[tuple[int, int], set[int]] = {}
    on = {(row, node) for row, a, b, _ in pieces for node in (a, b)}
    for (_, _, kind, pair), node in zip(met, label[len(label) - len(met):], strict=True):
        i, j = pair
        if (i, node) not in on or (j, node) not in on:
            return True
        found.setdefault(pair, set()).add(SIDE[kind])
    for pair in pairs:
        sides = found.get(pair, NONE)
        i, j = pair
        both = 0 in sides and (1 in sides or not (rows[i].turn or rows[j].turn))
        if not both and any(reach and side not in sides
                            for side, reach in enumerate(reached(rows[i], rows[j], eps))):
            return True
    return False


def _holds(row: Row, x: float, y: float, eps: float) -> bool:
    px, py, qx, qy, dx, dy, length, _, _, _, turn, _, _, _, _ = row
    ax, ay, bx, by = x - px, y - py, x - qx, y - qy
    slack = eps * length
    if ax * dx + ay * dy >= -slack and bx * dx + by * dy <= slack and turn * (dx * ay - dy * ax) <= slack:
        return True
    return min(ax * ax + ay * ay, bx * bx + by * by) <= eps * eps


def _crossings(rows: list[Row], pairs: list[tuple[int, int]], eps: float) -> list[Met]:
    """Return where rows cross or touch: lines first, then lines with arcs, then arcs; first, second, touching."""
    found: tuple[list[Met], ...] = ([], [], [], [], [], [], [])
    for pair in pairs:
        a, b = rows[pair[0]], rows[pair[1]]
        if not a.turn:
            met = _line_and_circle(a, b, eps) if b.turn else _lines(a, b)
        else:
            met = _circles(a, b, eps) if b.turn else _line_and_circle(b, a, eps)
        for kind, x, y in met:
            if _holds(a, x, y, eps) and _holds(b, x, y, eps):
                found[kind].append((x, y, kind, pair))
    return [one for kind in found for one in kind]


def _lines(a: Row, b: Row) -> list[tuple[int, float, float]]:
    cross = a.dx * b.dy - a.dy * b.dx
    if not abs(cross) > PARALLEL * a.length * b.length:
        return []
    share = ((b.x - a.x) * b.dy - (b.y - a.y) * b.dx) / cross
    return [(0, a.x + share * a.dx, a.y + share * a.dy)]


def _line_and_circle(a: Row, b: Row, eps: float) -> list[tuple[int, float, float]]:
    x0, y0, r = a.x, a.y, b.radius
    span = a.length if a.length > 0 else 1.0
    ux, uy = a.dx / span, a.dy / span
    wx, wy = b.cx - x0, b.cy - y0
    h = ux * wy - uy * wx
    size = abs(h)
    if size > r + 2 * eps:
        return []
    along = ux * wx + uy * wy
    met: list[tuple[int, float, float]] = []
    touch = abs(size - r) <= eps
    half = math.sqrt(max(r - size, 0.0) * (r + size))
    if size < r and (not touch or half > LONG):
        rest = h - h
        for kind, run in ((1, along + -half), (2, along + half)):
            met.append((kind, x0 + run * ux - uy * rest, y0 + run * uy + ux * rest))
    if touch:
        run = along + 0.0
        rest = h - (math.copysign(1.0, h) * (size + r) / 2 if h else 0.0)
        met.append((3, x0 + run * ux - uy * rest, y0 + run * uy + ux * rest))
    return met


def _circles(a: Row, b: Row, eps: float) -> list[tuple[int, float, float]]:
    cx, cy, ri, rj = a.cx, a.cy, a.radius, b.radius
    wx, wy = b.cx - cx, b.cy - cy
    d = math.sqrt(wx * wx + wy * wy)
    s, t = ri + rj, abs(ri - rj)
    outer, inner = abs(d - s) <= eps, abs(t - d) <= eps
    touch = outer or inner
    if d + t <= eps or not (touch or t < d < s):
        return []
    safe = d if d > 0 else 1.0
    ux, uy = wx / safe, wy / safe
    met: list[tuple[int, float, float]] = []
    across = math.sqrt(max(s - d, 0.0) * (s + d) * max(d - t, 0.0) * (d + t)) / (2 * safe)
    if t < d < s and (not touch or across > LONG):
        along = (d * d + (ri - rj) * s) / (2 * d)
        for kind, aside in ((4, across), (5, -across)):
            met.append((kind, cx + along * ux - aside * uy, cy + along * uy + aside * ux))
    if touch and d > 0:
        beyond = (ri + d + rj) / 2 if ri >= rj else -(ri + rj - d) / 2
        along, aside = (ri + d - rj) / 2 if outer else beyond, 0.0
        met.append((6, cx + along * ux - aside * uy, cy + along * uy + aside * ux))
    return met


def _clustered(points: Spots, eps: float) -> list[int]:
    """Return for each point the lowest number among the points joined to it by steps of at most eps."""
    label = list(range(len(points)))

    def root(k: int) -> int:
        while label[k] != k:
            k = label[k]
        return k

    order = sorted([(x, y, k) for k, (x, y) in enumerate(points)])
    for n, (x, y, a) in enumerate(order, 1):
        for ox, oy, b in islice(order, n, None):
            dx, dy = ox - x, oy - y
            if dx > eps:
                break
            if -eps <= dy <= eps and math.sqrt(dx * dx + dy * dy) <= eps:
                p, q = root(a), root(b)
                label[max(p, q)] = min(p, q)
    return [root(k) for k in label]


def _on_row(row: Row, points: Spots, nodes: list[int], eps: float) -> list[tuple[float, int]]:
    """Return (what grows along the row, node) of those of `nodes` that lie within eps of a row, in that order."""
    x0, y0, _, _, dx, dy, length, cx, cy, radius, turn, _, low, _, high = row
    span = length if length > 0 else 1.0
    found: list[tuple[float, int]] = []
    for n in nodes:
        x, y = points[n]
        if y < low or y > high:
            continue
        if not turn:
            if abs((dx * (y - y0) - dy * (x - x0)) / span) <= eps and _holds(row, x, y, eps):
                found.append(((dx * (x - x0) + dy * (y - y0)) / span, n))
            continue
        ox, oy = x - cx, y - cy
        if abs(math.sqrt(ox * ox + oy * oy) - radius) <= eps and _holds(row, x, y, eps):
            sx, sy = x0 - cx, y0 - cy
            aside, ahead = (sx * oy - sy * ox) * turn, sx * ox + sy * oy
            turned = aside / (abs(aside) + abs(ahead) + TINY)
            found.append((2.0 - turned if ahead < 0 else turned, n))
    found.sort()
    return found


def _pieces(table: Table, rows: list[Row], points: Spots, label: list[int], eps: float) -> list[Piece]:
    """Return the rows cut at the nodes that lie on them, ends pinned to their own nodes."""
    nodes = sorted([k for k, own in enumerate(label) if own == k], key=points.__getitem__)
    xs = [points[n][0] for n in nodes]
    pieces: list[Piece] = []
    for k, (row, sweep, head, tail) in enumerate(zip(rows, table.sweep.tolist(), table.first.tolist(),
                                                     table.last.tolist(), strict=True)):
        first, last = label[head], label[tail]
        near = nodes[bisect_left(xs, row.x0):bisect_right(xs, row.x1)]
        inner = [n for _, n in _on_row(row, points, [n for n in near if n not in (first, last)], eps)]
        if not inner:
            if first != last:
                pieces.append(Piece(k, first, last, sweep))
            continue
        for a, b in pairwise((first, *inner, last)):
            pieces.append(Piece(k, a, b, _sweep(row, points[a], points[b]) if sweep else sweep))
    return pieces


def _sweep(row: Row, a: Spot, b: Spot) -> float:
    ux, uy, vx, vy = a[0] - row.cx, a[1] - row.cy, b[0] - row.cx, b[1] - row.cy
    turned = row.turn * math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    if turned < BACK:
        turned += 2 * math.pi
    return row.turn * max(turned, 0.0)


def _by_rise(points: Spots, pieces: list[Piece], own: list[int], eps: float) -> list[list[int]]:
    """Part the pieces that run between the same two nodes where they rise differently over their chord."""
    a, b = sorted(pieces[own[0]][1:3])
    dx, dy = points[b][0] - points[a][0], points[b][1] - points[a][1]
    half = math.sqrt(dx * dx + dy * dy) / 2
    rise: dict[int, float] = {}
    for k in own:
        sweep = pieces[k].sweep if pieces[k].a < pieces[k].b else -pieces[k].sweep
        rise[k] = half * math.tan(sweep / 4) if sweep else 0.0
    own.sort(key=rise.__getitem__)
    groups = [own[:1]]
    for last, k in pairwise(own):
        if rise[k] - rise[last] > 2 * eps:
            groups.append([k])
        else:
            groups[-1].append(k)
    return groups


def _merged(table: Table, points: Spots, pieces: list[Piece], eps: float, suspect: bool) -> Edges:
    """Return one edge for all pieces that run between the same nodes by the same way."""
    size = len(points)
    between: dict[int, list[int]] = {}
    for k, (_, a, b, _) in enumerate(pieces):
        between.setdefault(a * size + b if a < b else b * size + a, []).append(k)
    edges: list[tuple[int, int, float, int, int]] = []
    deltas: list[Delta] = []
    edge_of = [-1] * len(pieces)
    for nodes in sorted(between):
        group = between[nodes]
        for own in (group,) if len(group) == 1 else _by_rise(points, pieces, group, eps):
            delta, lined = _delta(table, pieces, own)
            if not delta and not lined:
                continue
            for k in own:
                edge_of[k] = len(edges)
            row, a, b, sweep = pieces[own[0] if len(own) == 1 else min(own, key=lambda k: (pieces[k].row, k))]
            edges.append((a, b, sweep, row, 1) if a < b else (b, a, -sweep, row, -1))
            deltas.append(delta)
    held = [(p[0], edge_of[k], 1 if p[1] < p[2] else -1) for k, p in enumerate(pieces) if edge_of[k] >= 0]
    a_, b_, sweep_, row_, along_ = zip(*edges, strict=True) if edges else ((),) * 5
    whole = np.array([a_, b_, row_, along_], dtype=np.int64)
    first, second, third = np.array(held, dtype=np.int64).reshape(-1, 3).T
    return Edges(np.array(points), whole[0], whole[1], np.array(sweep_, dtype=np.float64), whole[2], whole[3],
                 tuple(deltas), (first, second, third), suspect)


def _delta(table: Table, pieces: list[Piece], own: list[int]) -> tuple[Delta, bool]:
    """Return how windings differ across an edge, and whether an open line runs along it."""
    row, a, b, _ = pieces[own[0]]
    _, column, weight = table.sources[table.source[row]]
    if len(own) == 1:
        return (((column, weight if a < b else -weight),), False) if weight else ((), True)
    counts: dict[int, int] = {}
    lined = False
    for k in own:
        row, a, b, _ = pieces[k]
        _, column, weight = table.sources[table.source[row]]
        if weight:
            counts[column] = counts.get(column, 0) + (weight if a < b else -weight)
        else:
            lined = True
    return tuple(sorted((c, m) for c, m in counts.items() if m)), lined
