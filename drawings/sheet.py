"""A sheet, described once: marks in paper millimetres, from which every format is written.

Paper coordinates are millimetres, x to the right and y UP from the bottom left corner of the trimmed
sheet. Shapes on paper are the kernel's own Path, Loop and Region with millimetres in them, so arcs stay
arcs all the way into each format. A mark that stands for something in the garden carries its `Ground`
(the true shape in metres): formats that hold the garden at 1:1 write that and leave the paper copy out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.segment import Arc, Line, Segment

PaperShape: TypeAlias = Path | Loop | Region


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What a mark is in the garden: its exact shape in metres, its role, and whose it is."""

    shape: Region | Loop | Path | Point
    role: str                       # a role of templates/layers.yaml: gives the DXF layer
    element: str = ""
    kind: str = ""
    build_up: str = ""
    part: str = ""
    status: str = "proposed"        # 'existing', 'remove': gives the layer's last letter


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A drawn line: path or ring in mm, pen ('cut', 'edge', 'mark', 'thin', 'texture'), name of a dash pattern."""

    layer: str                      # drawing-order group: 'textures', 'thin', 'edges', 'built', 'existing', 'marks' …
    path: Path | Loop
    pen: str
    dash: str = ""
    classes: tuple[str, ...] = ()
    ground: Ground | None = None
    round_ends: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """A filled area in mm: tone 'black', 'white' or a tint's name; opacity 1 except for shadows."""

    layer: str
    region: Region
    tone: str = "black"
    opacity: float = 1.0
    classes: tuple[str, ...] = ()
    ground: Ground | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """A filled disc of a texture: centre and radius in mm."""

    at: Point
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatch:
    """One surface's texture: its name, the strokes and dots it is made of (mm), one pen.

    `ground` holds the region in metres; formats with true hatches write that with the pattern of this
    name. `units` says that the strokes are true units or boards, written as lines instead; then
    `ground_lines` holds the same joints in metres.
    """

    layer: str
    name: str                       # 'turf', 'planting', 'gravel', 'water', 'slabs', 'setts' … (drawing style)
    strokes: tuple[Path | Loop, ...] = ()
    dots: tuple[Dot, ...] = ()
    solid: tuple[Region, ...] = ()  # filled areas (steel)
    pen: str = "texture"
    round_ends: bool = True
    ground: Ground | None = None
    units: bool = False
    ground_lines: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A line of lettering: baseline point and capital height in mm, turn in radians (anticlockwise).

    style: 'regular', 'bold' or 'italic'; anchor: 'start', 'middle' or 'end' of the baseline.
    """

    layer: str
    at: Point
    words: str
    capitals: float = 2.5
    style: str = "regular"
    anchor: str = "start"
    turn: float = 0.0
    tone: str = "black"
    classes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Marks that are one thing: a symbol, a leader with its dot, a table, the north point."""

    layer: str
    classes: tuple[str, ...]
    marks: tuple[Mark, ...]
    title: str = ""
    ground: Ground | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """One dimension: the picture in mm, and the points in metres that a real dimension hangs on.

    form: 'linear' (between two points, measured along `turn`), 'aligned', 'running' (one station from
    `points[0]`), 'radius' (centre, point on the arc), 'diameter' (two opposite points), 'angular'
    (vertex, two points). `value` in metres or degrees is what the figure says; `line_at` is a point of
    the dimension line, metres.
    """

    form: str
    points: tuple[Point, ...]
    line_at: Point
    value: float
    figure: str
    marks: tuple[Mark, ...]
    turn: float = 0.0
    layer: str = "dimensions"
    element: str = ""
    view: str = ""                  # name of the view that the points are metres of; '' takes the view round the marks


@dataclass(frozen=True, slots=True, kw_only=True)
class PegSign:
    """A peg on plan: its sign in mm, and what its block carries in the DXF."""

    number: str
    purpose: str                    # the classes of outputs: control, auxiliary, centre, tangent, corner, edge, …
    at: Point                       # metres
    part: str
    element: str
    level: float | None
    marks: tuple[Mark, ...]
    layer: str = "marks"


