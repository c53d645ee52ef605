"""Outlines that cross or touch themselves, and outlines that enclose their holes: refused with the place.

A ring is simple if its noded edges make one face inside and one outside, and no node has more than two of them.
"""

from __future__ import annotations

from collections import Counter

from ..errors import GeometryError, refuse
from .arrange import Arrangement, arranged_sources
from .path import Loop, Path, Region
from .point import Point
from .table import Source
from .tolerance import NODE


def _arranged(shape: Loop | Path) -> Arrangement:
    # Without weight every piece is kept, even where an outline runs back over itself.
    return arranged_sources([Source(segment, 0, 0) for segment in shape.segments])


def _place(whole: Arrangement, node: int) -> Point:
    x, y = whole.edges.nodes[node].tolist()
    return Point(x + whole.table.origin[0], y + whole.table.origin[1])


def crossing_points(shape: Loop | Path) -> tuple[Point, ...]:
    """Return where an outline or a line crosses or touches itself; stretches walked twice give their two ends.

    In the order in which they were made; empty for one that keeps clear of itself.
    """
    whole = _arranged(shape)
    edges, ways = (part.tolist() for part in whole.edges.parts[1:])
    meeting: Counter[int] = Counter()
    for edge, way in zip(edges, ways, strict=True):
        ends = (int(whole.edges.a[edge]), int(whole.edges.b[edge]))
        meeting.update(ends[::way])
    walked = Counter(edges)
    found = [node for node, count in meeting.items() if count > 2]
    kept = {int(n) for edge, times in walked.items() if times > 1 for n in (whole.edges.a[edge], whole.edges.b[edge])}
    found += sorted(kept - set(found))
    return tuple(_place(whole, node) for node in found)


def check(loop: Loop) -> None:
    """Do nothing for a loop that keeps clear of itself; GeometryError names the first place where it does not."""
    found = crossing_points(loop)
    if found:
        at = found[0]
        more = f" and at {len(found) - 1} more" if len(found) > 1 else ""
        raise refuse(GeometryError, f"an outline that meets itself at ({at.x:.3f}, {at.y:.3f}){more}",
                     "move or reorder its points so that no edge meets another but its neighbours", "self-crossing")


def check_region(region: Region) -> None:
    """As `check` for the outline and every hole; GeometryError too for a hole that is not inside or meets another."""
    for loop in (region.outer, *region.holes):
        check(loop)
    from .combine import common, difference
    inner: tuple[Region, ...] = ()
    for hole in region.holes:
        own = (Region(hole),)
        outside = difference(own, (Region(region.outer),))
        shared = common(own, inner)
        if any(r.area > NODE * r.length for r in (*outside, *shared)):
            at = hole.segments[0].start
            raise refuse(GeometryError, f"a hole at ({at.x:.3f}, {at.y:.3f}) that leaves its outline or meets another",
                         "keep holes apart and inside", "bad-hole")
        inner = (*inner, *own)
