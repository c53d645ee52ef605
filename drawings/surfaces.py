"""Textures, tints and shadows of a plan's surfaces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..geometry.features import Feature, Role
from ..geometry.kernel.path import Region
from .planned import Stage
from .sheet import Mark

SURFACE = {Role.TURF: "turf", Role.PLANTING: "planting", Role.PAVING: "slabs", Role.LOOSE: "gravel", Role.DECK: "boards",
           Role.WATER: "water", Role.CONCRETE: "concrete", Role.EDGE_BAND: "brick-edge", Role.HEDGE: "hedge",
           Role.WALL: "brick", Role.BUILDING: "building", Role.STEPS: "slabs"}
"""The surface of a role that names none."""


def surface_of(feature: Feature) -> str:
    """Return the key of a feature's surface, for its texture and tint."""
    return feature.surface or SURFACE.get(feature.role, "")


def textures(kind: str, on: Stage, boxes: Sequence[object]) -> Iterator[Mark]:
    """Yield the textures."""
    yield from ()


def tints(on: Stage) -> Iterator[Mark]:
    """Yield the tints."""
    yield from ()


def shadows(on: Stage) -> Iterator[Mark]:
    """Yield the shadows."""
    yield from ()


def obstacle_bands(on: Stage, boxes: Sequence[object]) -> Iterator[Mark]:
    """Yield the bands inside buildings that say no tape passes."""
    yield from ()


def cut_texture(name: str, region: Region, turn: int) -> tuple[Mark, ...]:
    """Return the hatch of a cut material; `turn` 1 leans cut brick the other way."""
    return ()
