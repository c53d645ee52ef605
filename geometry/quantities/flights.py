"""Steps: risers and goings from the rise, the stride rule, blocks, treads, and the concrete of a solid flight.

n = ceil(rise / greatest riser), riser = rise / n, going = stride - 2 riser. The top lands on the paving, so
there are n - 1 treads. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ..errors import GeometryError, Problem, Weight, refuse
from ..features import Item
from .materials import material, volume_item
from .ordering import OrderingLike, laid_item

STEPS = "steps"

STRIDE = 0.63
"""2 risers + 1 going: 63 to 65 cm (German garden-construction guides); 550 to 700 mm (Approved Document K)."""

STRIDES = (0.55, 0.70)
BLOCK = (0.440, 0.100, 0.215)
"""A block set on edge behind each riser: length, thickness, height, m (common practice, no source)."""

BLOCK_JOINT = 0.010
MOST_RISER = 0.15
LEAST_GOING = 0.28
"""Garden steps: rises 100 to 175, goings 280 and over (step rules of garden guides, read in part)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flight:
    """A flight: number of risers, riser and going (m), treads (one fewer: the top is the paving)."""

    risers: int
    riser: float
    going: float

    @property
    def treads(self) -> int:
        """Treads that are part of the flight."""
        return self.risers - 1

    @property
    def run(self) -> float:
        """Length of the flight in plan from the first riser to the last, m."""
        return self.treads * self.going

    @property
    def stride(self) -> float:
        """2 risers + 1 going, m."""
        return 2 * self.riser + self.going


def flight(
    rise: float,
    risers: int | None = None,
    riser: float | None = None,
    going: float | None = None,
    stride: float = STRIDE,
) -> Flight:
    """Return the flight for a total rise: by the number of risers, or by the greatest riser (0.15 m if not given).

    GeometryError 'bad-steps' for sizes that make no steps.
    """
    if not rise > 0:
        raise refuse(
            GeometryError, f"steps that rise by {rise:g} m", "give the total rise, more than nothing", "bad-steps"
        )
    most = riser if riser is not None else MOST_RISER
    if not most > 0 or (risers is not None and risers < 1):
        raise refuse(GeometryError, "steps without a riser", "give `risers`, or `riser` of about 150 mm", "bad-steps")
    n = risers if risers is not None else max(1, math.ceil(rise / most - 1e-9))
    each = rise / n
    tread = going if going is not None else stride - 2 * each
    if not tread > 0:
        raise refuse(GeometryError, f"risers of {each * 1000:.0f} mm leave no going", "use more risers", "bad-steps")
    return Flight(risers=n, riser=each, going=tread)


def solid_volume(made: Flight, width: float, base: float) -> float:
    """Return the volume of a solid flight in m3: width (riser going n (n - 1)/2 + base (n - 1) going)."""
    n = made.risers
    return width * (made.riser * made.going * n * (n - 1) / 2 + base * (n - 1) * made.going)


def dig_depth(made: Flight, base: float) -> float:
    """Return the depth that the flight is dug below the ground at its foot, m: the base that it stands on."""
    del made
    return base


