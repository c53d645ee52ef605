"""Typical sections as shapes: what is cut, what is seen, what is measured and named. One function a form.

Takes: a SectionDetail. Gives: a Detail in metres, x to the right, y up, 0 at the finished surface or the lower
ground. Only what the values say is drawn; nothing is made up but the width of what is shown.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Box, Point
from .details_parts import GROUND, Detail, Measure, Piece, Say, Stacked, Tag, cut_of, layered, millimetres, named, rect

BESIDE = 0.10
"""So much of the ground beside a surface is shown, metres."""

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
        pieces.append(Piece(rect(SHOWN, -deep - 0.0, SHOWN + edge, 0.0), cut_of(section.words.get("edge", "concrete"))))
        words = section.words.get("edge", "edge restraint")
        tags.append(
            Tag(
                Point(SHOWN + edge * 0.6, -deep * 0.6),
                (words[:1].upper() + words[1:], f"{say(edge)} × {say(deep)}"),
            )
        )
        pieces = _clear_of(pieces, len(pieces) - 1)
        finished_to = SHOWN + edge
    right = max(p.outline.box.x1 for p in pieces) + BESIDE
    depth = max(depth, deep)
    ground = (rect(0.0, -depth - GROUND, right, -depth), rect(finished_to, -depth, right, -0.01))
    rows.append((-depth - GROUND / 2, "Ground, trimmed", ""))
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


def edging(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return an edging in its haunch, ground on both sides."""
    size = section.sizes.get
    wide, deep = size("width", 0.0), size("depth", 0.0)
    if not (wide > 0 and deep > 0):
        return None
    hw, hd = size("haunch width", 0.0), size("haunch depth", 0.0)
    x0, side = 0.0, 0.10
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
        say=say,
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


def _joints(section: SectionDetail, x: float, foot: float, top: float) -> Iterator[Path]:
    """Yield the joints of a wall laid in courses, from its foot up.

    They are the bed joints, and in a wall of two leaves one between them in every second course.
    """
    high, wide, joint = (section.sizes.get(name, 0.0) for name in ("unit height", "unit width", "joint"))
    if not high > 0:
        return
    course = high + joint
    for k in range(int((top - foot) / course + 1e-9)):
        bed = foot + (k + 1) * course
        if bed < top - joint:
            yield Path.through((Point(-x, bed), Point(x, bed)))
        if k % 2 and 0 < wide < 1.2 * x:
            yield Path.through((Point(0.0, bed - course), Point(0.0, min(bed, top))))


def wall(section: SectionDetail, say: Say = millimetres) -> Detail | None:
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
                (named(word("coping", "coping")), f"{say(cw)} × {say(ch)}"),
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
                (named(word("footing", "concrete footing")), f"{say(fw)} × {say(fd)}"),
            )
        )
        measures.append(Measure(Point(-fw / 2, low), Point(fw / 2, low), "below"))
    reach = max(fw / 2, x, cw / 2) + 0.12
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
    out = cw / 2 if cw > 0 and ch > 0 else x
    edge = [(-reach, kept), (-x, kept), (-x, top), (-out, top), (-out, high), (out, high), (out, top), (x, top)]
    edge += [(x, 0.0), (reach, 0.0)]
    finished = (Path.through(Point(*at) for i, at in enumerate(edge) if not i or at != edge[i - 1]),)
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
        say=say,
        pieces=tuple(pieces),
        finished=finished,
        ground=tuple(ground),
        joints=tuple(_joints(section, x, -below, top)),
        tags=tuple(Tag(t.at, tuple(w for w in t.lines if w)) for t in tags),
        measures=tuple(measures),
        elements=section.elements,
    )
