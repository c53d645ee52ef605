"""Rounds the outlines of drifts and keeps their areas: blur, weigh, give each cell to the strongest, again.

Takes the costs of a division on cells. Gives the strength of every drift on every cell; the strongest has it.
Only a drift's largest piece is blurred and it may only grow next to itself, so no drift ends in two pieces.
Sources: threshold dynamics, Merriman, Bence and Osher, Comput. Crystal Growers Workshop (1992) 73; with areas kept,
Jacobs, Merkurjev and Esedoglu, J. Comput. Phys. 354 (2018) 288 `[from memory]`.
"""

from __future__ import annotations

import numpy as np

from .cells import Bools, Cells, Floats, Ints

STEPS = 5
MORE_STEPS = 4
MISSED = 0.01
"""While a drift is off by more than this part of its share, so many steps more are taken."""

SIGMA = 0.2
"""Width of the blur in thicknesses of a drift; more makes drifts rounder than asked."""

LEAST_SIGMA = 1.2
"""... and at least this many cells."""

REACH = 0.05
"""Strengths under this are nothing: keeps hairlines of third drifts off a border of two."""

PULL = 0.06
"""How much the division's own costs hold the outlines in place."""

NOTHING = -1e3
HIGHEST = 3.0
"""No drift is lifted more than this. One hemmed in by others that also lack ground has to rise above them in turn, so
it must be some times the largest strength (1): at 0.6 such beds missed their shares by up to 30 %."""

ROUNDS = 40
CLOSE = 0.004


def rounded(cells: Cells, cost: Floats, share: Floats, thickness: float) -> tuple[Ints, Floats]:
    """Return the owner of every cell and the strengths (drifts by cells) behind it."""
    sigma = max(SIGMA * thickness / cells.size, LEAST_SIGMA)
    excess = (cost - cost.min(axis=0)) * PULL
    owner: Ints = cost.argmin(axis=0)
    whole = np.where(cells.mask, _blurred(cells.mask.astype(float), sigma), np.inf)
    strength = np.zeros_like(cost)
    lift = np.zeros(len(share))
    for step in range(STEPS + MORE_STEPS):
        strength = _strength(cells, owner, sigma, whole, excess)
        owner, lift, error = _weighed(strength, share, lift)
        if step >= STEPS - 1 and error <= MISSED:
            break
    return owner, strength + lift[:, None]


def _blurred(grid: Floats, sigma: float) -> Floats:
    from scipy.ndimage import gaussian_filter

    blurred: Floats = gaussian_filter(grid, sigma, mode="constant", truncate=3.0)
    return blurred


def _strength(cells: Cells, owner: Ints, sigma: float, whole: Floats, excess: Floats) -> Floats:
    """Return each drift's largest piece blurred, less its excess cost; NOTHING out of reach.

    `whole` is the bed itself blurred, on the grid; infinite outside, where no drift has any strength.
    """
    strength = np.full(excess.shape, NOTHING)
    grid = np.full(cells.index.shape, -1, dtype=np.int64)
    grid[cells.mask] = owner
    for drift, window in _windows(cells, owner, int(np.ceil(3 * sigma)) + 1):
        part = _blurred(largest_piece(grid[window] == drift).astype(float), sigma) / whole[window]
        near = part > REACH
        cell = cells.index[window][near]
        strength[drift, cell] = part[near] - excess[drift, cell]
    return strength


def _windows(cells: Cells, owner: Ints, margin: int) -> list[tuple[int, tuple[slice, slice]]]:
    """Return each drift that has cells, with the part of the grid that holds them and `margin` cells round them."""
    order = np.argsort(owner, kind="stable")
    drifts, starts = np.flatnonzero(np.bincount(owner)), np.flatnonzero(np.diff(owner[order], prepend=-1))
    bounds = []
    for place in np.nonzero(cells.mask):
        ordered = place[order]
        bounds.append(np.maximum(np.minimum.reduceat(ordered, starts) - margin, 0).tolist())
        bounds.append((np.maximum.reduceat(ordered, starts) + margin + 1).tolist())
    return [(drift, (slice(a, b), slice(c, d))) for drift, a, b, c, d in zip(drifts.tolist(), *bounds, strict=True)]


