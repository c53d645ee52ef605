"""What a model says beside its elements: title block, control, baseline, boundary, levels, plants, options.

Each class is a written mapping; `value` turns it into what other packages work with. Lengths in metres,
angles in radians.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, Any, ClassVar, TypeAlias

from ..errors import ModelError, refuse
from ..features import MarkGiven, Tie
from ..kernel.point import Point
from ..kinds.base import Position
from ..pegs.tape import Grid, Options, Tape
from ..planting.plants import Habit, Interest, Plant, Supply
from ..reading.fields import Form, Reading, Written, as_scalar, read_value
from ..reading.quantity import INCH, Units
from ..reading.source import Node, Series
from ..reading.values import (
    Angle,
    Count,
    Depth,
    Length,
    Month,
    Number,
    Positive,
    Share,
    Size,
    Small,
    Text,
    WholeWord,
    YesNo,
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


@dataclass(frozen=True, slots=True, kw_only=True)
class InterestGiven(Written):
    """The months (1 to 12) in which a plant is worth looking at."""

    called: ClassVar[str] = "interest"

    flower: tuple[Month, ...] = ()
    foliage: tuple[Month, ...] = ()
    winter: tuple[Month, ...] = ()


@dataclass(frozen=True, slots=True)
class RangeWord:
    """Reads a length, or `[least, most]`."""

    def read(self, node: Node, reading: Reading) -> tuple[float, float]:
        """Return least and most, metres."""
        if isinstance(node, Series):
            pair: tuple[float, float] = read_value(tuple[Size, Size], node, reading)
            return pair
        value = read_value(Size, node, reading)
        return value, value

    def schema(self) -> dict[str, Any]:
        """Return a length or two."""
        return {
            "anyOf": [
                {"$ref": "#/$defs/length"},
                {"type": "array", "items": {"$ref": "#/$defs/length"}, "minItems": 2, "maxItems": 2},
            ]
        }


Range: TypeAlias = Annotated[tuple[float, float], RangeWord()]


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyGiven(Written):
    """How a plant is delivered: words alone, or girth and height (lengths or ranges), pot (litres), pot_width, form."""

    called: ClassVar[str] = "supply"
    bare: ClassVar[str] = "words"

    words: Text = ""
    girth: Range | None = None
    height: Range | None = None
    pot: Positive | None = None
    pot_width: Size | None = None
    form: Text = ""

    def value(self) -> Supply:
        """Return what the schedule prints."""
        return Supply(
            girth=self.girth,
            height=self.height,
            pot=self.pot,
            pot_width=self.pot_width,
            form=self.form,
            words=self.words,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantGiven(Written):
    """A plant of the garden: spacing between plants, height, months of interest."""

    called: ClassVar[str] = "a plant"

    botanical: Text = ""
    spacing: Size
    height: Depth = 0.0
    spread: Depth = 0.0
    habit: Habit = Habit.PERENNIAL
    interest: InterestGiven = field(default_factory=InterestGiven)
    colour: Text = ""
    evergreen: YesNo = False
    see_through: YesNo = False
    supply: SupplyGiven | None = None
    spare: Share = 0.0
    caution: Text = ""
    remark: Text = ""
    marker: Text = ""

    def value(self, name: str) -> Plant:
        """Return the plant called `name`; ModelError for sizes that no plant has."""
        interest = Interest(flower=self.interest.flower, foliage=self.interest.foliage, winter=self.interest.winter)
        return Plant(
            name=name,
            spacing=self.spacing,
            botanical=self.botanical,
            height=self.height,
            spread=self.spread,
            habit=self.habit,
            interest=interest,
            colour=self.colour,
            evergreen=self.evergreen,
            see_through=self.see_through,
            supply=self.supply.value() if self.supply else Supply(),
            spare=self.spare * 100,
            caution=self.caution,
            remark=self.remark,
            marker=self.marker,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeGiven(Written):
    """The tape: its length, what it is read to, and the standard deviation of one taped 10 m."""

    called: ClassVar[str] = "a tape"

    length: Size = 30.0
    reading: Small | None = None
    error: Small = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingOutGiven(Written):
    """How the garden is pegged."""

    called: ClassVar[str] = "setting_out"

    tape: TapeGiven = field(default_factory=TapeGiven)
    people: Count = 2
    recovery: Depth = 0.5
    chord_gap: Small = 0.02
    accept: tuple[Text, ...] = ()

    def value(self, units: Units, grid: GridGiven | None) -> Options:
        """Return the options; a tape in feet is read to 1/8 in where the model does not say, else to 5 mm."""
        feet = units is Units.FEET
        step = self.tape.reading or (float(INCH / 8) if feet else 0.005)
        tape = Tape(length=self.tape.length, step=step, feet=feet, error=self.tape.error)
        place = Grid(east=grid.origin[0], north=grid.origin[1], turn=grid.turn) if grid else None
        return Options(
            tape=tape,
            people=self.people,
            recovery=self.recovery,
            chord_gap=self.chord_gap,
            accept=self.accept,
            grid=place,
        )


class SheetName(StrEnum):
    """The sheets of a set."""

    KEY = "key"
    LAYOUT = "layout"
    SETTING_OUT = "setting out"
    HARDSCAPE = "hardscape"
    PLANTING = "planting"
    LEVELS = "levels"
    DETAILS = "details"


class SheetSize(StrEnum):
    """Sheet sizes of ISO 216, A series."""

    A4 = "A4"
    A3 = "A3"
    A2 = "A2"
    A1 = "A1"
    A0 = "A0"


class Composition(StrEnum):
    """How a sheet is laid out."""

    PAGE = "page"
    SHELF = "shelf"


class Style(StrEnum):
    """Whether sheets are line drawings, tinted copies, or both."""

    LINE = "line"
    PRESENTATION = "presentation"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class ScaleWord:
    """Reads `auto` or `1:50`."""

    def read(self, node: Node, _reading: Reading) -> int | None:
        """Return the second figure of the scale; None for auto."""
        text = as_scalar(node, "a scale").replace(" ", "")
        if text == "auto":
            return None
        match = re.fullmatch(r"1:(\d{1,4})", text)
        if match is None or int(match[1]) < 1:
            raise refuse(ModelError, f"'{text}' is not a scale", "write auto, or a scale such as 1:50", "bad-scale")
        return int(match[1])

    def schema(self) -> dict[str, Any]:
        """Return `auto` or a scale."""
        return {"type": "string", "pattern": r"^(auto|1\s*:\s*[1-9]\d{0,3})$"}


DEFAULT_SET = (SheetName.LAYOUT, SheetName.SETTING_OUT, SheetName.HARDSCAPE, SheetName.PLANTING, SheetName.DETAILS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets(Written):
    """The sheets: size and scale (None chooses), which, how laid out, and `step` 1 for lettering one step up."""

    called: ClassVar[str] = "sheets"

    size: SheetSize | None = None
    scale: Annotated[int | None, ScaleWord()] = None
    set: tuple[SheetName, ...] = DEFAULT_SET
    composition: Composition = Composition.PAGE
    style: Style = Style.LINE
    step: Annotated[int, WholeWord(0, 1)] = 0
