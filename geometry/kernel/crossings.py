"""Where rows of a table cross or touch, in numpy: every formula keeps its figures near tangency.

Two curves whose gap is at most `eps` touch in one point; curves that coincide are left to the nodes
that lie on them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .table import Floats, Ints, Table

Flags = NDArray[np.bool_]

PARALLEL = 1e-13        # sine of an angle below which two lines are left to the nodes on them
LONG = 1e-2             # metres: curves that cross this far from where they come nearest do more than touch
BROADCAST = 400_000     # pairs that are tried at once; more are found along a sweep
AXIS_X = np.array([[-1.0], [0.0], [1.0], [0.0]])
AXIS_Y = np.array([[0.0], [-1.0], [0.0], [1.0]])
CHUNK = 2_000_000


@dataclass(frozen=True, slots=True)
class Rows:
    """A table's rows with what the tests on them share.

    `figures` has a line for each row: start x and y, end x and y, chord dx, dy and length, centre x and y, radius,
    sign of the sweep (0 for lines). All are fetched at once, which is quicker than one by one.
    """

    figures: Floats
    turn: Floats        # sign of the sweep, 0 for lines
    box: Floats         # x0, y0, x1, y1 in rows, grown by eps
    eps: float

    def of_rows(self, k: Ints) -> Floats:
        """Return the figures of rows `k`, one line for each figure."""
        return self.figures[k].T

    @staticmethod
    def of(table: Table, eps: float) -> Rows:
        """Return the rows of a table."""
        (x, y), (ex, ey) = table.start.T, table.end.T
        cx, cy = table.centre.T
        dx, dy, radius, turn = ex - x, ey - y, table.radius, np.sign(table.sweep)
        box = np.array([np.minimum(x, ex), np.minimum(y, ey), np.maximum(x, ex), np.maximum(y, ey)])
        # An arc of at most half a turn holds what lies on its own side of its chord: so it is with its four extremes.
        at_x, at_y = cx + AXIS_X * radius, cy + AXIS_Y * radius
        held = (turn != 0) & (turn * (dx * (at_y - y) - dy * (at_x - x)) <= 0)
        box = np.where(held, np.where(AXIS_X != 0, at_x, at_y), box)
        box[:2] -= eps
        box[2:] += eps
        figures = np.array([x, y, ex, ey, dx, dy, np.hypot(dx, dy), cx, cy, radius, turn]).T.copy()
        return Rows(figures, turn, box, eps)

    def hold(self, k: Ints, x: Floats, y: Floats) -> Flags:
        """Say which points, known to lie on the carrying curves, lie on rows `k` within eps of their ends."""
        eps = self.eps
        px, py, qx, qy, dx, dy, length, _, _, _, turn = self.of_rows(k)
        ax, ay, bx, by = x - px, y - py, x - qx, y - qy
        slack = eps * length
        # Beside its chord for an arc too: near the ends of a flat one its own side cannot be told from rounding.
        between = (ax * dx + ay * dy >= -slack) & (bx * dx + by * dy <= slack) & (turn * (dx * ay - dy * ax) <= slack)
        ends = np.minimum(ax * ax + ay * ay, bx * bx + by * by) <= eps * eps
        out: Flags = between | ends
        return out


def expanded(low: Ints, high: Ints) -> tuple[Ints, Ints]:
    """Return k repeated high[k] - low[k] times, and the numbers low[k] .. high[k] - 1 beside it."""
    counts = np.maximum(high - low, 0)
    owner = np.repeat(np.arange(len(low)), counts)
    starts = np.cumsum(counts) - counts
    return owner, np.arange(int(counts.sum())) - starts[owner] + low[owner]


def pairs_near(rows: Rows) -> tuple[Ints, Ints]:
    """Return the pairs i < j of rows whose boxes meet."""
    x0, y0, x1, y1 = rows.box
    count = len(x0)
    if count * count <= BROADCAST:
        meet = (x0[:, None] <= x1) & (y0[:, None] <= y1)
        meet &= meet.T
        i, j = np.nonzero(np.triu(meet, 1))
        return i, j
    order = np.argsort(x0, kind="stable")
    sx0, sx1 = x0[order], x1[order]
    reach = np.searchsorted(sx0, sx1, side="right")
    low = np.arange(1, count + 1)
    found: list[tuple[Ints, Ints]] = []
    edges = np.searchsorted(np.cumsum(np.maximum(reach - low, 0)), np.arange(0, (reach - low).sum() + CHUNK, CHUNK))
    for start, stop in zip(edges, [*edges[1:], count], strict=True):
        if stop <= start:
            continue
        owner, other = expanded(low[start:stop], reach[start:stop])
        i, j = order[owner + start], order[other]
        keep = (y0[i] <= y1[j]) & (y0[j] <= y1[i])
        found.append((np.minimum(i, j)[keep], np.maximum(i, j)[keep]))
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])


def nodes_near(rows: Rows, nodes: Floats) -> tuple[Ints, Ints]:
    """Return pairs (row, node) of which the node lies in the row's box."""
    x0, y0, x1, y1 = rows.box
    x, y = nodes[:, 0], nodes[:, 1]
    if len(x0) * len(x) <= BROADCAST:
        i, j = np.nonzero((x0[:, None] <= x) & (x <= x1[:, None]) & (y0[:, None] <= y) & (y <= y1[:, None]))
        return i, j
    order = np.argsort(x, kind="stable")
    owner, other = expanded(np.searchsorted(x[order], x0), np.searchsorted(x[order], x1, side="right"))
    other = order[other]
    keep = (y0[owner] <= y[other]) & (y[other] <= y1[owner])
    return owner[keep], other[keep]


