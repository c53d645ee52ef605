"""Steps: a straight flight from its foot, on a heading, to a total rise."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

from ..errors import Problem
from ..features import Caution, Cut, Dig, Feature, Item, Role, SectionDetail, Status, Tolerance
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Vec
from ..reading.fields import Written
from ..reading.values import Angle, Count, Depth, Size, Small
from .base import FITTED, Element, GardenView, Placed, Position, Regions, Resolver, feature
from .base_build_up import Stack
from .base_cuts import REACH
from .base_shapes import plan_area
from .base_units import UnitGiven

if TYPE_CHECKING:
    from ..quantities.flights import Flight



@dataclass(frozen=True, slots=True, kw_only=True)
class BlockGiven(Written):
    """A block set on edge behind each riser: length, thickness and height as set, and the joint (common practice)."""

    called: ClassVar[str] = "a block"

    length: Size = 0.440
    thickness: Size = 0.100
    height: Size = 0.215
    joint: Small = 0.010


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps(Element):
    """A flight from `foot`, the middle of its lowest riser, on `heading`: blocks behind risers on a concrete base.

    garden steps:
      kind: steps
      foot: [3, 2]
      heading: 90
      width: 1.5
      rise: 0.45
      risers: 3
      going: 0.35
    """

    section: ClassVar[str] = "steps"
    shape_fields: ClassVar[tuple[str, ...]] = ("foot",)

    foot: Position
    heading: Angle
    width: Size
    rise: Size
    risers: Count | None = None
    riser: Size | None = None
    going: Size | None = None
    unit: UnitGiven | None = None
    tread: Depth = 0.04
    base: Size = 0.10
    block: BlockGiven = field(default_factory=BlockGiven)
    build_up: Stack | None = None

    def flight(self) -> Flight:
        """Return the flight; GeometryError for one that nobody can climb."""
        from ..quantities.flights import flight

        return flight(self.rise, self.risers, self.riser, self.going)

    def shape(self, resolver: Resolver) -> Regions:
        """Return the outline of the flight, from the lowest riser to the highest."""
        made, foot = self.flight(), resolver.point(self.foot)
        along, across = Vec.polar(self.heading), Vec.polar(self.heading + math.pi / 2, self.width / 2)
        run = along * (max(made.risers - 1, 1) * made.going)
        return (Region(Loop.polygon((foot + -across, foot + run + -across, foot + run + across, foot + across))),)

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the flight, its risers, and the arrow from the foot up."""
        made, corners = self.flight(), list(placed.regions[0].outer.vertices())
        right, top_right, top_left, left = corners
        foot, top = right.toward(left, 0.5), top_right.toward(top_left, 0.5)
        for region in placed.regions:
            yield feature(placed, Role.STEPS, region, surface="slabs", note=f"{made.risers} up")
        steps = max(made.risers - 1, 1)
        for k in range(1, steps):
            a, b = right.toward(top_right, k / steps), left.toward(top_left, k / steps)
            yield feature(placed, Role.RISER, Path.through((a, b)), part=f"riser {k + 1}")
        yield feature(placed, Role.STEP_ARROW, Path.through((foot, top)), note=f"{made.risers} up")

    def falling(self, placed: Placed) -> Vec:
        """Return the pitch from the foot to the top: pegs at the foot and beside the highest riser stand on it."""
        made = self.flight()
        return Vec.polar(self.heading, -self.rise / (max(made.risers - 1, 1) * made.going))

    def heights(self, placed: Placed) -> tuple[tuple[str, float], ...]:
        """Return the top of each tread, and of the landing."""
        count = self.flight().risers
        return (*((f"tread {k}", self.rise * k / count) for k in range(1, count)), ("landing", self.rise))

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of fitted work."""
        return FITTED

    def dug_outline(self, body: Regions, resolver: Resolver) -> Regions:
        """Return the outline with 100 mm of working space."""
        from ..kernel.offset import Corners, grown

        return grown(body, 0.10, Corners.SQUARE)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield risers, treads and concrete."""
        yield from plan_area(placed, self.section)
        if placed.built:
            from ..quantities.flights import step_items

            tread = (self.unit.length, self.unit.width, self.unit.joint) if self.unit else None
            material = (self.unit.material if self.unit else "") or "tread"
            yield from step_items(placed.name, self.flight(), self.width, garden.ordering, tread=tread,
                                  tread_material=material, base=self.base, tread_thickness=self.tread,
                                  block=(self.block.length, self.block.thickness, self.block.height),
                                  block_joint=self.block.joint)

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield the dig under the flight."""
        if placed.built:
            from ..quantities.flights import dig_depth

            yield Dig(element=placed.name, outline=placed.dug, depth=dig_depth(self.flight(), self.base),
                      finished=placed.regions)

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield dust, the dig, and falls from a flight over 0.6 m (common practice, no source)."""
        if placed.status is Status.REMOVE:
            yield Caution.BREAKING
        if placed.built:
            yield Caution.DUST
            yield Caution.EXCAVATION
            if self.rise > 0.6:
                yield Caution.HEIGHTS

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the section up the flight."""
        if placed.built:
            made = self.flight()
            sizes = {"riser": made.riser, "going": made.going, "risers": float(made.risers), "tread": self.tread,
                     "base": self.base, "block thickness": self.block.thickness, "block height": self.block.height}
            words = {"tread": (self.unit.material if self.unit else "") or "stone tread", "block": "concrete block"}
            yield SectionDetail(form="steps", title="Steps", sizes=sizes, words=words, elements=(placed.name,),
                                cuts=(self._cut(placed),))

    def _cut(self, placed: Placed) -> Cut:
        """Return the cut up the middle of the flight."""
        right, top_right, top_left, _ = placed.regions[0].outer.vertices()
        run = right.distance(top_right)
        return Cut(right.toward(top_left, 0.5), Vec.polar(self.heading), run / 2 + REACH)

    def advice(self, placed: Placed, garden: GardenView) -> Iterator[Problem]:
        """Yield what the stride rule says."""
        if placed.built:
            from ..quantities.flights import step_advice

            yield from step_advice(placed.name, self.flight(), self.width)
