"""Feature: a seat, a pot, a sundial, a gate, or any other thing at a point."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from ..features import Feature as Drawn
from ..features import Item, Purpose, Role, Tolerance, Wanted
from ..kernel.path import Loop, Path
from ..kernel.point import Point
from ..reading.values import Angle, Size, Text
from .base import SOFT, Element, GardenView, Placed, Position
from .base import feature as drawn

SYMBOLS = {"seat": "seat", "bench": "seat", "pot": "pot", "urn": "pot", "planter": "pot", "sundial": "sundial",
           "gate": "gate"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature(Element):
    """A thing at a point, drawn by its `is` or its name. A gate hangs at its left end and opens to its line's far side.

    garden seat:
      kind: feature
      at: [2, 3]
      size: 1.5
      turn: 30
    """

    section: ClassVar[str] = "features"

    at: Position
    is_: Text = ""
    size: Size = 0.5
    width: Size | None = None
    turn: Angle = 0.0

    def symbol(self, placed: Placed) -> str:
        """Return the name of its symbol, '' for a plain outline."""
        words = f"{self.is_} {placed.name}".lower()
        return next((symbol for word, symbol in SYMBOLS.items() if word in words), "")

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Drawn]:
        """Yield the thing."""
        assert isinstance(placed.shape, Point)
        yield drawn(placed, Role.FURNITURE, placed.shape, size=self.size, width=self.width or 0.0, turn=self.turn,
                    symbol=self.symbol(placed))

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return none: a feature is one peg."""
        return ()

    def wanted(self, placed: Placed, garden: GardenView) -> tuple[Wanted, ...]:
        """Return its middle."""
        assert isinstance(placed.shape, Point)
        return (Wanted(part="centre", at=placed.shape, purpose=Purpose.CENTRE),)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return a soft tolerance."""
        return SOFT

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the thing itself."""
        if placed.built:
            yield Item(section=self.section, element=placed.name, item=self.is_ or placed.label, unit="number", net=1.0,
                       order=1.0, order_unit="number", basis="one, placed")
