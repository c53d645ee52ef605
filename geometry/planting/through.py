"""Bulbs and matrix plants through groups: so many by share, evenly at random between the others.

Takes planted groups. Gives points, the same for the same seed. They stand half their own spacing clear of the plants
and edges round them.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..kernel.point import Point
from .freeground import spacing_of
from .grids import nominal, scattered
from .ground import Clear, ground_of
from .mix import BedInput, MixEntry
from .planted import Group, Scatter, Single


def grown_through(bed: BedInput, groups: Sequence[Group], singles: Sequence[Single]) -> tuple[Scatter, ...]:
    """Place bulbs and matrix plants through the groups that they are asked through."""
    entries = [e for e in bed.mix if e.through]
    return tuple(_scatter(bed, entry, groups, singles, number) for number, entry in enumerate(entries))


def _scatter(bed: BedInput, entry: MixEntry, groups: Sequence[Group], singles: Sequence[Single],
             number: int) -> Scatter:
    names = {bed.plants[key].name if key in bed.plants else key for key in entry.through}
    chosen = [g for g in groups if "*" in names or g.plant.name in names]
    spacing = spacing_of(bed, entry)
    area = sum(g.area for g in chosen)
    asked = int(nominal(area, spacing) * (entry.share or 0.0) + 0.5)
    quotas = _apportioned(asked, [g.area for g in chosen])
    found: list[Point] = []
    for k, (group, quota) in enumerate(zip(chosen, quotas, strict=True)):
        clear = [Clear(p, 0.0) for p in group.points] + [Clear(s.at, s.spacing / 2) for s in singles]
        ground = ground_of(group.region, spacing, clear)
        spots = scattered(ground, spacing, bed.seed * 7919 + number * 977 + k, quota)
        found += [Point(float(x), float(y)) for x, y in spots]
    return Scatter(plant=bed.plants[entry.plant], points=tuple(found), spacing=spacing,
                   groups=tuple(g.number for g in chosen), area=area, asked=asked)


def _apportioned(total: int, sizes: Sequence[float]) -> list[int]:
    """Share a whole number out by size: largest remainders."""
    whole = sum(sizes)
    exact = [total * s / whole for s in sizes] if whole > 0 else [0.0 for _ in sizes]
    out = [int(x) for x in exact]
    rest = sorted(range(len(sizes)), key=lambda k: (out[k] - exact[k], k))
    for k in rest[: total - sum(out)] if whole > 0 else []:
        out[k] += 1
    return out
