"""Pond: water, dug to a depth inside an outline."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from ..features import Caution, Dig, Feature, Item, Role, SectionDetail, Status, Tolerance
from ..kernel.point import Vec
from ..reading.values import Depth, Size
from .base import (
    HARD,
    HARD_ROUND,
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
from .base_units import EdgeGiven, edge_items, ring_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Pond(Element):
    """A pond. Its edge, if it has one, lies just inside the outline; its liner reaches `liner_over` beyond.

    fish pool:
      kind: pond
      outline: {circle: {centre: [4, 6], radius: 1.8}}
      depth: 600 mm
    """

    section: ClassVar[str] = "water"

    outline: Outline
    depth: Size
    liner_over: Depth = 0.3
    edge: EdgeGiven | None = None

    def water(self, placed: Placed) -> Regions:
        """Return the ground of the water, inside its edge."""
        from ..kernel.offset import Corners, inset

        return inset(placed.regions, self.edge.width, Corners.SQUARE) if self.edge else placed.regions

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the water, then the edge round it, inside the outline."""
        for region in self.water(placed):
            yield feature(placed, Role.WATER, region, surface="water", note=placed.note or f"{self.depth:.2f} deep")
        if self.edge is not None:
            for region in ring_of(placed.regions, self.edge.width):
                yield feature(placed, Role.EDGE_BAND, region, surface="slabs", width=self.edge.width, part="edge",
                              note="")

    def falling(self, placed: Placed) -> Vec:
        """Return no fall: water shows an edge that is not level."""
        return Vec(0.0, 0.0)

    def heights(self, placed: Placed) -> tuple[tuple[str, float], ...]:
        """Return the bottom of the hole."""
        return (("bottom of the hole", -self.depth),)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of hard edges."""
        return HARD_ROUND if is_round(placed) else HARD

    def dug_outline(self, body: Regions, resolver: Resolver) -> Regions:
        """Return the outline itself: the hole and the bed of its edge."""
        return body

    def blocks_usually(self, placed: Placed) -> bool:
        """Say yes: nobody stands in a pond to hold a tape."""
        return True

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the water and the liner."""
        yield from plan_area(placed, self.section)
        if placed.built:
            water = self.water(placed)
            box, area = water[0].box, sum(region.area for region in water)
            yield Item(section=self.section, element=placed.name, item="water", unit="m3", net=area * self.depth,
                       basis=f"{area:.3f} m2 × {self.depth * 1000:g} mm, upright sides")
            over = self.liner_over
            sides = (box.width + 2 * self.depth + 2 * over, box.height + 2 * self.depth + 2 * over)
            yield Item(section=self.section, element=placed.name, item="liner", unit="m2", net=sides[0] * sides[1],
                       order=-(-sides[0] * sides[1] // 1), order_unit="m2",
                       basis=f"one sheet {sides[0]:.2f} × {sides[1]:.2f} m: extent, twice the depth, "
                             f"{over:.2f} m over")
            if self.edge is not None:
                from ..kernel.offset import Corners, inset

                middle = inset(placed.regions, self.edge.width / 2, Corners.SQUARE)
                rows = [loop for region in middle for loop in (region.outer, *region.holes)]
                yield from edge_items(placed, garden, self.edge, rows, ring_of(placed.regions, self.edge.width),
                                      "pond edge")

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield the hole."""
        if placed.built:
            yield Dig(element=placed.name, outline=placed.regions, depth=self.depth, finished=placed.regions)

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield water, and the dig; emptying one that goes."""
        yield Caution.WATER
        if placed.status is Status.REMOVE:
            yield Caution.DRAINING
        if placed.built:
            yield Caution.EXCAVATION

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the section of the edge."""
        if placed.built:
            sizes = {"depth": self.depth, "liner": self.liner_over}
            words = {}
            if self.edge is not None:
                stack = garden.build_up(self.edge.build_up)
                sizes |= {"edge width": self.edge.width, "edge depth": stack.layers[0].thickness if stack else 0.0}
                words["edge"] = self.edge.material or "stone edge"
            yield SectionDetail(form="pond", title=placed.label, sizes=sizes, words=words, elements=(placed.name,),
                                cuts=edge_cuts(placed.regions))
