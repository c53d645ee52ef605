"""Footings: their plan, concrete and trench.

Takes: the centre line of a wall and its sizes. Gives: the outline, items, the dig. The plan is the union of
strokes along centre lines, so corners, tees and piers are counted once. Lengths in metres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..errors import GeometryError, refuse
from ..features import Dig, Item
from ..kernel.combine import union
from ..kernel.offset import Corners, band, grown
from ..kernel.path import Path, Region
from ..kernel.point import Vec
from ..kernel.runs import area_of
from ..kernel.segment import Line
from .materials import material, volume_item
from .walls import WALLS

MITRE = 4.0
"""Corners of a footing run to a mitre of at most this many half widths; sharper ones are cut off."""


def footing_outline(
    centre: Path, width: float, closed: bool, thickness: float, piers: Sequence[Region] = ()
) -> tuple[Region, ...]:
    """Return the footing's plan: a stroke with square corners, (width - thickness)/2 beyond free ends and piers."""
    beyond = (width - thickness) / 2
    if not beyond >= 0:
        raise refuse(
            GeometryError,
            f"a footing of {width * 1000:g} mm under a wall of {thickness * 1000:g} mm",
            "a footing is wider than its wall: about three times as wide",
            "footing-too-narrow",
        )
    stroke = band(centre if closed else _lengthened(centre, beyond), width, corners=Corners.MITRE(MITRE))
    if not piers:
        return tuple(stroke)
    return tuple(union((*stroke, *grown(tuple(piers), beyond, Corners.SQUARE))))


def _lengthened(centre: Path, by: float) -> Path:
    if not by > 0:
        return centre
    first, last = centre.segments[0], centre.segments[-1]
    head = Line(centre.start + Vec.polar(first.heading(0.0), -by), centre.start)
    tail = Line(centre.end, centre.end + Vec.polar(last.heading(1.0), by))
    return Path((head, *centre.segments, tail))


def footing_items(element: str, outline: Sequence[Region], depth: float) -> Iterator[Item]:
    """Yield the concrete of a footing."""
    if not depth > 0:
        raise refuse(GeometryError, f"{element}: a footing of no depth", "give the footing its depth", "no-thickness")
    area = area_of(outline)
    yield volume_item(
        section=WALLS,
        element=element,
        item="concrete in the footing",
        volume=area * depth,
        stuff=material("concrete"),
        allowance=10.0,
        where=f"strokes along the centre line, corners and piers once: {area:.3f} m2 × {depth * 1000:g} mm",
    )


def footing_dig(element: str, outline: Sequence[Region], depth: float, cover: float = 0.0) -> Dig:
    """Return the trench of a footing poured against earth; `cover` is the depth of its top below the ground, m."""
    return Dig(element=element, outline=tuple(outline), depth=depth + cover)
