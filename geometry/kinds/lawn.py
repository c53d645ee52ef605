"""Lawn: turf or seed inside an outline, with an edging or a mowing edge just inside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from ..features import Dig, Feature, Item, Role, SectionDetail, Tolerance
from ..reading.values import Positive
from .base import (
    HARD,
    HARD_ROUND,
    SOFT_LAWN,
    Element,
    GardenView,
    Outline,
    Placed,
    Regions,
    Resolver,
    feature,
)
from .base_cuts import edge_cuts
from .base_shapes import is_round, plan_area
from .base_units import EdgeGiven, edge_items, edge_section, ring_of, surface_of


class Surface(StrEnum):
    """What a lawn is made of."""

    TURF = "turf"
    SEED = "seed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lawn(Element):
    """A lawn. Its mowing edge or edging lies just inside the outline; `seed_rate` is in kg a m2.

    round lawn:
      kind: lawn
      outline: {circle: {centre: [5.7, 8.2], radius: 3.6}}
      surface: turf
      mowing_edge: {width: 102.5 mm}
    """

    section: ClassVar[str] = "soft landscape"

    outline: Outline
    surface: Surface = Surface.TURF
    seed_rate: Positive = 0.030
    edging: EdgeGiven | None = None
    mowing_edge: EdgeGiven | None = None

    @property
    def _edge(self) -> EdgeGiven | None:
        return self.mowing_edge or self.edging

    def band(self, placed: Placed) -> Regions:
        """Return the ground of the mowing edge or edging, inside the outline; empty without one."""
        return ring_of(placed.regions, self._edge.width) if self._edge else ()

    def grass(self, placed: Placed) -> Regions:
        """Return the ground of the grass."""
        from ..kernel.offset import Corners, inset

        return inset(placed.regions, self._edge.width, Corners.SQUARE) if self._edge else placed.regions

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the grass, then its edge."""
        for region in self.grass(placed):
            yield feature(placed, Role.TURF, region, surface="turf")
        edge = self._edge
        if edge is not None:
            surface = surface_of(edge.material or (edge.build_up.name if edge.build_up else ""), "brick-edge")
            surface = "brick-edge" if surface in ("brick", "slabs") else surface
            for region in self.band(placed):
                yield feature(placed, Role.EDGE_BAND, region, surface=surface, width=edge.width, part="edge", note="")

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of a hard edge where there is one."""
        if self._edge is None:
            return SOFT_LAWN
        return HARD_ROUND if is_round(placed) else HARD

    def dug_outline(self, body: Regions, resolver: Resolver) -> Regions:
        """Return what the edge digs: grass and edge together, so that recovery pegs stand clear of both."""
        from ..kernel.offset import Corners, grown

        edge = self._edge
        build_up = resolver.build_up(edge.build_up) if edge else None
        if edge is None or build_up is None:
            return ()
        return grown(body, build_up.beyond, Corners.SQUARE)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield turf or seed, and the edge."""
        from ..kernel.offset import Corners, inset
        from ..quantities.soft import seed_item, turf_item

        yield from plan_area(placed, self.section)
        if not placed.built:
            return
        if self.surface is Surface.TURF:
            yield turf_item(placed.name, self.grass(placed))
        else:
            yield seed_item(placed.name, self.grass(placed), self.seed_rate)
        if self._edge is not None:
            middle = inset(placed.regions, self._edge.width / 2, Corners.SQUARE)
            rows = [loop for region in middle for loop in (region.outer, *region.holes)]
            yield from edge_items(placed, garden, self._edge, rows, self.band(placed),
                                  "mowing edge" if self.mowing_edge else "edging")

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield the trench of the edge."""
        from ..kernel.combine import difference
        from ..kernel.offset import Corners, grown, inset

        edge = self._edge
        build_up = garden.build_up(edge.build_up) if edge else None
        if edge is None or build_up is None or not placed.built:
            return
        outer = grown(placed.regions, build_up.beyond, Corners.SQUARE)
        inner = inset(placed.regions, edge.width + build_up.working_space, Corners.SQUARE)
        yield Dig(element=placed.name, outline=difference(outer, inner), depth=build_up.depth,
                  finished=self.band(placed))

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the section of the edge."""
        edge = self._edge
        if edge is not None and placed.built:
            yield from edge_section(placed.name, "Mowing edge" if self.mowing_edge else "Edging", edge.width,
                                    garden.build_up(edge.build_up), edge_cuts(placed.regions))
