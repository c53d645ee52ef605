"""Typical sections of a deck and of the edge of a pond. One function a form.

As in details_parts: metres, x to the right, y up, only what the values say.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Path
from ..geometry.kernel.point import Point
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
)

CLEAR = 0.08
"""Ground is drawn so far under the joists of a deck whose height the model does not say, metres; no figure is given."""

EDGE = 0.05
"""An edge of a pond is drawn so thick where the model does not say, metres; no figure is given."""

FLOOR = 0.45
"""So much of the floor of a pond is shown, metres."""


def deck(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return a section across the boards: boards, a joist seen, the ground below."""
    size = section.sizes.get
    wide, gap, thick = size("board width", 0.0), size("board gap", 0.005), size("board thickness", 0.0)
    if not (wide > 0 and thick > 0):
        return None
    count = max(3, min(6, int(0.61 // (wide + gap))))
    right = count * (wide + gap)
    joist, clear = size("joist depth", 0.0), size("clear", -1.0)
    low = thick + joist + (clear if clear >= 0 else CLEAR)
    lefts = [i * (wide + gap) for i in range(count)]
    pieces = [Piece(rect(x, -thick, x + wide, 0.0), "timber-across") for x in lefts]
    tags = [Tag(Point(right - gap - wide / 2, -thick / 2), ("Board", f"{say(wide)} × {say(thick)}", f"gap {say(gap)}"))]
    if joist > 0:
        pieces.append(Piece(rect(0.0, -thick - joist, right, -thick), "timber-along"))
        pitch, across = size("joist spacing", 0.0), size("joist width", 0.0)
        words = (f"{say(across)} × {say(joist)}" if across > 0 else f"{say(joist)} deep",
                 *((f"at most {say(pitch)} apart",) if pitch > 0 else ()))
        tags.append(Tag(Point(right * 0.8, -thick - joist / 2), ("Joist", *words)))
    stack, membranes, rows, depth = layered(section.layers, 0.0, right, -low, say)
    end = -low - depth - GROUND
    return Detail(
        title=named(section.title),
        say=say,
        pieces=(*pieces, *stack),
        membranes=tuple(membranes),
        ground=(rect(0.0, end, right, -low - depth - 0.001),),
        tags=tuple(tags),
        finished=tuple(Path.through((Point(0.0, y), Point(right, y))) for y in (0.0, -low)),
        elements=section.elements,
        stacked=Stacked(right * 0.25, tuple(rows)) if rows else None,
        measures=(Measure(Point(0.0, 0.0), Point(0.0, -low), "left"),) if clear >= 0 else (),
        breaks=((Point(right, 0.02), Point(right, end)),),
    )


def pond(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return the edge of a pond: coping, side, floor, water level, the layers under the water."""
    size, word = section.sizes.get, section.words.get
    deep = size("depth", 0.0)
    if not deep > 0:
        return None
    ew, known, drop = size("edge width", 0.0), size("edge depth", 0.0), size("water", 0.05)
    ed, end = (known or EDGE) if ew > 0 else 0.0, FLOOR + ew
    stack, membranes, rows, thick = layered(section.layers, 0.0, FLOOR, -deep, say)
    right, foot = end + 0.2, -deep - thick
    tags = [Tag(Point(FLOOR * 0.5, -drop - 0.12), ("Water",), held=True, room=(FLOOR, deep - drop - 0.06))]
    pieces = [*stack]
    if ew > 0:
        pieces.append(Piece(rect(FLOOR, -ed, end, 0.0), cut_of(word("edge", "stone")) or "stone-cut"))
        sizes = f"{say(ew)} × {say(known)}" if known > 0 else f"{say(ew)} wide"
        tags.append(Tag(Point(FLOOR + ew / 2, -ed / 2), (named(word("edge", "edge")), sizes)))
    over, out = size("liner", 0.0), 0.0135
    if over > 0:
        bent = (Point(0.0, -deep), Point(FLOOR + out, -deep), Point(FLOOR + out, -ed), Point(FLOOR + over, -ed))
        membranes.append(Path.through(bent))
        tags.append(Tag(Point(FLOOR + out, -deep / 2), ("Liner", f"{say(over)} over the rim")))
    finished = Path.through((Point(0.0, -deep), Point(FLOOR, -deep), Point(FLOOR, 0.0), Point(right, 0.0)))
    return Detail(
        title=named(section.title),
        say=say,
        pieces=tuple(pieces),
        finished=(finished,),
        ground=patches(
            (0.0, foot - GROUND, right, foot - 0.001),
            (FLOOR + 0.03, foot, right, -ed - 0.03),
            *(((end + 0.005, max(-ed - 0.025, foot), right, -0.012),) if ed > 0.04 else ()),
        ),
        tags=tuple(tags),
        membranes=tuple(membranes),
        breaks=((Point(0.0, 0.02), Point(0.0, foot - GROUND)), (Point(right, 0.02), Point(right, foot - GROUND))),
        measures=(Measure(Point(0.0, 0.0), Point(0.0, -deep), "left"),),
        water=tuple(_water(drop)),
        elements=section.elements,
        stacked=Stacked(FLOOR * 0.3, tuple(rows)) if rows else None,
    )


def _water(drop: float) -> Iterator[Path]:
    """Yield the level of the water, and the three shorter lines under it that say so."""
    yield Path.through((Point(0.0, -drop), Point(FLOOR, -drop)))
    for k, half in enumerate((0.045, 0.03, 0.015), 1):
        y = -drop - 0.016 * k
        yield Path.through((Point(FLOOR * 0.5 - half, y), Point(FLOOR * 0.5 + half, y)))
