"""Nodes: points nearer than eps to each other are one, whatever curves they come from."""

from __future__ import annotations

import math

import numpy as np

from .table import Floats, Ints, sized

CELL = 1.0137e-4        # metres; no round fraction of a metre, so that drawn grids keep off the borders of cells
SHIFT = 0.3719
LEAST_CELLS = 50.0      # a cell holds this many eps


def _find(parent: dict[int, int], k: int) -> int:
    while parent.get(k, k) != k:
        k = parent[k]
    return k


def _unite(parent: dict[int, int], a: int, b: int) -> None:
    a, b = _find(parent, a), _find(parent, b)
    if a != b:
        parent[max(a, b)] = min(a, b)


def _within(points: Floats, members: list[int], eps: float, parent: dict[int, int]) -> None:
    """Unite all pairs among `members` that lie within eps."""
    members.sort(key=lambda k: (points[k, 0], k))
    for n, a in enumerate(members):
        for b in members[n + 1:]:
            if points[b, 0] - points[a, 0] > eps:
                break
            dx, dy = float(points[b, 0] - points[a, 0]), float(points[b, 1] - points[a, 1])
            if math.sqrt(dx * dx + dy * dy) <= eps:
                _unite(parent, a, b)


def clustered(points: Floats, eps: float) -> Ints:
    """Return for each point the lowest number among the points joined to it by steps of at most eps."""
    size = max(CELL, LEAST_CELLS * eps)
    scaled = points / size + SHIFT
    cells = np.floor(scaled).astype(np.int64)
    order = np.lexsort((cells[:, 1], cells[:, 0]))
    sorted_cells = cells.take(order, axis=0)
    fresh = np.ones(len(points), dtype=bool)
    changed = sorted_cells[1:] != sorted_cells[:-1]
    fresh[1:] = changed[:, 0] | changed[:, 1]
    starts = fresh.nonzero()[0]
    group = np.cumsum(fresh) - 1
    # lexsort is stable: the first of each cell is its lowest number.
    leader = order[starts][group]
    step = points.take(order, axis=0) - points.take(leader, axis=0)
    apart = sized(step[:, 0], step[:, 1])
    label = np.empty(len(points), dtype=np.int64)
    label[order] = leader
    far = apart > eps
    parent: dict[int, int] = {}
    for g in dict.fromkeys(group[far].tolist()) if far.any() else ():
        stop = int(starts[g + 1]) if g + 1 < len(starts) else len(points)
        members: list[int] = order[starts[g]:stop].tolist()
        label[members] = members
        _within(points, members, eps, parent)
    margin = eps / size
    share = scaled - cells
    edgy = (share < margin) | (share > 1 - margin)
    for k in (edgy[:, 0] | edgy[:, 1]).nonzero()[0].tolist():
        near = (sized(*(points - points[k]).T) <= eps).nonzero()[0]
        for other in near.tolist():
            _unite(parent, int(label[k]), int(label[other]))
    for k in parent:
        label[label == k] = _find(parent, k)
    return label
