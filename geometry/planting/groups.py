"""One connected bed divided into its drifts: order, areas, rounding, exact shapes, like neighbours parted or joined.

Takes a region, the drifts asked for and their areas. Gives exact regions that fill it. Several arrangements are tried
when the first leaves drifts out, joins like ones or cannot be drawn; the least troubled is taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import GeometryError, refuse
from ..kernel.flatten import polygon
from ..kernel.path import Region
from .arranged import Ground, Laid, arranged
from .assemble import assembled
from .biarcs import GAP, chain_of
from .cells import Floats, Ints
from .divide import LEAN, thickness_of
from .edges import Ring, rings_of
from .mix import Arrangement
from .necks import across_necks
from .order import Drift, Order, Wishes, strip_count
from .relax import SMOOTH, moved_for_areas, smoothed
from .trace import Network, traced

CHORD = 2e-3
"""Arcs become chords within this gap (m) where shapes are proved sound: far finer than they are drawn."""

JOIN_AFTER = 2
"""Joined drifts alone are put up with after so many further arrangements."""

AREA_STEPS = 4
CLOSE = 2e-4
"""Areas are right when no drift is off by more than this part."""

NECK = 4.0
"""In cells: places of the bed narrower than this may hide a border."""

FAR = 0.05
"""A share that is off by more than this part of itself is reported."""


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One drift as it lies: the drifts joined in it (numbers of the list asked), its region and the area asked (m2).

    `along` is its reach along the bed (from, to) and `middle` the mean, metres; `across` is its mean place from front
    (0) to back (1).
    """

    drifts: tuple[int, ...]
    region: Region
    wanted: float
    along: tuple[float, float]
    middle: float
    across: float


@dataclass(frozen=True, slots=True, eq=False)
class Division:
    """The shapes of one region, the order behind them, and the drifts for which no room was found."""

    shapes: tuple[Shape, ...]
    order: Order
    lost: tuple[int, ...]

    @property
    def off(self) -> float:
        """The most by which an area differs from what was asked, as a part of that."""
        return max(abs(s.region.area / s.wanted - 1) for s in self.shapes)

    @property
    def trouble(self) -> float:
        """How far from what was asked: lost drifts, joined ones, areas that are off."""
        joined = sum(len(s.drifts) - 1 for s in self.shapes)
        return 100.0 * len(self.lost) + 3.0 * joined + max(0.0, self.off - 0.01) * 100


def divide(ground: Ground, drifts: Sequence[Drift], areas: Sequence[float], spacings: Sequence[float], seed: int,
           wishes: Wishes, kept: Arrangement | None = None, names: Sequence[str] = (), failures: int = 0) -> Division:
    """Return the division of a region into drifts of `areas` m2, whose plants stand `spacings` m apart.

    `kept` is an order of an earlier run by `names` of kinds; it is used if it holds the same drifts.
    GeometryError if no arrangement can be drawn, or none of the first `failures` if that is not 0.
    """
    size, apart = np.array(areas, dtype=float), np.array(spacings, dtype=float)
    size *= ground.region.area / size.sum()
    if len(drifts) == 1:
        whole = Shape((0,), ground.region, float(size[0]), (0.0, ground.frame.length), ground.frame.length / 2, 0.5)
        return Division((whole,), Order(((0,),)), ())
    lean = LEAN if seed % 2 == 0 else -LEAN
    strips = strip_count(ground.frame.mean_depth, thickness_of(areas, spacings), len(drifts), ground.frame.island)
    best: Division | None = None
    failed = 0
    for number, (turn, count) in enumerate(_attempts(lean, strips, ground.frame.island)):
        order = _kept_order(kept, drifts, names) if turn == lean else None
        laid = arranged(ground, drifts, size, apart, count, turn, seed, wishes, order)
        if best is None or laid.trouble < best.trouble:
            try:
                tried = _drawn(ground, size, laid)
            except GeometryError:
                failed += 1
                if best is None and failed == failures:
                    break
                continue
            if best is None or tried.trouble < best.trouble:
                best = tried
        if best.trouble < 3.0 or (number >= JOIN_AFTER and not best.lost and best.off < FAR):
            break
    if best is None:
        raise refuse(GeometryError, f"{len(drifts)} groups cannot be laid out in a bed of {ground.region.area:.1f} m2",
                     "ask for fewer groups, or draw some by hand", "no-arrangement")
    return best


