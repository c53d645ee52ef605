"""Plants a bed: from its list to groups, points, labels and messages.

Takes a bed's neutral input. Gives one planted bed, the same each time for the same input.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..errors import GeometryError
from ..kernel.flatten import line as flat_line
from ..kernel.flatten import polygon
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Point
from . import messages as say
from .arranged import Ground, ground_of_region
from .cells import Floats, count_of
from .freeground import FreeGround, free_ground, spacing_of
from .grids import best_grid, nominal, scattered
from .ground import Clear, drift_heading, ground_of
from .groups import FAR, Division, divide
from .labelling import labels_of
from .labels import inscribed
from .lines import stood
from .mix import Arrangement, BedInput, MixEntry
from .order import Drift, Wishes
from .planted import BedPlanting, Group, Single
from .plants import SpacingForm
from .settle import settled
from .shareout import Dealt, one_fewer, shared_out
from .through import grown_through

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

CHORD = 2e-3

FINER = (30000, 60000)
"""Cells that are tried where on the usual number of them nothing can be drawn, or no share comes out right."""

FAILURES = 2
"""After so many arrangements that cannot be drawn finer cells are tried, not a third."""


@dataclass(frozen=True, slots=True, eq=False)
class _Plot:
    """A group before its plants: whose entry, which region, what was asked, where it lies along the bed."""

    entry: MixEntry
    region: Region
    wanted: float
    along: tuple[float, float]
    middle: float
    across: float
    joined: int = 1


def plant_bed(bed: BedInput) -> BedPlanting:
    """Return the planted bed: groups filling it, plants in them, labels that add up, words of advice.

    GeometryError if its groups cannot be laid out at all.
    """
    free = free_ground(bed)
    grounds = _grounds(bed, free)
    plots, strips, lost = _drifts(bed, grounds)
    frame = _Places(grounds)
    plots += [_by_hand(entry, region, frame) for entry, region in free.by_hand]
    groups = _planted(bed, plots, free.clear, frame)
    singles, outside = _singles(bed, frame)
    scatters = grown_through(bed, groups, singles)
    area = sum(r.area for r in bed.regions)
    drift_area = sum(r.area for r in free.regions)
    notes = [*say.share_sum(bed), *say.lost_faults(bed, lost), *say.share_faults(bed, groups, drift_area),
             *say.joined_faults(bed, groups), *say.size_faults(bed, groups), *say.single_faults(bed, singles, outside),
             *say.scatter_faults(bed, scatters), *say.name_advice(bed)]
    return BedPlanting(bed=bed, groups=groups, singles=singles, scatters=scatters,
                       labels=labels_of(groups, singles, scatters), messages=tuple(notes),
                       arrangement=Arrangement(strips), area=area,
                       length=sum(g.frame.length for g in grounds), depth=frame.depth,
                       island=all(g.frame.island for g in grounds))


def _shape(thing: Path | Loop | Region) -> BaseGeometry:
    return polygon(thing, CHORD) if isinstance(thing, Region) else flat_line(thing, CHORD)


def _grounds(bed: BedInput, free: FreeGround) -> list[Ground]:
    """Return the pieces of free ground (the bed itself where nothing is free) with their bed coordinates."""
    back, neighbours = _sides(bed)
    groups = sum(e.groups for e in bed.mix if e.share is not None and not e.through)
    return [ground_of_region(r, back, neighbours, count_of(groups)) for r in free.regions or bed.regions]


def _sides(bed: BedInput) -> tuple[BaseGeometry | None, BaseGeometry | None]:
    """Return the stated back and the neighbours of a bed."""
    from shapely import union_all

    return (union_all([_shape(p) for p in bed.back]) if bed.back else None,
            union_all([_shape(n) for n in bed.neighbours]) if bed.neighbours else None)


_Laid = tuple[list[_Plot], tuple[tuple[str, ...], ...], dict[str, int]]


def _drifts(bed: BedInput, grounds: Sequence[Ground]) -> _Laid:
    """Divide the free ground into drifts; return them, the order to keep, and the groups that found no room."""
    entries = [e for e in bed.mix if e.share is not None and not e.through]
    if not entries:
        return [], (), {}
    drifts, areas = [], []
    whole = sum(g.region.area for g in grounds)
    total = sum(e.share or 0.0 for e in entries)
    for k, entry in enumerate(entries):
        plant = bed.plants[entry.plant]
        for number in range(entry.groups):
            drifts.append(Drift(k, number, entry.groups, entry.row, plant.height, plant.colour, plant.see_through))
            areas.append((entry.share or 0.0) / total * whole / entry.groups)
    plots: list[_Plot] = []
    strips: list[tuple[str, ...]] = []
    lost: dict[str, int] = {}
    names = [e.plant for e in entries]
    offset = 0.0
    for ground, dealt in zip(grounds, shared_out([g.region.area for g in grounds], drifts, areas), strict=True):
        found, order, gone = _one_piece(bed, entries, ground, dealt, offset, names, len(grounds) == 1)
        plots += found
        strips += order
        for name in gone:
            lost[name] = lost.get(name, 0) + 1
        offset += ground.frame.length
    return plots, tuple(strips), lost


def _one_piece(bed: BedInput, entries: Sequence[MixEntry], ground: Ground, dealt: Dealt, offset: float,
               names: Sequence[str], alone: bool) -> tuple[list[_Plot], list[tuple[str, ...]], list[str]]:
    """Divide one piece of ground; where no arrangement of all its groups can be drawn, fewer are tried."""
    kept = bed.arrangement if alone else None
    gone: list[str] = []
    while True:
        try:
            division = _divided(bed, entries, ground, dealt, kept, names)
            break
        except GeometryError:
            fewer = one_fewer(dealt)
            if fewer is None:
                raise
            dealt, lost = fewer
            gone.append(bed.plants[names[lost.kind]].name)
    drifts = dealt.drifts
    plots = [_Plot(entries[drifts[s.drifts[0]].kind], s.region, s.wanted, (s.along[0] + offset, s.along[1] + offset),
                   s.middle + offset, s.across, len(s.drifts)) for s in division.shapes]
    order = [tuple(names[drifts[k].kind] for k in strip) for strip in division.order.strips]
    return plots, order, gone + [bed.plants[names[drifts[k].kind]].name for k in division.lost]


def _divided(bed: BedInput, entries: Sequence[MixEntry], ground: Ground, dealt: Dealt, kept: Arrangement | None,
             names: Sequence[str]) -> Division:
    """Divide the ground, on finer cells where the usual ones are too coarse for its narrow places."""
    spacings = [spacing_of(bed, entries[d.kind]) for d in dealt.drifts]
    best: Division | None = None
    for count in (0, *FINER):
        if count:
            ground = ground_of_region(ground.region, *_sides(bed), count)
        try:
            found = divide(ground, dealt.drifts, dealt.areas, spacings, bed.seed, Wishes(clashes=_clashes(bed)), kept,
                           names, 0 if count == FINER[-1] else FAILURES)
        except GeometryError:
            if best is None and count == FINER[-1]:
                raise
            continue
        if best is None or found.trouble < best.trouble:
            best = found
        if best.off <= FAR and not best.lost:
            break
    assert best is not None
    return best


def _clashes(bed: BedInput) -> frozenset[tuple[str, str]]:
    """Return pairs of colour families that the scheme does not want side by side; none if it names no partners."""
    if not bed.rules.partners:
        return frozenset()
    welcome = {tuple(sorted(p)) for p in bed.rules.partners}
    colours = sorted({p.colour for p in bed.plants.values() if p.colour})
    return frozenset((a, b) for k, a in enumerate(colours) for b in colours[k + 1:] if (a, b) not in welcome)


class _Places:
    """Where a point lies along the bed and across it, from the nearest cell."""

    def __init__(self, grounds: Sequence[Ground]) -> None:
        from scipy.spatial import cKDTree

        spots, along, across = [], [], []
        offset = 0.0
        for ground in grounds:
            spots.append(ground.cells.garden(ground.cells.local))
            along.append(ground.frame.along + offset)
            across.append(ground.frame.across)
            offset += ground.frame.length
        self.tree = cKDTree(np.concatenate(spots))
        self.along, self.across = np.concatenate(along), np.concatenate(across)
        weights = [g.cells.count for g in grounds]
        self.depth = float(np.average([g.frame.mean_depth for g in grounds], weights=weights))

    def of(self, points: Floats) -> tuple[Floats, Floats]:
        """Return the ways along (m) and the places across (0 to 1)."""
        if not len(points):
            return np.zeros(0), np.zeros(0)
        nearest = self.tree.query(points)[1]
        return self.along[nearest], self.across[nearest]


def _by_hand(entry: MixEntry, region: Region, frame: _Places) -> _Plot:
    spots = np.asarray(polygon(region, CHORD).exterior.coords)
    along, across = frame.of(spots)
    return _Plot(entry, region, 0.0, (float(along.min()), float(along.max())), float(along.mean()),
                 float(across.mean()))


def _planted(bed: BedInput, plots: Sequence[_Plot], clear: Sequence[Clear], frame: _Places) -> tuple[Group, ...]:
    """Return the plots as groups, numbered from left to right, with plants in them."""
    plots = sorted(plots, key=lambda p: (round(p.middle, 6), p.across))
    spacings = [spacing_of(bed, p.entry) for p in plots]
    forms = [p.entry.form or bed.form for p in plots]
    grounds = [ground_of(p.region, s, clear) for p, s in zip(plots, spacings, strict=True)]
    headings = [drift_heading(p.region) for p in plots]
    points = [_first(g, s, f, h, bed.seed * 1009 + k) for k, (g, s, f, h)
              in enumerate(zip(grounds, spacings, forms, headings, strict=True))]
    fitted = [k for k, form in enumerate(forms) if form is SpacingForm.FITTED]
    for k, moved in zip(fitted, settled([grounds[k] for k in fitted], [points[k] for k in fitted],
                                        [spacings[k] for k in fitted]), strict=True):
        points[k] = moved
    groups = []
    for k, plot in enumerate(plots):
        along, across = frame.of(points[k])
        order = np.lexsort((np.round(across, 3), np.round(along, 3)))
        centre, radius = inscribed(plot.region)
        groups.append(Group(
            number=k + 1, plant=bed.plants[plot.entry.plant], region=plot.region, points=_points(points[k][order]),
            spacing=spacings[k], form=forms[k], wanted=plot.wanted,
            nominal=nominal(plot.region.area, spacings[k], forms[k] is SpacingForm.SQUARE), centre=centre,
            radius=radius, heading=headings[k], along=plot.along, middle=plot.middle, across=plot.across,
            stations=tuple(map(float, along[order])), places=tuple(map(float, across[order])), joined=plot.joined,
            by_hand=bool(plot.entry.outlines)))
    return tuple(groups)


def _first(ground: BaseGeometry, spacing: float, form: SpacingForm, heading: float, seed: int) -> Floats:
    if form is SpacingForm.RANDOM:
        return scattered(ground, spacing, seed)
    return best_grid(ground, spacing, heading, form is SpacingForm.SQUARE)


def _points(rows: Floats) -> tuple[Point, ...]:
    return tuple(Point(float(x), float(y)) for x, y in rows)


def _singles(bed: BedInput, frame: _Places) -> tuple[tuple[Single, ...], list[Single]]:
    """Return the single plants, and those of them that stand outside the bed."""
    from shapely import Point as Spot
    from shapely import union_all

    body = union_all([polygon(r, CHORD) for r in bed.regions])
    singles = []
    for entry in bed.mix:
        for at in stood(entry, spacing_of(bed, entry)):
            along, across = frame.of(np.array([[at.x, at.y]]))
            singles.append(Single(plant=bed.plants[entry.plant], at=at, spacing=spacing_of(bed, entry),
                                  station=float(along[0]), place=float(across[0])))
    return tuple(singles), [s for s in singles if not body.covers(Spot(s.at.x, s.at.y))]
