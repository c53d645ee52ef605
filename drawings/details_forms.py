"""Typical sections as shapes: what is cut, what is seen, what is measured and named. One function a form.

Takes: a SectionDetail. Gives: a Detail in metres, x to the right, y up, 0 at the finished surface or the lower
ground. Only what the values say is drawn; nothing is made up but the width of what is shown.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..geometry.features import SectionDetail, SectionLayer
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Box, Point
from .details_parts import (
    GROUND,
    Detail,
    Measure,
    Piece,
    Say,
    Stacked,
    Tag,
    cut_of,
    layered,
    millimetres,
    named,
    patches,
    rect,
    ring,
)

BESIDE = 0.10
"""So much of the ground beside a surface is shown, metres."""

SIDE = 0.12
"""So much of the ground beside an edging is shown, metres."""

NEAR = 1e-9

SHOWN = 0.32
"""Width of a surface that is shown before it is broken off, metres."""


def surface(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return a surface with its layers, broken off at the left, its restraint at the right."""
    if not section.layers:
        return None
    size = section.sizes.get
    pieces, membranes, rows, depth = layered(section.layers, 0.0, SHOWN, say=say)
    tags: list[Tag] = []
    edge, deep = size("edge width", 0.0), size("edge depth", 0.0)
    finished_to = SHOWN
    if edge > 0 and deep > 0:
        pieces.append(Piece(rect(SHOWN, -deep, SHOWN + edge, 0.0), _across(section.words.get("edge", "concrete"))))
        words = section.words.get("edge", "edge restraint")
        words = "concrete haunch" if words == "concrete" else words     # as the bill calls it
        tags.append(Tag(Point(SHOWN + edge * 0.6, -deep * 0.6), (named(words), f"{say(edge)} × {say(deep)}")))
        pieces = _clear_of(pieces, len(pieces) - 1)
        finished_to = SHOWN + edge
    right = max(p.outline.box.x1 for p in pieces) + BESIDE
    depth = max(depth, deep)
    rows.append((-depth - GROUND / 2, named(section.words.get("under", "ground, trimmed")), ""))
    turf = any(w in section.layers[0].material.lower() for w in ("turf", "seed", "lawn"))
    top = Path.through((Point(0.0, 0.0), Point(finished_to, 0.0)))
    surface_line = Path.through((Point(0.0, 0.0), Point(right, 0.0)))
    measures: tuple[Measure, ...] = ()
    beyond = max((la.beyond for la in section.layers), default=0.0)
    if beyond > 0.004:
        measures = (Measure(Point(SHOWN, -depth), Point(SHOWN + beyond, -depth), "below"),)
    return Detail(
        title=named(section.title),
        say=say,
        pieces=tuple(pieces),
        finished=(surface_line,),
        membranes=tuple(membranes),
        ground=_beside(pieces, finished_to, depth),
        breaks=((Point(0.0, 0.02), Point(0.0, -depth - GROUND)),),
        tags=tuple(tags),
        measures=measures,
        stacked=Stacked(0.07, tuple(rows)),
        elements=section.elements,
        fall=_fall(section),
        grass=(top,) if turf else (),
    )


def _across(material: str) -> str:
    """Return the hatch of an edge, which runs away from who looks: a board is cut across its grain."""
    return cut_of(material).replace("timber-along", "timber-across")


def _beside(pieces: Sequence[Piece], finished_to: float, depth: float) -> tuple[Loop, ...]:
    """Return the ground under a surface, beyond it, and over the layers that run beyond its edge."""
    end = max(p.outline.box.x1 for p in pieces)
    head = max((p.outline.box.y1 for p in pieces if p.outline.box.x1 > finished_to + NEAR), default=0.0)
    return patches(
        (0.0, -depth - GROUND, end + BESIDE, -depth - 0.001),
        (end + 0.004, -depth, end + BESIDE, -0.012),
        (finished_to + 0.004, head + 0.004, end + 0.004, -0.012),
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


def edging(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return an edging on its layers, haunched in the concrete that is ordered, ground on both sides."""
    size = section.sizes.get
    wide, deep = size("width", 0.0), size("depth", 0.0)
    if not (wide > 0 and deep > 0):
        return None
    material = section.words.get("material", "brick")
    pieces = [Piece(rect(0.0, -deep, wide, 0.0), _across(material))]
    tags = [Tag(Point(wide / 2, -deep * 0.4), (named(material), f"{say(wide)} × {say(deep)}"))]
    low = deep
    for layer in section.layers:
        bed = rect(-layer.beyond, -low - layer.thickness, wide + layer.beyond, -low)
        if cut_of(layer.material) == "concrete" and layer.beyond > 0:
            bed = _haunched(wide, low, deep, layer)
        pieces.append(Piece(bed, cut_of(layer.material)))
        sizes = (f"{say(wide + 2 * layer.beyond)} × {say(layer.thickness)}",) if layer.beyond > 0 else (
            f"{say(layer.thickness)} thick",)
        tags.append(Tag(Point(wide * 0.6, -low - layer.thickness * 0.6), (named(layer.material), *sizes)))
        low += layer.thickness
    beyond = max((layer.beyond for layer in section.layers), default=0.0)
    left, right = -beyond - SIDE, wide + beyond + SIDE
    return Detail(
        title=named(section.title),
        say=say,
        pieces=tuple(pieces),
        finished=(Path.through((Point(left, 0), Point(right, 0))),),
        ground=patches(
            (left, -low - GROUND, right, -low - 0.002),
            (left, -low, -beyond - 0.004, -0.012),
            (wide + beyond + 0.004, -low, right, -0.012),
        ),
        tags=tuple(tags),
        elements=section.elements,
        measures=(
            Measure(Point(0.0, 0.0), Point(wide, 0.0), "above"),
            Measure(Point(left, 0.0), Point(left, -deep), "left"),
            *((Measure(Point(left, -deep), Point(left, -low), "left"),) if low > deep else ()),
            *((Measure(Point(-beyond, -low), Point(wide + beyond, -low), "below"),) if beyond > 0 else ()),
        ),
        breaks=((Point(left, 0.02), Point(left, -low - GROUND)), (Point(right, 0.02), Point(right, -low - GROUND))),
    )


def _haunched(wide: float, top: float, deep: float, layer: SectionLayer) -> Loop:
    """Return a concrete bed that rises against the sides of its unit and falls off outward: as much as the bed flat.

    `top` is the depth of the bed's upper side, `deep` that of the unit, metres.
    """
    rise = min(layer.thickness / 2, deep * 0.6)
    low, x = -top - layer.thickness, layer.beyond
    shoulder, up = -top - rise, -top + rise
    foot = -top
    return ring((-x, low), (wide + x, low), (wide + x, shoulder), (wide, up), (wide, foot), (0.0, foot), (0.0, up),
                (-x, shoulder))
