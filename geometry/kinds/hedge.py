"""Hedge: a band of plants along a line."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, ClassVar

from ..errors import ModelError, refuse
from ..features import Caution, Feature, Item, Role, Status, Tolerance
from ..kernel.path import Loop, Path
from ..kernel.point import Point
from ..kernel.station import stretch
from ..kernel.tolerance import JOINT
from ..planting.mix import LineInput
from ..planting.plants import Habit
from ..reading.fields import Written
from ..reading.values import Depth, Positive, Size, Text, WholeWord
from .base import SOFT, Element, GardenView, Line, Placed, Regions, Resolver, feature
from .base_plants import CLOSED, plant_called, ring_or_path
from .base_shapes import plan_area

LEAST_PIECE = 0.05
"""Shorter ends beside a gap carry no plant, metres. Figure ours."""

USUAL_STEP = 0.25
"""Plants of a hedge of no listed plant stand this far apart, metres: four a metre, common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GapGiven(Written):
    """A gap in a hedge, for a gate or a view: its middle along the line, and its width.

    Plants stand half a step from each side of it, as from an end.
    """

    called: ClassVar[str] = "a gap"

    at: Depth
    width: Size


@dataclass(frozen=True, slots=True, kw_only=True)
class Hedge(Element):
    """A hedge along its middle, open at `gaps`: one row, or two `row_gap` apart; `per_metre`, `spacing` or its plant's.

    far hedge:
      kind: hedge
      line: {straight: [[0, 0], [6, 0]]}
      width: 0.6
      per_metre: 4
      gaps: [{at: 2.0, width: 0.9}]
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
    gaps: tuple[GapGiven, ...] = ()

    def body(self, shape: Regions | Path | Point, resolver: Resolver) -> Regions:
        """Return the band along the line."""
        from ..kernel.offset import Corners, band

        if self.per_metre is not None and self.spacing is not None:
            raise refuse(ModelError, "a hedge with both `per_metre` and `spacing`", "keep one of them",
                         "hedge-spacing-twice")
        assert isinstance(shape, Path)
        return tuple(region for piece in self.pieces(shape)
                     for region in band(piece, self.width, corners=Corners.SQUARE))

    def pieces(self, line: Path) -> tuple[Path, ...]:
        """Return the line between its gaps, in order; ModelError for gaps beyond it, over each other, or all of it.

        A ring is open at its gaps only.
        """
        if not self.gaps:
            return (line,)
        sides = sorted((gap.at - gap.width / 2, gap.at + gap.width / 2) for gap in self.gaps)
        for (start, end), (before, _) in zip(sides, [*sides[1:], (math.inf, 0.0)], strict=True):
            if not (start >= -JOINT and end <= line.length + JOINT and end <= before + JOINT):
                raise refuse(ModelError, f"a gap from {start:.3f} to {end:.3f} m in a hedge {line.length:.3f} m long",
                             "give the middle of each gap along the line, clear of the ends and of other gaps",
                             "gap-outside")
        marks = [0.0, *(mark for side in sides for mark in side), line.length]
        runs = [stretch(line, a, b) for a, b in zip(marks[::2], marks[1::2], strict=True) if b - a >= LEAST_PIECE]
        if not runs:
            raise refuse(ModelError, "a hedge of which its gaps leave nothing", "make the gaps narrower", "gap-outside")
        whole = sides[0][0] >= LEAST_PIECE and line.length - sides[-1][1] >= LEAST_PIECE
        if whole and line.start.distance(line.end) < CLOSED:
            runs = [Path((*runs[-1].segments, *runs[0].segments)), *runs[1:-1]]
        return tuple(runs)

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the band."""
        for region in placed.regions:
            yield feature(placed, Role.HEDGE, region, surface="hedge", width=self.width, height=self.height or 0.0,
                          note=placed.note or self.plant)

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield what cutting one down that goes brings with it."""
        if placed.status is Status.REMOVE:
            yield Caution.FELLING

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return the line itself."""
        assert placed.line is not None
        return self.pieces(placed.line)

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
                        lines=tuple(map(ring_or_path, self.pieces(placed.line))), rows=self.rows, row_gap=self.row_gap,
                        per_metre=self.per_metre, spacing=self.spacing)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the plants, by the end rule stated in the row."""
        from ..quantities.soft import hedge_items

        yield from plan_area(placed, self.section)
        for line in self.plantings(placed, garden):
            for piece in line.lines:
                yield from hedge_items(placed.name, piece.length, 1 / line.step, line.plant, line.rows,
                                       isinstance(piece, Loop))
