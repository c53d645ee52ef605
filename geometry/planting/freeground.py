"""What of a bed is left for drifts: its regions less groups drawn by hand, single plants and stems.

Takes a bed. Gives exact regions, and the round places that are kept clear when plants are placed. Discs that lie
well inside become holes, so that outlines go round them; others, and plants on lines, are kept clear only, so that
no sliver arises.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..kernel.flatten import polygon
from ..kernel.path import Loop, Region
from ..kernel.point import Point
from .ground import Clear
from .lines import stood
from .mix import BedInput, MixEntry

CHORD = 1e-3
APART = 0.15
"""Discs nearer than this (m) to an edge or to another disc are kept clear but make no hole."""

CRUMB = 0.02
"""Pieces of ground smaller than this (m2) are left."""


@dataclass(frozen=True, slots=True)
class FreeGround:
    """Regions for drifts, regions drawn by hand (entry of the list and its part of the bed), places kept clear."""

    regions: tuple[Region, ...]
    by_hand: tuple[tuple[MixEntry, Region], ...]
    clear: tuple[Clear, ...]


def spacing_of(bed: BedInput, entry: MixEntry) -> float:
    """Return the spacing (m) of an entry: its own or its plant's."""
    return entry.spacing if entry.spacing is not None else bed.plants[entry.plant].spacing


def free_ground(bed: BedInput) -> FreeGround:
    """Return the ground left for drifts, larger pieces first."""
    regions, by_hand = _without_drawn(bed)
    clear = [Clear(at, spacing_of(bed, e) / 2) for e in bed.mix for at in e.at]
    clear += [Clear(stem.at, stem.radius) for stem in bed.stems]
    left = [_holed(r, clear) for r in regions if r.area > CRUMB]
    clear += [Clear(at, spacing_of(bed, e) / 2) for e in bed.mix if e.along for at in stood(e, spacing_of(bed, e))]
    return FreeGround(tuple(sorted(left, key=lambda r: (-round(r.area, 9), r.box.x0, r.box.y0))), tuple(by_hand),
                      tuple(clear))


def _without_drawn(bed: BedInput) -> tuple[list[Region], list[tuple[MixEntry, Region]]]:
    """Return the bed less the groups drawn by hand, and those groups cut to the bed; earlier ones come first."""
    regions = list(bed.regions)
    by_hand: list[tuple[MixEntry, Region]] = []
    drawn = [(entry, outline) for entry in bed.mix for outline in entry.outlines]
    if drawn:
        from ..kernel.combine import common, difference

        for entry, outline in drawn:
            by_hand += [(entry, region) for region in common(regions, [outline]) if region.area > CRUMB]
            regions = list(difference(regions, [outline]))
    return regions, by_hand


def _holed(region: Region, clear: list[Clear]) -> Region:
    """Cut the discs that lie well inside a region out of it."""
    from shapely import Point as Spot

    body = polygon(region, CHORD)
    holes: list[Loop] = []
    taken: list[tuple[Point, float]] = []
    for disc in clear:
        spot = Spot(disc.at.x, disc.at.y)
        if not body.contains(spot) or body.boundary.distance(spot) < disc.radius + APART:
            continue
        if any(disc.at.distance(at) < disc.radius + radius + APART for at, radius in taken):
            continue
        holes.append(Loop.circle(disc.at, disc.radius))
        taken.append((disc.at, disc.radius))
    return Region(region.outer, (*region.holes, *holes)) if holes else region