Mark: TypeAlias = Stroke | Fill | Hatch | Text | Group | Dimension | PegSign


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A window on the garden: scale 1 : `scale`, a window in mm, and the ground point at the window's bottom left."""

    name: str
    scale: float
    window: Box
    origin: Point                   # metres, at the bottom left corner of the window
    plan: bool = True               # False: a section or detail whose metres are its own, not the garden's
    unit: str = "m"                 # of the lengths that are written on it: 'm', 'mm' (written as metres) or 'ft'

    @property
    def factor(self) -> float:
        """Millimetres on paper for one metre on the ground."""
        return 1000.0 / self.scale

    def point(self, at: Point) -> Point:
        """Return a ground point's place on paper, mm."""
        return Point(self.window.x0 + (at.x - self.origin.x) * self.factor,
                     self.window.y0 + (at.y - self.origin.y) * self.factor)

    def ground(self, at: Point) -> Point:
        """Return the ground point (m) under a place on paper (mm)."""
        return Point(self.origin.x + (at.x - self.window.x0) / self.factor,
                     self.origin.y + (at.y - self.window.y0) / self.factor)

    def ground_segment(self, segment: Segment) -> Segment:
        """Return what lies under a segment on paper, metres: arcs stay arcs."""
        if isinstance(segment, Line):
            return Line(self.ground(segment.start), self.ground(segment.end))
        return Arc(self.ground(segment.centre), segment.radius / self.factor, segment.begin, segment.sweep,
                   self.ground(segment.start), self.ground(segment.end))

    def ground_path(self, path: Path) -> Path:
        """Return what lies under a path on paper, metres."""
        return Path(tuple(self.ground_segment(s) for s in path.segments))

    def ground_loop(self, loop: Loop) -> Loop:
        """Return what lies under a ring on paper, metres."""
        return Loop(tuple(self.ground_segment(s) for s in loop.segments))

    def segment(self, segment: Segment) -> Segment:
        """Return a segment in mm: arcs stay arcs."""
        if isinstance(segment, Line):
            return Line(self.point(segment.start), self.point(segment.end))
        return Arc(self.point(segment.centre), segment.radius * self.factor, segment.begin, segment.sweep,
                   self.point(segment.start), self.point(segment.end))

    def path(self, path: Path) -> Path:
        """Return a path in mm."""
        return Path(tuple(self.segment(s) for s in path.segments))

    def loop(self, loop: Loop) -> Loop:
        """Return a ring in mm (an ellipse's true form is left behind)."""
        return Loop(tuple(self.segment(s) for s in loop.segments))

    def region(self, region: Region) -> Region:
        """Return an area in mm."""
        return Region(self.loop(region.outer), tuple(self.loop(h) for h in region.holes))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet: its place in the set, its paper, its views and all its marks in drawing order of layers."""

    number: int                     # 1 is '01'
    name: str                       # 'layout', 'setting out', 'hardscape', 'planting', 'levels', 'details', 'key'
    title: str                      # 'Layout plan'
    document: str                   # drawing number in the title block
    size: str                       # 'A3'
    width: float                    # mm
    height: float
    scale: str                      # '1:50', or '' where views carry their own
    views: tuple[View, ...]
    marks: tuple[Mark, ...]
    style: str = "line"             # or 'presentation'
    step: int = 0                   # lettering step: 1 moves all pens one row up
    description: str = ""
    revision: str = ""              # mark in the title block, '' where the model names none
    fields: Mapping[str, str] = field(default_factory=dict)
    begins: tuple[str, ...] | None = None   # what begins on it, for bookmarks; None: itself

    @property
    def bookmarks(self) -> tuple[str, ...]:
        """What bookmarks name on the sheet: number and title, or what begins on it, which may be nothing."""
        own = f"{self.number:02d} {self.title}{', presentation copy' * self.tinted}"
        return (own,) if self.begins is None else self.begins

    @property
    def tinted(self) -> bool:
        """Whether it is the presentation copy."""
        return self.style == "presentation"

    @property
    def file_stem(self) -> str:
        """The file name without its suffix: '01-layout', '02-setting-out', '01-layout-presentation'."""
        tail = "-presentation" if self.tinted else ""
        return f"{self.number:02d}-{self.name.replace(' ', '-')}{tail}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSet:
    """All sheets of an issue, and what their files say of themselves."""

    title: str
    author: str
    subject: str
    sheets: tuple[Sheet, ...]


LAYERS = ("tints", "shadows", "textures", "thin", "edges", "plants", "built", "existing", "marks", "ties", "dimensions",
          "leaders", "labels", "panel", "titleblock", "border")
"""Groups of a sheet in drawing order; SVG ids are 'layer-' and these."""


def flat(marks: tuple[Mark, ...]) -> Iterator[Stroke | Fill | Hatch | Text]:
    """Yield the drawn marks inside groups, dimensions and pegs, in order."""
    for mark in marks:
        if isinstance(mark, Group | Dimension | PegSign):
            yield from flat(mark.marks)
        else:
            yield mark
