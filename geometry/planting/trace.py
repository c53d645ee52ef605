"""Reads the borders between drifts off the cells: one chain of points for each pair of neighbours.

Takes the owner of every cell and the strengths behind it. Gives chains that end at junctions of three drifts or at
the bed's edge, the drift on either side named, points in garden metres between the cells where both are equally strong.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np

from .blur import largest_piece
from .cells import OUTSIDE, Bools, Cells, Floats, Ints

EDGE = -1
"""Stands for the bed's edge as the end of a chain."""

PASSES = 6


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """The border between the drifts `left` and `right` as it is walked.

    `start` and `end` are numbers of junctions, or EDGE. `points` are garden metres, junctions left out; at an edge
    they stop up to a cell short of it.
    """

    left: int
    right: int
    start: int
    end: int
    points: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """All chains of a bed and where its junctions lie (garden metres)."""

    chains: tuple[Chain, ...]
    junctions: Floats


def tidied(cells: Cells, owner: Ints) -> Ints:
    """Return owners without hairlines, crumbs and drifts that touch themselves at a corner only."""
    grid = np.full(cells.index.shape, OUTSIDE, dtype=np.int64)
    grid[cells.mask] = owner
    for _ in range(PASSES):
        before = grid.copy()
        grid = _opened(cells.mask, grid)
        _part_corners(grid)
        if np.array_equal(grid, before):
            break
    return grid[cells.mask]


def _opened(mask: Bools, grid: Ints) -> Ints:
    """Keep of every drift the largest piece of what is three cells thick; the nearest drift takes the rest."""
    from scipy.ndimage import binary_opening, distance_transform_edt

    kept = np.zeros(grid.shape, dtype=bool)
    block = np.ones((3, 3), dtype=bool)
    for drift in np.unique(grid[mask]):
        rows, columns = np.nonzero(grid == drift)
        window = (slice(rows.min() - 1, rows.max() + 2), slice(columns.min() - 1, columns.max() + 2))
        body = grid[window] == drift
        thick = binary_opening(body, block)
        kept[window] |= largest_piece(thick if thick.any() else body)
    where = np.asarray(distance_transform_edt(~kept, return_distances=False, return_indices=True))
    filled: Ints = grid[tuple(where)]
    filled[~mask] = OUTSIDE
    return filled


def _part_corners(grid: Ints) -> None:
    """Where two cells of one drift touch at a corner only, let one of the other two join them."""
    for _ in range(PASSES):
        a, b, c, d = grid[:-1, :-1], grid[:-1, 1:], grid[1:, :-1], grid[1:, 1:]
        first = (a == d) & (a != b) & (a != c) & (a >= 0)
        second = (b == c) & (b != a) & (b != d) & (b >= 0)
        spots = [(r, k, True) for r, k in zip(*np.nonzero(first), strict=True)]
        spots += [(r, k, False) for r, k in zip(*np.nonzero(second), strict=True)]
        done = False
        for r, k, falling in spots:
            own = grid[r, k] if falling else grid[r, k + 1]
            for at in ((r, k + 1), (r + 1, k)) if falling else ((r, k), (r + 1, k + 1)):
                if grid[at] >= 0:
                    grid[at] = own
                    done = True
                    break
        if not done:
            return


def traced(cells: Cells, owner: Ints, strength: Floats) -> Network:
    """Return the network of borders. `strength` is drifts by cells, the strongest having the cell."""
    cracks = _Cracks(cells, owner, strength)
    return cracks.network()


class _Cracks:
    """Cracks between cells of different drifts, and the corners of cells at which they meet."""

    def __init__(self, cells: Cells, owner: Ints, strength: Floats) -> None:
        self.cells, self.owner, self.strength = cells, owner, strength
        self.grid: Ints = np.full(cells.index.shape, OUTSIDE, dtype=np.int64)
        self.grid[cells.mask] = owner
        self.at: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
        self.ends: list[tuple[tuple[int, int], tuple[int, int]]] = []
        self.beside: list[tuple[int, int]] = []         # drift left and right when walked from first to second end
        self.spots: list[Floats] = []
        self._gather(0, 1)
        self._gather(1, 0)
        self.used = [False] * len(self.ends)

    def _gather(self, down: int, right: int) -> None:
        """Add the cracks between each cell and its neighbour above or to the right (rows count upward)."""
        grid, index = self.grid, self.cells.index
        high, wide = grid.shape
        here, there = grid[: high - down, : wide - right], grid[down:, right:]
        rows, columns = np.nonzero((here != there) & (here >= 0) & (there >= 0))
        p, q = index[rows, columns], index[rows + down, columns + right]
        a, b = self.owner[p], self.owner[q]
        lead = self.strength[a, p] - self.strength[b, p]
        lag = self.strength[b, q] - self.strength[a, q]
        total = lead + lag
        fine = (lead > 0) & (lag > 0) & (total < 4)
        share = np.where(fine, np.clip(lead / np.where(fine, total, 1.0), 0.1, 0.9), 0.5)
        spots = self.cells.local[p] + share[:, None] * (self.cells.local[q] - self.cells.local[p])
        for k in range(len(rows)):
            r, c = int(rows[k]), int(columns[k])
            number = len(self.ends)
            # to the right: walk up, the lower-numbered cell is left; above: walk right, the upper cell is left
            ends = ((r, c + 1), (r + 1, c + 1)) if right else ((r + 1, c), (r + 1, c + 1))
            self.ends.append(ends)
            self.beside.append((int(a[k]), int(b[k])) if right else (int(b[k]), int(a[k])))
            self.spots.append(spots[k])
            for corner in ends:
                self.at[corner].append(number)

    def _is_node(self, corner: tuple[int, int]) -> bool:
        return len(self.at[corner]) != 2 or self._touches_edge(corner)

    def _touches_edge(self, corner: tuple[int, int]) -> bool:
        r, c = corner
        return bool((self.grid[r - 1: r + 1, c - 1: c + 1] < 0).any())

    def network(self) -> Network:
        """Walk all chains, those with ends first, closed rings after them."""
        junctions: dict[tuple[int, int], int] = {}
        for corner in sorted(self.at):
            if self._is_node(corner) and not self._touches_edge(corner):
                junctions[corner] = len(junctions)
        chains = [self._walk(crack, corner, junctions) for corner in sorted(self.at) if self._is_node(corner)
                  for crack in self.at[corner] if not self.used[crack]]
        for crack in range(len(self.ends)):
            if not self.used[crack]:
                corner = self.ends[crack][0]
                junctions[corner] = len(junctions)
                chains.append(self._walk(crack, corner, junctions))
        size = self.cells.size
        spots = np.array([((c - 1) * size, (r - 1) * size) for r, c in junctions], dtype=float).reshape(-1, 2)
        return Network(tuple(chains), self.cells.garden(spots))

    def _walk(self, crack: int, corner: tuple[int, int], junctions: dict[tuple[int, int], int]) -> Chain:
        start = corner
        points: list[Floats] = []
        left, right = self.beside[crack] if self.ends[crack][0] == corner else self.beside[crack][::-1]
        while True:
            self.used[crack] = True
            points.append(self.spots[crack])
            a, b = self.ends[crack]
            corner = b if a == corner else a
            if corner in junctions or self._is_node(corner):
                break
            crack = next(other for other in self.at[corner] if other != crack)
        return Chain(left, right, junctions.get(start, EDGE), junctions.get(corner, EDGE),
                     self.cells.garden(np.array(points)))
