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
    away = np.sqrt(_offsets(xs[:, None], ys[:, None], edges)[0])
    least = away.min(axis=1)
    reach = field * float(np.sqrt(0.5)) + 1e-9
    found = away <= (least + 2 * reach)[:, None]
    found[(least > reach) & contains_xy(ground, xs, ys)] = False
    count = found.sum(axis=1)
    return Yard(edges, np.nonzero(found)[1], np.cumsum(count) - count, count, low, field, wide, high)


def _offsets(x: Floats, y: Floats, edges: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Return for points and edges: distance squared, the way from the foot (x and y), how far to the left.

    The last is the cross product of the edge with the way from its start, positive on its left.
    """
    ex, ey = edges[..., 2], edges[..., 3]
    dx, dy = x - edges[..., 0], y - edges[..., 1]
    share = (dx * ex + dy * ey) / np.maximum(ex * ex + ey * ey, 1e-18)
    np.minimum(np.maximum(share, 0.0, out=share), 1.0, out=share)
    left = ex * dy - ey * dx
    dx -= share * ex
    dy -= share * ey
    return dx * dx + dy * dy, dx, dy, left


class Yards:
    """Several yards in one set of arrays."""

    def __init__(self, yards: Sequence[Yard]) -> None:
        fields = np.cumsum([0] + [len(y.count) for y in yards])
        edges = np.cumsum([0] + [len(y.edges) for y in yards])
        nears = np.cumsum([0] + [len(y.near) for y in yards])
        self.edges = np.concatenate([y.edges for y in yards])
        self.near = np.concatenate([y.near + n for y, n in zip(yards, edges, strict=False)])
        self.first = np.concatenate([y.first + n for y, n in zip(yards, nears, strict=False)])
        self.count = np.concatenate([y.count for y in yards])
        self.start = fields[:-1]
        self.corner = np.array([y.corner for y in yards])
        self.field = np.array([y.field for y in yards])
        self.last = np.array([(y.wide - 1, y.high - 1) for y in yards])

    def pull_in(self, at: Floats, owner: Ints) -> None:
        """Move plants (rows x, y; changed in place) that have left their yards, `owner`, to the nearest edge."""
        last = self.last[owner]
        spot = ((at - self.corner[owner]) / self.field[owner][:, None]).astype(np.int64)
        np.minimum(np.maximum(spot, 0, out=spot), last, out=spot)
        fields = self.start[owner] + spot[:, 1] * (last[:, 0] + 1) + spot[:, 0]
        counts = self.count[fields]
        asked = np.flatnonzero(counts)
        if not len(asked):
            return
        counts = counts[asked]
        stops = np.cumsum(counts)
        starts = stops - counts
        near = self.near[np.arange(stops[-1]) + np.repeat(self.first[fields[asked]] - starts, counts)]
        edges = self.edges[near]
        spots = at[np.repeat(asked, counts)]
        away, dx, dy, left = _offsets(spots[:, 0], spots[:, 1], edges)
        score = away - TIE * left * left / np.maximum(edges[:, 2] ** 2 + edges[:, 3] ** 2, 1e-18)
        best = np.flatnonzero(score == np.repeat(np.minimum.reduceat(score, starts), counts))
        best = best[left[best] < 0]
        at[asked[np.searchsorted(stops, best, side="right")]] -= np.column_stack([dx[best], dy[best]])
