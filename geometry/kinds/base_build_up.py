"""Layer stacks and how materials are ordered, as written. Lengths in metres, densities in t/m3."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, TypeAlias

from ..errors import at
from ..reading.fields import Reading, Written, as_scalar, read_record
from ..reading.source import Node, Record
from ..reading.values import Depth, Positive, Share, Size, Small, Text, WholeWord

if TYPE_CHECKING:
    from ..quantities.build_ups import BuildUp, Layer
    from ..quantities.factors import Factors


class Reach(StrEnum):
    """How far a layer reaches: the finished outline, inside the edging, the haunch, or all that is dug."""

    FINISHED = "finished"
    INSIDE_EDGING = "inside edging"
    HAUNCH = "haunch"
    DUG = "dug"


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerGiven(Written):
    """One layer of a build-up. Densities are of the compacted layer and of the material as delivered."""

    called: ClassVar[str] = "a layer"

    material: Text
    thickness: Size
    to: Reach = Reach.FINISHED
    density: Positive | None = None
    loose_density: Positive | None = None
    allowance: Share = 0.0

    def value(self) -> Layer:
        """Return the layer that quantities work with (allowance in per cent)."""
        from ..quantities.build_ups import Extent, Layer

        return Layer(
            material=self.material,
            thickness=self.thickness,
            to=Extent(self.to.value),
            density=self.density,
            loose_density=self.loose_density,
            allowance=self.allowance * 100,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class HaunchGiven(Written):
    """What holds the edge, outside the finished outline."""

    called: ClassVar[str] = "an edge"

    material: Text
    width: Size
    depth: Size


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildUpGiven(Written):
    """A stack of layers from the top down, its edge, and the space dug beyond both."""

    called: ClassVar[str] = "a build-up"

    layers: tuple[LayerGiven, ...]
    edge: HaunchGiven | None = None
    working_space: Depth = 0.0

    def value(self, name: str) -> BuildUp:
        """Return the build-up that quantities work with, called `name`."""
        from ..quantities.build_ups import BuildUp, Edge

        edge = None
        if self.edge is not None:
            edge = Edge(material=self.edge.material, width=self.edge.width, depth=self.edge.depth)
        return BuildUp(
            name=name, layers=tuple(layer.value() for layer in self.layers), edge=edge, working_space=self.working_space
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildUpUse(Written):
    """The build-up of an element: the name of a stack of the garden or of the supplied ones, or a stack of its own."""

    name: Text = ""
    own: BuildUpGiven | None = None


@dataclass(frozen=True, slots=True)
class BuildUpWord:
    """Reads a name or a stack."""

    def read(self, node: Node, reading: Reading) -> BuildUpUse:
        """Return the use, with its place for later messages."""
        if isinstance(node, Record):
            return BuildUpUse(own=read_record(BuildUpGiven, node, reading), place=node.place)
        return BuildUpUse(name=as_scalar(node, "the name of a build-up"), place=node.place)

    def inner(self) -> tuple[type, ...]:
        """Return the classes that the schema points to."""
        return (BuildUpGiven,)

    def schema(self) -> dict[str, Any]:
        """Return a name or a stack."""
        return {"anyOf": [{"type": "string"}, {"$ref": "#/$defs/base_build_up.BuildUpGiven"}]}


Stack: TypeAlias = Annotated[BuildUpUse, BuildUpWord()]
"""A field that names or holds a build-up."""


class Reuse(StrEnum):
    """Which offcuts are laid again."""

    NONE = "none"
    STRAIGHT = "straight"
    ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class Breakage(Written):
    """What breaks: of the cuts, of the units, and how sure the order must be to suffice.

    `ends` is the share of a wall's courses that costs a cut at each stopped end, reveal and quoin.
    """

    cuts: Share = 0.03
    units: Share = 0.005
    sure: Share = 0.95
    ends: Share = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoilGiven(Written):
    """What is dug: least and most share by which it bulks, mass loose (t/m3), a skip's room (m3) and load (t).

    Bulking and mass are those of the `soil` where they are left out; a skip of 8 cubic yards takes 8 t.
    """

    called: ClassVar[str] = "spoil"

    bulking: tuple[Share, Share] | None = None
    loose_density: Positive | None = None
    skip: Positive | None = None
    skip_load: Positive | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialGiven(Written):
    """How a material is sold here: densities in t/m3 as laid and as delivered, kg in a bag, m2 in a roll.

    A layer's own densities come first.
    """

    called: ClassVar[str] = "a material"

    density: Positive | None = None
    loose_density: Positive | None = None
    bag: Positive | None = None
    roll: Positive | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HandMixGiven(Written):
    """Concrete mixed by hand: cement in t for 1 m3 placed, parts of sand and gravel, kg in a bag of cement."""

    called: ClassVar[str] = "a mix"

    cement: Positive = 0.275
    sand: Positive = 2.0
    gravel: Positive = 4.0
    bag: Positive = 25.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FixingsGiven(Written):
    """Screws where a board crosses a joist, bolts a post, fixings where a rafter crosses a beam, clips a panel."""

    called: ClassVar[str] = "fixings"

    board: Annotated[int, WholeWord(0, 100)] = 2
    post: Annotated[int, WholeWord(0, 100)] = 2
    rafter: Annotated[int, WholeWord(0, 100)] = 2
    panel: Annotated[int, WholeWord(0, 100)] = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class DampProofGiven(Written):
    """Damp-proof course as sold: length of a roll, and the lap at joints and corners."""

    called: ClassVar[str] = "a damp-proof course"

    roll: Size = 20.0
    lap: Small = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordering(Written):
    """How materials are ordered. `stock` and `packs` are by material; without them none is assumed.

    `topsoil` is the depth that is stripped off every dig first and kept. `allowances` take the place of the flat ones
    of all orders whose item holds the name: {edging: 8 %, mortar: 15 %}. `materials` say how one is sold here, all
    through the garden: {mortar: {bag: 20}, topsoil: {density: 1.5}}; a `bulk_bag` holds so many kg. Joints of paving
    up to `sand_joint` are swept full of sand, wider ones pointed with mortar.
    """

    called: ClassVar[str] = "ordering"

    kerf: Small = 0.003
    ease: Small = 0.002
    reuse: Reuse = Reuse.STRAIGHT
    breakage: Breakage = field(default_factory=Breakage)
    spares: Annotated[int, WholeWord(0, 10_000)] = 0
    stock: Mapping[str, tuple[Size, ...]] = field(default_factory=dict)
    packs: Mapping[str, Positive] = field(default_factory=dict)
    trim: Small = 0.03
    soil: Text = "common earth"
    topsoil: Depth = 0.0
    rates: Text = ""
    allowances: Mapping[str, Share] = field(default_factory=dict)
    spoil: SpoilGiven = field(default_factory=SpoilGiven)
    materials: Mapping[str, MaterialGiven] = field(default_factory=dict)
    bulk_bag: Positive = 850.0
    hand_mix: HandMixGiven = field(default_factory=HandMixGiven)
    sand_joint: Small = 0.006
    fixings: FixingsGiven = field(default_factory=FixingsGiven)
    damp_proof: DampProofGiven = field(default_factory=DampProofGiven)

    @property
    def factors(self) -> Factors:
        """The factors that quantities work with. ModelError at the place of what cannot stand."""
        from ..quantities.factors import USUAL, Factors, Fixings, HandMix, OwnFigures

        mix, fixings, spoil, course = self.hand_mix, self.fixings, self.spoil, self.damp_proof
        with at(spoil.place):
            bulking = Factors(bulking=spoil.bulking)
        with at(course.place):
            laid = Factors(lap=course.lap, dpc_roll=course.roll)
        return replace(
            laid,
            bulking=bulking.bulking,
            spoil_mass=spoil.loose_density,
            skip=spoil.skip or USUAL.skip,
            skip_load=spoil.skip_load or USUAL.skip_load,
            materials={
                name: OwnFigures(density=own.density, loose_density=own.loose_density, bag=own.bag, roll=own.roll)
                for name, own in self.materials.items()
            },
            bulk_bag=self.bulk_bag / 1000,
            hand_mix=HandMix(cement=mix.cement, sand=mix.sand, gravel=mix.gravel, bag=mix.bag),
            sand_joint=self.sand_joint,
            fixings=Fixings(board=fixings.board, post=fixings.post, rafter=fixings.rafter, panel=fixings.panel),
            end_cuts=self.breakage.ends,
        )


__all__ = ["BuildUpGiven", "BuildUpUse", "Ordering", "Reuse", "Stack"]
