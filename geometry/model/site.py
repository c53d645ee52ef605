"""What a model says beside its elements: title block, control, baseline, boundary, levels, plants, options.

Each class is a written mapping; `value` turns it into what other packages work with. Lengths in metres,
angles in radians.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from ..errors import ModelError, refuse
from ..features import MarkGiven, Tie
from ..kernel.point import Point
from ..kinds.base import Position
from ..reading.fields import Form, Reading, Written, read_value
from ..reading.source import Node, Series
from ..reading.values import (
    Angle,
    Length,
    Number,
    Small,
    Text,
)
from .outlines import OUTLINES
from .points import MarkTies, Side

SHORT_MOST = 18
"""Letters of a mark's short name: what fits a booklet's row."""

MARK_NAME = re.compile(r"[A-Za-z][A-Za-z0-9]*")
PEG_NAME = re.compile(r"[XTPFRLES]\d+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision(Written):
    """One row of the revision table."""

    mark: Text
    date: Text = ""
    note: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Project(Written):
    """The title block (fields of ISO 7200). Dates are printed as written; the clock is never read."""

    title: Text
    number: Text = ""
    site: Text = ""
    client: Text = ""
    designer: Text = ""
    owner: Text = ""
    drawn_by: Text = ""
    approved_by: Text = ""
    status: Text = ""
    document: Text = ""
    telephone: Text = ""
    date: Text = ""
    revisions: tuple[Revision, ...] = ()

    @property
    def revision(self) -> str:
        """The mark of the last revision, '' without any."""
        return self.revisions[-1].mark if self.revisions else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlMark(Written):
    """A fixed mark that anyone can find on the ground: `at` (typed), or `ties` to other marks, or both."""

    called: ClassVar[str] = "a control mark"

    at: Position | None = None
    ties: MarkTies = ()
    side: Side | None = None
    mark: Text = ""
    short: Text = ""
    point: Text = ""
    photo: Text = ""
    error: Small | None = None

    def __post_init__(self) -> None:
        if self.at is None and not self.ties:
            raise refuse(
                ModelError,
                "a control mark needs `at` or `ties`",
                "give its coordinates, or readings taped from other marks",
                "missing-field",
            )
        if self.at is None and len(self.ties) == 1:
            raise refuse(
                ModelError,
                "one tie does not fix a point",
                "give readings from two marks and the side, or from three",
                "few-ties",
            )
        if self.at is None and len(self.ties) == 2 and self.side is None:
            first, second = (tie.mark for tie in self.ties)
            raise refuse(
                ModelError,
                f"two ties meet on either side of the line {first}-{second}",
                f"add `side: left` or `side: right`, looking from {first} to {second}",
                "no-side",
            )
        if len(self.short) > SHORT_MOST:
            raise refuse(
                ModelError, f"'{self.short}' has {len(self.short)} letters", f"use at most {SHORT_MOST}", "too-long"
            )

    def given(self, name: str, at: Point | None) -> MarkGiven:
        """Return the mark as the adjustment takes it, `at` resolved."""
        return MarkGiven(
            name=name,
            at=at,
            ties=tuple(Tie(mark=t.mark, reading=t.reading, error=t.error) for t in self.ties),
            side=self.side.value if self.side else "",
            what=self.mark,
            short=self.short,
            point=self.point,
            photo=self.photo,
            error=self.error,
        )


def check_mark_name(name: str) -> None:
    """Refuse a mark's name that a table could not hold or that a peg may have."""
    if not MARK_NAME.fullmatch(name):
        raise refuse(
            ModelError,
            f"'{name}' cannot be the name of a control mark",
            "use letters and digits only, a letter first: A, B, Gate1",
            "bad-mark-name",
        )
    if PEG_NAME.fullmatch(name):
        raise refuse(
            ModelError, f"'{name}' is a name that pegs have", "use another letter, such as A, B, M1", "bad-mark-name"
        )


@dataclass(frozen=True, slots=True)
class BoundaryWord:
    """Reads a list of corners (points or names of control marks), or an outline."""

    def read(self, node: Node, reading: Reading) -> tuple[Form, ...] | Form:
        """Return the corners, or the outline."""
        if isinstance(node, Series):
            corners: tuple[Form, ...] = read_value(tuple[Position, ...], node, reading)
            if len(corners) < 3:
                raise refuse(
                    ModelError, f"a boundary with {len(corners)} corners", "give three corners or more", "few-corners"
                )
            return corners
        return OUTLINES.read(node, reading)

    def schema(self) -> dict[str, Any]:
        """Return a list of points or an outline."""
        return {
            "anyOf": [{"type": "array", "items": {"$ref": "#/$defs/point"}, "minItems": 3}, {"$ref": "#/$defs/outline"}]
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelGiven(Written):
    """A spot level at a point."""

    called: ClassVar[str] = "a level"

    at: Position
    level: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides(Written):
    """What the booklet calls the plot's sides."""

    called: ClassVar[str] = "the sides"

    near: Text = ""
    far: Text = ""
    left: Text = ""
    right: Text = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GridGiven(Written):
    """Easting and northing of the frame's start, and the degrees of the baseline from grid east."""

    called: ClassVar[str] = "a grid"

    origin: tuple[Number, Number]
    turn: Angle = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteGiven(Written):
    """The plot: its north, control marks, baseline, boundary, levels, the names of its sides."""

    called: ClassVar[str] = "a site"

    north: Angle = 0.0
    control: Mapping[str, ControlMark]
    baseline: tuple[Text, Text] | None = None
    boundary: Annotated[tuple[Form, ...] | Form, BoundaryWord()] | None = None
    levels: tuple[LevelGiven, ...] = ()
    sides: Sides = field(default_factory=Sides)
    grid: GridGiven | None = None
