"""Plants on a fixed grid, triangular or square, and plants scattered evenly.

Takes ground (a shapely shape in metres). Gives rows of points. Of several turns and offsets the grid with most plants
is taken; ties go to the first turn, along the drift, then to the plants nearest the middle.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .cells import Floats, turned

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TRIANGLE = np.sqrt(3) / 2
"""Rows of a triangular grid stand this part of the spacing apart; a plant then has 0.866 spacing squared."""

TURNS = 3
OFFSETS = 4
TRIES = 2400


def nominal(area: float, spacing: float, square: bool = False) -> float:
    """Return area over the ground of one plant: A / s2 on a square grid, A / (0.866 s2) on a triangular one.

    Source: Landscape Architect's Pocket Book, plant densities (square); triangular derived.
    """
    return area / (spacing**2 * (1.0 if square else float(TRIANGLE)))


def best_grid(ground: BaseGeometry, spacing: float, heading: float, square: bool = False) -> Floats:
    """Return the points of the best grid of `spacing` metres; `heading` (radians) is the first turn tried."""
    from shapely import contains_xy, get_coordinates, prepare

    if ground.is_empty:
        return np.zeros((0, 2))
    prepare(ground)
    corners = get_coordinates(ground)
    low, high = turned(corners, -heading).min(axis=0), turned(corners, -heading).max(axis=0)
    middle = (low + high) / 2
    candidates, numbers = _lattices((high - low) / 2, spacing, square)
    spots = turned(candidates + middle, heading)
    inside = contains_xy(ground, spots[:, 0], spots[:, 1])
    kept, numbers = spots[inside], numbers[inside]
    if not len(kept):
        return np.asarray(ground.representative_point().coords, dtype=float)
    away = np.hypot(*(kept - kept.mean(axis=0)).T)
    count = np.bincount(numbers, minlength=TURNS * OFFSETS**2)
    spread = np.bincount(numbers, away, minlength=TURNS * OFFSETS**2) / np.maximum(count, 1)
    turn = np.arange(len(count)) // OFFSETS**2
    best = np.lexsort((np.arange(len(count)), np.round(spread, 6), turn, -count))[0]
    chosen: Floats = kept[numbers == best]
    return chosen


def _lattices(half: Floats, spacing: float, square: bool) -> tuple[Floats, Floats]:
    """Return points of all turned and shifted grids within a box of half sizes `half`, and each one's grid number."""
    rise = 1.0 if square else float(TRIANGLE)
    reach = float(np.hypot(*half)) + spacing
    across, up = int(reach / spacing) + 2, int(reach / (spacing * rise)) + 2
    i, j = np.meshgrid(np.arange(-across, across + 1), np.arange(-up, up + 1))
    slant = 0.0 if square else 0.5 * (j % 2)
    base = np.column_stack([((i + slant) * spacing).ravel(), (j * rise * spacing).ravel()])
    found, numbers = [], []
    steps = (np.arange(OFFSETS) + 0.0) / OFFSETS
    for turn in range(TURNS):
        angle = turn * (np.pi / 2 if square else np.pi / 3) / TURNS
        for a in range(OFFSETS):
            for b in range(OFFSETS):
                shift = np.array([steps[a], 2 * steps[b] * rise if not square else steps[b]]) * spacing
                spots = turned(base + shift, angle)
                inside = (np.abs(spots[:, 0]) <= half[0]) & (np.abs(spots[:, 1]) <= half[1])
                found.append(spots[inside])
                numbers.append(np.full(int(inside.sum()), (turn * OFFSETS + a) * OFFSETS + b))
    return np.concatenate(found), np.concatenate(numbers)


def scattered(ground: BaseGeometry, spacing: float, seed: int, most: int | None = None) -> Floats:
    """Return random points of the ground, none nearer another than `spacing` metres; at most `most` of them.

    Darts from a generator with a fixed seed; where `most` is set each next plant is the dart farthest from all others.
    """
    from shapely import contains_xy, prepare

    if ground.is_empty:
        return np.zeros((0, 2))
    prepare(ground)
    dice = np.random.default_rng(seed)
    x0, y0, x1, y1 = ground.bounds
    darts = dice.random((TRIES, 2)) * (x1 - x0, y1 - y0) + (x0, y0)
    darts = darts[contains_xy(ground, darts[:, 0], darts[:, 1])]
    kept: list[Floats] = []
    away = np.full(len(darts), np.inf)
    while len(darts) and (most is None or len(kept) < most):
        free = np.flatnonzero(away >= spacing)
        if not len(free):
            break
        if most is None or not kept:
            pick = int(free[0])
        else:
            few = free[: 24 + 8 * len(kept)]
            pick = int(few[np.argmax(away[few])])
        kept.append(darts[pick])
        away = np.minimum(away, np.hypot(*(darts - darts[pick]).T))
    return np.array(kept).reshape(-1, 2)
