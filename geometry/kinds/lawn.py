"""Lawn: turf or seed inside an outline, with an edging or a mowing edge just inside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..features import Feature, Role, Tolerance
from .base import SOFT_LAWN, Element, GardenView, Outline, Placed, feature


@dataclass(frozen=True, slots=True, kw_only=True)
class Lawn(Element):
    """A lawn.

    round lawn:
      kind: lawn
      outline: {circle: {centre: [5.7, 8.2], radius: 3.6}}
    """

    outline: Outline

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        for region in placed.regions:
            yield feature(placed, Role.TURF, region, surface="turf")

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        return SOFT_LAWN
