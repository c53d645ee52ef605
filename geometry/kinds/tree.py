"""Tree: its stem and its crown about a point."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from ..features import Caution, Feature, Item, Purpose, Role, Status, Tolerance, Wanted
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Point
from ..planting.mix import SinglesInput
from ..planting.plants import Habit
from ..reading.values import Depth, Size, Text
from .base import TREE, Element, GardenView, Placed, Position, Regions, feature
from .base_plants import plant_called

ROOTS = 12.0
"""Radius of the root protection area in stem diameters (BS 5837:2012, as reported in trade guidance)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree(Element):
    """A tree: `stem` is its diameter, `spread` the diameter of its crown.

    crab apple:
      kind: tree
      at: [7.4, 12.2]
      stem: 0.1
      spread: 3.0
    """

    section: ClassVar[str] = "planting"

    at: Position
    stem: Depth = 0.1
    spread: Size = 3.0
    plant: Text = ""

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield crown and stem."""
        assert isinstance(placed.shape, Point)
        yield feature(placed, Role.CROWN, placed.shape, size=self.spread, symbol="tree")
        if self.stem:
            yield feature(placed, Role.STEM, placed.shape, size=self.stem)

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return none: a tree is one peg."""
        return ()

    def wanted(self, placed: Placed, garden: GardenView) -> tuple[Wanted, ...]:
        """Return the planting place."""
        assert isinstance(placed.shape, Point)
        return (Wanted(part="centre", at=placed.shape, purpose=Purpose.CENTRE),)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of a tree."""
        return TREE

    def blocks_usually(self, placed: Placed) -> bool:
        """Say whether a stem stands in the way."""
        return placed.status is Status.EXISTING

    def obstacle_body(self, placed: Placed) -> Regions:
        """Return the stem."""
        assert isinstance(placed.shape, Point)
        return (Region(Loop.circle(placed.shape, max(self.stem, 0.05) / 2)),)

    def plantings(self, placed: Placed, garden: GardenView) -> Iterator[SinglesInput]:
        """Yield the tree to plant."""
        if placed.built:
            assert isinstance(placed.shape, Point)
            plant = plant_called(self.plant, placed.label, self.spread, Habit.TREE, garden)
            yield SinglesInput(name=placed.name, plant=plant.name, plants={plant.name: plant}, at=(placed.shape,))

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the tree to plant, or to take out."""
        if placed.built:
            yield Item(section=self.section, element=placed.name, item=self.plant or placed.label, unit="number",
                       net=1.0, order=1.0, order_unit="trees", basis="one tree, placed")
        elif placed.status is Status.REMOVE:
            yield Item(section="clearance", element=placed.name, item="tree to take out, with its stump", unit="number",
                       net=1.0, basis="status: remove")

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield the roots of a tree that stays; felling one that goes."""
        if placed.status is Status.REMOVE:
            yield Caution.FELLING
        if placed.status is Status.EXISTING:
            yield Caution.TREES
