"""What a typical section is made of: pieces cut or seen, names, measures, stacked layers; and how materials are cut.

Metres, x to the right, y up, 0 at the finished surface or the lower ground.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from ..geometry.features import Cut, SectionLayer
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Box, Point
from ..geometry.reading.quantity import Units, print_length
from .draft import rectangle

GROUND = 0.10
"""Depth of ground that is shown below a section, metres at 1:10."""

THIN = 0.002
"""Ground thinner than this is not drawn, metres."""

SAME = 1e-7
"""Points nearer than this are one, metres."""

MATERIALS = (
    ("concrete block", "brick-cut"),
    ("geotextile", "membrane"),
    ("membrane", "membrane"),
    ("liner", "membrane"),
    ("fleece", "membrane"),
    ("mortar", "sand"),
    ("sand", "sand"),
    ("bedding", "sand"),
    ("grit", "sand"),
    ("compacted", "compacted-stone"),
    ("sub-base", "compacted-stone"),
    ("hardcore", "compacted-stone"),
    ("drainage", "drainage-stone"),
    ("crushed", "compacted-stone"),
    ("gravel", "gravel-layer"),
    ("shingle", "gravel-layer"),
    ("aggregate", "gravel-layer"),
    ("concrete", "concrete"),
    ("brick", "brick-cut"),
    ("block", "brick-cut"),
    ("clay", "brick-cut"),
    ("slab", "stone-cut"),
    ("stone", "stone-cut"),
    ("sett", "stone-cut"),
    ("flag", "stone-cut"),
    ("paver", "stone-cut"),
    ("turf", "topsoil"),
    ("seed", "topsoil"),
    ("topsoil", "topsoil"),
    ("soil", "topsoil"),
    ("mulch", "mulch"),
    ("bark", "mulch"),
    ("board", "timber-along"),
    ("timber", "timber-along"),
    ("steel", "steel"),
)
"""What a material is cut like: the first word found in its name decides."""


def cut_of(material: str) -> str:
    """Return the hatch of a cut material, '' if none is known: it is named all the same."""
    words = material.lower()
    return next((hatch for word, hatch in MATERIALS if word in words), "")


Say: TypeAlias = Callable[[float], str]
"""Says a length in words: in one unit for all of a detail."""


EIGHTH = 0.0254 / 8
"""Details in feet and inches go to an eighth of an inch, as tapes do."""


def feet(length: float) -> str:
    """Return a length in feet and inches, as words, to an eighth of an inch."""
    return print_length(length, Units.FEET, EIGHTH)


def metres(length: float) -> str:
    """Return a length in metres with two decimals, as words."""
    return f"{length:.2f}"


def millimetres(length: float) -> str:
    """Return a length in millimetres, as words: whole ones, or with the half of a brick that is 102.5 wide."""
    halves = round(length * 2000)
    return f"{halves // 2}.5" if halves % 2 else f"{halves // 2}"


@dataclass(frozen=True, slots=True)
class Piece:
    """Something cut or seen: its outline in metres, its hatch ('' is left white), its pen, dashed if hidden."""

    outline: Loop
    hatch: str = ""
    pen: str = "edge"
    dash: str = ""
    holes: tuple[Loop, ...] = ()    # what its hatch leaves out
    lean: bool = True       # the next brickwork leans the other way; no: this is the same wall as the last


@dataclass(frozen=True, slots=True)
class Tag:
    """A name: where its leader ends, or, `held`, where it stands if its `room` (m wide, m high) lets it; its side."""

    at: Point
    lines: tuple[str, ...]
    held: bool = False
    left: bool = False
    room: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Measure:
    """A size between two points, measured along x or y, set out on a side ('left', 'right', 'above', 'below')."""

    start: Point
    end: Point
    side: str
    row: int = 0


@dataclass(frozen=True, slots=True)
class Stacked:
    """A build-up read from the top down on one upright line: rows of height in the section, words and thickness."""

    x: float
    rows: tuple[tuple[float, str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Detail:
    """A section ready to be drawn at any scale; metres."""

    title: str
    form: str = ""
    serves: str = ""        # what is built so, where the title does not say
    pieces: tuple[Piece, ...] = ()
    finished: tuple[Path, ...] = ()
    membranes: tuple[Path, ...] = ()    # drawn a little below the layer that they lie under
    fabrics: tuple[Path, ...] = ()      # drawn where they are
    damp: tuple[Path, ...] = ()         # damp courses
    ground: tuple[Loop, ...] = ()
    breaks: tuple[tuple[Point, Point], ...] = ()
    tags: tuple[Tag, ...] = ()
    measures: tuple[Measure, ...] = ()
    stacked: Stacked | None = None
    elements: tuple[str, ...] = ()
    fall: str = ""
    say: Say = millimetres
    elevation: bool = False     # seen from the side, in the unit of plans
    grass: tuple[Path, ...] = ()
    water: tuple[Path, ...] = ()
    joints: tuple[Path, ...] = ()       # of brickwork, shown at large scales only
    cuts: tuple[Cut, ...] = ()          # where in the garden it may be cut

    @property
    def box(self) -> Box:
        """The extent of what is drawn, without its lettering."""
        boxes = [p.outline.box for p in self.pieces] + [p.box for p in (*self.finished, *self.membranes)]
        return Box.around(boxes + [g.box for g in self.ground])


def rect(x0: float, y0: float, x1: float, y1: float) -> Loop:
    """Return an upright rectangle, metres."""
    return rectangle(Box(x0, y0, x1, y1))


def patches(*boxes: tuple[float, float, float, float]) -> tuple[Loop, ...]:
    """Return upright rectangles of ground, metres; those that come to nothing beside a shallow thing are left out."""
    return tuple(rect(*box) for box in boxes if box[2] - box[0] > THIN and box[3] - box[1] > THIN)


def ring(*corners: tuple[float, float]) -> Loop:
    """Return a loop through corners, metres, neighbours that are one point taken once."""
    points = [Point(*corner) for corner in corners]
    return Loop.polygon(p for i, p in enumerate(points) if p.distance(points[i - 1]) > SAME)


def line_through(*places: tuple[float, float]) -> Path:
    """Return an open line through places, metres, neighbours that are one point taken once."""
    points = [Point(*place) for place in places]
    return Path.through([p for i, p in enumerate(points) if not i or p.distance(points[i - 1]) > SAME])


def layered(
    layers: tuple[SectionLayer, ...], x0: float, x1: float, top: float = 0.0, say: Say = millimetres
) -> tuple[list[Piece], list[Path], list[tuple[float, str, str]], float]:
    """Return pieces, membranes, rows to read and the depth of layers that run from x0 to x1 and their way beyond."""
    pieces: list[Piece] = []
    membranes: list[Path] = []
    rows: list[tuple[float, str, str]] = []
    y = top
    for layer in layers:
        end = x1 + max(0.0, layer.beyond)
        name = named(layer.material)
        if not layer.thickness > 0.004:
            membranes.append(Path.through((Point(x0, y), Point(end, y))))
            rows.append((y, name, ""))
            continue
        pieces.append(Piece(rect(x0, y - layer.thickness, end, y), cut_of(layer.material)))
        rows.append((y - layer.thickness / 2, name, say(layer.thickness)))
        y -= layer.thickness
    return pieces, membranes, rows, top - y


def named(words: str) -> str:
    """Return words with a capital letter."""
    return words[:1].upper() + words[1:]
