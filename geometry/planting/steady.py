"""Steady flow and shortest ways on a grid of cells.

Takes masks and distances in cells. A flow in which each cell has the mean of its neighbours (Laplace's equation) is
found column by column: each column is solved for what the next one asks of it (block elimination).
Sources: block tridiagonal elimination, G. H. Golub and C. F. Van Loan, Matrix Computations, 4.5; shortest ways,
E. W. Dijkstra, Numer. Math. 1 (1959) 269; by buckets, R. B. Dial, Comm. ACM 12 (1969) 632 `[from memory]`.
"""

from __future__ import annotations

import math

import numpy as np

from .cells import Bools, Floats, Ints

WHOLE = 64
"""Larger matrices are inverted by quarters: a library starts threads for them that cost more than they give."""


def steady(mask: Bools, held: Floats) -> Floats:
    """Return a grid in which each cell of the mask that is not held (NaN in `held`) has the mean of its neighbours.

    Cells touch by their sides; each piece of the mask must hold a cell. Outside the mask the values mean nothing.
    """
    free = mask & np.isnan(held)
    level = np.where(mask & ~free, held, 0.0)
    given = np.zeros(mask.shape)
    touching = np.zeros(mask.shape)
    for here, there in _sides():
        given[here] += level[there]
        touching[here] += mask[there]
    blocks = _forward(free, touching, given)
    _back(free, blocks, level)
    return level


def _sides() -> list[tuple[tuple[slice, slice], tuple[slice, slice]]]:
    """Return the parts of a grid and of its neighbours: left, right, below, above."""
    every, low, high = slice(None), slice(None, -1), slice(1, None)
    return [((every, high), (every, low)), ((every, low), (every, high)),
            ((high, every), (low, every)), ((low, every), (high, every))]


def _forward(free: Bools, touching: Floats, given: Floats) -> list[tuple[Floats, Floats]]:
    """Return for each column the inverse of its equations and their right sides, all columns before it eliminated."""
    blocks: list[tuple[Floats, Floats]] = []
    for column in range(free.shape[1]):
        rows = np.flatnonzero(free[:, column])
        matrix: Floats = np.diag(touching[rows, column])
        right = given[rows, column]
        beside = np.flatnonzero(np.diff(rows) == 1)
        matrix[beside, beside + 1] = matrix[beside + 1, beside] = -1.0
        if column and len(rows):
            own, other = _shared(free, column, column - 1)
            inverse, before = blocks[-1]
            matrix[own[:, None], own] -= inverse[other[:, None], other]
            right[own] += (inverse @ before)[other]
        blocks.append((inverse_of(matrix), right))
    return blocks


def _back(free: Bools, blocks: list[tuple[Floats, Floats]], level: Floats) -> None:
    """Fill in the free cells, the last column first."""
    last = free.shape[1] - 1
    for column in range(last, -1, -1):
        inverse, right = blocks[column]
        if column < last:
            own, other = _shared(free, column, column + 1)
            right[own] += level[free[:, column + 1], column + 1][other]
        level[free[:, column], column] = inverse @ right


def _shared(free: Bools, column: int, other: int) -> tuple[Ints, Ints]:
    """Return the places, among the free cells of two columns, of those that lie side by side."""
    own, next_to = free[:, column], free[:, other]
    return np.flatnonzero(next_to[own]), np.flatnonzero(own[next_to])


def inverse_of(matrix: Floats) -> Floats:
    """Return the inverse of a symmetric positive definite matrix."""
    size = len(matrix)
    if size <= WHOLE:
        return np.asarray(np.linalg.inv(matrix), dtype=np.float64)
    half = size // 2
    corner, side = inverse_of(matrix[:half, :half]), matrix[:half, half:]
    across = corner @ side
    far = inverse_of(matrix[half:, half:] - side.T @ across)
    cross = -across @ far
    return np.block([[corner - cross @ across.T, cross], [cross.T, far]])


def ways_from(mask: Bools, row: int, column: int, size: float) -> Floats:
    """Return the length of the shortest way inside a mask from one cell to each: inf where there is none.

    Cells are `size` apart; ways go to the sides and across corners. Cells are settled a distance of `size` at a time:
    no step is shorter, so no way leads back to a nearer one.
    """
    high, wide = mask.shape[0] + 2, mask.shape[1] + 2
    way = np.full(high * wide, -1.0)                    # outside nothing is ever shorter
    way.reshape(high, wide)[1:-1, 1:-1][mask] = np.inf
    steps = [(down * wide + right, math.hypot(down, right) * size)
             for down in (-1, 0, 1) for right in (-1, 0, 1) if down or right]
    waiting = np.array([(row + 1) * wide + column + 1])
    way[waiting] = 0.0
    while len(waiting):
        near = way[waiting] < way[waiting].min() + size
        settled, reached = waiting[near], [waiting[~near]]
        for shift, length in steps:
            there, longer = settled + shift, way[settled] + length
            better = longer < way[there]
            way[there[better]] = longer[better]
            reached.append(there[better])
        waiting = np.unique(np.concatenate(reached))
    return way.reshape(high, wide)[1:-1, 1:-1]
