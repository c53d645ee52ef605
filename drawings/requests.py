"""What wants lettering on a plan, what lies in its way, and what came of it.

Paper millimetres throughout, y up; turns in radians. Drawings say *what* is to be labelled by these
values; `annotate.place` decides *where*. Gives no geometry and measures no lettering.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from ..geometry.errors import Problem
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from .sheet import Mark

PEG_PLACES = ("right", "right-above", "right-below", "left", "left-above", "left-below", "above", "below",
              "right-high", "right-low", "left-high", "left-low", "above-right", "above-left", "below-right",
              "below-left")
"""Where a point's label is tried, the best first: the eight places, then those between them."""

PEG_GAPS = (1.9, 2.8, 3.7, 1.4)
"""Distances of the near side of a peg number from its peg's point, the best first; the last only for want of room."""

PEG_LEADER = 30.0
"""The longest leader of a peg number."""

LABEL_LEADER = 40.0
"""The longest leader of any other label."""


@dataclass(frozen=True, slots=True)
class Words:
    """One line of lettering: its words, style ('regular', 'bold', 'italic') and capital height in mm."""

    words: str
    style: str = "regular"
    capitals: float = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class PointLabel:
    """A label that belongs to a point: a peg number, a level, a plant.

    `name` tells it from every other request and sorts it. `radius` is that of the point's own sign:
    a leader starts outside it. `leader` is the longest leader allowed, 0 for none. The label lies nearer
    to `at` than to any other point that carries a sign.
    """

    name: str
    at: Point
    lines: tuple[Words, ...]
    radius: float = 1.3
    gaps: tuple[float, ...] = PEG_GAPS
    places: tuple[str, ...] = PEG_PLACES
    leader: float = PEG_LEADER
    underlined: bool = False        # a new level
    at_home: bool = False           # dearer on the ground of another name than on that which the point stands on
    layer: str = "labels"
    classes: tuple[str, ...] = ("label", "peg-number")


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaLabel:
    """A name and figures inside an area; centred as a block where the area is emptiest.

    If only a strip is free the lines stand in one line turned with it; else the block stands beside the
    area with a leader that ends in a dot inside; else (with `column`) in the column at the side.
    """

    name: str
    regions: tuple[Region, ...]
    lines: tuple[Words, ...]
    leader: float = LABEL_LEADER
    column: bool = True
    alone: bool = False             # the inside of a building: no name of another thing stands in it
    layer: str = "labels"
    classes: tuple[str, ...] = ("label",)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineLabel:
    """A name along a line thing (path, wall, pergola, service), straight, on its straightest stretch.

    `width` is the thing's own width: lettering goes inside if it fits there, else beside it. With a
    width of 0 it stands beside the line, or `on_line` in a gap of it.
    """

    name: str
    path: Path | Loop
    lines: tuple[Words, ...]
    width: float = 0.0
    gap: float = 0.9                # clear space between the lettering and the thing's edge
    on_line: bool = False
    leader: float = LABEL_LEADER
    column: bool = True
    layer: str = "labels"
    classes: tuple[str, ...] = ("label",)


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnLabel:
    """A block of lines in a column at a side of the plan, with a level leader to its thing.

    `at` is where the leader ends, on a line or (with `dot`) in an area; `side` is 'left', 'right' or ''
    for the nearer one.
    """

    name: str
    at: Point
    lines: tuple[Words, ...]
    side: str = ""
    dot: bool = False
    layer: str = "labels"
    classes: tuple[str, ...] = ("label",)


Request: TypeAlias = PointLabel | AreaLabel | LineLabel | ColumnLabel

SMALL = 2.5
"""Capitals of a name that stands on a leader, in a column, or where the plan is crowded, mm."""


def small_lines(request: Request) -> tuple[Words, ...]:
    """Return the lines of a request as they stand on a leader or in a column: names of places no larger than 2.5."""
    if isinstance(request, PointLabel):
        return request.lines
    return tuple(replace(words, capitals=min(words.capitals, SMALL)) for words in request.lines)