def crossings(rows: Rows, i: Ints, j: Ints) -> Floats:
    """Return the points (rows x, y) in which rows `i` cross or touch rows `j`."""
    curved_i, curved_j = rows.turn[i] != 0, rows.turn[j] != 0
    swap = curved_i & ~curved_j
    i, j = np.where(swap, j, i), np.where(swap, i, j)
    curved_i, curved_j = curved_i & ~swap, curved_j | swap
    found: list[tuple[Ints, Floats, Floats]] = []
    for mask, meet in ((~curved_j, _lines), (curved_j & ~curved_i, _line_and_circle), (curved_i, _circles)):
        own = mask.nonzero()[0]
        if len(own):
            owners, x, y = meet(rows, i[own], j[own])
            found.append((own[owners], x, y))
    if not found:
        return np.empty((0, 2))
    own, x, y = (np.concatenate(column) for column in zip(*found, strict=True))
    held = rows.hold(np.concatenate([i[own], j[own]]), np.concatenate([x, x]), np.concatenate([y, y]))
    keep = held[:len(own)] & held[len(own):]
    return np.array([x[keep], y[keep]]).T


def _lines(rows: Rows, i: Ints, j: Ints) -> tuple[Ints, Floats, Floats]:
    a, b = rows.of_rows(i), rows.of_rows(j)
    cross = a[4] * b[5] - a[5] * b[4]
    own = (np.abs(cross) > PARALLEL * a[6] * b[6]).nonzero()[0]
    a, b, cross = a[:, own], b[:, own], cross[own]
    share = ((b[0] - a[0]) * b[5] - (b[1] - a[1]) * b[4]) / cross
    return own, a[0] + share * a[4], a[1] + share * a[5]


def _line_and_circle(rows: Rows, i: Ints, j: Ints) -> tuple[Ints, Floats, Floats]:
    x0, y0, _, _, dx, dy, length, _, _, _, _ = rows.of_rows(i)
    cx, cy, r = rows.of_rows(j)[7:10]
    ux, uy = dx / length, dy / length
    wx, wy = cx - x0, cy - y0
    h = ux * wy - uy * wx                       # of the centre, + left of the line
    size = np.abs(h)
    touch = np.abs(size - r) <= rows.eps
    half = np.sqrt(np.maximum(r - size, 0.0) * (r + size))
    cut = ((size < r) & (~touch | (half > LONG))).nonzero()[0]
    touching = touch.nonzero()[0]
    half = half[cut]
    along = ux * wx + uy * wy
    own = np.concatenate([cut, cut, touching])
    # From the centre: down to the line by h and along it; a touching point halves the gap.
    along_by = np.concatenate([-half, half, np.zeros(len(touching))])
    down = np.where(np.arange(len(own)) < 2 * len(cut), h[own], np.sign(h[own]) * (size[own] + r[own]) / 2)
    down = np.where(h[own] == 0, 0.0, down)
    ux, uy, run, rest = ux[own], uy[own], along[own] + along_by, h[own] - down
    return own, x0[own] + run * ux - uy * rest, y0[own] + run * uy + ux * rest


def _circles(rows: Rows, i: Ints, j: Ints) -> tuple[Ints, Floats, Floats]:
    eps = rows.eps
    (cx, cy, ri), (ox, oy, rj) = rows.of_rows(i)[7:10], rows.of_rows(j)[7:10]
    wx, wy = ox - cx, oy - cy
    d = np.hypot(wx, wy)
    s, t = ri + rj, np.abs(ri - rj)
    same = d + t <= eps
    outer, inner = np.abs(d - s) <= eps, np.abs(t - d) <= eps
    safe = np.where(d > 0, d, 1.0)
    ux, uy = wx / safe, wy / safe
    touching = ((outer | inner) & ~same & (d > 0)).nonzero()[0]
    across = np.sqrt(np.maximum(s - d, 0.0) * (s + d) * np.maximum(d - t, 0.0) * (d + t)) / (2 * safe)
    cut = (~same & (d < s) & (d > t) & (~(outer | inner) | (across > LONG))).nonzero()[0]
    # Outer: between both circles. Inner: beyond the smaller circle, seen from the larger one's centre.
    reach_outer = (ri + d - rj) / 2
    reach_inner = np.where(ri >= rj, (ri + d + rj) / 2, -(ri + rj - d) / 2)
    reach = np.where(outer, reach_outer, reach_inner)[touching]
    x_along = (d[cut] * d[cut] + (ri[cut] - rj[cut]) * s[cut]) / (2 * d[cut])
    y_across = across[cut]
    own = np.concatenate([cut, cut, touching])
    along = np.concatenate([x_along, x_along, reach])
    aside = np.concatenate([y_across, -y_across, np.zeros(len(touching))])
    ux, uy = ux[own], uy[own]
    return own, cx[own] + along * ux - aside * uy, cy[own] + along * uy + aside * ux