def _attempts(lean: float, strips: int, island: bool) -> list[tuple[float, int]]:
    """Return leans and strip counts in the order in which they are tried."""
    fewer = max(1, strips - (2 if island else 1))
    return [(lean, strips), (-lean, strips), (lean / 2, strips), (lean, fewer), (0.0, fewer), (0.0, 1)]


def _kept_order(kept: Arrangement | None, drifts: Sequence[Drift], names: Sequence[str]) -> Order | None:
    """Return the kept order in the numbers of today's drifts; None if it holds other drifts."""
    if kept is None:
        return None
    waiting: dict[str, list[int]] = {}
    for number, drift in enumerate(drifts):
        waiting.setdefault(names[drift.kind], []).append(number)
    strips = []
    for strip in kept.strips:
        if any(not waiting.get(name) for name in strip):
            return None
        strips.append(tuple(waiting[name].pop(0) for name in strip))
    return Order(tuple(s for s in strips if s)) if not any(waiting.values()) else None


def _drawn(ground: Ground, areas: Floats, laid: Laid) -> Division:
    """Draw all shapes exactly, and bring their areas right."""
    wanted = np.array([areas[list(m)].sum() for m in laid.members])
    wanted *= ground.region.area / wanted.sum()
    regions = _exact(ground, laid.owner, laid.strength, wanted)
    return Division(tuple(_shape(ground, laid.owner, n, laid.members[n], regions[n], float(wanted[n]))
                          for n in range(len(laid.members))), laid.order, laid.lost)


def _shape(ground: Ground, owner: Ints, number: int, drifts: tuple[int, ...], region: Region, wanted: float) -> Shape:
    along, across = ground.frame.along[owner == number], ground.frame.across[owner == number]
    return Shape(drifts, region, wanted, (float(along.min()), float(along.max())), float(along.mean()),
                 float(across.mean()))


def _exact(ground: Ground, owner: Ints, strength: Floats, wanted: Floats) -> list[Region]:
    """Return exact regions: chains traced, smoothed, fitted by arcs, moved until the areas are right."""
    rings = rings_of(ground.region)
    lone = _round_rings(ground, rings, owner)
    network = traced(ground.cells, owner, strength)
    trouble: GeometryError | None = None
    for smooth, gap in ((SMOOTH, GAP), (2.0, GAP / 2), (0.5, GAP / 5)):
        try:
            return _brought_right(ground, network, rings, lone, wanted, smooth, gap)
        except GeometryError as error:
            trouble = error
    assert trouble is not None
    raise trouble


def _brought_right(ground: Ground, network: Network, rings: Sequence[Ring], lone: Sequence[int], wanted: Floats,
                   smooth: float, gap: float) -> list[Region]:
    """Draw all borders, measure, and move them until the areas are right; GeometryError if they cross."""
    borders = across_necks(smoothed(network, rings, smooth), rings, NECK * ground.cells.size)
    best: list[Region] | None = None
    best_off = np.inf
    for _ in range(AREA_STEPS):
        regions = assembled(rings, borders, [chain_of(b.points, gap) for b in borders], lone, len(wanted))
        got = np.array([r.area for r in regions])
        off = float(np.abs(got / wanted - 1).max())
        if off < best_off and _sound(ground.region, regions):
            best, best_off = regions, off
        elif off < best_off:
            break
        if best_off < CLOSE:
            break
        borders = moved_for_areas(borders, wanted - got)
    if best is None:
        raise refuse(GeometryError, "borders of groups cross each other or the edge of the bed",
                     "ask for fewer groups, or draw some by hand", "borders-cross")
    return best


def _sound(region: Region, groups: Sequence[Region]) -> bool:
    """Say whether no outline crosses itself and none leaves the bed: then they fill it without overlap."""
    from shapely import is_valid, prepare

    body = polygon(region, CHORD).buffer(2 * CHORD)
    prepare(body)
    shapes = [polygon(g, CHORD) for g in groups]
    return bool(np.all(is_valid(shapes))) and all(body.covers(s) for s in shapes)


def _round_rings(ground: Ground, rings: Sequence[Ring], owner: Ints) -> list[int]:
    """Return for each ring the drift that lies round it, should no border meet it."""
    from scipy.spatial import cKDTree

    tree = cKDTree(ground.cells.garden(ground.cells.local))
    starts = [ring.segments[0].start for ring in rings]
    return [int(owner[tree.query((s.x, s.y))[1]]) for s in starts]
