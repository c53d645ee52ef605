"""From a bed as written to what planting works on, and to the planted bed.

Takes: a placed bed and the garden that it stands in. Gives: the planting, or None where there is none.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..errors import ModelError, refuse
from ..features import Status
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Point
from ..kinds.base import Placed
from ..kinds.base_plants import ring_or_path
from ..kinds.bed import Bed, MixGiven
from ..planting.mix import STEM, BedInput, ClarityRules, MixEntry, Stem

if TYPE_CHECKING:
    from ..planting.planted import BedPlanting
    from .garden import Garden

BACKING = ("wall", "fence", "hedge", "building")
"""Kinds that a bed leans against."""

NARROWEST = 0.05
"""Mean width of a bed that plants are placed in, metres: half the least spacing of a plant is no bed."""


def planted(placed: Placed, garden: Garden) -> BedPlanting | None:
    """Return the planted bed; None for anything else, a bed that is not to be made, or one without a list."""
    bed = placed.element
    if not isinstance(bed, Bed) or not bed.planting or not placed.built:
        return None
    from ..planting.plan import plant_bed

    return plant_bed(bed_input(placed, bed, garden))


def bed_input(placed: Placed, bed: Bed, garden: Garden) -> BedInput:
    """Return what planting works on: regions, list, neighbours, stems. Raises ModelError for a list that cannot be."""
    for region in placed.regions:
        if region.area < NARROWEST * region.length / 2:
            size = f"{region.area:.4f} m2 with {region.length:.2f} m of edge"
            raise refuse(ModelError, f"a bed of {size} is too narrow to plant",
                         f"make it {NARROWEST * 1000:g} mm wide or more, or leave its planting out", "bed-too-narrow")
    back = placed.shapes.get(bed.back) if bed.back is not None else None
    return BedInput(
        name=placed.name,
        regions=placed.regions,
        mix=tuple(_entry(given, placed) for given in bed.planting),
        plants=garden.plants,
        back=(back,) if isinstance(back, Path) else (),
        neighbours=tuple(_neighbours(garden)),
        stems=tuple(_stems(placed, garden)),
        seed=bed.seed,
        form=bed.spacing,
        views=bed.views,
        steps=tuple(placed.points[form] for form in bed.stepping),
        rules=ClarityRules(off=bed.clarity.off, limits=dict(limit.checked() for limit in bed.clarity.limits),
                           partners=bed.clarity.partners, formal=bed.clarity.formal),
    )


def _entry(given: MixGiven, placed: Placed) -> MixEntry:
    outlines = tuple(region for form in given.outlines for region in _regions(placed.shapes[form]))
    along = tuple(ring_or_path(shape) for form in given.along if isinstance(shape := placed.shapes[form], Path))
    return MixEntry(plant=given.plant, along=along, groups=given.groups, share=given.share, row=given.row,
                    at=tuple(placed.points[form] for form in given.at), outlines=outlines, through=given.through,
                    form=given.form, spacing=given.spacing)


def _regions(shape: tuple[Region, ...] | Path) -> tuple[Region, ...]:
    return shape if isinstance(shape, tuple) else ()


def _neighbours(garden: Garden) -> Iterator[Path | Loop | Region]:
    if garden.boundary is not None:
        yield garden.boundary
    for placed in garden.elements:
        if placed.kind in BACKING and placed.status is not Status.REMOVE:
            if placed.kind == "fence" and placed.line is not None:
                yield placed.line
            else:
                yield from placed.regions


def _stems(bed: Placed, garden: Garden) -> Iterator[Stem]:
    """Yield the trees' stems and the things that stand in a bed: nothing is planted on them."""
    box = bed.regions[0].box
    for region in bed.regions[1:]:
        box = type(box).around((box, region.box))
    for placed in garden.elements:
        at = placed.shape
        if isinstance(at, Point) and placed.status is not Status.REMOVE and box.x0 <= at.x <= box.x1 \
                and box.y0 <= at.y <= box.y1:
            size = float(getattr(placed.element, "stem", 0.0) or getattr(placed.element, "size", 0.0) or 0.0)
            yield Stem(at, max(STEM, size / 2 + 0.15))
