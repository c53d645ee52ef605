"""What a wall is built of, as the model gives it: bricks and their bond, openings, coping, piers, footing."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from ..errors import ModelError, refuse
from ..reading.fields import Written
from ..reading.values import Depth, Length, Share, Size, Small, Text, YesNo

DRIP = 0.025
"""A coping overhangs so much at least where it has a drip groove, metres. Common practice, no source."""


class MasonryBond(StrEnum):
    """Bonds of brickwork."""

    STRETCHER = "stretcher"
    ENGLISH = "English"
    FLEMISH = "Flemish"
    ENGLISH_GARDEN = "English garden wall"
    FLEMISH_GARDEN = "Flemish garden wall"


@dataclass(frozen=True, slots=True, kw_only=True)
class BrickGiven(Written):
    """A brick or block by its work size, its joint, and the share of it that frog and holes take up with mortar."""

    called: ClassVar[str] = "a brick"

    length: Size
    width: Size
    height: Size
    joint: Small = 0.010
    material: Text = "brick"
    voids: Share = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningGiven(Written):
    """An opening: its middle along the line, width, sill and height."""

    called: ClassVar[str] = "an opening"

    at: Size
    width: Size
    sill: Depth = 0.0
    height: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CopingGiven(Written):
    """A coping: length of a unit, overhang each side, height, and whether a drip groove is cut under each side."""

    called: ClassVar[str] = "a coping"

    unit: Size = 0.6
    overhang: Depth = 0.03
    height: Size = 0.05
    joint: Small = 0.010
    material: Text = "stone"
    drip: YesNo = False

    def __post_init__(self) -> None:
        if self.drip and not self.overhang >= DRIP:
            raise refuse(ModelError, f"a drip groove under a coping that overhangs {self.overhang * 1000:g} mm",
                         f"give `overhang: {DRIP * 1000:g} mm` or more, or leave `drip` out", "drip-no-room")


@dataclass(frozen=True, slots=True, kw_only=True)
class PiersGiven(Written):
    """Piers: side of the square, and either their largest spacing or their places along the line."""

    called: ClassVar[str] = "piers"

    size: Size
    spacing: Size | None = None
    at: tuple[Length, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FootingGiven(Written):
    """A strip footing: width, depth, and how far its top lies below the ground."""

    called: ClassVar[str] = "a footing"

    width: Size
    depth: Size
    cover: Depth = 0.15


__all__ = ["BrickGiven", "CopingGiven", "FootingGiven", "MasonryBond", "OpeningGiven", "PiersGiven"]
