"""The details: typical sections to scale, one for each distinct build-up or built thing, and the materials cut."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Region
from ..geometry.kernel.point import Box, Point
from .brief import Brief
from .composition import Plate
from .details_hatches import cut_texture
from .details_packing import GAP_ACROSS, Placing, fewest, in_order, least, spread
from .details_parts import Detail, feet, millimetres, named
from .details_views import SCALES, Drawn, at_scale, detail_of, set_at
from .draft import Nib, moved, moved_layer, rectangle
from .drafts import Draft
from .filling import GAP, PanelRow, caution_rows, inner
from .lengths import in_feet
from .panel import COLUMN, LAYER, KeyEntry, key
from .sheet import Mark, View
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
    "drainage-stone": "Drainage stone",
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
            fall = _falls(sections) if detail.fall else ""
            found.append(
                replace(detail, form=falling.form, serves=_serves(brief, detail), cuts=cuts, fall=fall))
    if all(detail.form == "bed" for detail in found):
        return ()       # no sheet is issued for soil alone
    return tuple(sorted(found, key=lambda detail: ORDER.index(detail.form)))


def _serves(brief: Brief, detail: Detail) -> str:
    """Return what is built as a detail shows, '' where its title says so already."""
    if any(brief.label(name) == detail.title for name in detail.elements):
        return ""
    return named(", ".join(brief.labels.get(name) or name for name in detail.elements))


ORDER = ("surface", "bed", "edging", "wall", "steps", "pond", "deck", "pergola", "fence", "post foot")
"""The order of the details: what lies, what holds it, what stands; each in the order of the model."""


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


def arranged(brief: Brief, plate: Plate, beside: bool = True) -> Arranged:
    """Return where every detail stands; DrawingError for one that is larger than a sheet.

    They stand in the panel too if `beside`: not where it holds the revisions and the list of sheets.
    """
    wanted = details(brief)
    if not wanted:
        return Arranged(plate=plate)
    cautions = tuple(caution_rows(cautions_for("details", brief.cautions), plate))
    room = _inside(plate.field)
    usual = _drawn(wanted, room, GENEROUS[-1])
    rooms = [room, *(_beside(plate, (*_materials(usual), *cautions)) if beside else ())]
    found = _larger(wanted, rooms, plate, _smaller(usual, rooms, plate))
    number = {id(detail): k for k, detail in enumerate(wanted)}
    found.sort(key=lambda placed: min(number[id(place.drawn.detail)] for place in placed))
    sheets = tuple(tuple(spread(placed, rooms)) for placed in found)
    return Arranged(plate=plate, sheets=sheets, cautions=cautions)


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


def _smaller(usual: list[Drawn], rooms: Sequence[Box], plate: Plate) -> list[list[Placing]]:
    """Return details packed at their usual scales; the largest ones a scale smaller where that saves a sheet."""
    best = fewest(usual, rooms, plate)
    plain = [drawn.detail.form in {"post foot", "steps", "pond"} for drawn in usual]      # no courses to be told apart
    largest = sorted(range(len(usual)), key=lambda k: (not plain[k], -round(usual[k].width * usual[k].height, 3)))
    tried = list(usual)
    for k in largest[: len(usual) // 2]:
        if tried[k].detail.form in LAYERED or tried[k].scale >= SMALLEST:
            continue
        tried[k] = at_scale(tried[k].detail, SCALES[SCALES.index(tried[k].scale) + 1])
        if least(tried, rooms, FULL) >= len(best):
            continue
        sheets = fewest(tried, rooms, plate)
        best = sheets if len(sheets) < len(best) else best
    return best


def _larger(
    wanted: Sequence[Detail], rooms: Sequence[Box], plate: Plate, found: list[list[Placing]]
) -> list[list[Placing]]:
    """Return details in their order at the largest scales that need no more sheets; as they are, if none does.

    Then each sheet by itself takes the largest scales that it has room for.
    """
    whole = _at_most(wanted, rooms, plate, len(found)) or found
    alone = ([place.drawn.detail for place in placed] for placed in whole)
    return [(_at_most(on, rooms, plate, 1) or [placed])[0] for on, placed in zip(alone, whole, strict=True)]


def _at_most(wanted: Sequence[Detail], rooms: Sequence[Box], plate: Plate, most: int) -> list[list[Placing]] | None:
    """Return details in their order at the largest scales that need no more sheets than `most`; None if none does."""
    for scales in GENEROUS:
        more = in_order(_drawn(wanted, rooms[0], scales), rooms, plate, most)
        if more is not None:
            return more
    return None


@dataclass(frozen=True, slots=True)
class _Scales:
    """The largest scales that views may take: build-ups and edges, other sections, elevations."""

    layers: int
    sections: int
    elevations: int

    def tries(self, detail: Detail) -> Iterator[int]:
        """Yield the scales for a detail, the largest first."""
        first = self.elevations if detail.elevation else self.layers if detail.form in LAYERED else self.sections
        yield from (scale for scale in SCALES if scale >= first)


FULL = 0.7
"""Details fill no more than about this of their rooms: a sheet fewer is tried for only where they would."""

SMALLEST = 50
"""No detail is drawn smaller than this to save a sheet."""

LAYERED = frozenset({"surface", "bed", "edging"})

GENEROUS = (_Scales(5, 5, 20), _Scales(5, 10, 20), _Scales(5, 10, 50), _Scales(10, 10, 20), _Scales(10, 10, 50))
"""From the largest views to the usual ones: the first that needs no more sheets is taken."""


def _drawn(wanted: Sequence[Detail], room: Box, scales: _Scales) -> list[Drawn]:
    return [_fitted(detail, room, scales) for detail in wanted]


def _fitted(detail: Detail, room: Box, scales: _Scales) -> Drawn:
    """Return a detail at the largest of its scales at which it fits the room; an elevation in half of its width."""
    half = (room.width - GAP_ACROSS) / 2
    tries = [(scale, half) for scale in scales.tries(detail) if detail.elevation and scale <= SCALES[-2]]
    tries += [(scale, room.width) for scale in scales.tries(detail)]
    drawn = None
    for scale, across in tries:
        drawn = at_scale(detail, scale)
        if drawn.width <= across and drawn.height <= min(HIGHEST, room.height):
            return drawn
    assert drawn is not None
    return drawn


def _draft(on: Arranged, index: int, placed: Sequence[tuple[str, Placing]]) -> Draft:
    marks: list[Mark] = []
    views: list[View] = []
    for letter, place in placed:
        set_marks, view = set_at(place.drawn, letter, place.x, place.y, cut_texture)
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
    used = {p.hatch.replace("upright", "along") for drawn in placed for p in drawn.detail.pieces if p.hatch}
    used |= {"ground"} if any(drawn.detail.ground for drawn in placed) else set()
    names = [name for name in CUT_WORDS if name in used]
    entries = [KeyEntry(CUT_WORDS[name], "", "", _swatch(name)) for name in names]
    if any(d.detail.finished for d in placed):
        entries.append(KeyEntry("Finished surface", "", "", _sample("cut", "")))
    thin = [words for words, there in (
        ("liner", any(d.detail.form == "pond" for d in placed)),
        ("fabric", any(d.detail.fabrics or (d.detail.membranes and d.detail.form != "pond") for d in placed)),
        ("damp course", any(d.detail.damp for d in placed))) if there]
    if thin:
        entries.append(KeyEntry(", ".join(thin).capitalize(), "", "", _sample("edge", "membrane")))
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


PIECE = Point(-1.0, -2.05)
"""Swatches are cut out of the hatches here, where ground has whole combs; so they look alike on every sheet."""


def _swatch(name: str) -> Callable[[Box], tuple[Mark, ...]]:
    def draw(box: Box) -> tuple[Mark, ...]:
        piece = Box(PIECE.x, PIECE.y, PIECE.x + box.width, PIECE.y + box.height)
        hatch = moved(cut_texture(name, Region(rectangle(piece)), 0), Point(box.x0, box.y0) - PIECE)
        return (*moved_layer(tuple(hatch), LAYER), Nib(LAYER, "thin").box(box))

    return draw
