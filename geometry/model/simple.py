"""Outlines that cross themselves are refused, with the crossing named. Metres."""

from __future__ import annotations

from ..kernel.path import Region


def check_simple(regions: tuple[Region, ...]) -> None:
    """Raise GeometryError, naming the place, if a ring crosses itself."""
    from ..kernel.simple import check
    for region in regions:
        for loop in (region.outer, *region.holes):
            check(loop)
