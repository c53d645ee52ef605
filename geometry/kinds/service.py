"""Service: a drain, pipe or cable in the ground. It is drawn and warned of, never pegged or dug."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from ..features import Caution, Feature, Item, Role, Status
from ..reading.values import Depth
from .base import Element, GardenView, Line, Placed, feature


class Carried(StrEnum):
    """What a service carries."""

    DRAIN = "drain"
    WATER = "water"
    POWER = "power"
    GAS = "gas"


@dataclass(frozen=True, slots=True, kw_only=True)
class Service(Element):
    """A buried service, as far as it is known.

    yard drain:
      kind: service
      line: {straight: [[1, 0], [1, 8]]}
      carries: drain
      depth: 0.6
    """

    default_status: ClassVar[Status] = Status.EXISTING
    pegged: ClassVar[bool] = False
    section: ClassVar[str] = "existing"

    line: Line
    carries: Carried = Carried.DRAIN
    depth: Depth = 0.0

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the line with what it carries."""
        assert placed.line is not None
        yield feature(placed, Role.SERVICE, placed.line, height=self.depth, note=placed.note or self.carries.value)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield its length, for information."""
        if placed.line is not None:
            yield Item(section=self.section, element=placed.name, item=f"{self.carries.value}, buried", unit="m",
                       net=placed.line.length, basis="length on plan; nothing is ordered")

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield the service."""
        yield Caution.SERVICES
