"""Typical sections as shapes: what is cut, what is seen, what is measured and named. One function a form.

Takes: a SectionDetail. Gives: a Detail in metres, x to the right, y up, 0 at the finished surface or the lower
ground. Only what the values say is drawn; nothing is made up but the width of what is shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ..geometry.features import SectionDetail, SectionLayer
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Box, Point
from .draft import rectangle

SHOWN = 0.42
"""Width of a surface that is shown before it is broken off, metres."""

GROUND = 0.10
"""Depth of ground that is shown below a section, metres at 1:10."""

MATERIALS = (
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
    ("drainage", "compacted-stone"),
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


@dataclass(frozen=True, slots=True)
class Piece:
    """Something cut or seen: its outline in metres, its hatch ('' is left white), its pen, dashed if hidden."""

    outline: Loop
    hatch: str = ""
    pen: str = "edge"
    dash: str = ""


@dataclass(frozen=True, slots=True)
class Tag:
    """A name: the point that its leader ends in, and its lines."""

    at: Point
    lines: tuple[str, ...]


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
    pieces: tuple[Piece, ...] = ()
    finished: tuple[Path, ...] = ()
    membranes: tuple[Path, ...] = ()
    ground: tuple[Loop, ...] = ()
    breaks: tuple[tuple[Point, Point], ...] = ()
    tags: tuple[Tag, ...] = ()
    measures: tuple[Measure, ...] = ()
    stacked: Stacked | None = None
    elements: tuple[str, ...] = ()
    fall: str = ""
    millimetres: bool = True
    grass: tuple[Path, ...] = ()
    water: tuple[Path, ...] = ()

    @property
    def box(self) -> Box:
        """The extent of what is drawn, without its lettering."""
        boxes = [p.outline.box for p in self.pieces] + [p.box for p in (*self.finished, *self.membranes)]
        return Box.around(boxes + [g.box for g in self.ground])


def rect(x0: float, y0: float, x1: float, y1: float) -> Loop:
    """Return an upright rectangle, metres."""
    return rectangle(Box(x0, y0, x1, y1))


def millimetres(length: float) -> str:
    """Return a length in whole millimetres, as words."""
    return f"{length * 1000:.0f}"


def layered(
    layers: tuple[SectionLayer, ...], x0: float, x1: float, top: float = 0.0
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
        rows.append((y - layer.thickness / 2, name, millimetres(layer.thickness)))
        y -= layer.thickness
    return pieces, membranes, rows, top - y


def named(words: str) -> str:
    """Return words with a capital letter."""
    return words[:1].upper() + words[1:]


def surface(section: SectionDetail) -> Detail | None:
    """Return a surface with its layers, broken off at the left, its restraint at the right."""
    if not section.layers:
        return None
    size = section.sizes.get
    pieces, membranes, rows, depth = layered(section.layers, 0.0, SHOWN)
    tags: list[Tag] = []
    edge, deep = size("edge width", 0.0), size("edge depth", 0.0)
    finished_to = SHOWN
    if edge > 0 and deep > 0:
        pieces.append(Piece(rect(SHOWN, -deep - 0.0, SHOWN + edge, 0.0), cut_of(section.words.get("edge", "concrete"))))
        words = section.words.get("edge", "edge restraint")
        tags.append(
            Tag(
                Point(SHOWN + edge * 0.6, -deep * 0.6),
                (words[:1].upper() + words[1:], f"{millimetres(edge)} × {millimetres(deep)}"),
            )
        )
        pieces = _clear_of(pieces, len(pieces) - 1)
        finished_to = SHOWN + edge
    right = max(p.outline.box.x1 for p in pieces) + 0.08
    depth = max(depth, deep)
    ground = (rect(0.0, -depth - GROUND, right, -depth), rect(finished_to, -depth, right, -0.01))
    rows.append((-depth - GROUND / 2, "Ground, trimmed", ""))
    turf = any(w in section.layers[0].material.lower() for w in ("turf", "seed", "lawn"))
    top = Path.through((Point(0.0, 0.0), Point(finished_to, 0.0)))
    measures: tuple[Measure, ...] = ()
    beyond = max((la.beyond for la in section.layers), default=0.0)
    if beyond > 0.004:
        measures = (Measure(Point(SHOWN, -depth), Point(SHOWN + beyond, -depth), "below"),)
    return Detail(
        title=named(section.title),
        pieces=tuple(pieces),
        finished=(top,),
        membranes=tuple(membranes),
        ground=ground,
        breaks=((Point(0.0, 0.02), Point(0.0, -depth - GROUND)),),
        tags=tuple(tags),
        measures=measures,
        stacked=Stacked(0.07, tuple(rows)),
        elements=section.elements,
        fall=_fall(section),
        grass=(top,) if turf else (),
    )


def _clear_of(pieces: list[Piece], index: int) -> list[Piece]:
    """Return rectangular pieces cut back so that none lies under piece `index`."""
    body = pieces[index].outline.box
    out = []
    for i, piece in enumerate(pieces):
        box = piece.outline.box
        if i == index or not (box.x1 > body.x0 + 1e-9 and box.y1 > body.y0 + 1e-9 and box.y0 < body.y1):
            out.append(piece)
            continue
        if box.y0 >= body.y0 - 1e-9:
            out.append(Piece(rect(box.x0, box.y0, body.x0, box.y1), piece.hatch, piece.pen, piece.dash))
            if box.x1 > body.x1 + 1e-9:
                out.append(Piece(rect(body.x1, box.y0, box.x1, box.y1), piece.hatch, piece.pen, piece.dash))
        else:
            out.append(_notched(piece, body))
    return out


def _notched(piece: Piece, body: Box) -> Piece:
    """Return a rectangle with the corner, or the slot, that another takes out of its top cut away."""
    b = piece.outline.box
    right = [(body.x1, body.y0), (body.x1, b.y1), (b.x1, b.y1)] if b.x1 > body.x1 + 1e-9 else [(b.x1, body.y0)]
    corners = [(b.x0, b.y0), (b.x1, b.y0), *reversed(right), (body.x0, body.y0), (body.x0, b.y1), (b.x0, b.y1)]
    unique = [c for i, c in enumerate(corners) if c != corners[i - 1]]
    return Piece(Loop.polygon(Point(x, y) for x, y in unique), piece.hatch, piece.pen, piece.dash)


def _fall(section: SectionDetail) -> str:
    fall = section.sizes.get("fall", 0.0)
    return f"1:{fall:g}" if fall > 0 else ""


def edging(section: SectionDetail) -> Detail | None:
    """Return an edging in its haunch, ground on both sides."""
    size = section.sizes.get
    wide, deep = size("width", 0.0), size("depth", 0.0)
    if not (wide > 0 and deep > 0):
        return None
    hw, hd = size("haunch width", 0.0), size("haunch depth", 0.0)
    x0, side = 0.0, 0.16
    material = section.words.get("material", "brick")
    pieces = [Piece(rect(x0, -deep, x0 + wide, 0.0), cut_of(material))]
    tags = [Tag(Point(x0 + wide / 2, -deep * 0.4), (material[:1].upper() + material[1:],))]
    low = deep
    if hw > 0 or hd > 0:
        low = deep + max(hd, 0.05)
        corners = (
            (x0 - hw, -low),
            (x0 + wide + hw, -low),
            (x0 + wide + hw, -deep * 0.75),
            (x0 + wide, -deep * 0.45),
            (x0 + wide, -deep),
            (x0, -deep),
            (x0, -deep * 0.45),
            (x0 - hw, -deep * 0.75),
        )
        unique = [c for i, c in enumerate(corners) if c != corners[i - 1]]
        pieces.append(Piece(Loop.polygon(Point(x, y) for x, y in unique), "concrete"))
        words = section.words.get("haunch", "concrete haunch")
        tags.append(Tag(Point(x0 + wide / 2, -(deep + low) / 2), (words[:1].upper() + words[1:],)))
    left, right = x0 - max(hw, 0.0) - side, x0 + wide + max(hw, 0.0) + side
    ground = (
        rect(left, -low - GROUND, right, -low - 0.002),
        rect(left, -low, x0 - max(hw, 0.001), -0.012),
        rect(x0 + wide + max(hw, 0.001), -low, right, -0.012),
    )
    return Detail(
        title=named(section.title),
        pieces=tuple(pieces),
        finished=(Path.through((Point(left, 0), Point(right, 0))),),
        ground=ground,
        tags=tuple(tags),
        elements=section.elements,
        measures=(
            Measure(Point(x0, 0), Point(x0 + wide, 0), "above"),
            Measure(Point(left, 0), Point(left, -deep), "left"),
        ),
        breaks=((Point(left, 0.02), Point(left, -low - GROUND)), (Point(right, 0.02), Point(right, -low - GROUND))),
    )


def wall(section: SectionDetail) -> Detail | None:
    """Return a wall cut across: coping, body, footing, the ground on both sides."""
    size, word = section.sizes.get, section.words.get
    thick, high = size("thickness", 0.0), size("height", 0.0)
    if not (thick > 0 and high > 0):
        return None
    below, fw, fd = size("below", 0.0), size("footing width", 0.0), size("footing depth", 0.0)
    cw, ch, kept = size("coping width", 0.0), size("coping height", 0.0), size("retained", 0.0)
    x = thick / 2
    top = high - (ch if cw > 0 else 0.0)
    unit = word("unit", "brick")
    pieces = [Piece(rect(-x, -below, x, top), cut_of(unit) or "brick-cut")]
    tags = [Tag(Point(0.0, top * 0.62), (f"{unit[:1].upper()}{unit[1:]}", word("bond", "")))]
    measures = [Measure(Point(-x, top), Point(x, top), "above", 1 if cw > 0 else 0)]
    if cw > 0 and ch > 0:
        pieces.append(Piece(rect(-cw / 2, top, cw / 2, high), cut_of(word("coping", "stone")) or "stone-cut"))
        tags.append(
            Tag(
                Point(cw * 0.2, top + ch / 2),
                (named(word("coping", "coping")), f"{millimetres(cw)} × {millimetres(ch)}"),
            )
        )
        measures = []
    low = -below
    if fw > 0 and fd > 0:
        low -= fd
        pieces.append(Piece(rect(-fw / 2, low, fw / 2, -below), cut_of(word("footing", "concrete")) or "concrete"))
        tags.append(
            Tag(
                Point(fw * 0.25, -below - fd / 2),
                (named(word("footing", "concrete footing")), f"{millimetres(fw)} × {millimetres(fd)}"),
            )
        )
        measures.append(Measure(Point(-fw / 2, low), Point(fw / 2, low), "below"))
    reach = max(fw / 2, x, cw / 2) + 0.18
    ground = [rect(-reach, min(low, -0.12) - GROUND * 0.8, reach, min(low, -0.12) - 0.001)]
    for side, height in ((-1, kept), (1, 0.0)):
        inner = fw / 2 if fw > 0 else x
        a, b = sorted((side * inner, side * reach))
        if low < -0.02:
            ground.append(
                rect(a, low, b, height - 0.012 if fw <= 0 else -below - 0.001 if below > 0.02 else low + 0.01)
            )
        if below > 0.02 or height > 0.02:
            a, b = sorted((side * x, side * reach))
            ground.append(rect(a, -below, b, height - 0.012))
    finished = (Path.through((Point(-reach, kept), Point(-x, kept))), Path.through((Point(x, 0.0), Point(reach, 0.0))))
    row = 1 if kept > 0 else 0
    stations = [high, 0.0, -below, low]
    measures += [
        Measure(Point(-x, a), Point(-x, b), "left", row)
        for a, b in pairwise(stations)
        if a - b > 0.01
    ]
    if kept > 0:
        measures.append(Measure(Point(-reach, kept), Point(-reach, 0), "left"))
    return Detail(
        title=named(section.title),
        pieces=tuple(pieces),
        finished=finished,
        ground=tuple(ground),
        tags=tuple(Tag(t.at, tuple(w for w in t.lines if w)) for t in tags),
        measures=tuple(measures),
        elements=section.elements,
    )