def is_small(way: str) -> bool:
    """Say whether a label that is set this way has small lines."""
    return way.startswith("leader") or way.endswith("small") or way == "column"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A strip at a side of the plan for a column of labels.

    `edge` is the x at which leaders end (5.5 from the plot); lettering starts 0.8 beyond it and may run to
    `limit`. `low` and `high` bound it in height. side: 'left' or 'right' of the plan.
    """

    side: str
    edge: float
    limit: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Inked:
    """A drawn line in the way: its path and the width of its pen. From 0.35 up lettering never touches it."""

    path: Path | Loop
    width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """A point symbol in the way (peg, post, plant mark); lettering of others keeps off and further away."""

    at: Point
    radius: float
    owner: str = ""                 # name of the request that labels it, if any


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettered:
    """Lettering that already stands: lower left corner of its ink, width and height, turned about that corner."""

    corner: Point
    width: float
    height: float
    turn: float = 0.0
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacles:
    """All that lies in the way of lettering on one view."""

    lines: tuple[Inked, ...] = ()
    signs: tuple[Sign, ...] = ()
    texts: tuple[Lettered, ...] = ()
    bodies: tuple[Region, ...] = ()     # filled symbols: neither lettering nor leaders
    closed: tuple[Box, ...] = ()        # kept free: north point, tables, notes
    leaders: tuple[Path, ...] = ()      # leaders and arrows that already stand: no leader crosses them
    strings: tuple[Path, ...] = ()      # those of the lines that lettering keeps off as far as it can: strings, ties
    walls: tuple[Region, ...] = ()      # cut walls: no lettering, but leaders may cross them

    def joined(self, other: Obstacles) -> Obstacles:
        """Return both sets of obstacles as one."""
        return Obstacles(lines=self.lines + other.lines, signs=self.signs + other.signs, texts=self.texts + other.texts,
                         bodies=self.bodies + other.bodies, closed=self.closed + other.closed,
                         leaders=self.leaders + other.leaders, strings=self.strings + other.strings,
                         walls=self.walls + other.walls)

    def without_owner(self, name: str) -> Obstacles:
        """Return these obstacles without the signs that the request `name` owns."""
        return replace(self, signs=tuple(s for s in self.signs if s.owner != name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One label as it stands: its marks, the boxes that textures keep clear of, its leader, and the way it was set.

    way: 'touching', 'leader', 'inside', 'strip', 'along', 'beside' or 'column'.
    """

    name: str
    marks: tuple[Mark, ...]
    boxes: tuple[Region, ...]
    way: str
    leader: Path | None = None
    cost: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Quiet:
    """How quiet a plan is to be: the share of a square of 20 mm that lettering, lines and textures may fill.

    Fuller squares of `field` (mm) are thinned out where labels can stand elsewhere. `shades` are areas with a texture
    (mm) and the share of each that is ink.
    """

    field: Box
    most: float
    pen: float = 0.25               # of signs, mm
    shades: tuple[tuple[Region, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Inset:
    """A proposed enlarged view: the crowded window on the sheet (mm), how many times larger, whose labels go there."""

    window: Box
    times: int
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Crowding:
    """How full the fullest 40 mm square is (lettering as a share of it), where, and the insets that would help."""

    fill: float
    fullest: Box
    insets: tuple[Inset, ...] = ()

    @property
    def numbers_only(self) -> bool:
        """Whether values on the plan should give way to short numbers (fill above 0.35)."""
        return self.fill > NUMBERS_FROM

    @property
    def too_full(self) -> bool:
        """Whether the sheet must be planned again: larger scale or sheet, or insets (fill above 0.55)."""
        return self.fill > REPLAN_FROM


NUMBERS_FROM = 0.35
REPLAN_FROM = 0.55


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What the search came to: labels, how many on leaders, their longest and mean, cost, crowding, advice.

    `crowded` names the labels in the fullest square of 20 mm, if that is still too full; `fullest` is its share of ink.
    """

    labels: int
    leaders: int
    longest_leader: float
    mean_leader: float
    cost: float
    crowding: Crowding
    advice: tuple[Problem, ...] = ()
    crowded: tuple[str, ...] = ()
    fullest: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """All labels of one view, in the order of their names."""

    labels: tuple[Placed, ...]
    report: Report
    obstacles: Obstacles = field(default_factory=Obstacles)   # the labels and leaders themselves, for what is set later

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Marks of every label: leaders in layer 'leaders', lettering in the requests' layers."""
        return tuple(mark for label in self.labels for mark in label.marks)

    @property
    def boxes(self) -> tuple[Region, ...]:
        """Areas of lettering that textures and unit joints keep clear of."""
        return tuple(box for label in self.labels for box in label.boxes)


def names_of(requests: Iterable[Request]) -> tuple[str, ...]:
    """Return the names of requests in order."""
    return tuple(request.name for request in requests)


