"""Lengths, angles and shares: the written form to metres, radians and parts of one, and back to print.

Written figures are read as exact fractions and rounded once, so `450 mm` is the number 0.45 and nothing
beside it. One international foot is 0.3048 m (international yard and pound agreement of 1959, from memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from enum import StrEnum
from fractions import Fraction

from ..errors import ModelError, refuse


class Units(StrEnum):
    """What a bare number means: metres, millimetres or feet."""

    METRES = "m"
    MILLIMETRES = "mm"
    FEET = "ft"


FOOT = Fraction(3048, 10000)
INCH = FOOT / 12

FACTORS: Mapping[str, Fraction] = {
    "m": Fraction(1),
    "metre": Fraction(1),
    "metres": Fraction(1),
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "ft": FOOT,
    "foot": FOOT,
    "feet": FOOT,
    "'": FOOT,
    "′": FOOT,
    "in": INCH,
    "inch": INCH,
    "inches": INCH,
    '"': INCH,
    "″": INCH,
    "''": INCH,
}

FARTHEST = 10_000.0
"""Metres; a longer length in a garden is a slip of the unit."""

_NUMBER = r"[0-9]+ [0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]+)?|\.[0-9]+"
_PART = re.compile(rf"\s*({_NUMBER})\s*('{{2}}|[a-z'′\"″]+)?", re.IGNORECASE)
_SIGNED = re.compile(r"\s*([+\-−]?)\s*(.*?)\s*", re.DOTALL)
_PLAIN = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
_FRACTION = re.compile(r"([0-9]+)/([0-9]+)")

LENGTH_FORMS = "write a length as 1.2 (in the file's units), 1.2 m, 450 mm, 45 cm, 12 ft 6 in or 12' 6 1/4\""


def _fraction(text: str) -> Fraction:
    """Return `1.25`, `1/4` or `6 1/4` as a fraction; ZeroDivisionError for a part of nothing."""
    return sum((Fraction(word) for word in text.split()), Fraction(0))


def _bad_length(text: str) -> ModelError:
    mend = LENGTH_FORMS
    if re.fullmatch(r"\s*[+-]?\d+,\d+.*", text):
        mend = f"write a point for the decimals: {text.replace(',', '.').strip()}"
    elif re.fullmatch(r"\s*[+-]?[\d.]+[eE][+-]?\d+.*", text):
        mend = "write the figure out"
    return refuse(ModelError, f"'{text}' is not a length", mend, "bad-length")  # type: ignore[return-value]


def read_length(text: str, units: Units = Units.METRES) -> float:
    r"""Return the length that `text` states, in metres; a bare number is in `units`.

    ModelError (`bad-length`, `too-far`) for anything else, or for more than 10 km either way.

    >>> read_length("450 mm"), read_length("12' 6\""), read_length("6 1/4 in"), read_length("3", Units.FEET)
    (0.45, 3.81, 0.15875, 0.9144)
    """
    sign, body = _SIGNED.fullmatch(text).groups()  # type: ignore[union-attr]
    try:
        total = _sum_of_parts(body, units)
    except ZeroDivisionError:
        total = None
    if total is None:
        raise _bad_length(text)
    if total > FARTHEST:
        raise refuse(
            ModelError, f"'{text}' is {float(total):,.0f} m", "see whether the unit is meant (mm, m, ft)", "too-far"
        )
    return float(-total if sign in ("-", "−") else total)


def _sum_of_parts(body: str, units: Units) -> Fraction | None:
    """Add up `12 ft 6 in`; None if it is no length. A second part must be inches after feet."""
    total, position, used = Fraction(0), 0, list[Fraction]()
    while position < len(body):
        part = _PART.match(body, position)
        if part is None:
            return None
        figure, word = part.groups()
        factor = FACTORS.get(word.lower()) if word else _bare_factor(used, units, last=part.end() == len(body))
        if factor is None or (used and (used, factor) != ([FOOT], INCH)):
            return None
        total += _fraction(figure) * factor
        used.append(factor)
        position = part.end()
    return total if used else None


def _bare_factor(used: list[Fraction], units: Units, *, last: bool) -> Fraction | None:
    """Return what a figure without a unit means: inches after feet, the file's units alone, else nothing."""
    if used:
        return INCH
    return FACTORS[units.value] if last else None


