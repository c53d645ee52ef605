"""The forms in which an open line may be written. Each is a frozen class whose `resolve` gives a path.

Lengths in metres, angles in radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from ..errors import GeometryError, ModelError, refuse
from ..kernel.construct import arc_by_radius, arc_through, rounded_path
from ..kernel.path import Loop, Path
from ..kernel.point import Point
from ..kernel.station import project, stretch
from ..kernel.tolerance import JOINT
from ..kinds.base import Line, Position
from ..reading.fields import Form
from ..reading.forms import KeyedForms
from ..reading.values import Angle, Length, Size, Text, YesNo
from .legs import Bend, CornerOrPoint, Leg, RunStep, chained, ran
from .points import Scope

OFF_THE_EDGE = 0.1
"""Metres; a point that is meant to lie on an edge and is farther from it is a slip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineOf(Form):
    """The line of another element, or its outline, by name.

    line: long walk
    """

    called: ClassVar[str] = "the name of an element"
    bare: ClassVar[str] = "name"

    name: Text

    def resolve(self, scope: Scope) -> Path:
        """Return the line, walked as it was drawn."""
        return scope.named_line(self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight(Form):
    """Straight pieces through points; a bend may be rounded.

    line: {straight: [[1, 6], {at: [5, 6], radius: 2}, [5, 10]]}
    """

    called: ClassVar[str] = "a straight line"
    key: ClassVar[str] = "straight"
    bare: ClassVar[str] = "through"

    through: tuple[CornerOrPoint, ...]

    def resolve(self, scope: Scope) -> Path:
        """Return the line."""
        return rounded_path([corner.resolve(scope) for corner in self.through])


@dataclass(frozen=True, slots=True, kw_only=True)
class ArcLine(Form):
    """One arc, by its radius and the side to which it bends, or through a point.

    line: {arc: {from: [1, 6], to: [5, 6], radius: 3, bend: left}}
    line: {arc: {from: [1, 6], to: [5, 6], through: [3, 7]}}
    """

    called: ClassVar[str] = "an arc"
    key: ClassVar[str] = "arc"

    from_: Position
    to: Position
    radius: Size | None = None
    bend: Bend | None = None
    large: YesNo = False
    through: Position | None = None

    def __post_init__(self) -> None:
        if (self.radius is None) == (self.through is None) or (self.radius is None) != (self.bend is None):
            raise refuse(
                ModelError,
                "an arc is given by `radius` and `bend`, or by `through`",
                "write `radius: 3, bend: left` (or right, walking from `from`), or `through: P`",
                "radius-without-bend",
            )

    def resolve(self, scope: Scope) -> Path:
        """Return the arc; GeometryError if there is none."""
        start, end = scope.point(self.from_), scope.point(self.to)
        if self.through is not None:
            return Path((arc_through(start, scope.point(self.through), end),))
        assert self.radius is not None
        return Path((arc_by_radius(start, end, self.radius, self.bend is Bend.LEFT, self.large),))


@dataclass(frozen=True, slots=True, kw_only=True)
class LegsLine(Form):
    """Legs as in an outline, left open; or a tangent run from a start and a heading.

    line: {legs: {start: [1, 6], legs: [{to: [4, 6]}, {to: [6, 8], tangent: true}]}}
    line: {legs: {start: [1, 6], heading: 0, run: [ahead 3.0, left 90 radius 2.5, right 45 radius 4, ahead 2]}}
    """

    called: ClassVar[str] = "a line of legs"
    key: ClassVar[str] = "legs"

    start: Position
    legs: tuple[Leg, ...] = ()
    heading: Angle | None = None
    run: tuple[RunStep, ...] = ()

    def __post_init__(self) -> None:
        if bool(self.legs) == bool(self.run):
            raise refuse(
                ModelError,
                "a line of legs needs `legs`, or `heading` and `run`",
                "give one of the two",
                "missing-field",
            )
        if bool(self.run) != (self.heading is not None):
            raise refuse(
                ModelError,
                "`heading` and `run` belong together",
                "give the heading, in degrees, on which the run begins",
                "missing-field",
            )

    def resolve(self, scope: Scope) -> Path:
        """Return the line."""
        start = scope.point(self.start)
        if self.heading is not None:
            return Path(tuple(ran(start, self.heading, self.run)))
        return Path(tuple(chained(start, self.legs, scope)))


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowingLine(Form):
    """One smooth curve through points, turned into tangent arcs.

    line: {flowing: {through: [[1, 6], [3, 7], [5, 6.5], [7, 9]], start_heading: 0}}
    """

    called: ClassVar[str] = "a flowing line"
    key: ClassVar[str] = "flowing"

    through: tuple[Position, ...]
    start_heading: Angle | None = None
    end_heading: Angle | None = None

    def resolve(self, scope: Scope) -> Path:
        """Return the curve."""
        from ..kernel.fit import flowing_path

        return flowing_path([scope.point(form) for form in self.through], self.start_heading, self.end_heading)


class Way(StrEnum):
    """Which of the two ways round an outline is meant."""

    SHORT = "short"
    LONG = "long"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge(Form):
    """A stretch of another element's outline or line, from one point to another, the shorter way unless `way: long`.

    line: {edge: {of: terrace, from: terrace.corner 1, to: terrace.corner 3}}
    """

    called: ClassVar[str] = "a stretch of an edge"
    key: ClassVar[str] = "edge"

    of: Text
    from_: Position
    to: Position
    way: Way = Way.SHORT

    def resolve(self, scope: Scope) -> Path:
        """Return the stretch, walked from `from` to `to`; GeometryError if a point lies off the edge."""
        start, end = scope.point(self.from_), scope.point(self.to)
        rings = scope.named_rings(self.of)
        ring = min(rings, key=lambda one: project(one, start).distance + project(one, end).distance)
        stations = [self._station(ring, point) for point in (start, end)]
        if not ring.start.distance(ring.end) <= 0:
            return stretch(ring, *stations)
        return self._round(ring, *stations)

    def _station(self, ring: Path, point: Point) -> float:
        found = project(ring, point)
        if not found.distance <= OFF_THE_EDGE:
            raise refuse(
                GeometryError,
                f"({point.x:.3f}, {point.y:.3f}) lies {found.distance:.3f} m off the edge of '{self.of}'",
                f"give a point on it, such as ({found.foot.x:.3f}, {found.foot.y:.3f})",
                "off-the-edge",
            )
        return found.station

    def _round(self, ring: Path, start: float, end: float) -> Path:
        """Return the way round a closed ring that is asked for; from a point to itself only the long way leads."""
        total = ring.length
        ahead = (end - start) % total
        if min(ahead, total - ahead) <= JOINT:
            if self.way is Way.SHORT:
                raise refuse(
                    GeometryError,
                    "a stretch of an edge from a point to itself",
                    "give two different points, or `way: long` for all the way round",
                    "no-length",
                )
            return ring
        forward = (ahead <= total / 2) == (self.way is Way.SHORT)
        return _onward(ring, start, end) if forward else _onward(ring, end, start).reversed()


def _onward(ring: Path, start: float, end: float) -> Path:
    """Return the stretch of a closed ring from one station on to another, over the ring's start if need be."""
    loop = Loop.of(ring.segments)
    if not loop.clockwise:
        return stretch(loop, start, end)
    total = ring.length
    return stretch(loop, total - end, total - start).reversed()


@dataclass(frozen=True, slots=True, kw_only=True)
class Offset(Form):
    """A line beside another line or an element's edge, + left.

    line: {offset: {of: {straight: [[1, 6], [5, 6], [5, 10]]}, by: -0.4}}
    """

    called: ClassVar[str] = "an offset line"
    key: ClassVar[str] = "offset"

    of: Line
    by: Length

    def resolve(self, scope: Scope) -> Path:
        """Return the one line at that distance; GeometryError if there is none, or it falls into pieces."""
        from ..kernel.offset import parallel

        found = parallel(scope.path(self.of), self.by)
        if len(found) != 1:
            raise refuse(
                GeometryError,
                f"{len(found) or 'no'} lines lie {abs(self.by):.3f} m beside this one",
                "bends tighter than the distance break it: make the distance smaller",
                "broken-offset",
            )
        return found[0]


LINES = KeyedForms(
    wanted="a line",
    forms={form.key: form for form in (Straight, ArcLine, LegsLine, FlowingLine, Edge, Offset)},
    text=LineOf,
    listed="{straight: [P, Q, …]}",
)
"""The vocabulary of lines."""
