"""The tape: how far it reaches, what it can be read to, how a reading is written, and how wrong it may be.

Takes: metres. Gives: readings with the very text that is printed, and the metres that this text says.
Lengths in metres, standard deviations in metres.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

from ..errors import ModelError, ReadingsError, refuse

INCH = 0.0254
"""One inch in metres, exact by definition (international yard and pound agreement, 1959)."""

FIXED_SHARE = 0.44
PER_METRE_SHARE = 0.08
PEG_SHARE = 0.4
"""Of the error of one taped 10 m: a reading's fixed part, its part per metre, the nail's centring per axis.

With 5 mm: 2.2 mm, 0.4 mm/m (the limit of a class III tape, Directive 2014/32/EU MI-008) and 2.0 mm.
The split is a judgement, common practice, no source.
"""

STRING = 0.002
"""Standard deviation across a stretched string, metres (judgement)."""

SQUARE = 0.005
"""Standard deviation of an offset's right angle, radians: set square of 0.6 m side (formula: 3 mm in 0.6 m)."""

LONGEST = 100_000.0
"""No tape shows more, metres."""

SHOWN = 40
"""So many characters of what a person wrote are said again."""

LIMIT_SDS = 3.0
LIMIT_STEP_MM = 5


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading as it is printed: the text, and the metres which that text says."""

    metres: float
    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """A tape: `length` (m), `step` it is read to (m), `feet` for feet and inches, `error` (m).

    `error` is the standard deviation of one taped 10 m between two pegs. A metric step is whole
    millimetres, an imperial one a fraction of an inch (1/2, 1/4, 1/8, 1/16); else ModelError.
    """

    length: float = 30.0
    step: float = 0.005
    feet: bool = False
    error: float = 0.005

    def __post_init__(self) -> None:
        if not (self.length > 0 and self.error > 0 and self.step > 0):
            raise refuse(ModelError, f"a tape of {self.length:g} m read to {self.step * 1000:g} mm with an error of "
                         f"{self.error * 1000:g} mm", "all three are more than nothing", "bad-tape")
        unit = float(self.inches) * INCH if self.feet else round(self.step * 1000) / 1000
        if not abs(unit - self.step) < 1e-9:
            raise refuse(ModelError, f"a tape read to {self.step * 1000:g} mm",
                         "name a fraction of an inch such as 1/8 in" if self.feet else
                         "name whole millimetres; for a tape in inches write `units: ft`", "bad-step")

    @property
    def inches(self) -> Fraction:
        """The step in inches."""
        return Fraction(self.step / INCH).limit_denominator(64)

    def count(self, metres: float) -> int:
        """Return the whole number of steps nearest to `metres`."""
        return round(metres / self.step)

    def at_count(self, count: int) -> Reading:
        """Return the reading of `count` steps, as printed."""
        if self.feet:
            return Reading(float(self.inches * count) * INCH, _feet_text(self.inches * count))
        metres = round(count * round(self.step * 1000)) / 1000
        return Reading(metres, f"{metres:.3f}")

    def reading(self, metres: float) -> Reading:
        """Return `metres` rounded to the step, as printed."""
        return self.at_count(self.count(metres))

    def rule(self) -> Tape:
        """Return the same read on a rule: to 1 mm, or to 1/16 in."""
        return replace(self, step=INCH / 16 if self.feet else 0.001)

    def read(self, text: str) -> float:
        """Return the metres that `text` says; ReadingsError for what is no length or has no unit."""
        return read_length(text, feet=self.feet)

    def sd(self, metres: float) -> float:
        """Return the standard deviation (m) of one reading of `metres`: hypot(fixed, per metre)."""
        return math.hypot(FIXED_SHARE * self.error, PER_METRE_SHARE * self.error * metres)

    @property
    def peg_sd(self) -> float:
        """Standard deviation (m) of a driven peg's nail about its place, each axis."""
        return PEG_SHARE * self.error

    def limit(self, sd: float) -> int:
        """Return how far a check may be out, whole mm: 3 sd rounded up to 5 mm, one step at least."""
        by_sd = math.ceil(LIMIT_SDS * sd * 1000 / LIMIT_STEP_MM - 1e-9) * LIMIT_STEP_MM
        return max(by_sd, LIMIT_STEP_MM, math.ceil(self.step * 1000 - 1e-9))

    def span(self, middle: float, allowed_mm: float) -> tuple[Reading, Reading]:
        """Return the lowest and the highest good reading, rounded outward to the step."""
        low = math.floor((middle - allowed_mm / 1000) / self.step + 1e-6)
        high = math.ceil((middle + allowed_mm / 1000) / self.step - 1e-6)
        return self.at_count(max(low, 0)), self.at_count(high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Where the frame lies in a national grid: its origin's easting and northing (m), its turn (radians)."""

    east: float
    north: float
    turn: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How a garden is pegged: `recovery` and `chord_gap` in metres; `accept` names what may fail its limit."""

    tape: Tape = field(default_factory=Tape)
    people: int = 2
    recovery: float = 0.5
    chord_gap: float = 0.02
    accept: tuple[str, ...] = ()
    grid: Grid | None = None

    def __post_init__(self) -> None:
        if not (self.people >= 1 and self.recovery >= 0 and self.chord_gap > 0):
            raise refuse(ModelError, f"setting out with {self.people} people, recovery pegs {self.recovery:g} m back "
                         f"and a chord gap of {self.chord_gap * 1000:g} mm",
                         "one person at least, a distance of nothing or more, a gap of more than nothing",
                         "bad-setting-out")


def _feet_text(inches: Fraction) -> str:
    sign = "-" if inches < 0 else ""
    whole_feet, rest = divmod(abs(inches), 12)
    whole, part = divmod(rest, 1)
    fraction = f" {part.numerator}/{part.denominator}" if part else ""
    return f"{sign}{whole_feet}' {whole}{fraction}\""


_METRIC = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*(m|cm|mm)?")
_FEET = re.compile(r"(-?)\s*(?:(\d+(?:[.,]\d+)?)\s*(?:'|ft|feet))?\s*"
                   r"(?:(\d+(?:[.,]\d+)?)?\s*(?:(\d+)/(\d+))?\s*(?:\"|in|inches))?")
_UNIT = {"m": 1.0, "cm": 0.01, "mm": 0.001}


def read_length(text: str, *, feet: bool = False) -> float:
    """Return the metres that a taped reading says: `7.340`, `7,34 m`, `734 cm`, `12' 6 1/4"`, `12 ft 6 in`.

    A bare number means metres, but not in a garden in feet, where it has no unit: ReadingsError.
    """
    clean = text.strip()
    found = _METRIC.fullmatch(clean)
    if found:
        number, unit = found.groups()
        if feet and not unit:
            raise refuse(ReadingsError, f"the reading {shown(clean)} has no unit",
                         "write feet and inches as the tape shows them, such as 12' 6 1/4\", or metres as 3.816 m",
                         "reading-unit")
        return _tapeable(float(number.replace(",", ".")) * _UNIT[unit or "m"], clean)
    found = _FEET.fullmatch(clean)
    if not clean or not found or not any(found.groups()[1:]):
        raise refuse(ReadingsError, f"{shown(clean)} is no reading of a tape",
                     "write metres with a point, such as 7.340, or feet and inches, such as 12' 6 1/4\"", "bad-reading")
    sign, ft, inch, top, bottom = found.groups()
    if bottom is not None and int(bottom) == 0:
        raise refuse(ReadingsError, f"{shown(clean)} divides by nothing", "write a fraction such as 1/4", "bad-reading")
    inches = float((inch or "0").replace(",", ".")) + (int(top) / int(bottom) if bottom else 0.0)
    metres = (float((ft or "0").replace(",", ".")) * 12 + inches) * INCH
    return _tapeable(-metres if sign else metres, clean)


def _tapeable(metres: float, text: str) -> float:
    """Return a length that some tape could show; ReadingsError for one that none can."""
    if not abs(metres) <= LONGEST:
        raise refuse(ReadingsError, f"{shown(text)} is longer than any tape",
                     "look at the metre figure and the unit", "bad-reading")
    return metres


def shown(text: str) -> str:
    """Return a person's words in quotation marks, cut where they are long."""
    return repr(text if len(text) <= SHOWN else f"{text[:SHOWN]}…")
