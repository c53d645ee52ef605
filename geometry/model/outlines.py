"""The forms in which a closed outline may be written. Each is a frozen class whose `resolve` gives regions.

Edges stay exact lines and arcs. Lengths in metres, angles in radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from ..errors import GeometryError, ModelError, refuse
from ..kernel.construct import circle_through, oval, rectangle, rounded_polygon
from ..kernel.path import Loop, Region
from ..kernel.point import Point, Vec
from ..kernel.segment import Line as Straight
from ..kernel.tolerance import JOINT
from ..kinds.base import Line, Outline, Position
from ..reading.fields import Form
from ..reading.forms import KeyedForms
from ..reading.values import Angle, Depth, Size, Text
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined(Form):
    """Several outlines made one.

    outline: {joined: [{circle: {centre: [3, 8], radius: 2.5}}, {circle: {centre: [6, 9], radius: 2}}]}
    """

    called: ClassVar[str] = "joined outlines"
    key: ClassVar[str] = "joined"
    bare: ClassVar[str] = "parts"

    parts: tuple[Outline, ...]

    def __post_init__(self) -> None:
        _need_two(self.parts, "joined")

    def resolve(self, scope: Scope) -> Regions:
        """Return the union."""
        from ..kernel.combine import union

        return union([region for form in self.parts for region in scope.regions(form)])


def _need_two(parts: tuple[Form, ...], word: str) -> None:
    if len(parts) < 2:
        raise refuse(ModelError, f"'{word}' of {len(parts)} outlines", "list two outlines or more", "few-outlines")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut(Form):
    """One outline less others.

    outline: {cut: {from: {circle: {centre: [4, 8], radius: 3}}, away: [{circle: {centre: [6, 9], radius: 2}}]}}
    """

    called: ClassVar[str] = "a cut outline"
    key: ClassVar[str] = "cut"

    from_: Outline
    away: tuple[Outline, ...]

    def resolve(self, scope: Scope) -> Regions:
        """Return what is left; GeometryError if nothing is."""
        from ..kernel.combine import difference

        away = tuple(region for form in self.away for region in scope.regions(form))
        return _something(difference(scope.regions(self.from_), away), "what is cut away covers the whole outline")


def _something(regions: Regions, what: str) -> Regions:
    if not regions:
        raise refuse(GeometryError, what, "see that the shapes lie where they are meant to", "nothing-left")
    return regions


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared(Form):
    """What several outlines have in common.

    outline: {shared: [{circle: {centre: [3, 8], radius: 2.5}}, {circle: {centre: [5, 8], radius: 2.5}}]}
    """

    called: ClassVar[str] = "shared outlines"
    key: ClassVar[str] = "shared"
    bare: ClassVar[str] = "parts"

    parts: tuple[Outline, ...]

    def __post_init__(self) -> None:
        _need_two(self.parts, "shared")

    def resolve(self, scope: Scope) -> Regions:
        """Return the common ground; GeometryError if there is none."""
        from ..kernel.combine import common

        found = scope.regions(self.parts[0])
        for form in self.parts[1:]:
            found = common(found, scope.regions(form))
        return _something(found, "these outlines have nothing in common")


class CornerStyle(StrEnum):
    """How an offset goes round outside corners."""

    SQUARE = "square"
    ROUND = "round"


@dataclass(frozen=True, slots=True, kw_only=True)
class Inset(Form):
    """An outline moved inward.

    outline: {inset: {of: {circle: {centre: [5, 8], radius: 3}}, by: 0.3}}
    """

    called: ClassVar[str] = "an inset outline"
    key: ClassVar[str] = "inset"

    of: Outline
    by: Size
    corners: CornerStyle = CornerStyle.SQUARE

    def resolve(self, scope: Scope) -> Regions:
        """Return the smaller outline; GeometryError if nothing is left."""
        from ..kernel.offset import Corners, inset

        style = Corners.ROUND if self.corners is CornerStyle.ROUND else Corners.SQUARE
        return _something(
            inset(scope.regions(self.of), self.by, style), f"nothing is left {self.by:.3f} m inside this outline"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Grown(Form):
    """An outline moved outward.

    outline: {grown: {of: {rectangle: {corner: [2, 6], length: 3, width: 2}}, by: 0.3, corners: round}}
    """

    called: ClassVar[str] = "a grown outline"
    key: ClassVar[str] = "grown"

    of: Outline
    by: Size
    corners: CornerStyle = CornerStyle.SQUARE

    def resolve(self, scope: Scope) -> Regions:
        """Return the larger outline."""
        from ..kernel.offset import Corners, grown

        style = Corners.ROUND if self.corners is CornerStyle.ROUND else Corners.SQUARE
        return grown(scope.regions(self.of), self.by, style)


@dataclass(frozen=True, slots=True, kw_only=True)
class Band(Form):
    """A strip of one width along a line, half of it on each side.

    outline: {band: {line: {straight: [[1, 6], [5, 6], [5, 10]]}, width: 1.2}}
    """

    key: ClassVar[str] = "band"

    line: Line
    width: Size

    def resolve(self, scope: Scope) -> Regions:
        """Return the strip, with square ends and corners."""
        from ..kernel.offset import Corners, band

        return band(scope.path(self.line), self.width, corners=Corners.SQUARE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remainder(Form):
    """What is left of an outline, an element or the boundary; the piece that holds a point, or all pieces.

    outline: {remainder: {of: boundary, less: [{circle: {centre: [5, 8], radius: 3}}], holding: [0, 12]}}
    """

    key: ClassVar[str] = "remainder"

    of: Outline
    less: tuple[Outline, ...]
    holding: Position | None = None

    def resolve(self, scope: Scope) -> Regions:
        """Return the piece or pieces; GeometryError if nothing is left, or no piece holds the point."""
        from ..kernel.combine import difference

        less = tuple(region for form in self.less for region in scope.regions(form))
        left = _something(difference(scope.regions(self.of), less), "nothing is left of this outline")
        return left if self.holding is None else self._holding(left, scope.point(self.holding))

    def _holding(self, left: Regions, point: Point) -> Regions:
        from ..kernel.combine import contains

        for region in left:
            if contains((region,), point):
                return (region,)
        raise refuse(
            GeometryError,
            f"no piece that is left holds ({point.x:.3f}, {point.y:.3f})",
            "move the point of `holding` into the piece that is meant",
            "nothing-holds",
        )


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
