"""What hard surfaces share: units and bonds as written, build-ups as dug, falls, edgings, surfaces by material.

Lengths in metres, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Protocol, TypeAlias

from ..errors import ModelError, refuse
from ..features import Caution, Cut, Dig, Feature, Item, Role, SectionDetail, Status
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Point, Vec
from ..kernel.segment import Line as StraightLine
from ..reading.fields import Form, Reading, Written, as_scalar, as_series, nearest
from ..reading.quantity import read_share
from ..reading.source import Node, Record
from ..reading.values import Depth, Positive, Size, Small, Text
from .base import GardenView, Placed, Position, Regions, Resolver, feature
from .base_build_up import BuildUpUse, Stack
from .base_cuts import edge_cuts

if TYPE_CHECKING:
    from ..quantities.build_ups import BuildUp
    from ..quantities.patterns import Bond, Unit
    from ..quantities.paving import Laid

BONDS = ("stack", "stretcher", "third", "herringbone", "basket")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitGiven(Written):
    """A unit by its work size (never the size with its joint) and its least joint."""

    called: ClassVar[str] = "a unit"

    length: Size
    width: Size
    joint: Small = 0.0
    thickness: Depth = 0.0
    material: Text = ""
    joint_range: tuple[Small, Small] | None = None

    def value(self, usual: str) -> Unit:
        """Return the unit that quantities lay; `usual` is its material where none is named."""
        from ..quantities.patterns import Unit

        return Unit(length=self.length, width=self.width, joint=self.joint, thickness=self.thickness,
                    material=self.material or usual, joint_range=self.joint_range)


@dataclass(frozen=True, slots=True, kw_only=True)
class BondUse(Written):
    """A bond by name, and the shifts of a stretcher bond's courses as parts of a unit."""

    name: Text = "stack"
    shifts: tuple[float, ...] = ()

    def value(self) -> Bond:
        """Return the bond that quantities lay in."""
        from ..quantities.patterns import Bond

        return Bond(self.name, self.shifts)


@dataclass(frozen=True, slots=True)
class BondWord:
    """Reads `stretcher`, or `{stretcher: [0, 1/4]}`."""

    def read(self, node: Node, reading: Reading) -> BondUse:
        """Return the bond; ModelError for a word that is none."""
        del reading
        shifts: tuple[float, ...] = ()
        if isinstance(node, Record):
            if list(node.entries) != ["stretcher"]:
                raise refuse(ModelError, "only a stretcher bond has shifts", "write `{stretcher: [0, 1/4]}`",
                             "unknown-word")
            items = as_series(node.entries["stretcher"], "the shifts").items
            shifts = tuple(read_share(as_scalar(item, "a shift")) for item in items)
            if not shifts or not all(0 <= s < 1 for s in shifts):
                raise refuse(ModelError, "shifts are parts of a unit, from 0 to under 1", "write `[0, 1/4]`",
                             "out-of-range")
            return BondUse(name="stretcher", shifts=shifts, place=node.place)
        name = as_scalar(node, "a bond")
        if name not in BONDS:
            raise refuse(ModelError, f"there is no bond '{name}'", nearest(name, BONDS), "unknown-word")
        return BondUse(name=name, place=node.place)

    def schema(self) -> dict[str, Any]:
        """Return a word, or a stretcher bond with its shifts."""
        shifts = {"type": "array", "items": {"$ref": "#/$defs/share"}, "minItems": 1}
        return {"anyOf": [{"enum": list(BONDS)},
                          {"type": "object", "properties": {"stretcher": shifts}, "additionalProperties": False}]}


BondField: TypeAlias = Annotated[BondUse, BondWord()]


@dataclass(frozen=True, slots=True, kw_only=True)
class FallGiven(Written):
    """Which way a surface sheds water: toward a point, one in so many."""

    called: ClassVar[str] = "a fall"

    toward: Position
    one_in: Positive


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeGiven(Written):
    """An edging or mowing edge: its width, what it is built on, the joints of its row (else the usual ones)."""

    called: ClassVar[str] = "an edging"
    bare: ClassVar[str] = "width"

    width: Size
    build_up: Stack | None = None
    material: Text = ""
    joint: Small | None = None
    joint_range: tuple[Small, Small] | None = None


