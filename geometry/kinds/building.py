"""Building: walls that stand; tapes cannot pass through it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from ..features import Caution, Feature, Role, Status
from .base import Element, GardenView, Outline, Placed, feature


@dataclass(frozen=True, slots=True, kw_only=True)
class Building(Element):
    """A building, as it stands.

    house:
      kind: building
      outline: {rectangle: {corner: [0, -6], length: 10, width: 6}}
    """

    default_status: ClassVar[Status] = Status.EXISTING
    pegged: ClassVar[bool] = False
    section: ClassVar[str] = "existing"

    outline: Outline

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the outline."""
        for region in placed.regions:
            yield feature(placed, Role.BUILDING, region, surface="building")

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield what taking it down brings with it."""
        if placed.status is Status.REMOVE:
            yield Caution.CLEARANCE

    def blocks_usually(self, placed: Placed) -> bool:
        """Say yes."""
        return True
