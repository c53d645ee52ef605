"""Grids of yes and no: connected pieces, what is three cells thick, what is nearest to each cell.

Takes arrays of rows and columns. A bed's grids are small, so that this costs less than loading a library of image
processing does; the tests hold it against one.
"""

from __future__ import annotations

import numpy as np

from .cells import Bools, Floats, Ints

NEAR = 5
"""Cells are first looked for within so many cells; few lie farther."""

AT_ONCE = 32
"""Rows that are blurred at once: most of a wider strip of the matrix would be nothing, and products of so few are done
without the threads that a library starts for large ones."""


def pieces_of_mask(mask: Bools) -> Ints:
    """Return for each cell of a mask, row by row, the number of its connected piece (0 for the first cell's).

    Cells touch by their sides. Runs of a row are joined with those they touch in the next row.
    """
    high, wide = mask.shape[0], mask.shape[1] + 1       # a column of nothing parts the rows
    line = np.zeros(high * wide + 1, dtype=np.int8)
    line[1:].reshape(high, wide)[:, :-1] = mask
    turns = np.diff(line)
    starts, stops = np.flatnonzero(turns == 1), np.flatnonzero(turns == -1)
    first = np.searchsorted(stops, starts - wide, side="right")
    after = np.searchsorted(starts, stops - wide, side="left")
    if np.count_nonzero(after <= first) == 1:           # all but the first run touch one before them
        return np.zeros(int((stops - starts).sum()), dtype=np.int64)
    heads = list(range(len(starts)))
    for run, (low, high) in enumerate(zip(first.tolist(), after.tolist(), strict=True)):
        for other in range(low, high):
            a, b = _head(heads, run), _head(heads, other)
            heads[max(a, b)] = min(a, b)
    numbers = np.unique([_head(heads, run) for run in heads], return_inverse=True)[1]
    pieces: Ints = np.repeat(numbers, stops - starts)
    return pieces


def _head(heads: list[int], run: int) -> int:
    while heads[run] != run:
        heads[run] = run = heads[heads[run]]
    return run


def largest_piece(mask: Bools) -> Bools:
    """Return the largest connected piece of a mask; of two alike the first."""
    pieces = pieces_of_mask(mask)
    if not pieces.any():
        return mask
    piece = np.zeros_like(mask)
    piece[mask] = pieces == np.bincount(pieces).argmax()
    return piece


def thick(mask: Bools) -> Bools:
    """Return what of a mask can be covered by squares of three by three cells inside it."""
    across = mask[:, :-2] & mask[:, 1:-1] & mask[:, 2:]
    middles = across[:-2] & across[1:-1] & across[2:]
    rows = np.zeros((len(middles), mask.shape[1]), dtype=bool)
    for shift in range(3):
        rows[:, shift: shift + middles.shape[1]] |= middles
    covered = np.zeros_like(mask)
    for shift in range(3):
        covered[shift: shift + len(rows)] |= rows
    return covered


def filled_from_nearest(values: Ints, known: Bools, wanted: Bools) -> Ints:
    """Return values with those at `wanted` taken from the nearest `known` cell; ties go to the left, then down."""
    filled = values.copy()
    padded, there = np.pad(values, NEAR), np.pad(known, NEAR)
    wide = padded.shape[1]
    flat_values, flat_there = padded.ravel(), there.ravel()
    rows, columns = np.nonzero(wanted & ~known)
    for down, right in _shifts():
        if not len(rows):
            return filled
        spot = (rows + (NEAR + down)) * wide + (columns + (NEAR + right))
        found = flat_there[spot]
        filled[rows[found], columns[found]] = flat_values[spot[found]]
        rows, columns = rows[~found], columns[~found]
    far_columns, far_rows = np.nonzero(known.T)
    for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
        at = int(((far_rows - row) ** 2 + (far_columns - column) ** 2).argmin())
        filled[row, column] = values[far_rows[at], far_columns[at]]
    return filled


def _shifts() -> list[tuple[int, int]]:
    """Return the ways (down, right) to all cells within NEAR, the nearest first."""
    span = range(-NEAR, NEAR + 1)
    return [(down, right) for _, right, down in
            sorted((down**2 + right**2, right, down) for down in span for right in span)
            if down**2 + right**2 <= NEAR**2]


class Blur:
    """Blurs grids of up to `longest` cells a side by a bell curve of width `sigma` cells, cut off at three widths.

    Nothing lies beyond the edges of a grid.
    """

    def __init__(self, sigma: float, longest: int) -> None:
        self.reach = int(3 * sigma + 0.5)
        curve = np.exp(-0.5 * (np.arange(self.reach + 1) / sigma) ** 2)
        curve /= curve[0] + 2 * curve[1:].sum()
        away = np.abs(np.subtract.outer(np.arange(longest), np.arange(longest)))
        self._bell = np.where(away <= self.reach, curve[np.minimum(away, self.reach)], 0.0)

    def of(self, grid: Floats) -> Floats:
        """Return a grid blurred along its columns and its rows."""
        return self._along(self._along(grid).T).T

    def _along(self, grid: Floats) -> Floats:
        """Blur along the columns, some rows at a time from the rows that reach them."""
        high = len(grid)
        blurred = np.empty_like(grid)
        for low in range(0, high, AT_ONCE):
            after = min(low + AT_ONCE, high)
            reached = slice(max(0, low - self.reach), min(after + self.reach, high))
            blurred[low:after] = self._bell[low:after, reached] @ grid[reached]
        return blurred