def surface_of(words: str, usual: str) -> str:
    """Return the key of a surface (hatch and tint) for a material's name."""
    for part, key in (("sett", "setts"), ("cobble", "setts"), ("block", "blocks"), ("brick", "brick"),
                      ("gravel", "gravel"), ("hoggin", "gravel"), ("bark", "gravel"), ("concrete", "concrete"),
                      ("slab", "slabs"), ("flag", "slabs"), ("stone", "slabs")):
        if part in words.lower():
            return key
    return usual


def dug(body: Regions, use: BuildUpUse | None, resolver: Resolver) -> Regions:
    """Return the dug outline on a build-up; empty without one."""
    build_up = resolver.build_up(use)
    if build_up is None:
        return ()
    from ..quantities.build_ups import Extent, outlines

    return outlines(body, build_up)[Extent.DUG]


def build_up_digs(placed: Placed, build_up: BuildUp | None) -> Iterator[Dig]:
    """Yield what an element on a build-up digs."""
    if build_up is not None and placed.built and placed.dug:
        from ..quantities.layers import dig_of

        yield dig_of(placed.name, placed.regions, build_up)


def surface_section(placed: Placed, build_up: BuildUp | None, fall: float = 0.0) -> Iterator[SectionDetail]:
    """Yield the typical section of a surface on its build-up."""
    if build_up is None or not placed.built:
        return
    from ..quantities.layers import section_layers

    sizes = {"fall": fall} if fall else {}
    words: dict[str, str] = {}
    if build_up.edge is not None:
        sizes |= {"edge width": build_up.edge.width, "edge depth": build_up.edge.depth}
        words["edge"] = build_up.edge.material
    yield SectionDetail(form="surface", title=build_up.title or build_up.name or placed.label,
                        layers=section_layers(build_up), sizes=sizes, words=words, elements=(placed.name,),
                        cuts=edge_cuts(placed.regions))


def edge_section(element: str, title: str, width: float, build_up: BuildUp | None, cuts: Sequence[Cut],
                 ) -> Iterator[SectionDetail]:
    """Yield the typical section of an edging or mowing edge: its unit is the top layer, the others lie under it."""
    if build_up is None:
        return
    from ..quantities.layers import section_layers

    first, *rest = section_layers(build_up)
    yield SectionDetail(form="edging", title=title, layers=tuple(rest), words={"material": first.material},
                        sizes={"width": width, "depth": first.thickness}, elements=(element,), cuts=tuple(cuts))


def fall_features(placed: Placed, fall: FallGiven | None) -> Iterator[Feature]:
    """Yield the arrow of a fall: from the middle of the surface toward the point."""
    if fall is None or not placed.regions:
        return
    from ..kernel.measure import centroid

    middle, toward = centroid(placed.regions[0]), placed.points[fall.toward]
    if middle.distance(toward) > 1e-6:
        reach = min(0.9, middle.distance(toward)) / middle.distance(toward)
        end = middle.toward(toward, reach)
        yield feature(placed, Role.FALL, Path((StraightLine(middle, end),)), note=f"1:{fall.one_in:g}")


def fall_of(placed: Placed, fall: FallGiven | None) -> Vec | None:
    """Return a fall as a direction with its steepness (metres down a metre), from the middle toward its point."""
    if fall is None or not placed.regions:
        return None
    from ..kernel.measure import centroid

    way = placed.points[fall.toward] - centroid(placed.regions[0])
    return way.unit() * (1 / fall.one_in) if way.length > 1e-6 else None


def laid_units(placed: Placed, garden: GardenView, unit: UnitGiven, bond: BondUse | None, lay_from: Form | None,
               turn: float) -> Laid:
    """Return the units as laid on an element: the same value for drawing and for counting."""
    from ..quantities.pairing import Reuse
    from ..quantities.paving import laid

    start = placed.point(lay_from) or placed.regions[0].outer.segments[0].start
    ordering = garden.ordering
    return laid(inside_edging(placed), unit.value(usual_unit(unit)), (bond or BondUse()).value(), start, turn,
                ease=ordering.ease, reuse=Reuse(ordering.reuse.value), kerf=ordering.kerf)


