"""Bed coordinates: how far along the bed and how far from front to back each cell lies.

Takes the cells of a bed and its back. Gives, for every cell, `along` in metres, `across` from 0 (front) to 1 (back)
and the local depth. Along comes from a steady flow from end to end (Laplace's equation on the cells); across from the
distances to the two sides. An island has two front sides and its back in the middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .cells import Bools, Cells, Floats, settled_figures, turned

if TYPE_CHECKING:
    from scipy.sparse import csr_array
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

NEIGHBOUR = 0.30
"""Edges nearer than this to a wall, fence, hedge or boundary are the back (m)."""

STATED = 0.05
"""Edges nearer than this to the stated back edge are the back (m)."""

END_SIDE = 0.40
"""Shorter end sides (m) are no sides of their own."""

LEAVING = 0.7
"""An end side leaves the back by at least this part of the way walked."""

CRESCENT = 0.72
"""A free bed that fills less than this part of its hull is bent: its longer side is the back."""

SHORTEST_BACK = 0.5
"""A shorter touch (m) with a neighbour is not a back."""

SLABS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """Bed coordinates of every cell. `along` runs from 0 to `length` (m); `depth` is in metres."""

    along: Floats
    across: Floats
    depth: Floats
    length: float
    island: bool

    @property
    def mean_depth(self) -> float:
        """Mean depth from front to back, metres."""
        return float(np.mean(self.depth))


@dataclass(frozen=True, slots=True, eq=False)
class _Sides:
    """The outline in samples (local metres): which belong to the back, to the front, to the two ends."""

    points: Floats
    back: Bools
    front: Bools
    ends: tuple[Floats, Floats]
    tips: bool
    island: bool


def frame_of(cells: Cells, polygon: Polygon, back: BaseGeometry | None, neighbours: BaseGeometry | None) -> Frame:
    """Return the bed coordinates of `cells`. `back` and `neighbours` are shapely shapes in garden metres, or None."""
    from scipy.spatial import cKDTree

    sides = _sides_of(cells, polygon, back, neighbours)
    to_front = cKDTree(sides.points[sides.front]).query(cells.local)[0]
    to_back = cKDTree(sides.points[sides.back]).query(cells.local)[0]
    depth = np.maximum(to_front + to_back, cells.size)
    flow = _flow(cells, sides, float(np.mean(depth)))
    along, length = _metres(cells, flow)
    return Frame(along, settled_figures(to_front / depth), settled_figures(depth), length, sides.island)


def _sides_of(cells: Cells, polygon: Polygon, back: BaseGeometry | None, neighbours: BaseGeometry | None) -> _Sides:
    points = _samples(cells, polygon)
    step = float(np.hypot(*(points[1] - points[0])))
    mark = _back_marks(cells.garden(points), back, neighbours, step)
    if mark is None:
        return _free_sides(cells, polygon, points)
    start, stop = _longest_run(mark)
    count = len(points)
    first = _end_walk(points, mark, stop, 1, step)
    second = _end_walk(points, mark, (start - 1) % count, -1, step)
    taken = np.zeros(count, dtype=bool)
    taken[first] = taken[second] = True
    front = ~mark & ~taken
    if front.sum() * step < END_SIDE:
        front, first, second = ~mark, [], []
    ends = [points[walk] if walk else points[[at % count]] for walk, at in ((first, stop), (second, start))]
    return _Sides(points, mark, front, (ends[0], ends[1]), not (first and second), island=False)


def _samples(cells: Cells, polygon: Polygon) -> Floats:
    """Return points on the outer edge, evenly spaced, in local metres."""
    from shapely import line_interpolate_point

    ring = polygon.exterior
    count = max(60, math.ceil(ring.length / cells.size))
    spots = line_interpolate_point(ring, np.arange(count) * (ring.length / count))
    garden = np.array([(p.x, p.y) for p in spots])
    return turned(garden - np.array(cells.origin), -cells.turn)


def _back_marks(garden: Floats, back: BaseGeometry | None, neighbours: BaseGeometry | None,
                step: float) -> Bools | None:
    """Say which samples belong to the back; None if too little or nearly everything does."""
    from shapely import distance, points

    spots = points(garden)
    mark = np.zeros(len(garden), dtype=bool)
    if back is not None and not back.is_empty:
        mark |= distance(spots, back) <= STATED
    elif neighbours is not None and not neighbours.is_empty:
        mark |= distance(spots, neighbours) <= NEIGHBOUR
    mark = _without_short_runs(mark, False, 0.6 / step)
    mark = _without_short_runs(mark, True, SHORTEST_BACK / step)
    if mark.sum() * step < SHORTEST_BACK or mark.mean() > 0.85:
        return None
    return mark


def _runs(mark: Bools) -> list[tuple[int, int, bool]]:
    """Return the cyclic runs as (start, length, value)."""
    count = len(mark)
    turns = np.flatnonzero(mark != np.roll(mark, 1))
    if not len(turns):
        return [(0, count, bool(mark[0]))]
    lengths = np.diff(np.append(turns, turns[0] + count))
    return [(int(t), int(n), bool(mark[t])) for t, n in zip(turns, lengths, strict=True)]


def _without_short_runs(mark: Bools, value: bool, shortest: float) -> Bools:
    """Turn runs of `value` that are shorter than `shortest` samples into their contrary."""
    runs = _runs(mark)
    if len(runs) < 2:
        return mark
    out = mark.copy()
    for start, length, held in runs:
        if held == value and length < shortest:
            out[np.arange(start, start + length) % len(mark)] = not value
    return out


def _longest_run(mark: Bools) -> tuple[int, int]:
    """Return the longest run of True as [start, stop), stop taken round the ring."""
    start, length, _ = max((r for r in _runs(mark) if r[2]), key=lambda run: run[1])
    return start, (start + length) % len(mark)


def _end_walk(points: Floats, mark: Bools, at: int, way: int, step: float) -> list[int]:
    """Walk from an end of the back while it is left behind fast enough; return the samples of the end side."""
    from scipy.spatial import cKDTree

    tree = cKDTree(points[mark])
    count = len(points)
    side: list[int] = []
    for k in range(count):
        sample = (at + way * k) % count
        if mark[sample]:
            break
        if tree.query(points[sample])[0] < LEAVING * (k + 1) * step - step:
            break
        side.append(sample)
    return side if len(side) * step > END_SIDE else []


def _free_sides(cells: Cells, polygon: Polygon, points: Floats) -> _Sides:
    """Sides of a bed without a back: a bent one has its back on the longer side, others are islands."""
    a, b = _tips(cells, points)
    count = len(points)
    ahead = np.zeros(count, dtype=bool)
    ahead[np.arange(a, a + (b - a) % count) % count] = True
    bent = polygon.area / polygon.convex_hull.area < CRESCENT
    longer = ahead if ahead.mean() >= 0.5 else ~ahead
    if not bent:
        middles = [points[side].mean(axis=0)[1] for side in (ahead, ~ahead)]
        longer = ahead if middles[0] >= middles[1] else ~ahead
    return _Sides(points, longer, ~longer, (points[[a]], points[[b]]), True, island=not bent)


def _tips(cells: Cells, points: Floats) -> tuple[int, int]:
    """Return the two samples that lie farthest apart by the shortest way inside the bed (double sweep)."""
    from scipy.sparse.csgraph import dijkstra
    from scipy.spatial import cKDTree

    graph = _graph(cells, diagonal=True)
    first = int(np.argmin(cells.local[:, 0]))
    for _ in range(2):
        far = np.asarray(dijkstra(graph, directed=False, indices=np.array([first]))).ravel()
        other, first = first, int(np.argmax(np.where(np.isfinite(far), far, -1.0)))
    tree = cKDTree(points)
    a, b = int(tree.query(cells.local[other])[1]), int(tree.query(cells.local[first])[1])
    return (a, b) if a != b else (a, (a + len(points) // 2) % len(points))


def _graph(cells: Cells, diagonal: bool = False) -> csr_array[np.float64]:
    """Return the sparse graph of cells that touch, weighted by distance in metres."""
    from scipy.sparse import coo_array

    shifts = [(0, 1), (1, 0)] + ([(1, 1), (1, -1)] if diagonal else [])
    rows, columns, weights = [], [], []
    index = cells.index
    high, wide = index.shape
    for down, right in shifts:
        here = index[: high - down, max(0, -right): wide - max(0, right)]
        there = index[down:, max(0, right): wide + min(0, right)]
        both = (here >= 0) & (there >= 0)
        rows.append(here[both])
        columns.append(there[both])
        weights.append(np.full(int(both.sum()), math.hypot(down, right) * cells.size))
    row, column, weight = (np.concatenate(part) for part in (rows, columns, weights))
    return coo_array((weight, (row, column)), shape=(cells.count, cells.count)).tocsr()


def _flow(cells: Cells, sides: _Sides, mean_depth: float) -> Floats:
    """Return a steady flow from 0 at one end to 1 at the other."""
    from scipy.sparse import csr_array, diags_array
    from scipy.sparse.csgraph import connected_components
    from scipy.sparse.linalg import splu
    from scipy.spatial import cKDTree

    held = np.full(cells.count, np.nan)
    for value, end in ((0.0, sides.ends[0]), (1.0, sides.ends[1])):
        reach = 1.5 * cells.size if len(end) > 1 else max(1.5 * cells.size, 0.35 * mean_depth)
        away = np.asarray(cKDTree(end).query(cells.local)[0])
        held[away <= max(reach, float(away.min()) + 1e-9)] = value
    graph = csr_array(_graph(cells))
    graph.data[:] = 1.0
    links = graph + graph.T
    fixed = np.isfinite(held)
    if not (np.any(held == 0.0) and np.any(held == 1.0)):
        return _rank(cells.local[:, 0])
    piece = connected_components(links, directed=False)[1]
    fixed |= ~np.isin(piece, np.unique(piece[fixed]))
    held = np.where(fixed & ~np.isfinite(held), 0.5, held)
    laplace: csr_array[np.float64] = csr_array(diags_array(links.sum(axis=1)) - links)
    free = np.flatnonzero(~fixed)
    known = np.flatnonzero(fixed)
    if len(free):
        matrix = laplace[free]
        right = -matrix[:, known] @ held[known]
        held[free] = splu(matrix[:, free].tocsc(), permc_spec="MMD_AT_PLUS_A",
                          options={"SymmetricMode": True}).solve(right)
    flow = _rank(settled_figures(held, 9) + 1e-6 * settled_figures(cells.local[:, 0], 6))
    return flow if np.corrcoef(flow, cells.local[:, 0])[0, 1] >= -1e-9 else 1.0 - flow


def _rank(values: Floats) -> Floats:
    """Return the share of cells below each value, 0 to 1."""
    order = np.argsort(values, kind="stable")
    rank = np.empty(len(values))
    rank[order] = (np.arange(len(values)) + 0.5) / len(values)
    return rank


def _metres(cells: Cells, flow: Floats) -> tuple[Floats, float]:
    """Turn the share of area passed into metres along the line of the slabs' centroids."""
    slab = np.minimum((flow * SLABS).astype(int), SLABS - 1)
    weight = np.maximum(np.bincount(slab, minlength=SLABS), 1)
    centres = np.column_stack([np.bincount(slab, cells.local[:, k], SLABS) / weight for k in (0, 1)])
    steps = np.hypot(*np.diff(centres, axis=0).T)
    steps = np.convolve(np.pad(steps, 2, mode="edge"), np.ones(5) / 5, mode="valid")
    ends = [steps[0] / 2, steps[-1] / 2]
    marks = np.concatenate([[0.0], np.cumsum(np.concatenate([[ends[0]], steps, [ends[1]]]))])
    shares = np.concatenate([[0.0], (np.arange(SLABS) + 0.5) / SLABS, [1.0]])
    return settled_figures(np.interp(flow, shares, marks)), round(float(marks[-1]), 9)
