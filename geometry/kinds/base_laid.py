"""What paving and paths share: a hard surface laid in units or loose, with its fall, its edging, its build-up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from ..errors import Problem
from ..features import Caution, Dig, Feature, Item, SectionDetail, Tolerance
from ..kernel.point import Vec
from ..reading.values import Angle
from .base import FITTED, HARD, HARD_ROUND, Element, GardenView, Placed, Position, Regions, Resolver
from .base_build_up import Stack
from .base_shapes import is_round, is_straight, plan_area
from .base_units import (
    BondField,
    EdgeGiven,
    FallGiven,
    UnitGiven,
    build_up_digs,
    cut_cautions,
    dug,
    fall_features,
    fall_of,
    hard_items,
    laid_units,
    layout_words,
    loose_features,
    paving_features,
    surface_section,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid(Element):
    """A hard surface, whatever gives its outline."""

    section: ClassVar[str] = "paving"

    unit: UnitGiven | None = None
    bond: BondField | None = None
    lay_from: Position | None = None
    turn: Angle = 0.0
    fall: FallGiven | None = None
    edging: EdgeGiven | None = None
    build_up: Stack | None = None

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the surface with its joints as laid, where laying starts, the fall."""
        if self.unit is not None:
            yield from paving_features(placed, garden, self.unit, self.bond, self.lay_from, self.turn)
        else:
            yield from loose_features(placed, garden.build_up(self.build_up))
        yield from fall_features(placed, self.fall)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance: fitted where units end on straight edges."""
        if is_round(placed):
            return HARD_ROUND
        return FITTED if self.unit is not None and is_straight(placed) else HARD

    def dug_outline(self, body: Regions, resolver: Resolver) -> Regions:
        """Return the outline grown by haunch and working space."""
        return dug(body, self.build_up, resolver)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the length of the line, the units as counted, the layers under them."""
        yield from plan_area(placed, self.section)
        if placed.line is not None:
            yield Item(section=self.section, element=placed.name, item="length", unit="m", net=placed.line.length,
                       basis=f"along the middle of the {self.kind}")
        if placed.built:
            yield from hard_items(self, placed, garden)

    def layouts(self, placed: Placed, garden: GardenView) -> Iterator[str]:
        """Yield where else laying could start."""
        yield from layout_words(self, placed, garden)

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield the dig of the build-up."""
        yield from build_up_digs(placed, garden.build_up(self.build_up))

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield dust and dig."""
        yield from cut_cautions(placed)

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the section of the build-up."""
        yield from surface_section(placed, garden.build_up(self.build_up), self.fall.one_in if self.fall else 0.0)

    def falling(self, placed: Placed) -> Vec | None:
        """Return the fall from the middle of the surface toward the point that the model names."""
        return fall_of(placed, self.fall)

    def advice(self, placed: Placed, garden: GardenView) -> Iterator[Problem]:
        """Yield what a foreman would say of the layout."""
        if self.unit is not None and placed.built:
            from ..quantities.paving import paving_advice

            yield from paving_advice(laid_units(placed, garden, self.unit, self.bond, self.lay_from, self.turn),
                                     placed.name)
