"""Outlines made from other outlines and lines: joined, cut, shared, inset, grown, a band, a remainder.

Edges stay exact lines and arcs. Lengths in metres.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from ..errors import GeometryError, ModelError, refuse
from ..kernel.path import Region
from ..kernel.point import Point
from ..kinds.base import Line, Outline, Position
from ..reading.fields import Form
from ..reading.values import Size
from .points import Scope

Regions = tuple[Region, ...]


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
