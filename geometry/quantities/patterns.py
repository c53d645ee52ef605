"""Units and bonds: what is laid, and on which lattice.

Every bond is a motif of upright rectangles on a lattice, in a frame turned by the angle of laying; the
lattices stand in templates/patterns.yaml. Lengths in metres.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..errors import GeometryError, refuse
from .tables import table


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A slab, block or brick: its work size and least joint, m. `length` lies along the courses."""

    length: float
    width: float
    joint: float = 0.0
    thickness: float = 0.0
    material: str = "unit"
    joint_range: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if not (self.length > 0 and self.width > 0):
            raise refuse(
                GeometryError,
                f"a unit of {self.length * 1000:.0f} × {self.width * 1000:.0f} mm",
                "give the length and width of one unit without its joint",
                "bad-unit",
            )
        if not 0 <= self.joint < min(self.length, self.width):
            raise refuse(
                GeometryError,
                f"a joint of {self.joint * 1000:.0f} mm between units of {self.width * 1000:.0f} mm",
                "a joint is narrower than the unit",
                "bad-joint",
            )
        if self.joint_range is not None and not 0 <= self.joint_range[0] <= self.joint_range[1]:
            raise refuse(GeometryError, "a joint range that runs backwards", "write [2 mm, 5 mm]", "bad-joint")

    @property
    def area(self) -> float:
        """Area of the unit in m2."""
        return self.length * self.width

    @property
    def joints(self) -> tuple[float, float]:
        """The joints that are allowed, m: as given, else from the joint to 3 mm more."""
        return self.joint_range or (self.joint, self.joint + 0.003)


BONDS = ("stack", "stretcher", "third", "herringbone", "basket")


@dataclass(frozen=True, slots=True)
class Bond:
    """A bond by name; `shifts` are the courses' shifts of a stretcher bond as shares of the module."""

    name: str = "stack"
    shifts: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if self.name not in BONDS:
            raise refuse(
                GeometryError, f"there is no bond '{self.name}'", f"choose one of {', '.join(BONDS)}", "unknown-bond"
            )
        if not all(0 <= s < 1 for s in self.shifts):
            raise refuse(
                GeometryError, "a shift outside 0 to 1", "a shift is a part of the unit: [0, 1/2]", "bad-shift"
            )

    @property
    def woven(self) -> bool:
        """Whether units lie both ways, so that lengths must close on widths."""
        return self.name in ("herringbone", "basket")


@dataclass(frozen=True, slots=True)
class Place:
    """One unit of the motif: its lower left corner and its extents along x and y, m."""

    x: float
    y: float
    across: float
    up: float


@dataclass(frozen=True, slots=True)
class Lattice:
    """The motif and two lattice vectors: (period, 0) and `step`; joints at the ends and at the sides, m."""

    places: tuple[Place, ...]
    period: float
    step: tuple[float, float]
    end_joint: float
    side_joint: float


def closing_joints(unit: Unit) -> tuple[float, float, int]:
    """Return joints at ends and sides, and n, with `length + end = n (width + side)`: a woven bond closes.

    Both are at least the joint asked for. GeometryError 'bond-does-not-close' when one of them would be over
    twice that.
    """
    j = unit.joint
    n = round((unit.length + j) / (unit.width + j))
    if n < 1:
        raise refuse(
            GeometryError,
            "a woven bond of units laid crosswise",
            "give the longer side as the length",
            "bond-does-not-close",
        )
    gap = unit.length + j - n * (unit.width + j)
    end, side = (j - gap, j) if gap < 0 else (j, (unit.length + j) / n - unit.width)
    if max(end, side) > 2 * j + 1e-9:
        fits = n * (unit.width + j) - j
        raise refuse(
            GeometryError,
            f"units of {unit.length * 1000:.1f} × {unit.width * 1000:.1f} mm do not close in a woven bond: "
            f"joints of {j * 1000:.1f} mm grow to {max(end, side) * 1000:.1f} mm",
            f"a length of {fits * 1000:.1f} mm closes at this joint; or allow a wider joint",
            "bond-does-not-close",
        )
    return end, side, n


def _value(form: Mapping[str, float], size: Mapping[str, float]) -> float:
    return sum(factor * size[name] for name, factor in form.items())


def _pair(forms: Sequence[Mapping[str, float]], size: Mapping[str, float]) -> tuple[float, float]:
    return _value(forms[0], size), _value(forms[1], size)


def _motif(rows: Sequence[Mapping[str, Any]], unit: Unit, size: Mapping[str, float], n: int) -> tuple[Place, ...]:
    places = []
    for row in rows:
        x, y = _pair(row["at"], size)
        sides = (unit.length, unit.width) if row["lies"] == "along" else (unit.width, unit.length)
        again = row.get("repeat", {})
        dx, dy = _value(again.get("x", {}), size), _value(again.get("y", {}), size)
        places += [Place(x + k * dx, y + k * dy, *sides) for k in range(n if again else 1)]
    return tuple(places)


def lattice(unit: Unit, bond: Bond) -> Lattice:
    """Return the lattice on which `unit` is laid in `bond`; GeometryError where a woven bond does not close."""
    pattern = table("patterns")[bond.name]
    if not bond.woven:
        shifts = bond.shifts or tuple(float(s) for s in pattern["shifts"])
        a, b = unit.length + unit.joint, unit.width + unit.joint
        places = tuple(Place(s * a, k * b, unit.length, unit.width) for k, s in enumerate(shifts))
        return Lattice(places, a, (0.0, len(shifts) * b), unit.joint, unit.joint)
    end, side, n = closing_joints(unit)
    size = {"a": unit.length + end, "b": unit.width + side, "nb": n * (unit.width + side), "jl": end, "jw": side}
    return Lattice(
        _motif(pattern["units"], unit, size, n), _value(pattern["across"], size), _pair(pattern["up"], size), end, side
    )