def edging_of(placed: Placed) -> EdgeGiven | None:
    """Return the edging that stands just inside the outline of a surface; None without one."""
    found = getattr(placed.element, "edging", None)
    return found if isinstance(found, EdgeGiven) else None


def inside_edging(placed: Placed) -> Regions:
    """Return the ground inside a surface's edging: what units or loose material are laid on."""
    edging = edging_of(placed)
    if edging is None:
        return placed.regions
    from ..kernel.offset import Corners, inset

    found = inset(placed.regions, edging.width, Corners.SQUARE)
    if not found:
        raise refuse(ModelError, f"an edging {edging.width * 1000:g} mm wide leaves nothing inside it",
                     "give a narrower edging or a wider outline", "edging-too-wide")
    return found


def edging_features(placed: Placed) -> Iterator[Feature]:
    """Yield the band of a surface's edging."""
    edging = edging_of(placed)
    if edging is not None:
        surface = surface_of(edging.material, "brick-edge")
        for region in ring_of(placed.regions, edging.width):
            yield feature(placed, Role.EDGE_BAND, region, surface="brick-edge" if surface == "brick" else surface,
                          width=edging.width, part="edge", note="")


def edge_items(placed: Placed, garden: GardenView, edge: EdgeGiven, rows: Sequence[Loop], band: Regions,
               name: str = "edging") -> Iterator[Item]:
    """Yield an edge: whole units along the middle rings `rows` (metres where no size is known), and its layers."""
    from ..quantities.layers import build_up_items
    from ..quantities.soft import row_items

    build_up = garden.build_up(edge.build_up)
    stuff = edge.material or (build_up.layers[0].material if build_up else "")
    yield from row_items(placed.name, [loop.segments for loop in rows], edge.width, stuff, True, garden.ordering, name,
                         edge.joint, edge.joint_range)
    if build_up is not None:
        yield from build_up_items("edgings", placed.name, band, build_up,
                                  counted=(stuff, build_up.layers[0].material))


def usual_unit(unit: UnitGiven) -> str:
    """Return the material of a unit that names none: a slab if it is large, else a paving block."""
    return unit.material or ("stone slab" if unit.length >= 0.3 else "paving block")


def unit_words(unit: UnitGiven) -> str:
    """Return '600 × 400 × 40' in millimetres."""
    sizes = [unit.length, unit.width, *([unit.thickness] if unit.thickness else [])]
    return " × ".join(f"{size * 1000:g}" for size in sizes)


def paving_features(placed: Placed, garden: GardenView, unit: UnitGiven, bond: BondUse | None, lay_from: Form | None,
                    turn: float) -> Iterator[Feature]:
    """Yield a surface of units: one region with the joints as laid, and where laying starts."""
    usual = usual_unit(unit)
    surface = surface_of(usual, "slabs" if unit.length >= 0.3 else "blocks")
    note = f"{unit_words(unit)}, {(bond or BondUse()).name} bond"
    pattern = laid_units(placed, garden, unit, bond, lay_from, turn).pattern() if placed.built else None
    for k, region in enumerate(placed.regions):
        yield feature(placed, Role.PAVING, region, surface=surface, note=placed.note or note,
                      units=pattern if k == 0 else None)
    if placed.built:
        start = placed.point(lay_from) or placed.regions[0].outer.segments[0].start
        yield feature(placed, Role.LAY_FROM, start, turn=turn)
    yield from edging_features(placed)


def loose_features(placed: Placed, build_up: BuildUp | None) -> Iterator[Feature]:
    """Yield a surface without units: in-situ concrete or loose material, by its top layer."""
    top = build_up.layers[0].material if build_up else ""
    surface = surface_of(top, "gravel")
    role = Role.CONCRETE if surface == "concrete" else Role.LOOSE
    for region in placed.regions:
        yield feature(placed, role, region, surface=surface, note=placed.note or top)
    yield from edging_features(placed)


