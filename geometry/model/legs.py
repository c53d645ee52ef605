"""Pieces that outlines and lines are written of: corners with a radius, legs to a point, tangent runs.

Lengths in metres, angles in radians.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, TypeAlias

from ..errors import GeometryError, ModelError, at, refuse
from ..kernel.construct import arc_by_radius, arc_through, tangent_segment
from ..kernel.point import Point, Vec
from ..kernel.segment import Arc, Line, Segment
from ..kinds.base import Position
from ..reading.fields import Reading, Written, as_scalar, read_record, read_value
from ..reading.quantity import read_angle, read_length
from ..reading.source import Node, Record
from ..reading.values import Depth, Size, YesNo
from .points import Scope


class Bend(StrEnum):
    """To which side an arc turns as one walks it."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner(Written):
    """A corner: a point, or a point with the radius that rounds it."""

    at: Position
    radius: Depth = 0.0

    def resolve(self, scope: Scope) -> tuple[Point, float]:
        """Return the place and its radius."""
        return scope.point(self.at), self.radius


@dataclass(frozen=True, slots=True)
class CornerWord:
    """Reads a point, or `{at: P, radius: 1.5}`."""

    def read(self, node: Node, reading: Reading) -> Corner:
        """Return the corner."""
        if isinstance(node, Record) and "at" in node.entries and set(node.entries) <= {"at", "radius"}:
            return read_record(Corner, node, reading)
        return Corner(at=read_value(Position, node, reading), place=node.place)

    def inner(self) -> tuple[type, ...]:
        """Return the classes that the schema points to."""
        return (Corner,)

    def schema(self) -> dict[str, Any]:
        """Return a point or a rounded corner."""
        return {"anyOf": [{"$ref": "#/$defs/point"}, {"$ref": "#/$defs/legs.Corner"}]}


CornerOrPoint: TypeAlias = Annotated[Corner, CornerWord()]


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg(Written):
    """One edge from where the last one ended: straight, an arc by radius or through a point, or a smooth continuation.

    `{to: P}`, `{to: P, radius: 4, bend: left}` (`large: yes` for more than half a turn), `{to: P, through: Q}`,
    `{to: P, tangent: true}`.
    """

    to: Position
    radius: Size | None = None
    bend: Bend | None = None
    large: YesNo = False
    through: Position | None = None
    tangent: YesNo = False

    def __post_init__(self) -> None:
        ways = [self.radius is not None, self.through is not None, self.tangent]
        if sum(ways) > 1:
            raise refuse(
                ModelError,
                "a leg is an arc by radius, an arc through a point, or tangent: not two of these",
                "keep one of `radius`, `through` and `tangent`",
                "two-ways",
            )
        if (self.radius is None) != (self.bend is None) or (self.large and self.radius is None):
            raise refuse(
                ModelError,
                "`radius` and `bend` belong together",
                "write `radius: 4, bend: left` (or right, as one walks the edge)",
                "radius-without-bend",
            )

    def segment(self, start: Point, before: Segment | None, scope: Scope) -> Segment:
        """Return the edge that leaves `start`; GeometryError if there is none."""
        end = scope.point(self.to)
        if self.radius is not None:
            return arc_by_radius(start, end, self.radius, self.bend is Bend.LEFT, self.large)
        if self.through is not None:
            return arc_through(start, scope.point(self.through), end)
        if self.tangent:
            if before is None:
                raise refuse(
                    GeometryError,
                    "the first leg has nothing to be tangent to",
                    "give it a radius and a bend, or begin with another leg",
                    "nothing-before",
                )
            return tangent_segment(start, before.heading(1.0), end)
        return Line(start, end)


def chained(start: Point, legs: Sequence[Leg], scope: Scope) -> list[Segment]:
    """Return the edges of `legs`, one after the other from `start`; each problem stands at its own leg."""
    segments: list[Segment] = []
    for leg in legs:
        with at(leg.place):
            before = segments[-1] if segments else None
            segments.append(leg.segment(before.end if before else start, before, scope))
    return segments


@dataclass(frozen=True, slots=True)
class Step:
    """One piece of a tangent run: straight ahead by `length`, or a turn by `sweep` (radians, + left) on `radius`."""

    length: float = 0.0
    sweep: float = 0.0
    radius: float = 0.0


_AHEAD = re.compile(r"ahead\s+(.+)")
_TURN = re.compile(r"(left|right)\s+(\S+(?:\s*(?:deg|degrees?|°))?)\s+radius\s+(.+)")
RUN_FORM = "write `ahead 3.0`, `left 90 radius 2.5` or `right 45 radius 4`"


@dataclass(frozen=True, slots=True)
class StepWord:
    """Reads `ahead 3.0` or `left 90 radius 2.5`."""

    def read(self, node: Node, reading: Reading) -> Step:
        """Return the step."""
        text = as_scalar(node, "a step of a run")
        ahead, turn = _AHEAD.fullmatch(text), _TURN.fullmatch(text)
        if ahead:
            length = read_length(ahead[1], reading.units)
            if not length > 0:
                raise refuse(
                    ModelError, f"'{text}' does not go ahead", "give a length of more than nothing", "bad-step"
                )
            return Step(length=length)
        if turn:
            sweep, radius = read_angle(turn[2]), read_length(turn[3], reading.units)
            if not (0 < sweep <= 2 * math.pi and radius > 0):
                raise refuse(
                    ModelError,
                    f"'{text}' is no turn",
                    "turn by more than nothing, at most 360, on a radius",
                    "bad-step",
                )
            return Step(sweep=sweep if turn[1] == "left" else -sweep, radius=radius)
        raise refuse(ModelError, f"'{text}' is no step of a run", RUN_FORM, "bad-step")

    def schema(self) -> dict[str, Any]:
        """Return the text of a step."""
        return {"type": "string", "pattern": r"^(ahead\s+.+|(left|right)\s+\S+.*\s+radius\s+.+)$"}


RunStep: TypeAlias = Annotated[Step, StepWord()]


def ran(start: Point, heading: float, steps: Sequence[Step]) -> list[Segment]:
    """Return the edges of a tangent run that leaves `start` on `heading`."""
    segments: list[Segment] = []
    for step in steps:
        if step.length:
            segments.append(Line(start, start + Vec.polar(heading, step.length)))
        else:
            side = math.copysign(1.0, step.sweep)
            centre = start + Vec.polar(heading, step.radius).left() * side
            begin = heading - side * math.pi / 2
            segments.append(
                Arc(centre, step.radius, begin, step.sweep, start, centre + Vec.polar(begin + step.sweep, step.radius))
            )
            heading += step.sweep
        start = segments[-1].end
    return segments
