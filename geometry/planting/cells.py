"""A bed cut into small square cells, lined up with its own long side: moving or turning it changes nothing.

Takes a shapely polygon in garden metres. Gives cells with both local and garden coordinates.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from shapely import Polygon

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

CELLS = 12000
"""Cells that a bed is cut into, about: enough for groups of a square metre, few enough for a second."""

EACH, FEWEST = 600, 5000
"""Few groups are wide, and so many cells for each draw them well; fewer than FEWEST would blunt the bed's narrows."""

SMALLEST = 0.02
"""Cells are never smaller than this, metres: plants are not set out any finer."""

OUTSIDE = -1

FIGURES = 7
"""Results of solvers are rounded to so many decimals (of a metre, or of a share): their last bits differ from one
machine, and even one environment, to another, and the same bed must give the same planting everywhere."""


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Square cells of `size` metres. `index[row, column]` is a cell's number or OUTSIDE; `local` its centre."""

    size: float
    index: Ints
    local: Floats
    origin: tuple[float, float]
    turn: float

    @property
    def mask(self) -> Bools:
        """Which squares of the grid are cells of the bed."""
        inside: Bools = self.index >= 0
        return inside

    @property
    def count(self) -> int:
        """How many cells there are."""
        return len(self.local)

    def garden(self, local: Floats) -> Floats:
        """Return garden coordinates (m) of local ones, an array of pairs."""
        garden: Floats = turned(local, self.turn) + np.array(self.origin)
        return garden

    def spread(self, values: Floats, outside: float = 0.0) -> Floats:
        """Return the values of the cells on the whole grid."""
        grid = np.full(self.index.shape, outside)
        grid[self.mask] = values
        return grid


def turned(points: Floats, turn: float) -> Floats:
    """Return points (pairs) turned by `turn` radians about the origin."""
    c, s = math.cos(turn), math.sin(turn)
    moved: Floats = points @ np.array([[c, s], [-s, c]])
    return moved


def settled_figures(values: Floats, figures: int = FIGURES) -> Floats:
    """Return values without the last bits that differ between machines; no negative zeros."""
    rounded: Floats = np.round(values, figures) + 0.0
    return rounded


def long_axis(polygon: Polygon) -> float:
    """Return the direction (radians, in (-pi/2, pi/2]) of the long side of the smallest rectangle round the polygon.

    Ties go to the direction nearest +x.
    """
    from shapely import convex_hull, get_coordinates

    ring = get_coordinates(convex_hull(polygon))
    steps = np.diff(ring, axis=0)
    headings = np.unique(np.round(np.arctan2(steps[:, 1], steps[:, 0]) % (math.pi / 2), 7))
    best: tuple[float, float] | None = None
    for heading in headings:
        boxed = np.ptp(turned(ring, -heading), axis=0)
        turn = heading if boxed[0] >= boxed[1] * (1 - 1e-6) else heading - math.pi / 2
        turn = turn - math.pi if turn > math.pi / 2 else turn
        key = (round(float(boxed[0] * boxed[1]), 4), abs(float(turn)))
        if best is None or key < best:
            best, chosen = key, float(turn)
    return chosen


def count_of(groups: int) -> int:
    """Return about how many cells a bed of so many groups is cut into."""
    return min(CELLS, max(FEWEST, EACH * groups))


def cells_of(polygon: Polygon, count: int = CELLS) -> Cells:
    """Cut a polygon (m) into about `count` cells."""
    from shapely import contains_xy, prepare
    from shapely.affinity import affine_transform

    turn = long_axis(polygon)
    size = max(SMALLEST, math.sqrt(polygon.area / count))
    corner = turned(np.asarray(polygon.exterior.coords), -turn)
    low = np.floor(corner.min(axis=0) * 1e6) / 1e6
    origin = turned(low[None, :], turn)[0]
    c, s = math.cos(turn), math.sin(turn)
    local_polygon = affine_transform(polygon, [c, s, -s, c, -low[0], -low[1]])
    prepare(local_polygon)
    extent = corner.max(axis=0) - low
    columns, rows = (math.ceil(side / size) + 2 for side in extent)
    xs = (np.arange(columns) - 0.5) * size
    ys = (np.arange(rows) - 0.5) * size
    grid_x, grid_y = np.meshgrid(xs, ys)
    inside = contains_xy(local_polygon, grid_x.ravel(), grid_y.ravel()).reshape(grid_x.shape)
    inside[0, :] = inside[-1, :] = inside[:, 0] = inside[:, -1] = False
    index = np.full(inside.shape, OUTSIDE, dtype=np.int64)
    index[inside] = np.arange(int(inside.sum()))
    return Cells(size, index, np.column_stack([grid_x[inside], grid_y[inside]]),
                 (float(origin[0]), float(origin[1])), turn)
