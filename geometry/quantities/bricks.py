"""Bricks and blocks: how many lie in a course, facing bricks by bond, mortar, lengths that need no cut.

    bricks a course = A_grown / ((l + j)(w + j)),  A_grown = plan of the masonry grown by half a joint

Every brick with half its joints covers exactly that cell, whole, header, half or closer, so one formula holds
for corners, tees, piers and one-brick bonds. Lengths in metres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import GeometryError, refuse


@dataclass(frozen=True, slots=True, kw_only=True)
class Brick:
    """A brick or block by its work size (m): length, width through the wall, height; and the joint."""

    length: float
    width: float
    height: float
    joint: float = 0.010
    material: str = "brick"
    voids: float = 0.0

    def __post_init__(self) -> None:
        if not (self.length > 0 and self.width > 0 and self.height > 0):
            raise refuse(
                GeometryError,
                f"a brick of {self.length * 1000:g} × {self.width * 1000:g} × {self.height * 1000:g} mm",
                "give length, width and height of one brick without joints",
                "bad-unit",
            )
        if not 0 <= self.joint < min(self.length, self.width, self.height):
            raise refuse(
                GeometryError, f"a joint of {self.joint * 1000:g} mm", "a joint is thinner than the brick", "bad-joint"
            )
        if not 0 <= self.voids < 1:
            raise refuse(
                GeometryError, f"voids of {self.voids:g}", "give the share of frog and holes, 0 to 1", "bad-voids"
            )

    @property
    def cell(self) -> float:
        """Plan area of a brick with its joints, m2."""
        return (self.length + self.joint) * (self.width + self.joint)

    @property
    def course(self) -> float:
        """Height of a course with its bed joint, m."""
        return self.height + self.joint

    @property
    def volume(self) -> float:
        """Volume of the solid brick, m3."""
        return self.length * self.width * self.height


BONDS = ("stretcher", "English", "Flemish", "English garden wall", "Flemish garden wall")


def facing_per_m2(brick: Brick, bond: str) -> float:
    """Return the facing bricks in a square metre of face, a header counted as a whole brick.

    From the faces in one repeat: stretcher 1 in l + j; English the mean of that and headers at half of it;
    Flemish 2 in one and a half; English garden wall three courses of stretchers to one of headers; Flemish
    garden wall 4 in three and a half. GeometryError 'unknown-bond'.
    """
    module = brick.length + brick.joint
    rows = {
        "stretcher": 1 / module,
        "English": (1 / module + 2 / module) / 2,
        "Flemish": 2 / (1.5 * module),
        "English garden wall": (3 / module + 2 / module) / 4,
        "Flemish garden wall": 4 / (3.5 * module),
    }
    if bond not in rows:
        raise refuse(
            GeometryError, f"there is no wall bond '{bond}'", f"choose one of {', '.join(BONDS)}", "unknown-bond"
        )
    return rows[bond] / brick.course


def per_course(grown_area: float, brick: Brick) -> float:
    """Return the bricks of one course from the plan area grown by half a joint (m2)."""
    return grown_area / brick.cell


def courses(height: float, brick: Brick) -> float:
    """Return the courses in a height (m): (height + joint) / (brick + joint), as a number with its fraction."""
    return (height + brick.joint) / brick.course


def per_m2(brick: Brick, thick: float) -> float:
    """Return the bricks in a square metre of a long wall of thickness `thick` (m), by the plan formula."""
    return (thick + brick.joint) / brick.cell / brick.course


def mortar_volume(wall: float, bricks: float, brick: Brick) -> float:
    """Return the mortar in m3: the wall (m3, not grown) less its bricks, and what frogs and holes take up."""
    return max(0.0, wall - bricks * brick.volume * (1 - brick.voids))


def brick_lengths(length: float, brick: Brick, ends: str = "out") -> tuple[float, float]:
    """Return the nearest lengths below and above that need only whole and half bricks.

    `ends`: 'out' between two outside corners (n half modules less a joint), 'in' for an opening (plus a
    joint), 'mixed' for one of each (brick dimension tables: CO-, CO+, CO).
    """
    half = (brick.length + brick.joint) / 2
    shift = {"out": -brick.joint, "in": brick.joint, "mixed": 0.0}[ends]
    n = math.floor((length - shift) / half + 1e-9)
    return max(n, 1) * half + shift, (max(n, 1) + 1) * half + shift


def stretched_joint(length: float, brick: Brick) -> float | None:
    """Return the joint, 8 to 12 mm, with which whole and half bricks meet `length` (m) between corners; else None.

    Common practice; perpends are at least 7 mm (building-control warranty guide to laying bricks).
    """
    best: float | None = None
    for halves in range(2, math.ceil(2 * length / brick.length) + 2):
        whole, half = divmod(halves, 2)
        spaces = whole + half - 1
        size = whole * brick.length + half * (brick.length - brick.joint) / 2
        if spaces < 1:
            continue
        joint = (length - size) / spaces
        if 0.008 - 1e-9 <= joint <= 0.012 + 1e-9 and (
            best is None or abs(joint - brick.joint) < abs(best - brick.joint)
        ):
            best = joint
    return best


HEIGHTS = {
    # thickness m: (most height m sheltered in wind zones 1 to 4, exposed in zones 1 to 4)
    0.215: ((1.925, 1.750, 1.600, 1.450), (1.450, 1.300, 1.175, 1.075)),
    0.1025: ((0.725, 0.650, 0.600, 0.525), (0.525, 0.450, 0.400, 0.375)),
    0.3275: ((2.500, 2.450, 2.300, 2.050), ()),
}
"""Plain free standing brick walls without piers: BRE Good Building Guide 14 as reproduced by the clay-brick
industry (215 mm); half-brick and one-and-a-half brick from memory but for 725. A caution, never a design."""

SIMPLE_LIMIT = 2.0
"""The simple guides stop at this height, m: an engineer above it."""

RETAINING_LIMIT = 1.0
"""Retained height, m, from which an engineer or a permit is usual (0.9 to 1.5 by place)."""


def height_words(thickness: float, height: float) -> str:
    """Return the caution on a free standing wall's height; empty while it is under the lowest tabled limit."""
    if height > SIMPLE_LIMIT:
        return f"{height:.2f} m high: an engineer's design is wanted above {SIMPLE_LIMIT:g} m"
    near = max((t for t in HEIGHTS if t <= thickness + 0.003), default=None)
    if near is None:
        return f"{thickness * 1000:.0f} mm thick: no table covers it; ask an engineer"
    sheltered, exposed = HEIGHTS[near]
    low, high = min(exposed or sheltered), max(sheltered)
    if height <= low + 1e-9:
        return ""
    if height <= high + 1e-9:
        return (
            f"{height:.2f} m high, {near * 1000:g} mm thick: plain walls are limited to "
            f"{low * 1000:.0f} to {high * 1000:.0f} mm "
            "by wind zone and exposure; check yours"
        )
    return (
        f"{height:.2f} m high, {near * 1000:g} mm thick: over the {high * 1000:.0f} mm of the most sheltered place; "
        "ask an engineer"
    )
