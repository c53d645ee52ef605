"""The forms in which a point may be written. Each is a frozen class with one `resolve`.

`Coordinates` are along and out from the start of the baseline; everything else is a relation to marks,
elements, or other points. Lengths in metres, angles in radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, ClassVar, Protocol, TypeAlias

from ..errors import Gathering, ModelError, Problem, refuse
from ..kernel.path import Path, Region
from ..kernel.point import Point, Vec
from ..kernel.station import heading_at, point_at
from ..kinds.base import Position
from ..reading.fields import Form, Reading, Unwritten, Written, as_record, problem, read_record
from ..reading.forms import SignedForms
from ..reading.source import Node
from ..reading.values import Angle, Length, Part, Size, Small, Text
from .ties import Tape, closest, crossing, misclosure_advice


class Scope(Protocol):
    """What resolving a form may ask: other forms, and things by name."""

    def point(self, form: Form) -> Point:
        """Return the place that a form means."""

    def regions(self, form: Form) -> tuple[Region, ...]:
        """Return the area that an outline form means."""

    def path(self, form: Form) -> Path:
        """Return the path that a line form means."""

    def named_point(self, text: str) -> Point:
        """Return the place of a control mark or of a named point of an element."""

    def named_line(self, text: str) -> Path:
        """Return the line, or the one outline, of an element, walked as it was drawn."""

    def named_rings(self, text: str) -> tuple[Path, ...]:
        """Return the line of an element, or every ring of its outline, walked as drawn."""

    def named_regions(self, text: str) -> tuple[Region, ...]:
        """Return the ground that an element covers, or the plot inside the boundary."""

    def mark(self, name: str) -> Point:
        """Return the place of a control mark."""

    def advise(self, problem: Problem) -> None:
        """Keep a piece of advice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named(Form):
    """A control mark, or a named point of an element.

    point: A
    point: round lawn.centre
    point: terrace.corner 2
    """

    called: ClassVar[str] = "a named point"
    bare: ClassVar[str] = "name"

    name: Text

    def resolve(self, scope: Scope) -> Point:
        """Return the place; ModelError for a name that is not known."""
        return scope.named_point(self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coordinates(Form):
    """Along and out from the start of the baseline.

    point: [3.4, 5.2]
    """

    called: ClassVar[str] = "a point"
    bare: ClassVar[str] = "xy"

    xy: tuple[Length, Length]

    def resolve(self, scope: Scope) -> Point:
        """Return the place."""
        del scope
        return Point(*self.xy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved(Form):
    """Another point, moved parallel to the frame.

    point: {from: A, along: 1.2, out: 0.6}
    """

    called: ClassVar[str] = "a moved point"
    key: ClassVar[str] = "along out"

    from_: Position
    along: Length = 0.0
    out: Length = 0.0

    def resolve(self, scope: Scope) -> Point:
        """Return the place."""
        return scope.point(self.from_) + Vec(self.along, self.out)


@dataclass(frozen=True, slots=True, kw_only=True)
class Toward(Form):
    """A point moved along a line to another.

    point: {from: A, toward: B, by: 2.0}
    """

    called: ClassVar[str] = "a point moved along a line"
    key: ClassVar[str] = "toward"

    from_: Position
    toward: Position
    by: Length

    def resolve(self, scope: Scope) -> Point:
        """Return the place; GeometryError if both points are one."""
        start = scope.point(self.from_)
        return start + (scope.point(self.toward) - start).unit() * self.by


@dataclass(frozen=True, slots=True, kw_only=True)
class OnHeading(Form):
    """A point moved on an angle from the baseline's direction.

    point: {from: A, heading: 35, by: 2.0}
    """

    called: ClassVar[str] = "a point moved on a heading"
    key: ClassVar[str] = "heading"

    from_: Position
    heading: Angle
    by: Length

    def resolve(self, scope: Scope) -> Point:
        """Return the place."""
        return scope.point(self.from_) + Vec.polar(self.heading, self.by)


@dataclass(frozen=True, slots=True, kw_only=True)
class Between(Form):
    """Part of the way from one point to another; half where no share is given.

    point: {between: [A, B], share: 1/3}
    """

    called: ClassVar[str] = "a point between two"
    key: ClassVar[str] = "between"

    between: tuple[Position, Position]
    share: Part = 0.5

    def resolve(self, scope: Scope) -> Point:
        """Return the place."""
        first, second = self.between
        return scope.point(first).toward(scope.point(second), self.share)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnLine(Form):
    """A distance along an element's line or outline, then square to it, + left.

    point: {on: long walk, at: 4.2, offset: 0.9}
    """

    called: ClassVar[str] = "a point on a line"
    key: ClassVar[str] = "on"

    on: Text
    at: Length
    offset: Length = 0.0

    def resolve(self, scope: Scope) -> Point:
        """Return the place; GeometryError beyond the ends of the line."""
        line = scope.named_line(self.on)
        foot = point_at(line, self.at)
        if not self.offset:
            return foot
        return foot + Vec.polar(heading_at(line, self.at), self.offset).left()


@dataclass(frozen=True, slots=True, kw_only=True)
class FromLine(Form):
    """A distance along the line between two points, and the offset from it, + left.

    point: {offset: 3.2, at: 5.5, from: [A, B]}
    """

    called: ClassVar[str] = "an offset from a line"
    key: ClassVar[str] = "offset"

    from_: tuple[Position, Position]
    at: Length
    offset: Length

    def resolve(self, scope: Scope) -> Point:
        """Return the place; GeometryError if both ends of the line are one."""
        start, end = (scope.point(form) for form in self.from_)
        along = (end - start).unit()
        return start + along * self.at + along.left() * self.offset


class Side(StrEnum):
    """A side, looking from the first mark to the second."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class TieGiven(Written):
    """One taped reading from a mark: the reading alone, or `{reading: 14.22, error: 10 mm}`."""

    called: ClassVar[str] = "a tie"
    bare: ClassVar[str] = "reading"

    mark: Annotated[str, Unwritten()] = ""
    reading: Size
    error: Small | None = None


@dataclass(frozen=True, slots=True)
class TiesWord:
    """Reads `{A: 8.2, B: 9.1}` as ties in their written order; a mark that has its place may have a single one."""

    least: int = 2

    def read(self, node: Node, reading: Reading) -> tuple[TieGiven, ...]:
        """Return the ties; ModelError for fewer than two."""
        record = as_record(node, "ties")
        gathering, ties = Gathering(), []
        for name, child in record.entries.items():
            with gathering.step():
                ties.append(read_record(TieGiven, child, reading, mark=name))
        gathering.raise_errors(ModelError)
        if len(ties) < self.least:
            raise problem(
                node,
                "one tie does not fix a point",
                "give readings from two marks and the side, or from three",
                "few-ties",
            )
        return tuple(ties)

    def schema(self) -> dict[str, Any]:
        """Return a mapping of marks to readings."""
        tie = {
            "anyOf": [
                {"$ref": "#/$defs/length"},
                {
                    "type": "object",
                    "required": ["reading"],
                    "additionalProperties": False,
                    "properties": {"reading": {"$ref": "#/$defs/length"}, "error": {"$ref": "#/$defs/length"}},
                },
            ]
        }
        return {"type": "object", "additionalProperties": tie, "minProperties": self.least}


Ties: TypeAlias = Annotated[tuple[TieGiven, ...], TiesWord()]
MarkTies: TypeAlias = Annotated[tuple[TieGiven, ...], TiesWord(1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tied(Form):
    """Two taped readings from marks and the side of their line, or three and more.

    point: {ties: {A: 8.2, B: 9.1}, side: left}
    point: {ties: {A: 5.831, B: 7.810, C: 15.264}}
    """

    called: ClassVar[str] = "a point by ties"
    key: ClassVar[str] = "ties"

    ties: Ties
    side: Side | None = None

    def __post_init__(self) -> None:
        if len(self.ties) == 2 and self.side is None:
            first, second = (tie.mark for tie in self.ties)
            raise refuse(
                ModelError,
                f"two ties meet on either side of the line {first}-{second}",
                f"add `side: left` or `side: right`, looking from {first} to {second}",
                "no-side",
            )

    def resolve(self, scope: Scope) -> Point:
        """Return the place; GeometryError where the tapes do not meet."""
        tapes = tuple(Tape(tie.mark, scope.mark(tie.mark), tie.reading) for tie in self.ties)
        if len(tapes) == 2:
            return crossing(*tapes, left=self.side is Side.LEFT)
        found = closest(tapes, None if self.side is None else self.side is Side.LEFT)
        scope.advise(misclosure_advice(found, self.place))
        return found.at


POINTS = SignedForms(
    wanted="a point",
    forms=(Between, OnLine, Tied, Toward, OnHeading, FromLine, Moved),
    text=Named,
    series=Coordinates,
    patterns="[x, y], a name, {from, along, out}, {from, toward, by}, {from, heading, by}, {between, share}, "
    "{on, at, offset}, {ties, side} or {from: [P, Q], at, offset}",
)
"""The vocabulary of points."""
