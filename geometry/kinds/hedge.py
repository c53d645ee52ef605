"""Hedge: a band of plants along a line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, ClassVar

from ..errors import ModelError, refuse
from ..features import Feature, Item, Role, Tolerance
from ..kernel.path import Loop, Path
from ..kernel.point import Point
from ..planting.mix import LineInput
from ..planting.plants import Habit
from ..reading.values import Positive, Size, Text, WholeWord
from .base import SOFT, Element, GardenView, Line, Placed, Regions, Resolver, feature
from .base_plants import plant_called, ring_or_path
from .base_shapes import plan_area

USUAL_STEP = 0.25
"""Plants of a hedge of no listed plant stand this far apart, metres: four a metre, common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hedge(Element):
    """A hedge or edging along its middle: one row, or two `row_gap` apart; `per_metre`, `spacing` or its plant's own.

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
    per_metre: Positive | None = None
    spacing: Size | None = None
    rows: Annotated[int, WholeWord(1, 2)] = 1
    row_gap: Size = 0.3
    plant: Text = ""

    def body(self, shape: Regions | Path | Point, resolver: Resolver) -> Regions:
        """Return the band along the line."""
        from ..kernel.offset import Corners, band

        if self.per_metre is not None and self.spacing is not None:
            raise refuse(ModelError, "a hedge with both `per_metre` and `spacing`", "keep one of them",
                         "hedge-spacing-twice")
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

    def plantings(self, placed: Placed, garden: GardenView) -> Iterator[LineInput]:
        """Yield the line to plant."""
        if not placed.built or placed.line is None:
            return
        plant = plant_called(self.plant, "hedge plant", USUAL_STEP, Habit.SHRUB, garden)
        yield LineInput(name=placed.name, plant=plant.name, plants={plant.name: plant},
                        lines=(ring_or_path(placed.line),), rows=self.rows, row_gap=self.row_gap,
                        per_metre=self.per_metre, spacing=self.spacing)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the plants, by the end rule stated in the row."""
        from ..quantities.soft import hedge_items

        yield from plan_area(placed, self.section)
        for line in self.plantings(placed, garden):
            for piece in line.lines:
                yield from hedge_items(placed.name, piece.length, 1 / line.step, line.plant, line.rows,
                                       isinstance(piece, Loop))
