"""Areas for drifts: a power diagram in bed coordinates with a leaning metric, stretched for each drift.

Takes bed coordinates, an order and the areas wanted. Gives for every cell what each drift would pay for it; the
least payer has it. Weights that make the areas right come from entropy-smoothed steps (Sinkhorn's).
Sources: power diagrams, F. Aurenhammer, SIAM J. Comput. 16 (1987) 78; areas by weights, Aurenhammer, Hoffmann and
Aronov, Algorithmica 20 (1998) 61; smoothing, M. Cuturi, NIPS 2013 `[from memory]`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .cells import Floats, settled_figures
from .frame import Frame
from .order import Order

LEAN = 0.40
"""Drifts lean by this against the run of the bed, radians (23 degrees)."""

ROUNDEST, LONGEST = 1.3, 4.0
"""Length over width asked of a drift. Long drifts rather than blocks: G. Jekyll, Colour Schemes for the Flower
Garden, ch. 3; figures our own."""

TWO_ROWS = 1.75
"""A drift of this many spacings' width still takes two staggered rows beside its clear edge."""

SAMPLE = 2400
"""Weights are sought on about so many cells."""

MOVES = 4


@dataclass(frozen=True, slots=True, eq=False)
class Seeds:
    """Where drifts lie in bed coordinates, how stretched they are, how much each is to have (share of the whole)."""

    along: Floats
    across: Floats
    stretch: Floats
    share: Floats
    thickness: float
    lean: float


def stretch_of(area: float, spacing: float) -> float:
    """Return the length over width asked of a drift of `area` m2 whose plants stand `spacing` m apart."""
    return min(LONGEST, max(ROUNDEST, area / (TWO_ROWS * spacing) ** 2))


def thickness_of(areas: Sequence[float], spacings: Sequence[float]) -> float:
    """Return the middle width (m) of the drifts."""
    return float(np.median([math.sqrt(a / stretch_of(a, s)) for a, s in zip(areas, spacings, strict=True)]))


def first_seeds(frame: Frame, order: Order, areas: Floats, spacings: Floats, lean: float) -> Seeds:
    """Put the drifts of each strip side by side, strips and drifts as wide as their summed areas ask."""
    share = areas / areas.sum()
    along, across = np.zeros(len(areas)), np.zeros(len(areas))
    rank = np.argsort(np.argsort(frame.across, kind="stable"), kind="stable") / len(frame.across)
    passed = 0.0
    for strip in order.strips:
        drifts = np.array(strip)
        width = float(share[drifts].sum())
        inside = (rank >= passed) & (rank < passed + width)
        if not inside.any():
            inside = np.ones(len(rank), dtype=bool)
        run = np.sort(frame.along[inside])
        middles = (np.cumsum(share[drifts]) - share[drifts] / 2) / width
        along[drifts] = np.quantile(run, np.clip(middles, 0, 1))
        across[drifts] = np.quantile(frame.across, min(1.0, passed + width / 2))
        passed += width
    stretch = np.array([stretch_of(a, s) for a, s in zip(areas, spacings, strict=True)])
    return Seeds(along, across, stretch, share, float(np.median(np.sqrt(areas / stretch))), lean)


def costs(frame: Frame, seeds: Seeds, cells: slice) -> Floats:
    """Return the cost of each cell (columns) to each drift (rows), without weights; 1 is a drift's own half width."""
    aside = frame.along[None, cells] - seeds.along[:, None]
    away = (frame.across[None, cells] - seeds.across[:, None]) * frame.depth[None, cells]
    c, s = math.cos(seeds.lean), math.sin(seeds.lean)
    e = seeds.stretch[:, None]
    cost: Floats = ((aside * c + away * s) ** 2 / e + (away * c - aside * s) ** 2 * e) / seeds.thickness**2
    return cost


def _weigh(cost: Floats, share: Floats, weights: Floats, start: float, steps: int) -> tuple[Floats, Floats]:
    """Seek the weights that give each drift its share; return them and who has how much of each cell."""
    smooth = start
    held, part = np.empty_like(cost), np.ones(cost.shape[1])
    for _ in range(steps):
        np.subtract(weights[:, None], cost, out=held)
        held -= held.max(axis=0)
        held *= 1 / smooth
        np.exp(held, out=held)
        part = 1 / held.sum(axis=0)
        got = held @ part / len(part)
        weights = weights + 0.9 * smooth * np.log(share / np.maximum(got, 1e-6 * share))
        smooth = max(0.03, 0.88 * smooth)
    held *= part
    return weights, held


def divided(frame: Frame, seeds: Seeds) -> Floats:
    """Return each drift's cost less its weight (drifts by cells); the least has the cell."""
    part = slice(2, None, max(1, len(frame.along) // SAMPLE))
    start_across = seeds.across.copy()
    weights = np.zeros(len(seeds.share))
    weights, held = _weigh(costs(frame, seeds, part), seeds.share, weights, 0.5, 30)
    for _ in range(MOVES):
        total = np.maximum(held.sum(axis=1), 1e-9)
        along = 0.4 * seeds.along + 0.6 * (held @ frame.along[part]) / total
        across = 0.55 * seeds.across + 0.25 * (held @ frame.across[part]) / total + 0.2 * start_across
        seeds = replace(seeds, along=settled_figures(along), across=settled_figures(across))
        weights, held = _weigh(costs(frame, seeds, part), seeds.share, weights, 0.12, 14)
    everywhere = costs(frame, seeds, slice(None)) - settled_figures(weights)[:, None]
    return settled_figures(everywhere, 9)
