"""The details: typical sections to scale, one for each distinct build-up or built thing, and the materials cut."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from ..geometry.errors import DrawingError, refuse
from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Region
from ..geometry.kernel.point import Box
from .brief import Brief
from .composition import Plate
from .details_parts import Detail, feet, millimetres
from .details_views import SCALES, Drawn, at_scale, detail_of, set_at
from .draft import Nib, moved_layer, rectangle
from .drafts import Draft
from .filling import GAP, PanelRow, caution_rows, inner
from .lengths import in_feet
from .panel import COLUMN, LAYER, KeyEntry, key
from .sheet import Mark, View
from .surfaces import cut_texture
from .warnings import cautions_for

GAP_ACROSS, GAP_UP = 5.0, 7.0
HIGHEST = 150.0
"""A detail that would stand higher than this is drawn smaller."""

NEAR = 1e-6

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"

CUT_WORDS = {
    "concrete": "Concrete",
    "brick-cut": "Brick, block",
    "stone-cut": "Stone",
    "sand": "Mortar, sand",
    "compacted-stone": "Compacted stone",
    "gravel-layer": "Gravel",
    "ground": "Ground",
    "topsoil": "Topsoil",
    "mulch": "Mulch",
    "timber-along": "Timber, along",
    "timber-across": "Timber, across",
    "steel": "Steel",
}


def details(brief: Brief) -> tuple[Detail, ...]:
    """Return the sections that can be drawn, each once: equal ones are one with all their elements.

    Sections that differ by their fall alone are one; the drawing names their falls, the plans say which is where.
    """
    alike: dict[tuple[object, ...], list[SectionDetail]] = {}
    for section in brief.sections:
        sizes = tuple(sorted((name, size) for name, size in section.sizes.items() if name != "fall"))
        words = tuple(sorted(section.words.items()))
        alike.setdefault((section.form, section.title, section.layers, sizes, words), []).append(section)
    found: list[Detail] = []
    for sections in alike.values():
        elements = tuple(dict.fromkeys(name for section in sections for name in section.elements))
        falling = max(sections, key=lambda section: section.sizes.get("fall", 0.0) > 0)
        detail = detail_of(replace(falling, elements=elements), feet if in_feet(brief.unit) else millimetres)
        if detail is not None:
            found.append(replace(detail, fall=_falls(sections)) if detail.fall else detail)
    return tuple(found)


def _falls(sections: Sequence[SectionDetail]) -> str:
    """Return the falls of sections that are otherwise equal, the steepest first: '1:60 or level'."""
    falls = sorted({section.sizes.get("fall", 0.0) for section in sections}, key=lambda fall: fall or math.inf)
    words = [f"1:{fall:g}" if fall > 0 else "level" for fall in falls]
    return words[0] if len(words) == 1 else " or ".join(words)


@dataclass(frozen=True, slots=True)
class _Place:
    """A detail and its lower left corner on the sheet."""

    drawn: Drawn
    x: float
    y: float


def details_sheets(brief: Brief, plate: Plate) -> tuple[Draft, ...]:
    """Return the sheets of details: one, or more if they do not all fit."""
    wanted = [_fitted(d, _inside(plate.field)) for d in details(brief)]
    if not wanted:
        return ()
    cautions = caution_rows(cautions_for("details", brief.cautions), plate)
    rows = (*_materials(wanted), *cautions)
    rooms = [_inside(plate.field), *_beside(plate, rows)]
    sheets = _fewest(wanted, rooms, plate)
    firsts = [sum(len(s) for s in sheets[:i]) for i in range(len(sheets))]
    return tuple(_draft(plate, i, group, cautions, len(sheets), firsts[i]) for i, group in enumerate(sheets))


SHUFFLES = 60
"""Orders that are tried beyond the given one, the highest first and the widest first."""


def _fewest(wanted: Sequence[Drawn], rooms: Sequence[Box], plate: Plate) -> list[list[_Place]]:
    """Return details on the fewest sheets that some order of packing finds: the given one if it is as good."""
    area = sum(room.width * room.height for room in rooms)
    least = math.ceil(sum(drawn.width * drawn.height for drawn in wanted) / area)
    best = _sheets(wanted, rooms, plate, _in_rows)      # the tidiest, where it is as good
    for order in _orders(wanted):
        if len(best) <= least:
            break
        sheets = _sheets(order, rooms, plate, _packed)
        best = sheets if len(sheets) < len(best) else best
    return best


def _orders(wanted: Sequence[Drawn]) -> Iterator[list[Drawn]]:
    """Yield orders to pack in, always the same ones for the same details."""
    yield list(wanted)
    yield sorted(wanted, key=lambda d: -round(d.height, 3))
    yield sorted(wanted, key=lambda d: -round(d.width, 3))
    dice = random.Random(len(wanted))
    for _ in range(SHUFFLES):
        yield dice.sample(list(wanted), len(wanted))


Packer: TypeAlias = Callable[[Sequence[Drawn], Box], tuple[list[_Place], list[Drawn]]]


def _sheets(wanted: Sequence[Drawn], rooms: Sequence[Box], plate: Plate, pack: Packer) -> list[list[_Place]]:
    """Return details packed on as many sheets as they need, taken in this order; DrawingError if one fits on none."""
    sheets: list[list[_Place]] = []
    left = list(wanted)
    while left:
        placed: list[_Place] = []
        for room in rooms:
            more, left = pack(left, room)
            placed += _read(more)
        if not placed:
            raise refuse(
                DrawingError,
                f"the detail '{left[0].detail.title}' does not fit on a sheet of {plate.paper.size}",
                "take a larger sheet",
                "detail-too-large",
            )
        sheets.append(placed)
    return sheets


def _beside(plate: Plate, rows: Sequence[PanelRow]) -> tuple[Box, ...]:
    """Return the room in the panel above its rows, if views can stand there."""
    area = inner(plate)
    foot = area.y0 + sum(row.height + GAP for row in rows) + 2
    return (Box(area.x0, foot, area.x1, plate.field.y1 - 6),) if area.y1 - foot > 60 else ()


def _inside(field: Box) -> Box:
    return Box(field.x0 + 6, field.y0 + 5, field.x1 - 5, field.y1 - 6)


ELEVATIONS = tuple(scale for scale in SCALES if scale <= 50)
"""Scales of elevations that leave room for another beside them, if one of these does."""


def _fitted(detail: Detail, room: Box) -> Drawn:
    """Return a detail at the largest scale at which it fits the room; an elevation in half of its width if it can."""
    small = max(detail.box.width, detail.box.height) < 0.3
    half = (room.width - GAP_ACROSS) / 2
    tries = [(scale, half) for scale in ELEVATIONS[1:] if detail.elevation]
    tries += [(scale, room.width) for scale in SCALES[0 if small else 1 :]]
    drawn = None
    for scale, wide in tries:
        drawn = at_scale(detail, scale, cut_texture)
        if drawn.width <= wide and drawn.height <= min(HIGHEST, room.height):
            return drawn
    assert drawn is not None
    return drawn


def _in_rows(left: Sequence[Drawn], room: Box) -> tuple[list[_Place], list[Drawn]]:
    """Set details in rows, tops in line; return what stands where, and what is left over."""
    placed: list[_Place] = []
    rest: list[Drawn] = []
    x, top, high = room.x0, room.y1, 0.0
    for drawn in left:
        if placed and x + drawn.width > room.x1 + NEAR:
            x, top, high = room.x0, top - high - GAP_UP, 0.0
        if x + drawn.width > room.x1 + NEAR or top - drawn.height < room.y0 - NEAR:
            rest.append(drawn)
            continue
        placed.append(_Place(drawn, x, top - drawn.height))
        x, high = x + drawn.width + GAP_ACROSS, max(high, drawn.height)
    return placed, rest


def _packed(left: Sequence[Drawn], room: Box) -> tuple[list[_Place], list[Drawn]]:
    """Set details as high as they go, then as far left; return what stands where, and what is left over."""
    placed: list[_Place] = []
    rest: list[Drawn] = []
    for drawn in left:
        spot = _spot(drawn, placed, room)
        if spot is None:
            rest.append(drawn)
        else:
            placed.append(spot)
    return placed, rest


def _spot(drawn: Drawn, placed: Sequence[_Place], room: Box) -> _Place | None:
    """Return the highest place, then the one farthest left, at which a detail is clear of the others; None if none."""
    lefts = sorted({room.x0, *(p.x + p.drawn.width + GAP_ACROSS for p in placed)})
    tops = sorted({room.y1, *(p.y - GAP_UP for p in placed)}, reverse=True)
    for top in tops:
        for x in lefts:
            box = Box(x, top - drawn.height, x + drawn.width, top)
            if box.x1 <= room.x1 + NEAR and box.y0 >= room.y0 - NEAR and not any(_touch(box, p) for p in placed):
                return _Place(drawn, box.x0, box.y0)
    return None


def _touch(box: Box, other: _Place) -> bool:
    """Say whether a box comes nearer to a detail than the gaps between them."""
    across = box.x0 < other.x + other.drawn.width + GAP_ACROSS - NEAR and other.x < box.x1 + GAP_ACROSS - NEAR
    return across and box.y0 < other.y + other.drawn.height + GAP_UP - NEAR and other.y < box.y1 + GAP_UP - NEAR


def _read(placed: Sequence[_Place]) -> list[_Place]:
    """Return details in the order of reading: by rows from the top, then from the left."""
    return sorted(placed, key=lambda p: (-round(p.y + p.drawn.height, 3), p.x))


def _draft(
    plate: Plate, index: int, placed: Sequence[_Place], cautions: Sequence[PanelRow], count: int, first: int
) -> Draft:
    marks: list[Mark] = []
    views: list[View] = []
    for number, place in enumerate(placed):
        set_marks, view = set_at(place.drawn, LETTERS[(first + number) % len(LETTERS)], place.x, place.y)
        marks += set_marks
        views.append(view)
    scales = [place.drawn.scale for place in placed]
    title = "Details" if count == 1 else f"Details, part {index + 1}"
    return Draft(
        name="details" if index == 0 else f"details {index + 1}",
        title=title,
        plate=plate,
        scale=float(min(scales, key=lambda s: (-scales.count(s), s))),
        views=tuple(views),
        marks=tuple(marks),
        rows=(*_materials([p.drawn for p in placed]), *cautions),
        low=True,
    )


def _materials(placed: Sequence[Drawn]) -> tuple[PanelRow, ...]:
    """Return the key of cut materials that are on the sheet, in two columns."""
    used = {p.hatch for drawn in placed for p in drawn.detail.pieces if p.hatch}
    used |= {"ground"} if any(drawn.detail.ground for drawn in placed) else set()
    names = [name for name in CUT_WORDS if name in used]
    entries = [KeyEntry(CUT_WORDS[name], "", "", _swatch(name)) for name in names]
    entries += [KeyEntry(words, "", "", _sample(pen, dash)) for words, pen, dash, there in (
        ("Finished surface", "cut", "", any(d.detail.finished for d in placed)),
        ("Liner, fabric", "edge", "membrane", any(d.detail.membranes for d in placed))) if there]
    half = -(-len(entries) // 2)
    parts = [entries[:half], entries[half:]]
    sections = [
        key(title, part, COLUMN, close=True)
        for title, part in zip(("Materials, cut", "Materials, continued"), parts, strict=True)
        if part
    ]
    return (PanelRow("key", tuple(sections)),) if sections else ()


def _sample(pen: str, dash: str) -> Callable[[Box], tuple[Mark, ...]]:
    return lambda box: (Nib(LAYER, pen, dash).across(box.x0, box.x1, box.centre.y),)


def _swatch(name: str) -> Callable[[Box], tuple[Mark, ...]]:
    def draw(box: Box) -> tuple[Mark, ...]:
        return (*moved_layer(cut_texture(name, Region(rectangle(box)), 0), LAYER), Nib(LAYER, "thin").box(box))

    return draw
