"""Hedge: a band of plants along a line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, ClassVar

from ..features import Feature, Item, Role, Tolerance
from ..kernel.path import Loop, Path
from ..kernel.point import Point
from ..reading.values import Positive, Size, Text, WholeWord
from .base import SOFT, Element, GardenView, Line, Placed, Regions, Resolver, feature
from .base_shapes import plan_area


@dataclass(frozen=True, slots=True, kw_only=True)
class Hedge(Element):
    """A hedge: one row, or two staggered, along the line, which is its middle.

    far hedge:
      kind: hedge
      line: {straight: [[0, 0], [6, 0]]}
      width: 0.6
      per_metre: 4
    """

    section: ClassVar[str] = "planting"

    line: Line
    width: Size = 0.6
    height: Size | None = None
    per_metre: Positive = 4.0
    rows: Annotated[int, WholeWord(1, 2)] = 1
    plant: Text = ""

    def body(self, shape: Regions | Path | Point, resolver: Resolver) -> Regions:
        """Return the band along the line."""
        from ..kernel.offset import Corners, band

        assert isinstance(shape, Path)
        return band(shape, self.width, corners=Corners.SQUARE)

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the band."""
        words = self.plant or ""
        for region in placed.regions:
            yield feature(placed, Role.HEDGE, region, surface="hedge", width=self.width, height=self.height or 0.0,
                          note=placed.note or f"{words}, {self.width:.2f} wide".lstrip(", "))

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return the line itself."""
        assert placed.line is not None
        return (placed.line,)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of planting."""
        return SOFT

    def blocks_usually(self, placed: Placed) -> bool:
        """Say yes: tapes do not pass through a hedge that stands."""
        return not placed.built

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the plants, by the end rule stated in the row."""
        yield from plan_area(placed, self.section)
        if placed.built and placed.line is not None:
            from ..quantities.soft import hedge_items

            line = placed.line
            closed = line.start.distance(line.end) < 1e-6
            yield from hedge_items(placed.name, line.length, self.per_metre, self.plant or "hedge plant",
                                   self.rows, closed)