def read_number(text: str) -> float:
    """Return a plain decimal number; ModelError (`bad-number`) for anything else, `1e3` and `nan` too."""
    if not _PLAIN.fullmatch(text.strip()):
        raise refuse(ModelError, f"'{text}' is not a number", "write figures, with a point for decimals", "bad-number")
    return float(text)


def read_angle(text: str) -> float:
    """Return an angle written in degrees (`35`, `35°`, `35 deg`) in radians; ModelError (`bad-angle`)."""
    bare = re.sub(r"\s*(°|deg|degrees?)\s*$", "", text.strip())
    if not _PLAIN.fullmatch(bare) or abs(float(bare)) > 3600:
        raise refuse(
            ModelError,
            f"'{text}' is not an angle",
            "write degrees, anticlockwise from the baseline: 35 or -90",
            "bad-angle",
        )
    return math.radians(float(bare))


def read_share(text: str) -> float:
    """Return a share (`30 %`, `0.3`, `1/3`) as a part of one; ModelError (`bad-share`) outside 0 to 100 %."""
    value = _share(text.strip())
    if value is None:
        raise refuse(ModelError, f"'{text}' is not a share", "write 30 %, 0.3 or 1/3", "bad-share")
    if not 0 <= value <= 1:
        raise refuse(
            ModelError,
            f"a share of {text}",
            "a share lies between 0 and 100 %; write the % sign with figures over 1",
            "bad-share",
        )
    return float(value)


def read_part(text: str) -> float:
    """Return a part of the way, written as a share but free of limits; ModelError (`bad-share`)."""
    value = _share(text.strip())
    if value is None:
        raise refuse(ModelError, f"'{text}' is not a part of the way", "write 1/3, 30 % or 0.3", "bad-share")
    return float(value)


def _share(text: str) -> Fraction | None:
    if text.endswith("%"):
        bare = text[:-1].strip()
        return Fraction(bare) / 100 if _PLAIN.fullmatch(bare) else None
    fraction = _FRACTION.fullmatch(text)
    if fraction:
        return Fraction(int(fraction[1]), int(fraction[2])) if int(fraction[2]) else None
    return Fraction(text) if _PLAIN.fullmatch(text) else None


def print_length(metres: float, units: Units = Units.METRES, step: float | None = None) -> str:
    r"""Return a length as it is printed for the tape.

    Metres with 3 decimals (`14.220`), whole millimetres (`14220`) or feet, inches and a binary fraction
    (`46' 7 7/8"`), rounded to `step` metres where given (feet: to the finest of 1, 1/2, 1/4, 1/8, 1/16 inch
    that is not finer than `step`; 1/8 without it). Reading it back gives the same rounded length.

    >>> print_length(14.22), print_length(3.81, Units.FEET), print_length(14.2234, step=0.005)
    ('14.220', "12' 6\"", '14.225')
    """
    if units is Units.FEET:
        return _print_feet(metres, step)
    value = round(metres / step) * step if step else metres
    if units is Units.MILLIMETRES:
        return f"{round(value * 1000):d}"
    text = f"{value:.3f}"
    return "0.000" if text == "-0.000" else text


def inch_parts(step: float | None) -> int:
    """Return into how many parts an inch is divided when lengths are printed to `step` metres."""
    if step is None:
        return 8
    return next((parts for parts in (16, 8, 4, 2) if float(INCH) / parts >= step * 0.999), 1)


def _print_feet(metres: float, step: float | None) -> str:
    parts = inch_parts(step)
    count = round(Fraction(abs(metres)) / INCH * parts)
    inches, rest = divmod(count, parts)
    feet, inches = divmod(inches, 12)
    sign = "-" if metres < 0 and count else ""
    words = [f"{feet}'"] if feet else []
    if rest:
        fraction = Fraction(rest, parts)
        words.append((f"{inches} " if inches else "") + f'{fraction.numerator}/{fraction.denominator}"')
    elif inches or not feet:
        words.append(f'{inches}"')
    return sign + " ".join(words)
