"""Factors of ordering that a model may set: bulking and skips, materials as sold, joints, laps, fixings.

Takes: nothing. Gives: Factors, whose defaults are the usual figures. Lengths in metres, masses in tonnes,
densities in t/m3, shares in parts of one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..errors import ModelError, refuse

SKIP = 6.116
"""A skip of 8 cubic yards, m3."""

SKIP_LOAD = 8.0
"""What such a skip may weigh, t (skip guide, read): soil fills it by mass before it is full."""

BULK_BAG = 0.85
"""Tonnes in a bulk bag (common practice, no source)."""

SAND_JOINT = 0.006
"""Joints up to this are swept full of sand, wider ones are pointed with mortar (common practice, no source)."""

LAP = 0.150
"""Lap of damp-proof course at joints and corners, m (common practice, no source)."""

DPC_ROLL = 20.0
"""A roll of damp-proof course, m (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnFigures:
    """What the model says of a material: densities compacted and loose (t/m3), kg in a bag, m2 in a roll."""

    density: float | None = None
    loose_density: float | None = None
    bag: float | None = None
    roll: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HandMix:
    """Concrete mixed by hand: cement in t for 1 m3 placed, parts of sand and gravel by volume, kg in a bag of cement.

    0.275 t and 1:2:4 as in a construction estimating sheet; bags of 25 kg: common practice, no source.
    """

    cement: float = 0.275
    sand: float = 2.0
    gravel: float = 4.0
    bag: float = 25.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixings:
    """Screws where a board crosses a joist, bolts a post, fixings where a rafter crosses a beam, clips a panel.

    All of them: common practice, no source.
    """

    board: int = 2
    post: int = 2
    rafter: int = 2
    panel: int = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Factors:
    """All of them; None where the supplied table has the figure.

    `bulking` are the least and the most share by which soil bulks, `spoil_mass` the mass of the loose spoil, t/m3;
    `end_cuts` the cuts a course that a stopped end, reveal or quoin of a wall costs. ModelError 'bad-bulking'.
    """

    bulking: tuple[float, float] | None = None
    spoil_mass: float | None = None
    skip: float = SKIP
    skip_load: float = SKIP_LOAD
    materials: Mapping[str, OwnFigures] = field(default_factory=dict)
    bulk_bag: float = BULK_BAG
    hand_mix: HandMix = field(default_factory=HandMix)
    sand_joint: float = SAND_JOINT
    lap: float = LAP
    dpc_roll: float = DPC_ROLL
    fixings: Fixings = field(default_factory=Fixings)
    end_cuts: float = 0.5

    def __post_init__(self) -> None:
        if self.bulking is not None and not 0 <= self.bulking[0] <= self.bulking[1]:
            raise refuse(
                ModelError,
                f"bulking from {self.bulking[0] * 100:g} to {self.bulking[1] * 100:g} %",
                "give the least first, then the most: [20 %, 45 %]",
                "bad-bulking",
            )
        if not self.dpc_roll > self.lap:
            raise refuse(
                ModelError,
                f"laps of {self.lap:g} m in rolls of {self.dpc_roll:g} m of damp-proof course",
                "give a roll longer than its lap",
                "bad-lap",
            )


USUAL = Factors()
"""The usual figures."""
