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
SIGMA = 0.2
"""Width of the blur in thicknesses of a drift; more makes drifts rounder than asked."""

LEAST_SIGMA = 1.2
"""... and at least this many cells."""

REACH = 0.05
"""Strengths under this are nothing: keeps hairlines of third drifts off a border of two."""

PULL = 0.06
"""How much the division's own costs hold the outlines in place."""

NOTHING = -1e3
ROUNDS = 40
CLOSE = 0.004


def rounded(cells: Cells, cost: Floats, share: Floats, thickness: float) -> tuple[Ints, Floats]:
    """Return the owner of every cell and the strengths (drifts by cells) behind it."""
    sigma = max(SIGMA * thickness / cells.size, LEAST_SIGMA)
    excess = (cost - cost.min(axis=0)) * PULL
    owner: Ints = cost.argmin(axis=0)
    whole = _blurred(cells.mask.astype(float), sigma)[cells.mask]
    strength = np.zeros_like(cost)
    lift = np.zeros(len(share))
    for _ in range(STEPS):
        strength = _strength(cells, owner, sigma, whole, excess)
        owner, lift = _weighed(strength, share, lift)
    return owner, strength + lift[:, None]


def _blurred(grid: Floats, sigma: float) -> Floats:
    from scipy.ndimage import gaussian_filter

    blurred: Floats = gaussian_filter(grid, sigma, mode="constant", truncate=3.0)
    return blurred


def _strength(cells: Cells, owner: Ints, sigma: float, whole: Floats, excess: Floats) -> Floats:
    """Return each drift's largest piece blurred, less its excess cost; NOTHING out of reach."""
    strength = np.full(excess.shape, NOTHING)
    reach = int(np.ceil(3 * sigma)) + 1
    grid = np.full(cells.index.shape, -1, dtype=np.int64)
    grid[cells.mask] = owner
    for drift in range(len(excess)):
        rows, columns = np.nonzero(grid == drift)
        if not len(rows):
            continue
        window = (slice(max(0, rows.min() - reach), rows.max() + reach + 1),
                  slice(max(0, columns.min() - reach), columns.max() + reach + 1))
        blurred = _blurred(largest_piece(grid[window] == drift).astype(float), sigma)
        numbers = cells.index[window]
        there = numbers >= 0
        cell = numbers[there]
        value = blurred[there] / whole[cell]
        near = value > REACH
        strength[drift, cell[near]] = value[near] - excess[drift, cell[near]]
    return strength


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


def _weighed(strength: Floats, share: Floats, lift: Floats) -> tuple[Ints, Floats]:
    """Lift each drift's strength until its area is right; steps grow while the sign holds and halve when it turns."""
    count = strength.shape[1]
    step = np.full(len(share), 0.04)
    sign = np.zeros(len(share))
    best, best_error = lift, np.inf
    for _ in range(ROUNDS):
        owner = (strength + lift[:, None]).argmax(axis=0)
        lack = share - np.bincount(owner, minlength=len(share)) / count
        error = float(np.abs(lack / share).max())
        if error < best_error:
            best, best_error, best_owner = lift, error, owner
        if error < CLOSE:
            break
        turned = np.sign(lack)
        step = np.where(turned == sign, np.minimum(step * 1.3, 0.2), step * 0.5)
        lift = np.clip(lift + turned * step, -0.6, 0.6)
        sign = turned
    return best_owner, best
