"""What kinds ask of an element's ground: its area as a row, and what sort of edge it has."""

from __future__ import annotations

from collections.abc import Iterator

from ..features import Item
from ..kernel.path import Loop
from .base import Placed


def is_round(placed: Placed) -> bool:
    """Say whether an outline is one circle, ellipse or oval: pegged from its centre, judged by centre and radius."""
    loops = placed.loops()
    if len(loops) != 1:
        return False
    loop = loops[0]
    return loop.is_circle or loop.ellipse is not None or _is_oval(loop)


def _is_oval(loop: Loop) -> bool:
    from ..kernel.parts import smooth
    from ..kernel.segment import Arc

    segments = loop.segments
    return (
        len(segments) == 4
        and all(isinstance(s, Arc) and s.sweep > 0 for s in segments)
        and all(smooth(segments[k - 1], segments[k]) for k in range(4))
    )


def is_straight(placed: Placed) -> bool:
    """Say whether the ground covered has no curved edge."""
    from ..kernel.segment import Line as StraightLine

    return all(isinstance(segment, StraightLine) for loop in placed.loops() for segment in loop.segments)


def plan_area(placed: Placed, section: str) -> Iterator[Item]:
    """Yield the informing row of the ground that an element covers."""
    if placed.regions:
        yield Item(
            section=section,
            element=placed.name,
            item="plan area",
            unit="m2",
            net=placed.area,
            basis="area inside the finished outline",
        )
