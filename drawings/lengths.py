"""Lengths and areas as plans write them: metres with two decimals, or feet and inches, as the model's unit says.

Takes metres and square metres. Gives words. A model in millimetres has plans in metres: one unit a view.
"""

from __future__ import annotations

from ..geometry.reading.quantity import Units, print_length

HALF_INCH = 0.0127
"""Plans write feet and inches to half an inch, about as fine as two decimals of a metre."""

SQUARE_FEET = 1 / 0.3048**2
"""Square feet in a square metre, from the international foot of 0.3048 m."""


def in_feet(unit: str) -> bool:
    """Say whether a model's unit has its plans in feet and inches."""
    return unit == Units.FEET.value


def length(metres: float, unit: str = "m", check: bool = False) -> str:
    """Return a length (m) as plans write it; in brackets as a check measure."""
    words = print_length(metres, Units.FEET, HALF_INCH) if in_feet(unit) else f"{round(metres, 2) + 0.0:.2f}"
    return f"({words})" if check else words


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


def named(unit: str = "m") -> str:
    """Return the unit of lengths in words."""
    return "feet and inches" if in_feet(unit) else "metres"
