"""Posts along lines: equal bays, posts at every corner, pairs on one radius.

Lengths in metres, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

from ..errors import ModelError, refuse
from ..features import Cut, Item, Purpose, SectionDetail, Wanted
from ..kernel.parts import smooth
from ..kernel.path import Path
from ..kernel.point import Point, Vec
from ..kernel.segment import Arc, Segment
from ..kernel.station import heading_at, point_at
from ..reading.fields import Written
from ..reading.values import Size, Small

LEAST_PANEL = 0.3
"""A narrower rest of a panel is shared with its neighbour, metres. Common practice, no source."""

MOST_BAYS = 500
"""Bays or spaces in one stretch; more is a slip of the unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PitGiven(Written):
    """The concrete round a post: side and depth."""

    called: ClassVar[str] = "a footing"

    width: Size = 0.3
    depth: Size = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class FootGiven(PitGiven):
    """The concrete under or round a post: side and depth.

    `stand_off` sets the post on a shoe so far clear of the ground; without it the post stands in the concrete.
    """

    stand_off: Small = 0.0

    @property
    def in_ground(self) -> float:
        """How far a post reaches below the ground; below nothing where it stands clear of it."""
        return -self.stand_off if self.stand_off else self.depth

    def filled(self, post: float) -> float:
        """Return the side of the post that takes the place of concrete: 0 on a shoe."""
        return 0.0 if self.stand_off else post

    def shoes(self, element: str, section: str, posts: int) -> Iterator[Item]:
        """Yield the shoes to order."""
        if self.stand_off and posts:
            yield Item(section=section, element=element, item="post shoes", unit="number", net=float(posts),
                       order=float(posts), order_unit="number",
                       basis=f"one a post, {self.stand_off * 1000:g} mm clear of the ground")


@dataclass(frozen=True, slots=True)
class Stand:
    """A post: its middle and the heading of the line there."""

    at: Point
    heading: float


def foot_section(element: str, post: float, pit: FootGiven, posts: Iterable[Stand]) -> SectionDetail:
    """Return the typical section of the foot of a post."""
    sizes = {"post": post, "footing width": pit.width, "footing depth": pit.depth, "off": pit.stand_off}
    cuts = tuple(Cut(s.at, Vec.polar(s.heading), pit.width / 2 + 0.1) for s in posts)
    return SectionDetail(form="post foot", title="Post foot", sizes=sizes, elements=(element,), cuts=cuts)


def stretches(path: Path) -> tuple[Path, ...]:
    """Return the stretches of a path between its corners; posts stand at both ends of each."""
    parts: list[list[Segment]] = [[path.segments[0]]]
    for segment in path.segments[1:]:
        if smooth(parts[-1][-1], segment):
            parts[-1].append(segment)
        else:
            parts.append([segment])
    return tuple(Path(tuple(part)) for part in parts)


def side_length(path: Path, out: float) -> float:
    """Return the longer side of a band `out` metres each way of a path: arcs at their outer radius."""
    left = right = 0.0
    for segment in path.segments:
        turn = segment.sweep if isinstance(segment, Arc) else 0.0
        left += segment.length - turn * out
        right += segment.length + turn * out
    return max(left, right)


def bays(path: Path, most: float, out: float = 0.0) -> int:
    """Return the number of equal bays of at most `most` along the longer side of a band about a stretch.

    ModelError (`too-many-bays`) for more than anyone builds: a spacing in the wrong unit.
    """
    length = side_length(path, out)
    count = max(1, math.ceil(length / most - 1e-9))
    if count > MOST_BAYS:
        raise refuse(ModelError, f"{count:,} equal parts of {length:.3f} m, none over {most * 1000:g} mm",
                     "see whether the unit of the spacing is meant (mm, m, ft)", "too-many-bays")
    return count


def stands(path: Path, most: float, out: float = 0.0) -> tuple[Stand, ...]:
    """Return posts along the middle of a band: at the ends, at corners, and equal bays between them."""
    found: list[Stand] = []
    closed = path.start.distance(path.end) < 1e-6
    for stretch in stretches(path):
        count = bays(stretch, most, out)
        length = stretch.length
        for k in range(1 if found else 0, count + 1):
            station = length * k / count
            found.append(Stand(point_at(stretch, station), heading_at(stretch, station)))
    return tuple(found[:-1] if closed and len(found) > 2 else found)


def panel_stands(path: Path, panel: float, post: float) -> tuple[Stand, ...]:
    """Return the posts of a fence: every panel and post along a straight stretch, equal bays along a curved one."""
    from ..quantities.rows import panel_stations

    found: list[Stand] = []
    for stretch in stretches(path):
        length, step = stretch.length, panel + post
        if any(isinstance(segment, Arc) for segment in stretch.segments):
            count = bays(stretch, step)
            stations = tuple(length * k / count for k in range(1, count + 1))
        else:
            bays(stretch, step)         # refuses a panel in the wrong unit
            stations = panel_stations(length, step, LEAST_PANEL + post)
        places = stations if found else (0.0, *stations)
        found += [Stand(point_at(stretch, station), heading_at(stretch, station)) for station in places]
    closed = path.start.distance(path.end) < 1e-6
    return tuple(found[:-1] if closed and len(found) > 2 else found)


def beside(stand: Stand, out: float) -> Point:
    """Return the point square to the line at a post, `out` metres to the left (right if negative)."""
    return stand.at + Vec.polar(stand.heading + math.pi / 2, out)


def row(stands_: tuple[Stand, ...], out: float, line: Path | None, first: int = 1) -> tuple[Wanted, ...]:
    """Return the posts of one row as wanted pegs, numbered from `first`."""
    return tuple(Wanted(part=f"post {first + k}", at=beside(stand, out) if out else stand.at, purpose=Purpose.POST,
                        along=line) for k, stand in enumerate(stands_))
