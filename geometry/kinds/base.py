"""What every element has: its written fields, its place in the garden, and what it may say of itself.

An `Element` is what was written; a `Placed` is the same with its shape worked out. The methods of an
element turn the two into neutral values. Lengths in metres, angles in radians, areas in m2.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, ClassVar, Protocol, TypeAlias

from ..errors import Place, Problem
from ..features import (
    Caution,
    Dig,
    Feature,
    Item,
    Obstacle,
    Pegging,
    Role,
    SectionDetail,
    Shape,
    Status,
    Tolerance,
    Wanted,
)
from ..kernel.parts import NamedPoint, parts
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Point, Vec
from ..pegs.tape import Options
from ..planting.mix import LineInput, SinglesInput
from ..planting.plants import Plant
from ..reading.fields import Form, Spoken, Written
from ..reading.quantity import Units
from ..reading.values import Count, Size, Text, YesNo
from .base_build_up import BuildUpUse, Ordering

if TYPE_CHECKING:
    from ..quantities.build_ups import BuildUp

Regions: TypeAlias = tuple[Region, ...]

Position: TypeAlias = Annotated[Form, Spoken("point")]
"""A point in any of its written forms."""

Outline: TypeAlias = Annotated[Form, Spoken("outline")]
"""A closed outline in any of its written forms."""

Line: TypeAlias = Annotated[Form, Spoken("line")]
"""An open line in any of its written forms."""

# Tolerances of model section "Tolerances when the model names none", metres.
FITTED = Tolerance(position=0.025, shape=0.010, built=0.010, built_shape=0.005, trued=True)
HARD = Tolerance(position=0.030, shape=0.015, built=0.015, built_shape=0.010)
HARD_ROUND = Tolerance(position=0.030, shape=0.010, built=0.020, built_shape=0.005)
SOFT_LAWN = Tolerance(position=0.050, shape=0.025, built=0.050, built_shape=0.025)
SOFT = Tolerance(position=0.075, shape=0.050, built=0.075, built_shape=0.050)
TREE = Tolerance(position=0.150, shape=None, built=0.150)


class Resolver(Protocol):
    """Turns written forms into shapes while a garden is being resolved."""

    def point(self, form: Form) -> Point:
        """Return the place that a form means."""

    def regions(self, form: Form) -> Regions:
        """Return the area that an outline form means."""

    def path(self, form: Form) -> Path:
        """Return the path that a line form means."""

    def build_up(self, use: BuildUpUse | None) -> BuildUp | None:
        """Return the stack that an element names or holds."""


class GardenView(Protocol):
    """What an element may ask of the garden that it stands in."""

    @property
    def units(self) -> Units:
        """What a bare number means, and how readings are printed."""

    @property
    def elements(self) -> tuple[Placed, ...]:
        """All elements, in drawing order."""

    @property
    def plants(self) -> Mapping[str, Plant]:
        """The plants used."""

    @property
    def boundary(self) -> Loop | None:
        """The plot's boundary."""

    @property
    def setting_out(self) -> Options:
        """How the garden is pegged."""

    @property
    def ordering(self) -> Ordering:
        """How materials are ordered."""

    def build_up(self, use: BuildUpUse | None) -> BuildUp | None:
        """Return the stack that an element names or holds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceGiven(Written):
    """Tolerances that the model names: `{position: 30 mm, shape: 10 mm}`."""

    called: ClassVar[str] = "a tolerance"

    position: Size | None = None
    shape: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """An element with its shape worked out.

    `shape` is the primary geometry (regions of an outline, the path of a line, a point); `body` the ground
    that the thing covers (a path's band, a wall with its piers; empty for a bare point or line); `dug` the
    dug outline (body grown by edge and working space), empty where nothing is dug. `points` gives the
    place of every written position of the element by its form.
    """

    name: str
    element: Element
    shape: Regions | Path | Point
    body: Regions = ()
    dug: Regions = ()
    points: Mapping[Form, Point] = field(default_factory=dict)
    shapes: Mapping[Form, Regions | Path] = field(default_factory=dict)

    @property
    def kind(self) -> str:
        """The word after `kind:`."""
        return self.element.kind

    @property
    def label(self) -> str:
        """What drawings call it."""
        return self.element.label or self.name

    @property
    def note(self) -> str:
        """Free words for the drawings."""
        return self.element.note

    @property
    def status(self) -> Status:
        """Whether it stands, is to be made, or is to go."""
        return self.element.status or self.element.default_status

    @property
    def stage(self) -> int:
        """Stage of building, 1 first."""
        return self.element.stage

    @property
    def place(self) -> Place:
        """Where the element stands in the file."""
        return self.element.place

    @property
    def regions(self) -> Regions:
        """The regions of an outline element, else the ground it covers."""
        return self.shape if isinstance(self.shape, tuple) else self.body

    @property
    def line(self) -> Path | None:
        """The line of a line element."""
        return self.shape if isinstance(self.shape, Path) else None

    @property
    def area(self) -> float:
        """Area of the ground covered, m2."""
        return sum(region.area for region in self.regions)

    @property
    def built(self) -> bool:
        """Whether it is to be made: existing things and things to go are drawn, not pegged, dug or ordered."""
        return self.status is Status.PROPOSED

    def named_points(self) -> dict[str, NamedPoint]:
        """Return the named points of the shape: `centre`, `corner 1`, `start` …"""
        return parts(self.shape)

    def point(self, form: Form | None) -> Point | None:
        """Return the place of one of the element's written positions; None for None."""
        return None if form is None else self.points[form]

    def loops(self) -> tuple[Loop, ...]:
        """Return every ring of the ground covered, holes as loops of their own."""
        return tuple(ring for region in self.regions for ring in (region.outer, *region.holes))


@dataclass(frozen=True, slots=True, kw_only=True)
class Element(Written, ABC):
    """The base of all kinds: what any element may have."""

    default_status: ClassVar[Status] = Status.PROPOSED
    pegged: ClassVar[bool] = True
    section: ClassVar[str] = ""  # of quantities.csv
    shape_fields: ClassVar[tuple[str, ...]] = ("outline", "line", "at")

    label: Text = ""
    status: Status | None = None
    note: Text = ""
    tolerance: ToleranceGiven | None = None
    stage: Count = 1
    blocks_tape: YesNo | None = None

    @property
    def kind(self) -> str:
        """The word after `kind:`, which is the name of the kind's module."""
        return type(self).__module__.rsplit(".", 1)[-1]

    def plants_named(self) -> Iterator[tuple[str, Place]]:
        """Yield the plants that the element names, each with its place."""
        yield from ()

    # -- placing ---------------------------------------------------------------------------------------------

    def shape(self, resolver: Resolver) -> Regions | Path | Point:
        """Return the primary geometry; GeometryError for one that cannot exist."""
        for name, resolve in (("outline", resolver.regions), ("line", resolver.path), ("at", resolver.point)):
            form = getattr(self, name, None)
            if form is not None:
                return resolve(form)
        raise AssertionError(f"{self.kind} has no geometry")

    def body(self, shape: Regions | Path | Point, resolver: Resolver) -> Regions:
        """Return the ground that the element covers."""
        del resolver
        return shape if isinstance(shape, tuple) else ()

    def dug_outline(self, body: Regions, resolver: Resolver) -> Regions:
        """Return the dug outline of an element that is to be made: empty unless something is dug."""
        del body, resolver
        return ()

    # -- what it says of itself ------------------------------------------------------------------------------

    @abstractmethod
    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield what is drawn, from the ground up."""

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return the lines whose corners, centres, tangent points and curves are pegged."""
        del garden
        return placed.loops()

    def wanted(self, placed: Placed, garden: GardenView) -> tuple[Wanted, ...]:
        """Return further points to peg: posts, trees."""
        del placed, garden
        return ()

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of the kind where the model names none."""
        del placed
        return HARD

    def tolerances(self, placed: Placed) -> Tolerance:
        """Return the tolerance of the pegs: the kind's own, overridden by what the model names."""
        usual, given = self.usual_tolerance(placed), self.tolerance
        if given is None:
            return usual
        return Tolerance(
            position=given.position or usual.position,
            shape=given.shape or usual.shape,
            built=usual.built,
            built_shape=usual.built_shape,
            trued=usual.trued,
        )

    def pegging(self, placed: Placed, garden: GardenView) -> Pegging | None:
        """Return what is pegged; None for what stands already, is to go, or is only drawn."""
        if not (self.pegged and placed.built):
            return None
        return Pegging(element=placed.name, kind=self.kind, outlines=self.peg_lines(placed, garden),
                       wanted=self.wanted(placed, garden), tolerance=self.tolerances(placed), stage=self.stage,
                       dug=placed.dug)

    def blocks_usually(self, placed: Placed) -> bool:
        """Say whether tapes cannot pass when the model does not say."""
        del placed
        return False

    def obstacle_body(self, placed: Placed) -> Regions:
        """Return what a tape would have to pass through."""
        return placed.body

    def obstacles(self, placed: Placed, garden: GardenView) -> tuple[Obstacle, ...]:
        """Return what tapes cannot pass, one for each piece.

        What stands already blocks from the first; what is made in stage n blocks the tapes of later stages;
        what is to go is gone before pegging begins.
        """
        del garden
        blocks = self.blocks_usually(placed) if self.blocks_tape is None else self.blocks_tape
        if not blocks or placed.status is Status.REMOVE:
            return ()
        stage = 0 if placed.status is Status.EXISTING else self.stage
        return tuple(Obstacle(element=placed.name, body=piece, stage=stage) for piece in self.obstacle_body(placed))

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield the rows of quantities.csv."""
        del garden
        from .base_shapes import plan_area

        yield from plan_area(placed, self.section)

    def plantings(self, placed: Placed, garden: GardenView) -> Iterator[LineInput | SinglesInput]:
        """Yield the lines and single plants outside beds that are to be planted."""
        del placed, garden
        yield from ()

    def layouts(self, placed: Placed, garden: GardenView) -> Iterator[str]:
        """Yield other ways to lay the units, each in a line with its figures; offered, never imposed."""
        del placed, garden
        yield from ()

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield what is dug."""
        del placed, garden
        yield from ()

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield the dangers that sheets must warn of."""
        del placed, garden
        yield from ()

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield typical sections for the details sheet."""
        del placed, garden
        yield from ()

    def falling(self, placed: Placed) -> Vec | None:
        """Return which way its surface falls and how steeply, metres down a metre; None if it has no even fall."""
        del placed
        return None

    def heights(self, placed: Placed) -> tuple[tuple[str, float], ...]:
        """Return what is built higher than its lowest corner, by which alone it is levelled: words and metres.

        Without an even fall: higher than the ground at the first of its posts.
        """
        del placed
        return ()

    def advice(self, placed: Placed, garden: GardenView) -> Iterator[Problem]:
        """Yield what a careful reader would say about the design; never stops the work."""
        del placed, garden
        yield from ()


def feature(placed: Placed, role: Role, shape: Shape, **more: object) -> Feature:
    """Return a feature of an element, with its name, status and note filled in."""
    values: dict[str, object] = {"element": placed.name, "status": placed.status, "note": placed.note, **more}
    return Feature(role=role, shape=shape, **values)  # type: ignore[arg-type]


__all__ = [
    "FITTED",
    "HARD",
    "HARD_ROUND",
    "SOFT",
    "SOFT_LAWN",
    "TREE",
    "Element",
    "GardenView",
    "Line",
    "Outline",
    "Placed",
    "Position",
    "Regions",
    "Resolver",
    "ToleranceGiven",
    "feature",
]