def largest_piece(grid: Bools) -> Bools:
    """Return the largest connected piece of a mask."""
    from scipy.ndimage import label

    pieces, count = label(grid)
    if count < 2:
        return grid
    sizes = np.bincount(pieces.ravel())
    sizes[0] = 0
    piece: Bools = pieces == sizes.argmax()
    return piece


def _weighed(strength: Floats, share: Floats, lift: Floats) -> tuple[Ints, Floats, float]:
    """Lift each drift's strength until its area is right; return owners, lifts and the part that is still off.

    Steps grow while the sign holds and halve when it turns.
    """
    rivals = _Rivals(strength)
    step = np.full(len(share), 0.04)
    sign = np.zeros(len(share))
    best, best_error = lift, np.inf
    for _ in range(ROUNDS):
        lack = share - rivals.shares(lift)
        error = float(np.abs(lack / share).max())
        if error < best_error:
            best, best_error = lift, error
        if error < CLOSE:
            break
        turned = np.sign(lack)
        step = np.where(turned == sign, np.minimum(step * 1.3, 0.2), step * 0.5)
        lift = np.minimum(np.maximum(lift + turned * step, -HIGHEST), HIGHEST)
        sign = turned
    return rivals.owner(best), best, best_error


class _Rivals:
    """The cells that more than one drift reaches, with those drifts and their strengths; all others have one owner.

    Cells that two drifts reach are most, and kept apart from those that more do.
    """

    def __init__(self, strength: Floats) -> None:
        drift, cell = np.nonzero(strength > NOTHING)
        order = np.argsort(cell, kind="stable")
        drift, cell = drift[order], cell[order]
        count = np.bincount(cell, minlength=strength.shape[1])
        self.drifts, self.cells = strength.shape
        self.sole: Ints = np.full(self.cells, -1, dtype=np.int64)
        self.sole[cell[count[cell] == 1]] = drift[count[cell] == 1]
        self.held = np.bincount(self.sole[self.sole >= 0], minlength=self.drifts)
        self.nobody = np.flatnonzero(count == 0)
        self.pairs, self.crowds = np.flatnonzero(count == 2), np.flatnonzero(count > 2)
        first = np.cumsum(count) - count
        self.one, self.other = drift[first[self.pairs]], drift[first[self.pairs] + 1]
        self.strong_one, self.strong_other = strength[self.one, self.pairs], strength[self.other, self.pairs]
        many = count[cell] > 2
        row, place = np.cumsum(count > 2)[cell[many]] - 1, (np.arange(len(cell)) - first[cell])[many]
        shape = (len(self.crowds), max(1, int(count.max())))
        self.rival, self.strong = np.zeros(shape, dtype=np.int64), np.full(shape, -np.inf)
        self.rival[row, place] = drift[many]
        self.strong[row, place] = strength[drift[many], cell[many]]
        self.rows = np.arange(len(self.crowds))

    def _winners(self, lift: Floats) -> tuple[Ints, Ints]:
        """Return who has each cell of `pairs` and of `crowds`; of equals the first."""
        second = self.strong_other + lift[self.other] > self.strong_one + lift[self.one]
        best = (self.strong + lift[self.rival]).argmax(axis=1)
        return np.where(second, self.other, self.one), self.rival[self.rows, best]

    def shares(self, lift: Floats) -> Floats:
        """Return the part of all cells that each drift has when lifted so."""
        held = self.held + np.bincount(np.concatenate(self._winners(lift)), minlength=self.drifts)
        held[int(lift.argmax())] += len(self.nobody)
        part: Floats = held / self.cells
        return part

    def owner(self, lift: Floats) -> Ints:
        """Return the owner of every cell; what no drift reaches goes to the one that is lifted most."""
        owner = self.sole.copy()
        owner[self.pairs], owner[self.crowds] = self._winners(lift)
        owner[self.nobody] = lift.argmax()
        return owner
