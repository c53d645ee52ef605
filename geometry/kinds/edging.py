"""Edging: a kerb or board along a line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from ..features import Caution, Dig, Feature, Item, Role, SectionDetail, Tolerance
from ..kernel.path import Loop, Path
from ..kernel.point import Point
from ..kernel.tolerance import JOINT
from ..reading.values import Size, Small, Text
from .base import HARD, Element, GardenView, Line, Placed, Regions, Resolver, feature
from .base_build_up import Stack
from .base_cuts import line_cuts
from .base_units import build_up_digs, cut_cautions, dug, edge_section, surface_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Edging(Element):
    """An edging along a line, which is its middle; `joint` and `joint_range` are those of its row of units.

    lawn kerb:
      kind: edging
      line: {straight: [[0, 0], [4, 0], [4, 3]]}
      width: 65 mm
    """

    section: ClassVar[str] = "edgings"

    line: Line
    width: Size = 0.05
    material: Text = ""
    build_up: Stack | None = None
    joint: Small | None = None
    joint_range: tuple[Small, Small] | None = None

    def body(self, shape: Regions | Path | Point, resolver: Resolver) -> Regions:
        """Return the band along the line."""
        from ..kernel.offset import Corners, band

        assert isinstance(shape, Path)
        return band(shape, self.width, corners=Corners.SQUARE)

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the band."""
        surface = surface_of(self.material, "brick-edge")
        for region in placed.regions:
            yield feature(placed, Role.EDGE_BAND, region, surface="brick-edge" if surface == "brick" else surface,
                          width=self.width)

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return the line itself."""
        assert placed.line is not None
        return (placed.line,)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of hard edges."""
        return HARD

    def dug_outline(self, body: Regions, resolver: Resolver) -> Regions:
        """Return the band grown by haunch and working space."""
        return dug(body, self.build_up, resolver)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the length, curved stretches by radius, and the layers."""
        if not placed.built or placed.line is None:
            return
        from ..quantities.layers import build_up_items
        from ..quantities.soft import row_items

        build_up = garden.build_up(self.build_up)
        stuff = self.material or (build_up.layers[0].material if build_up else "")
        closed = placed.line.start.distance(placed.line.end) < JOINT
        yield from row_items(placed.name, [placed.line.segments], self.width, stuff, closed, garden.ordering,
                            joint=self.joint, joints=self.joint_range)
        if build_up is not None:
            yield from build_up_items(self.section, placed.name, placed.regions, build_up,
                                      counted=(build_up.layers[0].material,))

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield the trench."""
        yield from build_up_digs(placed, garden.build_up(self.build_up))

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield dust and dig."""
        yield from cut_cautions(placed)

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the section of the edging."""
        if placed.built and placed.line is not None:
            yield from edge_section(placed.name, placed.label, self.width, garden.build_up(self.build_up),
                                    line_cuts(placed.line))
