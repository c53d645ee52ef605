"""How a garden is pegged and drawn, as written: tape, people, chord gap; sheets, their size and style. Metres."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated, Any, ClassVar

from ..errors import ModelError, refuse
from ..pegs.tape import Grid, Options, Tape
from ..reading.fields import Reading, Written, as_scalar
from ..reading.quantity import INCH, Units
from ..reading.source import Node
from ..reading.values import Count, Depth, Size, Small, Text, WholeWord
from .site import GridGiven


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


class Orientation(StrEnum):
    """Whether a sheet lies or stands. ISO 5457 lets A3 and larger lie; a long plot may want it to stand."""

    LANDSCAPE = "landscape"
    PORTRAIT = "portrait"


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
    """The sheets: size, scale and orientation (None chooses), which, how laid out, and `step` 1 for heavier pens."""

    called: ClassVar[str] = "sheets"

    size: SheetSize | None = None
    scale: Annotated[int | None, ScaleWord()] = None
    orientation: Orientation | None = None
    set: tuple[SheetName, ...] = DEFAULT_SET
    composition: Composition = Composition.PAGE
    style: Style = Style.LINE
    step: Annotated[int, WholeWord(0, 1)] = 0
