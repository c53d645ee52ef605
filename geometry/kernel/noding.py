"""Noding: segments that cross, touch or coincide become edges that meet only in shared nodes.

1 crossings of all pairs, 2 one node for points within eps, 3 every node put on every row that passes it within
eps (this one rule serves T-joints, shared stretches with different ends, shallow crossings and three curves
through a point), 4 rows cut at their nodes, 5 pieces between the same nodes with the same middle made one edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .crossings import Crossings, Flags, Rows, arcs_last, crossings, nodes_near, pairs_near
from .nodes import clustered
from .reach import reached
from .table import TINY, Floats, Ints, Table, angles, sized

BACK = -3.0         # radians: further back than this is nearly half a turn forward
Delta = tuple[tuple[int, int], ...]
"""How windings differ across an edge: (column, left less right) in the direction of the edge, by column."""


@dataclass(frozen=True, slots=True)
class Edges:
    """Edges from node `a` to node `b` (a < b), `sweep` 0 for lines.

    `row` is the table row that owns an edge's geometry; `along` says whether it runs in the edge's direction.
    `parts` are the pieces (row, edge, direction) in their order along each row. `suspect`: some rows reach over each
    other where no node tells of it, so that edges may cross.
    """

    nodes: Floats
    a: Ints
    b: Ints
    sweep: Floats
    row: Ints
    along: Ints
    deltas: tuple[Delta, ...]
    parts: tuple[Ints, Ints, Ints]
    suspect: bool


@dataclass(frozen=True, slots=True)
class _Pieces:
    row: Ints
    a: Ints
    b: Ints
    sweep: Floats


def edges_of(table: Table, eps: float) -> Edges:
    """Return the edges of all rows of `table`, noded within `eps` metres."""
    rows = Rows.of(table, eps)
    i, j = arcs_last(rows, *pairs_near(rows))
    met = crossings(rows, i, j)
    points = np.concatenate([table.vertices, met.places])
    label = clustered(points, eps)
    pieces = _pieces(table, rows, points, label)
    return _merged(table, points, pieces, eps, _suspect(rows, i, j, met, label, pieces))


def _suspect(rows: Rows, i: Ints, j: Ints, met: Crossings, labels: Ints, pieces: _Pieces) -> bool:
    """Say whether rows reach over each other where no crossing was found, or where its node is not on both of them."""
    nodes = labels[len(labels) - len(met.pair):]
    sides = reached(rows, i, j, rows.eps)
    found = np.zeros((3, len(i)), dtype=np.bool_)
    found[met.sort, met.pair] = True
    if (sides[0] & ~found[0]).any() or (sides[1] & ~found[1]).any():
        return True
    size = len(labels)
    held = np.sort(np.concatenate([pieces.row * size + pieces.a, pieces.row * size + pieces.b]))
    asked = np.concatenate([i[met.pair] * size + nodes, j[met.pair] * size + nodes])
    return not bool((held[np.minimum(np.searchsorted(held, asked), len(held) - 1)] == asked).all())


def _on_rows(rows: Rows, points: Floats, nodes: Ints) -> tuple[Ints, Ints, Floats]:
    """Return (row, node, what grows along the row from its start) of all nodes within eps of a row."""
    k, which = nodes_near(rows, points.take(nodes, axis=0))
    n = nodes[which]
    x, y = points.take(n, axis=0).T
    keep = (np.abs(_off(rows, k, x, y)) <= rows.eps).nonzero()[0]
    k, n, x, y = k[keep], n[keep], x[keep], y[keep]
    figures = rows.of_rows(k)
    keep = rows.holding(figures, x, y).nonzero()[0]
    if len(keep) < len(k):
        k, n, x, y, figures = k[keep], n[keep], x[keep], y[keep], figures[:, keep]
    x0, y0, _, _, dx, dy, length, cx, cy, _, turn = figures
    sx, sy, ox, oy = x0 - cx, y0 - cy, x - cx, y - cy
    # Grows as the angle does, from the start's direction, where it must be exact, and never wraps within half a turn.
    aside, ahead = (sx * oy - sy * ox) * turn, sx * ox + sy * oy
    turned = aside / (np.abs(aside) + np.abs(ahead) + TINY)
    turned = np.where(ahead < 0, 2.0 - turned, turned)
    if rows.all_arcs:
        return k, n, turned
    straight = (dx * (x - x0) + dy * (y - y0)) / np.where(length > 0, length, 1.0)
    return k, n, np.where(turn == 0, straight, turned)


def _off(rows: Rows, k: Ints, x: Floats, y: Floats) -> Floats:
    """Return how far points lie off the carrying curves of rows `k`."""
    if rows.all_arcs:
        cx, cy, radius = rows.of_rows(k)[7:10]
        apart: Floats = sized(x - cx, y - cy) - radius
        return apart
    x0, y0, _, _, dx, dy, length, cx, cy, radius, turn = rows.of_rows(k)
    length = np.where(length > 0, length, 1.0)
    off: Floats = np.where(turn == 0, (dx * (y - y0) - dy * (x - x0)) / length, sized(x - cx, y - cy) - radius)
    return off


def _pieces(table: Table, rows: Rows, points: Floats, label: Ints) -> _Pieces:
    """Return the rows cut at the nodes that lie on them, ends pinned to their own nodes."""
    first, last = label[table.first], label[table.last]
    k, n, at = _on_rows(rows, points, (label == np.arange(len(label))).nonzero()[0])
    inner = (n != first[k]) & (n != last[k])
    count = np.arange(len(first))
    row = np.concatenate([k[inner], count, count])
    node = np.concatenate([n[inner], first, last])
    place = np.concatenate([at[inner], np.full(len(count), -np.inf), np.full(len(count), np.inf)])
    order = np.lexsort((place, row))
    row, node = row[order], node[order]
    cut = ((row[1:] == row[:-1]) & (node[1:] != node[:-1])).nonzero()[0]
    row, a, b = row[cut], node[cut], node[cut + 1]
    return _Pieces(row, a, b, _sweeps(table, points, row, a, b, first, last))


def _sweeps(table: Table, points: Floats, row: Ints, a: Ints, b: Ints, first: Ints, last: Ints) -> Floats:
    """Return the sweep of each piece about its source's centre: the row's own where it is whole."""
    whole = (a == first[row]) & (b == last[row])
    sweep = table.sweep[row].copy()
    cut = (~whole & (sweep != 0)).nonzero()[0]
    if len(cut):
        centre, turn = table.centre.take(row[cut], axis=0), np.sign(sweep[cut])
        u, v = points.take(a[cut], axis=0) - centre, points.take(b[cut], axis=0) - centre
        turned = turn * angles(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0], u[:, 0] * v[:, 0] + u[:, 1] * v[:, 1])
        # Pieces turn forward by at most half a turn; a step back is a node that was moved: straight.
        turned = np.where(turned < BACK, turned + 2 * math.pi, turned)
        sweep[cut] = turn * np.maximum(turned, 0.0)
    return sweep


def _merged(table: Table, points: Floats, pieces: _Pieces, eps: float, suspect: bool) -> Edges:
    """Return one edge for all pieces that run between the same nodes by the same way."""
    forward = pieces.a < pieces.b
    a, b = np.minimum(pieces.a, pieces.b), np.maximum(pieces.a, pieces.b)
    sweep = np.where(forward, pieces.sweep, -pieces.sweep)
    order, rise = _ordered(points, a, b, sweep)
    sa, sb, sr = a[order], b[order], rise[order]
    fresh = np.ones(len(order), dtype=bool)
    fresh[1:] = (sa[1:] != sa[:-1]) | (sb[1:] != sb[:-1]) | (sr[1:] - sr[:-1] > 2 * eps)
    starts = fresh.nonzero()[0]
    edge_of = np.empty(len(order), dtype=np.int64)
    edge_of[order] = np.cumsum(fresh) - 1
    # The piece of the lowest row owns the geometry: what is declared first keeps its curve.
    size = len(order)
    single = len(starts) == size
    owner = order if single else np.minimum.reduceat(pieces.row[order] * size + order, starts) % size
    direction = np.where(forward, 1, -1)
    deltas, keep = _deltas(table, pieces.row, edge_of, direction, len(starts))
    parts = (pieces.row, edge_of, direction)
    if not keep.all():
        renumber = np.cumsum(keep) - 1
        held = keep[edge_of].nonzero()[0]
        owner = owner[keep]
        parts = (pieces.row[held], renumber[edge_of[held]], direction[held])
    return Edges(points, a[owner], b[owner], sweep[owner], pieces.row[owner], direction[owner],
                 tuple(deltas), parts, suspect)


def _ordered(points: Floats, a: Ints, b: Ints, sweep: Floats) -> tuple[Ints, Floats]:
    """Return the order of pieces by their nodes and rise over their chord, which is 0 where no others run between."""
    pair = a * len(points) + b
    order = np.argsort(pair, kind="stable")
    same = pair[order[1:]] == pair[order[:-1]]
    rise = np.zeros(len(a))
    if not same.any():
        return order, rise
    shared = np.zeros(len(a), dtype=bool)
    shared[order[1:][same]] = shared[order[:-1][same]] = True
    shared &= sweep != 0
    if shared.any():
        tangents = np.array([math.tan(s / 4) for s in sweep[shared].tolist()])
        rise[shared] = sized(*(points.take(b[shared], axis=0) - points.take(a[shared], axis=0)).T) / 2 * tangents
    return np.lexsort((rise, pair)), rise


def _deltas(table: Table, row: Ints, edge_of: Ints, direction: Ints, count: int) -> tuple[list[Delta], Flags]:
    """Return the winding difference of each edge that matters, and which do (some differ, or an open line is there)."""
    given = np.array([(s.column, s.weight) for s in table.sources])[np.array(table.source)[row]]
    column, weight = given[:, 0], given[:, 1] * direction
    units = [(((c, -1),), ((c, 1),)) for c in range(int(column.max()) + 1)]
    if count == len(row) and weight.all():      # no two pieces are one edge, none is of an open line
        piece = np.empty(count, dtype=np.int64)
        piece[edge_of] = np.arange(count)
        plain: list[Delta] = [units[c][w > 0] for c, w in zip(column[piece].tolist(), weight[piece].tolist(),
                                                              strict=True)]
        return plain, np.ones(count, dtype=bool)
    lined = np.zeros(count, dtype=bool)
    lined[edge_of[weight == 0]] = True
    single = np.bincount(edge_of, minlength=count) == 1
    alone = single[edge_of] & (weight != 0)
    found: list[Delta] = [()] * count
    for e, c, w in zip(edge_of[alone].tolist(), column[alone].tolist(), weight[alone].tolist(), strict=True):
        found[e] = units[c][w > 0]
    sums: dict[int, dict[int, int]] = {}
    shared = ~single[edge_of] & (weight != 0)
    for e, c, w in zip(edge_of[shared].tolist(), column[shared].tolist(), weight[shared].tolist(), strict=True):
        here = sums.setdefault(e, {})
        here[c] = here.get(c, 0) + w
    for e, here in sums.items():
        found[e] = tuple(sorted((c, m) for c, m in here.items() if m))
    keep: Flags = np.fromiter(map(bool, found), dtype=bool, count=count) | lined
    if keep.all():
        return found, keep
    return [delta for delta, kept in zip(found, keep.tolist(), strict=True) if kept], keep
