"""Arrangements of drifts on the cells of a bed: an order is sought in which like drifts keep apart.

Takes the ground of a bed, the drifts and their areas. Gives who has which cell; like drifts that still touch count as
one. Nothing is drawn yet, so that arrangements can be compared at little cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..kernel.flatten import polygon
from ..kernel.path import Region
from .blur import rounded
from .cells import CELLS, Cells, Floats, Ints, cells_of
from .divide import divided, first_seeds
from .frame import Frame, frame_of
from .order import Drift, Order, Wishes, order_of
from .trace import tidied

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

CHORD = 2e-3
"""Arcs become chords within this gap (m) where cells are cut: far finer than a cell."""

REORDERS = 5
TOLD = 2
"""Orders are sought at most REORDERS times while like drifts touch: TOLD times by keeping the kinds concerned apart,
then also from other phases of the kinds."""

PHASE = 13


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A region cut into cells with its bed coordinates: what every division of it works on."""

    region: Region
    cells: Cells
    frame: Frame


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """An arrangement on cells: its order, the drifts joined in each group, who of these has which cell, how strongly.

    `lost` are the drifts for which no room was found.
    """

    order: Order
    members: tuple[tuple[int, ...], ...]
    lost: tuple[int, ...]
    owner: Ints
    strength: Floats

    @property
    def trouble(self) -> float:
        """How far from what was asked: lost drifts and joined ones."""
        return 100.0 * len(self.lost) + 3.0 * sum(len(m) - 1 for m in self.members)


def ground_of_region(region: Region, back: BaseGeometry | None, neighbours: BaseGeometry | None,
                     count: int = CELLS) -> Ground:
    """Cut a region into about `count` cells and give them bed coordinates. Shapely shapes in metres, or None."""
    body = polygon(region, CHORD)
    cells = cells_of(body, count)
    return Ground(region, cells, frame_of(cells, body, back, neighbours))


def arranged(ground: Ground, drifts: Sequence[Drift], areas: Floats, spacings: Floats, strips: int, lean: float,
             seed: int, wishes: Wishes, order: Order | None) -> Laid:
    """Lay out one arrangement; reorder while like drifts touch, then join those that still do."""
    found: tuple[int, Order, Ints, Floats] | None = None
    apart = set(wishes.apart)
    for turn in range(1 if order else REORDERS):
        asked = order or order_of(drifts, strips, ground.frame.island, seed + PHASE * max(0, turn - TOLD),
                                  Wishes(frozenset(apart), wishes.clashes))
        seeds = first_seeds(ground.frame, asked, areas, spacings, lean)
        cost = divided(ground.frame, seeds)
        rough = _like_touching(ground.cells, cost.argmin(axis=0), drifts)
        apart |= {drifts[a].kind for a, _ in rough}
        if found is not None and len(rough) > found[0]:
            continue
        owner, strength = rounded(ground.cells, cost, seeds.share, seeds.thickness)
        owner = tidied(ground.cells, owner)
        touching = _like_touching(ground.cells, owner, drifts)
        if found is None or len(touching) < found[0]:
            found = (len(touching), asked, owner, strength)
        if not touching:
            break
        apart |= {drifts[a].kind for a, _ in touching}
    assert found is not None
    return _joined(ground.cells, drifts, *found[1:])


def _like_touching(cells: Cells, owner: Ints, drifts: Sequence[Drift]) -> list[tuple[int, int]]:
    """Return pairs of drifts of one kind that touch."""
    grid = np.full(cells.index.shape, -1, dtype=np.int64)
    grid[cells.mask] = owner
    pairs: set[tuple[int, int]] = set()
    for a, b in ((grid[:, :-1], grid[:, 1:]), (grid[:-1], grid[1:])):
        differ = (a != b) & (a >= 0) & (b >= 0)
        both = np.unique(np.sort(np.column_stack([a[differ], b[differ]]), axis=1), axis=0)
        pairs |= {(int(p), int(q)) for p, q in both}
    return sorted((p, q) for p, q in pairs if drifts[p].kind == drifts[q].kind)


def _joined(cells: Cells, drifts: Sequence[Drift], order: Order, owner: Ints, strength: Floats) -> Laid:
    """Join like drifts that touch."""
    head = list(range(len(drifts)))
    for a, b in _like_touching(cells, owner, drifts):
        low, high = sorted((head[a], head[b]))
        head = [low if h == high else h for h in head]
    present = set(np.unique(owner).tolist())
    heads = sorted({head[k] for k in present})
    number = {h: n for n, h in enumerate(heads)}
    members = tuple(tuple(k for k in sorted(present) if head[k] == h) for h in heads)
    return Laid(order, members, tuple(k for k in range(len(drifts)) if k not in present),
                np.array([number.get(head[k], 0) for k in range(len(drifts))])[owner],
                np.stack([strength[list(m)].max(axis=0) for m in members]))
