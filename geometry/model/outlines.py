"""The forms in which a closed outline may be written. Each is a frozen class whose `resolve` gives regions.

Edges stay exact lines and arcs. Lengths in metres, angles in radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from ..errors import GeometryError, ModelError, refuse
from ..kernel.construct import circle_through, oval, rectangle, rounded_polygon
from ..kernel.path import Loop, Region
from ..kernel.point import Vec
from ..kernel.segment import Line as Straight
from ..kernel.tolerance import JOINT
from ..kinds.base import Position
from ..reading.fields import Form
from ..reading.forms import KeyedForms
from ..reading.values import Angle, Depth, Size, Text
from .derived import Band, Cut, Grown, Inset, Joined, Remainder, Shared
from .legs import CornerOrPoint, Leg, chained
from .points import Scope

Regions = tuple[Region, ...]


def _one(loop: Loop) -> Regions:
    return (Region(loop),)


def _exactly_one(title: str, **ways: object) -> None:
    """Refuse a form whose fields state a thing twice, or not at all."""
    given = [name.rstrip("_") for name, value in ways.items() if value is not None]
    names = " or ".join(f"`{name.rstrip('_')}`" for name in ways)
    if not given:
        raise refuse(ModelError, f"{title} needs {names}", f"give {names}", "missing-field")
    if len(given) > 1:
        raise refuse(ModelError, f"{title} has both '{given[0]}' and '{given[1]}'", f"give one of {names}", "two-ways")


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineOf(Form):
    """The outline of another element, or the plot's boundary, by name.

    outline: terrace
    outline: boundary
    """

    called: ClassVar[str] = "the name of an element"
    bare: ClassVar[str] = "name"

    name: Text

    def resolve(self, scope: Scope) -> Regions:
        """Return the ground that the element covers."""
        return scope.named_regions(self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle(Form):
    """A circle by centre and radius or diameter, or through three points.

    outline: {circle: {centre: [5.7, 8.2], radius: 3.6}}
    outline: {circle: {centre: [5.7, 8.2], diameter: 7.2}}
    outline: {circle: {through: [[2, 5], [6, 5], [4, 8]]}}
    """

    key: ClassVar[str] = "circle"

    centre: Position | None = None
    radius: Size | None = None
    diameter: Size | None = None
    through: tuple[Position, Position, Position] | None = None

    def __post_init__(self) -> None:
        _exactly_one("a circle", centre=self.centre, through=self.through)
        if self.centre is not None:
            _exactly_one("a circle", radius=self.radius, diameter=self.diameter)
        elif self.radius or self.diameter:
            raise refuse(
                ModelError, "a circle through three points has its radius already", "leave the radius out", "two-ways"
            )

    def resolve(self, scope: Scope) -> Regions:
        """Return the circle."""
        if self.through is not None:
            return _one(circle_through(*(scope.point(form) for form in self.through)))
        assert self.centre is not None
        return _one(Loop.circle(scope.point(self.centre), self.radius or (self.diameter or 0.0) / 2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectangle(Form):
    """A rectangle from its first corner (length along `turn`, width to the left of it), or about its centre.

    outline: {rectangle: {corner: [1.5, 0], length: 6, width: 3}}
    outline: {rectangle: {centre: [4.5, 6], length: 6, width: 3, turn: 30, corner_radius: 0.5}}
    """

    key: ClassVar[str] = "rectangle"

    corner: Position | None = None
    centre: Position | None = None
    length: Size
    width: Size
    turn: Angle = 0.0
    corner_radius: Depth = 0.0

    def __post_init__(self) -> None:
        _exactly_one("a rectangle", corner=self.corner, centre=self.centre)

    def resolve(self, scope: Scope) -> Regions:
        """Return the rectangle."""
        if self.corner is not None:
            corner = scope.point(self.corner)
        else:
            assert self.centre is not None
            along, across = Vec.polar(self.turn, self.length / 2), Vec.polar(self.turn, self.width / 2).left()
            corner = scope.point(self.centre) + -along + -across
        return _one(rectangle(corner, self.length, self.width, self.turn, self.corner_radius))


@dataclass(frozen=True, slots=True, kw_only=True)
class Ellipse(Form):
    """A true ellipse, pegged from its two foci while it is untouched.

    outline: {ellipse: {centre: [5, 8], length: 6, width: 4, turn: 15}}
    """

    key: ClassVar[str] = "ellipse"

    centre: Position
    length: Size
    width: Size
    turn: Angle = 0.0

    def resolve(self, scope: Scope) -> Regions:
        """Return the ellipse as tangent arcs within 1 mm that remember what they are."""
        from ..kernel.fit import ellipse

        return _one(ellipse(scope.point(self.centre), self.length, self.width, self.turn))


@dataclass(frozen=True, slots=True, kw_only=True)
class Oval(Form):
    """Four tangent arcs, easier to peg than an ellipse.

    outline: {oval: {centre: [5, 8], length: 6, width: 4, turn: 15}}
    """

    key: ClassVar[str] = "oval"

    centre: Position
    length: Size
    width: Size
    turn: Angle = 0.0

    def resolve(self, scope: Scope) -> Regions:
        """Return the oval."""
        return _one(oval(scope.point(self.centre), self.length, self.width, self.turn))


@dataclass(frozen=True, slots=True, kw_only=True)
class Polygon(Form):
    """Straight sides between corners; a corner may be rounded.

    outline: {polygon: {corners: [[0, 6], [5, 6], {at: [5, 10], radius: 1.5}, [0, 9]]}}
    """

    key: ClassVar[str] = "polygon"

    corners: tuple[CornerOrPoint, ...]

    def resolve(self, scope: Scope) -> Regions:
        """Return the polygon."""
        return _one(rounded_polygon([corner.resolve(scope) for corner in self.corners]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Legs(Form):
    """Straight and curved legs from a start; closes itself with a straight one.

    outline: {outline: {start: [0, 6], legs: [{to: [4, 6]}, {to: [4, 9], radius: 2, bend: left}, {to: [0, 9]}]}}
    outline: {outline: {start: [0, 6], legs: [{to: [4, 6]}, {to: [0, 6], through: [2, 10]}]}}
    outline: {outline: {start: [0, 6], legs: [{to: [4, 6]}, {to: [4, 9], tangent: true}, {to: [0, 9]}]}}
    """

    called: ClassVar[str] = "an outline of legs"
    key: ClassVar[str] = "outline"

    start: Position
    legs: tuple[Leg, ...]

    def resolve(self, scope: Scope) -> Regions:
        """Return the outline; GeometryError for legs that enclose nothing."""
        start = scope.point(self.start)
        segments = chained(start, self.legs, scope)
        if not segments:
            raise refuse(GeometryError, "an outline without legs", "give two legs or more", "few-corners")
        if segments[-1].end.distance(start) > JOINT:
            segments.append(Straight(segments[-1].end, start))
        return _one(Loop.of(segments))


@dataclass(frozen=True, slots=True, kw_only=True)
class Flowing(Form):
    """One smooth closed curve through points, turned into tangent arcs.

    outline: {flowing: {through: [[1, 6], [4, 5], [7, 7], [6, 11], [2, 10]]}}
    """

    called: ClassVar[str] = "a flowing outline"
    key: ClassVar[str] = "flowing"

    through: tuple[Position, ...]

    def resolve(self, scope: Scope) -> Regions:
        """Return the curve."""
        from ..kernel.fit import flowing_loop

        return _one(flowing_loop([scope.point(form) for form in self.through]))


OUTLINES = KeyedForms(
    wanted="an outline",
    forms={
        form.key: form
        for form in (
            Circle,
            Rectangle,
            Ellipse,
            Oval,
            Polygon,
            Legs,
            Flowing,
            Joined,
            Cut,
            Shared,
            Inset,
            Grown,
            Band,
            Remainder,
        )
    },
    text=OutlineOf,
    listed="{polygon: {corners: [P, Q, R, …]}}",
)
"""The vocabulary of outlines."""
