"""Grounds of several groups with their edges near at hand: which plants have strayed, and where they go back in.

Takes grounds (shapely shapes in metres). Each is cut into square fields; a field knows the edges that can be nearest
to a point of it, so that a plant is held against a few edges and one well inside against none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .cells import Floats, Ints
from .ground import edges_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

FIELD = 0.4
"""Side of a field in spacings."""

MARGIN = 1.0
"""Fields reach this many spacings beyond the ground: no push throws a plant farther."""

TIE = 1e-9
"""Of two edges that meet in the nearest corner, the one that faces the point says on which side it lies."""


@dataclass(frozen=True, slots=True, eq=False)
class Yard:
    """The fields of one ground, row by row from `corner`. `edges` are rows x, y, dx, dy with the ground on their left.

    The edges of field k are `near[first[k]: first[k] + count[k]]`; none where it lies well inside.
    """

    edges: Floats
    near: Ints
    first: Ints
    count: Ints
    corner: tuple[float, float]
    field: float
    wide: int
    high: int


def yard_of(ground: BaseGeometry, spacing: float) -> Yard:
    """Cut a ground for plants `spacing` metres apart into fields."""
    from shapely import contains_xy

    edges = edges_of(ground)
    field = FIELD * spacing
    x0, y0, x1, y1 = ground.bounds
    low = (x0 - MARGIN * spacing, y0 - MARGIN * spacing)
    wide, high = (int((hi - lo + MARGIN * spacing) / field) + 1 for hi, lo in ((x1, low[0]), (y1, low[1])))
    grid = np.meshgrid(low[0] + (np.arange(wide) + 0.5) * field, low[1] + (np.arange(high) + 0.5) * field)
    xs, ys = grid[0].ravel(), grid[1].ravel()
    x, y, along, up = edges.T
    square = np.maximum(along**2 + up**2, 1e-18)
    away = np.sqrt(_offsets(xs[:, None] - x, ys[:, None] - y, along, up, square)[0])
    least = away.min(axis=1)
    reach = field * float(np.sqrt(0.5)) + 1e-9
    found = away <= (least + 2 * reach)[:, None]
    found[(least > reach) & contains_xy(ground, xs, ys)] = False
    count = found.sum(axis=1)
    return Yard(edges, np.nonzero(found)[1], np.cumsum(count) - count, count, low, field, wide, high)


def _offsets(dx: Floats, dy: Floats, ex: Floats, ey: Floats,
             square: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Return for ways (dx, dy) from the starts of edges (ex, ey): distance squared, way from the foot, how far left.

    `square` is the length of an edge squared. The ways are changed in place. The last is the cross product of the
    edge with the way from its start, positive on its left.
    """
    share = (dx * ex + dy * ey) / square
    np.minimum(np.maximum(share, 0.0, out=share), 1.0, out=share)
    left = ex * dy - ey * dx
    dx -= share * ex
    dy -= share * ey
    return dx * dx + dy * dy, dx, dy, left


class Yards:
    """Several yards in one set of arrays."""

    def __init__(self, yards: Sequence[Yard]) -> None:
        fields = np.cumsum([0] + [len(y.count) for y in yards])
        nears = np.cumsum([0] + [len(y.near) for y in yards])
        x, y, along, up = np.concatenate([y.edges[y.near] for y in yards]).T
        self.near = np.array([x, y, along, up, np.maximum(along**2 + up**2, 1e-18)])     # all edges near each field
        self.first = np.concatenate([y.first + n for y, n in zip(yards, nears, strict=False)])
        self.count = np.concatenate([y.count for y in yards])
        self.start = fields[:-1]
        self.corner = np.array([y.corner for y in yards]).T
        self.field = np.array([y.field for y in yards])
        self.last = np.array([(y.wide - 1, y.high - 1) for y in yards]).T


class Inside:
    """Plants that are to stay in their yards: `owner` says for each in which of `yards` it stands."""

    def __init__(self, yards: Yards, owner: Ints) -> None:
        self.yards = yards
        self.corner, self.last = yards.corner[:, owner], yards.last[:, owner]
        self.field, self.start, self.wide = yards.field[owner], yards.start[owner], self.last[0] + 1

    def pull_in(self, at: Floats) -> None:
        """Move plants (x in the first row, y in the second; changed in place) that have left to the nearest edge."""
        square = ((at - self.corner) / self.field).astype(np.int64)
        np.minimum(np.maximum(square, 0, out=square), self.last, out=square)
        fields = self.start + square[1] * self.wide + square[0]
        counts = self.yards.count[fields]
        asked = np.flatnonzero(counts)
        if not len(asked):
            return
        counts = counts[asked]
        stops = counts.cumsum()
        starts = stops - counts
        which = np.repeat(np.arange(len(asked)), counts)
        near = (self.yards.first[fields[asked]] - starts)[which]
        near += np.arange(len(which))
        x, y, along, up, square_length = self.yards.near.take(near, axis=1)
        spots = at.take(asked, axis=1)
        way = spots.take(which, axis=1)
        away, dx, dy, left = _offsets(way[0] - x, way[1] - y, along, up, square_length)
        score = away - TIE * left * left / square_length
        best = np.flatnonzero(score == np.minimum.reduceat(score, starts)[which])
        best = best[left[best] < 0]
        strays = asked[which[best]]
        at[0, strays] -= dx[best]
        at[1, strays] -= dy[best]
