"""Bed: cultivated ground with topsoil, mulch and planting."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Annotated, ClassVar

from ..errors import ModelError, Place, at, refuse
from ..features import Feature, Item, Role, SectionDetail, SectionLayer, Tolerance
from ..planting.mix import Measure, Row
from ..planting.plants import SpacingForm
from ..reading.fields import Written
from ..reading.values import Depth, Number, Share, Size, Text, WholeWord, YesNo
from .base import SOFT, Element, GardenView, Line, Outline, Placed, Position, feature
from .base_cuts import edge_cuts
from .base_shapes import plan_area
from .base_units import EdgeGiven


@dataclass(frozen=True, slots=True, kw_only=True)
class MixGiven(Written):
    """One line of a bed's planting list: a share in groups, exact places, lines, drawn groups, or through others.

    `along` sets plants at equal steps on lines in the bed, as near as their spacing lets them stand.
    """

    called: ClassVar[str] = "a line of planting"

    plant: Text
    groups: Annotated[int, WholeWord(1, 200)] = 1
    share: Share | None = None
    row: Row | None = None
    at: tuple[Position, ...] = ()
    along: tuple[Line, ...] = ()
    outlines: tuple[Outline, ...] = ()
    through: tuple[Text, ...] = ()
    form: SpacingForm | None = None
    spacing: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitGiven(Written):
    """The least and the most of a measure, in the figures of the clarity report; the bed's own instead of the usual."""

    called: ClassVar[str] = "a limit"

    measure: Measure
    least: Number | None = None
    most: Number | None = None

    def checked(self) -> tuple[Measure, tuple[float, float]]:
        """Return the measure and its limits; ModelError where they bound nothing."""
        low = -math.inf if self.least is None else self.least
        high = math.inf if self.most is None else self.most
        if not low <= high or (self.least is None and self.most is None):
            with at(self.place):
                raise refuse(ModelError, f"limits for '{self.measure.value}' that bound nothing",
                             "give `least`, `most`, or both with the smaller first", "bad-limit")
        return self.measure, (low, high)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClarityGiven(Written):
    """What the clarity report leaves out, own limits, which colours the scheme pairs, whether the bed is formal."""

    called: ClassVar[str] = "clarity"

    off: tuple[Measure, ...] = ()
    limits: tuple[LimitGiven, ...] = ()
    partners: tuple[tuple[Text, Text], ...] = ()
    formal: YesNo = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed(Element):
    """A planting bed: `views` name the places it is seen from, `stepping` are places in it to stand on.

    south border:
      kind: bed
      outline: {rectangle: {corner: [0, 0], length: 6.0, width: 2.5}}
      topsoil: 0.3
      mulch: 50 mm
      planting:
        - {plant: blue sage, groups: 3, share: 40 %}
        - {plant: tall grass, groups: 2, share: 30 %, row: back}
        - {plant: blue sage, at: [[1.0, 1.0], [3.0, 1.0]]}
        - {plant: blue sage, along: [{straight: [[0.3, 0.3], [5.7, 0.3]]}]}
      clarity: {off: [colours], limits: [{measure: repeats, least: 1.5, most: 3}]}
    """

    section: ClassVar[str] = "soft landscape"

    outline: Outline
    topsoil: Depth = 0.0
    mulch: Depth = 0.0
    edging: EdgeGiven | None = None
    planting: tuple[MixGiven, ...] = ()
    back: Line | None = None
    seed: Annotated[int, WholeWord(0, 1_000_000)] = 0
    spacing: SpacingForm = SpacingForm.FITTED
    views: tuple[Text, ...] = ()
    stepping: tuple[Position, ...] = ()
    clarity: ClarityGiven = field(default_factory=ClarityGiven)

    def plants_named(self) -> Iterator[tuple[str, Place]]:
        """Yield the plants of the list."""
        for line in self.planting:
            yield line.plant, line.place

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the ground."""
        for region in placed.regions:
            yield feature(placed, Role.PLANTING, region, surface="planting")

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of soft edges."""
        return SOFT

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield mulch and topsoil, where the bed has any."""
        layers = tuple(SectionLayer(material=words, thickness=deep)
                       for words, deep in (("mulch", self.mulch), ("topsoil", self.topsoil)) if deep)
        if layers and placed.built:
            yield SectionDetail(form="bed", title="Planting bed", layers=layers, elements=(placed.name,),
                                words={"under": "ground, loosened"}, cuts=edge_cuts(placed.regions))

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield soil and mulch; the plants are counted where they stand."""
        from ..quantities.soft import edging_items, spread_item

        yield from plan_area(placed, self.section)
        if not placed.built:
            return
        if self.topsoil:
            yield spread_item(placed.name, "topsoil", placed.area, self.topsoil, 0.0)
        if self.mulch:
            yield spread_item(placed.name, "mulch", placed.area, self.mulch, 0.0)
        if self.edging is not None:
            for loop in placed.loops():
                yield from edging_items(placed.name, loop.segments)