class _Surfaced(Protocol):
    """A kind that is laid in units or poured on a build-up."""

    @property
    def section(self) -> str:
        """Section of the bill."""

    @property
    def unit(self) -> UnitGiven | None:
        """What it is laid in."""

    @property
    def bond(self) -> BondUse | None:
        """How it is laid."""

    @property
    def lay_from(self) -> Form | None:
        """Where laying starts."""

    @property
    def turn(self) -> float:
        """Turn of the courses."""

    @property
    def build_up(self) -> BuildUpUse | None:
        """What it lies on."""


def hard_items(element: _Surfaced, placed: Placed, garden: GardenView) -> Iterator[Item]:
    """Yield units as counted, then every layer of the build-up that is not counted by the piece."""
    build_up = garden.build_up(element.build_up)
    counted: tuple[str, ...] = ()
    if element.unit is not None:
        from ..quantities.paving import paving_items

        work = laid_units(placed, garden, element.unit, element.bond, element.lay_from, element.turn)
        thickness = build_up.layers[0].thickness if build_up else 0.0
        yield from paving_items(work, element.section, placed.name, garden.ordering, thickness)
        counted = (usual_unit(element.unit), *((build_up.layers[0].material,) if build_up else ()))
    if build_up is not None:
        from ..quantities.layers import build_up_items

        edging = edging_of(placed)
        yield from build_up_items(element.section, placed.name, placed.regions, build_up, counted=counted,
                                  edging=edging.width if edging else 0.0)
    yield from _edging_items(placed, garden)


def _edging_items(placed: Placed, garden: GardenView) -> Iterator[Item]:
    edging = edging_of(placed)
    if edging is not None:
        from ..kernel.offset import Corners, inset

        middle = inset(placed.regions, edging.width / 2, Corners.SQUARE)
        rows = [loop for region in middle for loop in (region.outer, *region.holes)]
        yield from edge_items(placed, garden, edging, rows, ring_of(placed.regions, edging.width))


def layout_words(element: _Surfaced, placed: Placed, garden: GardenView) -> Iterator[str]:
    """Yield where else laying could start, with units, cuts and slivers; the first is as given."""
    if element.unit is None or not placed.built:
        return
    from ..quantities.paving import better_layouts

    work = laid_units(placed, garden, element.unit, element.bond, element.lay_from, element.turn)
    for offer in better_layouts(work, garden.ordering):
        yield offer.words


def ring_of(regions: Regions, width: float) -> Regions:
    """Return the band of `width` just inside the edges of regions; all of them where they are narrower."""
    from ..kernel.combine import difference
    from ..kernel.offset import Corners, inset

    return difference(regions, inset(regions, width, Corners.SQUARE)) if width > 0 else ()


def cut_cautions(placed: Placed) -> Iterator[Caution]:
    """Yield the dangers of laying hard things, dust and the dig; of breaking out those that go."""
    if placed.status is Status.REMOVE:
        yield Caution.BREAKING
    if placed.built:
        yield Caution.DUST
        if placed.dug:
            yield Caution.EXCAVATION


def square_at(at: Point, side: float, turn: float) -> Region:
    """Return the square of `side` about a point, turned."""
    from ..kernel.construct import rectangle

    corner = at + Vec.polar(turn, -side / 2) + Vec.polar(turn + math.pi / 2, -side / 2)
    loop: Loop = rectangle(corner, side, side, turn)
    return Region(loop)


__all__ = [
    "BondField", "BondUse", "BondWord", "EdgeGiven", "FallGiven", "UnitGiven", "build_up_digs", "cut_cautions", "dug",
    "edge_items", "edge_section", "edging_of", "fall_features", "hard_items", "inside_edging", "laid_units",
    "layout_words", "loose_features", "paving_features", "ring_of", "square_at", "surface_of", "surface_section",
    "unit_words", "usual_unit",
]
