"""Where rows of a table cross or touch, in numpy: every formula keeps its figures near tangency.

Two curves whose gap is at most `eps` touch in one point; curves that coincide are left to the nodes
that lie on them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .table import Floats, Ints, Table, sized

Flags = NDArray[np.bool_]

PARALLEL = 1e-13        # sine of an angle below which two lines are left to the nodes on them
LONG = 1e-2             # metres: curves that cross this far from where they come nearest do more than touch
BROADCAST = 400_000     # pairs that are tried at once; more are found along a sweep
AXIS_X = np.array([[-1.0], [0.0], [1.0], [0.0]])
AXIS_Y = np.array([[0.0], [-1.0], [0.0], [1.0]])
CHUNK = 2_000_000
MOST_STRIPS = 4000
WIDER = 1e-6        # metres: keys are compared with this much to spare, boxes then exactly


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
    all_arcs: bool      # no row is a line: half of the formulas need not be worked out

    def of_rows(self, k: Ints) -> Floats:
        """Return the figures of rows `k`, one line for each figure (`take` is several times quicker than brackets)."""
        return self.figures.take(k, axis=0).T

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
        figures = np.array([x, y, ex, ey, dx, dy, sized(dx, dy), cx, cy, radius, turn]).T.copy()
        return Rows(figures, turn, box, eps, bool(turn.all()))

    def hold(self, k: Ints, x: Floats, y: Floats) -> Flags:
        """Say which points, known to lie on the carrying curves, lie on rows `k` within eps of their ends."""
        return self.holding(self.of_rows(k), x, y)

    def holding(self, figures: Floats, x: Floats, y: Floats) -> Flags:
        """Say the same of rows whose figures are at hand, one line for each figure."""
        eps = self.eps
        px, py, qx, qy, dx, dy, length, _, _, _, turn = figures
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


@dataclass(frozen=True, slots=True)
class _Strips:
    """Level strips over all boxes, about as high as a box; a key sorts by strip first and then by x."""

    x0: float
    y0: float
    width: float
    height: float
    last: int

    @staticmethod
    def of(box: Floats) -> _Strips:
        x0, y0, x1, y1 = float(box[0].min()), float(box[1].min()), float(box[2].max()), float(box[3].max())
        height = max(float((box[3] - box[1]).mean()), (y1 - y0) / MOST_STRIPS) or 1.0
        return _Strips(x0, y0, 2 * (x1 - x0) + 1.0, height, int((y1 - y0) / height))

    def of_y(self, y: Floats) -> Ints:
        """Return the strips in which heights lie."""
        return np.clip((y - self.y0) / self.height, 0.0, float(self.last)).astype(np.int64)

    def crossed_by(self, y0: Floats, y1: Floats) -> tuple[Ints, Ints]:
        """Return (box, strip) for every strip that a box crosses."""
        return expanded(self.of_y(y0), self.of_y(y1) + 1)

    def key(self, strip: Ints, x: Floats) -> Floats:
        """Return what sorts by strip, then by x."""
        out: Floats = np.clip(x - self.x0, 0.0, 0.5 * self.width).astype(np.float64)
        out += strip * self.width
        return out


def pairs_near(rows: Rows) -> tuple[Ints, Ints]:
    """Return the pairs i < j of rows whose boxes meet."""
    x0, y0, x1, y1 = rows.box
    count = len(x0)
    if count * count <= BROADCAST:
        meet = x0[:, None] <= x1
        i, j = np.divmod(np.flatnonzero(meet & meet.T), count)
        keep = (i < j) & (y0[i] <= y1[j]) & (y0[j] <= y1[i])
        return i[keep], j[keep]
    strips = _Strips.of(rows.box)
    owner, strip = strips.crossed_by(y0, y1)
    key = strips.key(strip, x0[owner])
    order = np.argsort(key, kind="stable")
    owner, strip = owner[order], strip[order]
    reach = np.searchsorted(key[order], strips.key(strip, x1[owner]) + WIDER, side="right")
    low = np.arange(1, len(owner) + 1)
    lowest = strips.of_y(y0)
    found: list[tuple[Ints, Ints]] = []
    edges = np.searchsorted(np.cumsum(np.maximum(reach - low, 0)), np.arange(0, (reach - low).sum() + CHUNK, CHUNK))
    for start, stop in zip(edges, [*edges[1:], len(owner)], strict=True):
        if stop <= start:
            continue
        one, other = expanded(low[start:stop], reach[start:stop])
        one += start
        i, j = owner[one], owner[other]
        # In the lowest strip that both cross only, so that no pair comes twice.
        keep = (strip[one] == np.maximum(lowest[i], lowest[j])) & (y0[i] <= y1[j]) & (y0[j] <= y1[i])
        keep &= (x0[j] <= x1[i]) & (x0[i] <= x1[j])
        found.append((np.minimum(i, j)[keep], np.maximum(i, j)[keep]))
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])


def nodes_near(rows: Rows, nodes: Floats) -> tuple[Ints, Ints]:
    """Return pairs (row, node) of which the node lies in the row's box."""
    x0, y0, x1, y1 = rows.box
    x, y = nodes[:, 0], nodes[:, 1]
    if len(x0) * len(x) <= BROADCAST:
        i, j = np.divmod(np.flatnonzero((x0[:, None] <= x) & (x <= x1[:, None])), len(x))
        keep = (y0[i] <= y[j]) & (y[j] <= y1[i])
        return i[keep], j[keep]
    strips = _Strips.of(rows.box)
    key = strips.key(strips.of_y(y), x)
    order = np.argsort(key, kind="stable")
    row, strip = strips.crossed_by(y0, y1)
    low = np.searchsorted(key[order], strips.key(strip, x0[row]) - WIDER)
    high = np.searchsorted(key[order], strips.key(strip, x1[row]) + WIDER, side="right")
    owner, other = expanded(low, high)
    owner, other = row[owner], order[other]
    keep = (y0[owner] <= y[other]) & (y[other] <= y1[owner]) & (x0[owner] <= x[other]) & (x[other] <= x1[owner])
    return owner[keep], other[keep]


