"""The section up a flight of steps, as it is counted: blocks behind the risers, treads, and solid concrete under them.

Metres, x to the right, y up, 0 at the foot. The top step is the upper ground: its paving is drawn elsewhere.
"""

from __future__ import annotations

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point
from .details_parts import GROUND, Detail, Measure, Piece, Say, Tag, cut_of, millimetres, named, patches, rect

MOST = 12
"""Risers of a longer flight are not all drawn."""

SIDE = 0.25
"""What is shown of the ground before and after a flight, metres."""


def steps(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return a section along a flight: n risers and n - 1 treads between the lower and the upper ground."""
    size = section.sizes.get
    rise, going = size("riser", 0.0), size("going", 0.0)
    count = max(1, min(MOST, round(size("risers", 1.0))))
    if not (rise > 0 and going > 0):
        return None
    thick, base = size("tread", 0.05), max(size("base", 0.0), 0.0)
    run, top = (count - 1) * going, count * rise
    blocks = _blocks(section, count, rise, going, thick, base)
    deep = blocks[0].outline.box.width if blocks else 0.0
    pieces = [Piece(rect(k * going, (k + 1) * rise - thick, (k + 1) * going, (k + 1) * rise),
                    cut_of(section.words.get("tread", "stone")) or "stone-cut") for k in range(count - 1)]
    under = _under(count, rise, going, thick, base, blocks)
    pieces += [*blocks, *([Piece(under, "concrete")] if under else [])]
    surface = [Point(-SIDE, 0.0)]
    for k in range(count):
        surface += [Point(k * going, k * rise), Point(k * going, (k + 1) * rise)]
    surface.append(Point(run + deep + SIDE, top))
    right, low = surface[-1].x, -max(base, 0.05)
    return Detail(
        title=named(section.title),
        say=say,
        pieces=tuple(pieces),
        finished=(Path.through([p for i, p in enumerate(surface) if not i or p.distance(surface[i - 1]) > 1e-9]),),
        ground=patches((-SIDE, low - GROUND, run + deep, low - 0.001), (-SIDE, low, -0.001, -0.012),
                       (run + deep, low, right, top - thick - 0.012)),
        tags=_tags(section, count, thick, base, blocks, say),
        measures=_measures(count, rise, going, base),
        breaks=((Point(right, top + 0.02), Point(right, low - GROUND)),),
        elements=section.elements,
    )


def _blocks(section: SectionDetail, count: int, rise: float, going: float, thick: float, base: float) -> list[Piece]:
    """Return the blocks on edge behind the risers, each with its top under the tread that lies on it."""
    deep, high = section.sizes.get("block thickness", 0.0), section.sizes.get("block height", 0.0)
    if not (deep > 0 and high > 0):
        return []
    found = []
    for k in range(count):
        head = (k + 1) * rise - thick
        foot = max(head - high, -base)
        found.append(Piece(rect(k * going, foot, k * going + deep, head), cut_of(section.words.get("block", "block"))))
    return found


def _under(count: int, rise: float, going: float, thick: float, base: float, blocks: list[Piece]) -> Loop | None:
    """Return the concrete under the treads as one outline, from its base up; the blocks stand in its front."""
    if count < 2:
        return None
    run = (count - 1) * going
    corners = [(0.0, -base), (run, -base)]
    for k in reversed(range(count - 1)):
        head = (k + 1) * rise - thick
        corners.append(((k + 1) * going, head))
        if blocks:
            box = blocks[k].outline.box
            corners += [(box.x1, head), (box.x1, box.y0), (box.x0, box.y0)]
        else:
            corners.append((k * going, head))
    if corners[-1] == corners[0]:       # the lowest block stands on the bottom of the dig
        corners = corners[1:-1]
    unique = [c for i, c in enumerate(corners) if c != corners[i - 1]]
    return Loop.polygon(Point(x, y) for x, y in unique)


def _tags(
    section: SectionDetail, count: int, thick: float, base: float, blocks: list[Piece], say: Say
) -> tuple[Tag, ...]:
    """Return the names of tread, block and concrete, from the top down."""
    going, rise = section.sizes["going"], section.sizes["riser"]
    tags: list[Tag] = []
    if count > 1:
        words = (named(section.words.get("tread", "tread")), f"{say(thick)} thick")
        tags.append(Tag(Point(going * (count - 1.35), (count - 1) * rise - thick / 2), words))
    if blocks:
        box = blocks[-1].outline.box
        words = (named(section.words.get("block", "block")), f"{say(box.width)} × "
                 f"{say(section.sizes['block height'])} on edge")
        tags.append(Tag(box.centre, words))
    if count > 1 and base > 0:
        tags.append(Tag(Point(going * (count - 1.3), -base / 2), ("Concrete", f"base {say(base)}")))
    return tuple(tags)


def _measures(count: int, rise: float, going: float, base: float) -> tuple[Measure, ...]:
    foot, first = Point(0.0, 0.0), Point(0.0, rise)
    found = [Measure(foot, first, "left")]
    if count > 1:
        found += [Measure(first, Point(going, rise), "above"), Measure(foot, Point(0.0, count * rise), "left", 1)]
        found += [Measure(Point(0.0, -base), foot, "left")] if base > 0 else []
    return tuple(found)