def step_items(
    element: str,
    made: Flight,
    width: float,
    ordering: OrderingLike,
    *,
    tread: tuple[float, float, float] | None = None,
    tread_material: str = "tread",
    base: float = 0.1,
    tread_thickness: float = 0.04,
    block: tuple[float, float, float] = BLOCK,
    block_joint: float = BLOCK_JOINT,
) -> Iterator[Item]:
    """Yield risers, treads (laid across as a row with equal ends) and the concrete of the flight.

    `tread` is a unit's length, width and joint (m); without it the treads are measured in metres. `block` is the
    length, thickness and height of a riser block, m.
    """
    if not width > 0:
        raise refuse(GeometryError, f"{element}: steps of no width", "give the width of the steps", "bad-steps")
    words = (
        f"{made.risers} risers of {made.riser * 1000:.0f} mm, going {made.going * 1000:.0f} mm, "
        f"2R + G = {made.stride * 1000:.0f} mm"
    )
    yield Item(
        section=STEPS,
        element=element,
        item="risers",
        unit="m",
        net=made.risers * width,
        basis=f"{words}; {width:.2f} m wide",
    )
    row = math.ceil((width + block_joint) / (block[0] + block_joint) - 1e-9)
    blocks = made.risers * row
    yield laid_item(
        section=STEPS,
        element=element,
        item=f"riser blocks {block[0] * 1000:g} × {block[2] * 1000:g} × {block[1] * 1000:g} mm, on edge",
        material="concrete block",
        units=blocks,
        cuts=made.risers,
        ordering=ordering,
        basis=f"{made.risers} rows of {row}, joints {block_joint * 1000:g} mm, the last of each cut",
    )
    if made.treads and tread is not None:
        length, depth, joint = tread
        across = math.ceil((width + joint) / (length + joint) - 1e-9)
        deep = math.ceil((made.going + joint) / (depth + joint) - 1e-9)
        exact = abs(across * (length + joint) - joint - width) < ordering.ease
        cuts = 0 if exact else 2 * made.treads * deep
        yield laid_item(
            section=STEPS,
            element=element,
            item=f"{tread_material} {length * 1000:g} × {depth * 1000:g} mm",
            material=tread_material,
            units=made.treads * across * deep,
            cuts=cuts,
            ordering=ordering,
            basis=f"{made.treads} treads of {across} across and {deep} deep" + ("" if exact else ", equal ends cut"),
        )
    elif made.treads:
        yield Item(
            section=STEPS,
            element=element,
            item="treads",
            unit="m2",
            net=made.treads * made.going * width,
            basis=f"{made.treads} treads; not counted: the model gives no size of a unit",
        )
    body = Flight(risers=made.risers, riser=made.riser, going=made.going)
    solid = solid_volume(body, width, base)
    # one riser stands at the top of the flight, against the paving, and is not in the profile
    walls = made.treads * width * block[1] * min(block[2], made.riser + base)
    volume = max(0.0, solid - made.treads * made.going * width * tread_thickness - walls)
    if volume > 0:
        yield volume_item(
            section=STEPS,
            element=element,
            item="concrete under the steps",
            volume=volume,
            stuff=material("concrete"),
            allowance=5.0,
            where=f"profile × {width:.2f} m, base {base * 1000:g} mm, "
            f"less treads of {tread_thickness * 1000:g} mm and riser blocks",
        )


def step_advice(element: str, made: Flight, width: float) -> Iterator[Problem]:
    """Yield what the stride rule and garden practice say of a flight."""
    if not STRIDES[0] <= made.stride <= STRIDES[1]:
        yield Problem(
            f"{element}: 2 risers + going = {made.stride * 1000:.0f} mm, outside 550 to 700",
            f"a going of {(STRIDE - 2 * made.riser) * 1000:.0f} mm makes 630",
            "stride",
            weight=Weight.ADVICE,
        )
    if made.riser > 0.175 + 1e-9 or made.going < LEAST_GOING - 1e-9:
        yield Problem(
            f"{element}: risers of {made.riser * 1000:.0f} mm with goings of {made.going * 1000:.0f} "
            "mm are steep for a garden",
            "risers of 100 to 175 mm and goings of 280 mm or more are usual",
            "steep-steps",
            weight=Weight.ADVICE,
        )
    if width < 0.9 - 1e-9:
        yield Problem(f"{element}: {width:.2f} m wide", "0.9 m or more is usual", "narrow-steps", weight=Weight.ADVICE)
    if made.risers > 10:
        yield Problem(
            f"{element}: {made.risers} risers in one flight",
            "put in a landing every 4 to 6 steps",
            "long-flight",
            weight=Weight.ADVICE,
        )
    if made.risers >= 3:
        yield Problem(
            f"{element}: {made.risers} risers", "local codes may ask for a handrail", "handrail", weight=Weight.ADVICE
        )