def arcs_last(rows: Rows, i: Ints, j: Ints) -> tuple[Ints, Ints]:
    """Return pairs with the arc second where a line meets an arc."""
    if rows.all_arcs:
        return i, j
    swap = (rows.turn[i] != 0) & (rows.turn[j] == 0)
    return np.where(swap, j, i), np.where(swap, i, j)


@dataclass(frozen=True, slots=True)
class Crossings:
    """Where rows cross or touch: places, the pair that each comes from, and which of its sorts it is.

    Sort 0 is the first root (or the only one), 1 the second, 2 where curves only touch.
    """

    places: Floats
    pair: Ints
    sort: Ints


def crossings(rows: Rows, i: Ints, j: Ints) -> Crossings:
    """Return the places in which rows `i` cross or touch rows `j`, pairs as `arcs_last` has them."""
    if not len(i):
        return Crossings(np.empty((0, 2)), np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64))
    own, sort, x, y = _circles(rows, i, j) if rows.all_arcs else _mixed(rows, i, j)
    held = rows.hold(np.concatenate([i[own], j[own]]), np.concatenate([x, x]), np.concatenate([y, y]))
    keep = held[:len(own)] & held[len(own):]
    return Crossings(np.array([x[keep], y[keep]]).T, own[keep], sort[keep])


def _mixed(rows: Rows, i: Ints, j: Ints) -> tuple[Ints, Ints, Floats, Floats]:
    """Return what lines and arcs make with each other: first lines, then lines with arcs, then arcs."""
    curved_i, curved_j = rows.turn[i] != 0, rows.turn[j] != 0
    found: list[tuple[Ints, Ints, Floats, Floats]] = []
    for mask, meet in ((~curved_j, _lines), (curved_j & ~curved_i, _line_and_circle), (curved_i, _circles)):
        own = mask.nonzero()[0]
        if len(own):
            owners, sorts, x, y = meet(rows, i[own], j[own])
            found.append((own[owners], sorts, x, y))
    own, sort, x, y = (np.concatenate(column) for column in zip(*found, strict=True))
    return own, sort, x, y


def _sorts(first: Ints, touching: Ints) -> Ints:
    sorts = np.zeros(2 * len(first) + len(touching), dtype=np.int64)
    sorts[len(first):2 * len(first)] = 1
    sorts[2 * len(first):] = 2
    return sorts


def _lines(rows: Rows, i: Ints, j: Ints) -> tuple[Ints, Ints, Floats, Floats]:
    a, b = rows.of_rows(i), rows.of_rows(j)
    cross = a[4] * b[5] - a[5] * b[4]
    own = (np.abs(cross) > PARALLEL * a[6] * b[6]).nonzero()[0]
    a, b, cross = a[:, own], b[:, own], cross[own]
    share = ((b[0] - a[0]) * b[5] - (b[1] - a[1]) * b[4]) / cross
    return own, np.zeros_like(own), a[0] + share * a[4], a[1] + share * a[5]


def _line_and_circle(rows: Rows, i: Ints, j: Ints) -> tuple[Ints, Ints, Floats, Floats]:
    x0, y0, _, _, dx, dy, length, _, _, _, _ = rows.of_rows(i)
    cx, cy, r = rows.of_rows(j)[7:10]
    span = np.where(length > 0, length, 1.0)
    ux, uy = dx / span, dy / span
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
    return own, _sorts(cut, touching), x0[own] + run * ux - uy * rest, y0[own] + run * uy + ux * rest


def _circles(rows: Rows, i: Ints, j: Ints) -> tuple[Ints, Ints, Floats, Floats]:
    eps = rows.eps
    (cx, cy, ri), (ox, oy, rj) = rows.of_rows(i)[7:10], rows.of_rows(j)[7:10]
    wx, wy = ox - cx, oy - cy
    d = sized(wx, wy)
    s, t = ri + rj, np.abs(ri - rj)
    outer, inner = np.abs(d - s) <= eps, np.abs(t - d) <= eps
    if not (outer | inner).any():       # none touch, none are the same circle: as it is nearly always
        own = ((d < s) & (d > t)).nonzero()[0]
        cx, cy, ri, rj, wx, wy, d, s, t = (v[own] for v in (cx, cy, ri, rj, wx, wy, d, s, t))
        ux, uy = wx / d, wy / d
        along = (d * d + (ri - rj) * s) / (2 * d)
        aside = np.sqrt((s - d) * (s + d) * (d - t) * (d + t)) / (2 * d)
        x, y, over, up = cx + along * ux, cy + along * uy, aside * uy, aside * ux
        return (np.concatenate([own, own]), _sorts(own, own[:0]), np.concatenate([x - over, x + over]),
                np.concatenate([y + up, y - up]))
    same = d + t <= eps
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
    return own, _sorts(cut, touching), cx[own] + along * ux - aside * uy, cy[own] + along * uy + aside * ux
