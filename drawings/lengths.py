"""Lengths and areas as plans write them: metres with two decimals, or feet and inches, as the model's unit says.

Takes metres and square metres. Gives words. A model in millimetres has plans in metres: one unit a view.
"""

from __future__ import annotations

import math
import re

from ..geometry.reading.quantity import Units, print_length

HALF_INCH = 0.0127
"""Plans write feet and inches to half an inch, about as fine as two decimals of a metre."""

EIGHTH = 0.003175
"""Coordinates and details in feet are written to an eighth of an inch, 3.175 mm: as tape and rule are read."""

SQUARE_FEET = 1 / 0.3048**2
"""Square feet in a square metre, from the international foot of 0.3048 m."""


def in_feet(unit: str) -> bool:
    """Say whether a model's unit has its plans in feet and inches."""
    return unit == Units.FEET.value


def length(metres: float, unit: str = "m", check: bool = False) -> str:
    """Return a length (m) as plans write it; in brackets as a check measure."""
    words = print_length(metres, Units.FEET, HALF_INCH) if in_feet(unit) else f"{round(metres, 2) + 0.0:.2f}"
    return f"({words})" if check else words


def place(metres: float, unit: str = "m") -> str:
    """Return a coordinate (m) as tables write it: three decimals, never a negative nothing; eighths of an inch."""
    if in_feet(unit):
        return small(metres)
    text = f"{metres:.3f}"
    return "0.000" if text == "-0.000" else text


def area(square_metres: float, unit: str = "m") -> str:
    """Return an area (m²) as plans write it: one decimal, two under 1 m²; whole square feet."""
    if in_feet(unit):
        return f"{square_metres * SQUARE_FEET:.0f} ft²"
    return f"{square_metres:.1f} m²" if square_metres >= 0.95 else f"{square_metres:.2f} m²"


def bare_area(square_metres: float, unit: str = "m") -> str:
    """Return an area (m²) as it stands in a column whose head names the unit."""
    return area(square_metres, unit).split()[0] if in_feet(unit) else f"{square_metres:.1f}"


def area_unit(unit: str = "m") -> str:
    """Return the unit of areas."""
    return "ft²" if in_feet(unit) else "m²"


def small(metres: float) -> str:
    """Return a length (m) in feet and inches, to an eighth of an inch."""
    return print_length(metres, Units.FEET, EIGHTH)


def within(millimetres: float, unit: str = "m") -> str:
    """Return how far something may be off: millimetres, or inches to the eighth below."""
    if in_feet(unit):
        return f"± {small(math.floor(millimetres / 1000 / EIGHTH + 1e-9) * EIGHTH)}"
    return f"± {millimetres:g}"


def to_the_inch(metres: float) -> str:
    """Return a length (m) in feet and whole inches, as plants are measured."""
    return print_length(metres, Units.FEET, 0.0254)


_SIZES = re.compile(r"\d+(?:\.\d+)?(?: × \d+(?:\.\d+)?)+(?: mm)?|\d+(?:\.\d+)? mm")
_FIGURE = re.compile(r"\d+(?:\.\d+)?")


def in_inches(words: str) -> str:
    """Return words with the sizes in them, millimetres, in inches: '200 × 100', '65 mm'."""
    def inches(found: re.Match[str]) -> str:
        return _FIGURE.sub(lambda figure: small(float(figure[0]) / 1000), found[0]).replace(" mm", "")

    return _SIZES.sub(inches, words)


def named(unit: str = "m") -> str:
    """Return the unit of lengths in words."""
    return "feet and inches" if in_feet(unit) else "metres"
