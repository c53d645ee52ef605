"""The details: typical sections to scale, one for each distinct build-up or built thing, and the materials cut."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Region
from ..geometry.kernel.point import Box
from .brief import Brief
from .composition import Plate
from .details_packing import GAP_ACROSS, Placing, fewest
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

HIGHEST = 150.0
"""A detail that would stand higher than this is drawn smaller."""

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
        cuts = (*falling.cuts, *(cut for section in sections if section is not falling for cut in section.cuts))
        detail = detail_of(replace(falling, elements=elements, cuts=cuts), feet if in_feet(brief.unit) else millimetres)
        if detail is not None:
            found.append(replace(detail, cuts=cuts, fall=_falls(sections) if detail.fall else ""))
    return tuple(found)


def _falls(sections: Sequence[SectionDetail]) -> str:
    """Return the falls of sections that are otherwise equal, the steepest first: '1:60 or level'."""
    falls = sorted({section.sizes.get("fall", 0.0) for section in sections}, key=lambda fall: fall or math.inf)
    words = [f"1:{fall:g}" if fall > 0 else "level" for fall in falls]
    return words[0] if len(words) == 1 else " or ".join(words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Arranged:
    """The details of a garden as they stand on their sheets, letters given in the order of reading."""

    plate: Plate
    sheets: tuple[tuple[Placing, ...], ...] = ()
    cautions: tuple[PanelRow, ...] = ()

    def lettered(self) -> Iterator[tuple[str, int, Placing]]:
        """Yield letter, sheet (0 is the first) and place of every detail."""
        first = 0
        for index, placed in enumerate(self.sheets):
            for number, place in enumerate(placed):
                yield letter_of(first + number), index, place
            first += len(placed)


def letter_of(number: int) -> str:
    """Return the letter of a view by its place in the set, 0 first: A to Z without I and O, then AA, AB and on."""
    more, last = divmod(number, len(LETTERS))
    return (letter_of(more - 1) if more else "") + LETTERS[last]


def arranged(brief: Brief, plate: Plate) -> Arranged:
    """Return where every detail stands; DrawingError for one that is larger than a sheet."""
    wanted = [_fitted(d, _inside(plate.field)) for d in details(brief)]
    if not wanted:
        return Arranged(plate=plate)
    cautions = caution_rows(cautions_for("details", brief.cautions), plate)
    rooms = [_inside(plate.field), *_beside(plate, (*_materials(wanted), *cautions))]
    sheets = tuple(tuple(placed) for placed in fewest(wanted, rooms, plate))
    return Arranged(plate=plate, sheets=sheets, cautions=tuple(cautions))


def details_sheets(on: Arranged) -> tuple[Draft, ...]:
    """Return the sheets of details: one, or more if they do not all fit; none without any."""
    letters = list(on.lettered())
    return tuple(_draft(on, i, [(letter, place) for letter, sheet, place in letters if sheet == i])
                 for i in range(len(on.sheets)))


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


def _draft(on: Arranged, index: int, placed: Sequence[tuple[str, Placing]]) -> Draft:
    marks: list[Mark] = []
    views: list[View] = []
    for letter, place in placed:
        set_marks, view = set_at(place.drawn, letter, place.x, place.y)
        marks += set_marks
        views.append(view)
    scales = [place.drawn.scale for _, place in placed]
    title = "Details" if len(on.sheets) == 1 else f"Details, part {index + 1}"
    return Draft(
        name="details" if index == 0 else f"details {index + 1}",
        title=title,
        plate=on.plate,
        scale=float(min(scales, key=lambda s: (-scales.count(s), s))),
        views=tuple(views),
        marks=tuple(marks),
        rows=(*_materials([place.drawn for _, place in placed]), *on.cautions),
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
