"""From a set-out garden to its sheets: which sheets, on what paper, at what scale, and what goes on to further ones.

The one entry of the drawings for sheets. Takes: a SettingOut. Gives: a SheetSet of marks in paper millimetres.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ..geometry.errors import DrawingError, refuse
from ..geometry.features import Status
from ..geometry.kernel.point import Box
from .brief import Brief, read
from .composition import PAGE, Choice, choose, kinds, plate, view_on
from .details_cuts import section_marks
from .details_sheet import arranged, details_sheets
from .drafts import Draft
from .filling import Filled, PanelRow, band_for, columns, filled, inner
from .frame import frame, paper
from .further import KEY, LIST, further_sheets
from .hardscape_sheet import HARD, hardscape_sheet
from .layout_sheet import layout_sheet
from .lengths import in_feet
from .levels_sheet import has_levels, levels_sheet
from .panel import Section
from .parts import KEY_ROOM, as_part, parts_of
from .planned import Stage, rules, stage
from .planting_sanding import sanding_sheets
from .planting_sheet import planting_sheet
from .recovery_sheet import AGAIN, tables_to_find, to_find, to_set
from .register import issue_words
from .ruled import Table
from .setting_out_sheet import setting_out_sheets
from .sheet import Mark, Sheet, SheetSet
from .style import house_style
from .tables import peg_table, revision_table, sheet_table, sheet_tables
from .titleblock import TitleBlock, title_block
from .warnings import cautions_for

if TYPE_CHECKING:
    from ..geometry.setout import SettingOut


def compose(setting_out: SettingOut, style: str = "line") -> SheetSet:
    """Return all sheets of a garden; `style` is 'line', 'presentation' (a tinted layout plan) or 'both'.

    DrawingError, with a proposal, for what cannot be fitted.
    """
    return sheets_of(read(setting_out), style)


def sheets_of(brief: Brief, style: str = "line") -> SheetSet:
    """Return all sheets of a brief."""
    finished = _on_paper(brief, style)
    project = brief.project
    return SheetSet(
        title=project.title, author=project.drawn_by or project.owner, subject=project.site, sheets=finished
    )


FOR_AGREEMENT = "For agreement"
"""Status of a presentation copy, whatever the line copies are issued for: nobody builds from it."""

SIZES = ("A3", "A2", "A1", "A0")
"""Sizes that are tried in turn when the model names none."""


def _on_paper(brief: Brief, style: str) -> tuple[Sheet, ...]:
    """Return the finished sheets on the size that the model names, else on the smallest that holds them all."""
    if brief.wishes.size:
        return _finished(brief, _drafts(brief, style))
    for size in SIZES:
        sized = replace(brief, wishes=replace(brief.wishes, size=size))
        if size != SIZES[-1] and not brief.wishes.scale and _splits(sized):
            continue
        try:
            return _finished(sized, _drafts(sized, style))
        except DrawingError:
            if size == SIZES[-1]:
                raise
    raise AssertionError(SIZES)


def _splits(brief: Brief) -> bool:
    """Say whether the plan of a garden would be split over several sheets: a larger one is better."""
    choice = _choice(brief)
    return choice.across * choice.up > 1


def _drafts(brief: Brief, style: str) -> list[Draft]:
    """Return the sheets that the model asks for, in its order, as far as there is anything to show on them."""
    if style not in {"line", "presentation", "both"}:
        raise refuse(DrawingError, f"a style '{style}'", "choose line, presentation or both", "sheet-style")
    stages, as_a_part = _stages(brief)
    names = tuple(dict.fromkeys(brief.wishes.sheets))
    first = next((name for name in names if name == "details" or _worth(name, brief)), "")
    shown = arranged(brief, stages[0].plate, first != "details") if "details" in names else None
    if shown is not None:
        cut = section_marks(shown, brief.features)
        stages = tuple(replace(on, brief=replace(on.brief, section_marks=cut)) for on in stages)
    drafts: list[Draft] = []
    for name in names:
        if name == "details":
            drafts += details_sheets(shown) if shown is not None else ()
        elif _worth(name, brief):
            for index, on in enumerate(stages):
                drafts += [as_a_part(index, draft) for draft in _plans(name, on, style)]
    if not drafts:
        drafts += [as_a_part(index, layout_sheet(on)) for index, on in enumerate(stages)]
    first = drafts[0].name
    return [replace(d, register=d.name == first) for d in drafts]


def _plans(name: str, on: Stage, style: str) -> tuple[Draft, ...]:
    """Return the sheets of one name on a stage: a plan, its copies in other styles, its enlarged views."""
    if name == "layout":
        return tuple(layout_sheet(on, one) for one in (("line", "presentation") if style == "both" else (style,)))
    if name == "setting out":
        return setting_out_sheets(on)
    if name == "planting":
        return planting_sheet(on), *sanding_sheets(on)
    return (_SHEETS[name](on),) if name in _SHEETS else ()


def _stages(brief: Brief) -> tuple[tuple[Stage, ...], Callable[[int, Draft], Draft]]:
    """Return the stages that the plans are drawn on, and what makes a sheet of a part of it."""
    choice, pens = _choice(brief), house_style().pens(brief.wishes.size, brief.wishes.step)
    if choice.across * choice.up == 1:
        view = view_on(choice.plate, brief.extent, choice.margins, choice.scale)
        return (stage(brief, choice.plate, view, pens, brief.extent),), lambda _, draft: draft
    found = parts_of(brief, choice, pens)

    def as_a_part(index: int, draft: Draft) -> Draft:
        if draft.name == "setting out" and index == 0:
            draft = replace(draft, tables=(peg_table(to_set(brief)),))
        if draft.name == AGAIN and index == 0:
            draft = replace(draft, tables=tables_to_find(to_find(brief) or brief))
        return as_part(draft, found[index], found, brief)

    return tuple(p.stage for p in found), as_a_part


_SHEETS: Mapping[str, Callable[[Stage], Draft]] = {
    "hardscape": hardscape_sheet,
    "levels": levels_sheet,
}


def _worth(name: str, brief: Brief) -> bool:
    """Say whether a sheet has anything to show."""
    if name == "planting":
        return bool(brief.schedule)
    if name == "levels":
        return has_levels(brief)
    if name == "hardscape":
        return any(f.role in HARD and f.status is Status.PROPOSED for f in brief.features)
    return True


def _choice(brief: Brief) -> Choice:
    """Return the division of the sheets and the scale of the plans."""
    wishes = brief.wishes
    sheet = paper(wishes.size, wishes.orientation)
    block = block_of(brief, 1, 1, "Layout plan", 100, wishes.size).height
    warned = [cautions_for(name, brief.cautions) for name in ("layout", "setting out")]
    plates = [
        plate(sheet, kind, block, max(band_for(points, sheet, kind, block) for points in warned))
        for kind in kinds(sheet, wishes.composition)
    ]
    choice = choose(brief.extent, plates, wishes.scale)
    if choice.across * choice.up > 1 and choice.plate.kind != PAGE:
        higher = [plate(sheet, one.kind, block, one.panel.height + KEY_ROOM) for one in plates]
        return choose(brief.extent, higher, wishes.scale)
    return choice


def block_of(
    brief: Brief, number: int, total: int, title: str, scale: float, size: str, supplement: str = "", status: str = ""
) -> TitleBlock:
    """Return the title block of a sheet; `status` stands for that of the project."""
    p = brief.project
    drawing = f"{p.number}-{number:02d}" if p.number else f"{number:02d}"
    fields = (
        ("Owner", p.owner),
        ("Client", p.client),
        ("Site", p.site),
        ("Date of issue", p.date),
        ("Drawn by", p.drawn_by),
        ("Approved by", p.approved_by),
        ("Document", p.document),
        ("Status", status or p.status),
    )
    revision = p.revisions[-1].mark if p.revisions else "–"
    name = ", ".join(w for w in (p.title, supplement) if w)
    return TitleBlock(
        number=number,
        total=total,
        title=title,
        supplementary=name,
        drawing=drawing,
        revision=revision,
        scale=scale,
        size=size,
        fields=fields,
        feet=in_feet(brief.unit),
    )


def _finished(brief: Brief, drafts: Sequence[Draft]) -> tuple[Sheet, ...]:
    """Return all sheets: numbered, their panels filled, further ones made of what finds no room."""
    numbered = _numbered(drafts)
    more: tuple[Draft, ...] = ()
    for _ in range(ROUNDS):
        whole = sorted(_joined(numbered, more), key=lambda d: d.number)
        found = further_sheets(brief, whole, numbered, _panel)
        if [d.title for d in found] == [d.title for d in more]:
            break
        more = found
    whole = sorted(_joined(numbered, found), key=lambda d: (d.number, d.style))
    return tuple(_sheet(brief, d, whole) for d in whole)


ROUNDS = 4


def _joined(own: Sequence[Draft], further: Sequence[Draft]) -> tuple[Draft, ...]:
    """Return all sheets; a further one that takes on tables stands for the sheet that it was."""
    names = {d.name for d in further}
    return (*(d for d in own if d.name not in names), *further)


def _numbered(drafts: Sequence[Draft]) -> list[Draft]:
    """Give each sheet its number in the order of the set; copies in another style share it."""
    first = [d.name for d in drafts if not d.extra]
    names = list(dict.fromkeys([*first, *(d.name for d in drafts)]))
    return [replace(d, number=names.index(d.name) + 1) for d in drafts]


def scale_words(scale: float) -> str:
    """Return '1:50', or '' where nothing is to one scale."""
    return f"1:{scale:g}" if scale else ""


def _sheet(brief: Brief, draft: Draft, whole: Sequence[Draft]) -> Sheet:
    page = draft.plate.paper
    status = FOR_AGREEMENT if draft.style == "presentation" else ""
    block = block_of(
        brief, draft.number, whole[-1].number, draft.title, draft.scale, page.size, draft.supplement, status
    )
    onward = [f"continued on sheet {d.number}" for d in whole if draft.number in d.carries]
    panel = _panel(brief, draft, whole)
    marks: tuple[Mark, ...] = (
        *draft.marks,
        *(panel.going_on(onward[0]) if onward else panel).marks,
        *rules(draft.plate),
        title_block(block, page.frame.x1, page.frame.y0),
        *frame(page),
    )
    return Sheet(
        number=draft.number,
        name=draft.name,
        title=draft.title,
        document=block.drawing,
        size=page.size,
        width=page.width,
        height=page.height,
        scale=scale_words(draft.scale),
        views=draft.views,
        marks=marks,
        style=draft.style,
        step=brief.wishes.step,
        description=f"{draft.title} of {brief.project.title}",
        revision=block.revision if brief.project.revisions else "",
        fields=dict(block.fields),
    )


def _panel(brief: Brief, draft: Draft, whole: Sequence[Draft]) -> Filled:
    """Fill a panel; where the list of sheets does not stand on it whole, its part there says where it goes on."""
    area = inner(draft.plate)
    if not draft.register:
        return _kept(draft, area, [])
    revisions = revision_table(brief.project.revisions).drawn()
    entries = {d.number: (d.number, d.title, scale_words(d.scale)) for d in reversed(whole)}
    listed, issue = [entries[n] for n in sorted(entries)], issue_words(brief.project)
    for count in (1, 2, 3):
        lists = [table.drawn() for table in sheet_tables(listed, draft.number, issue, count)]
        whole_list = _kept(draft, area, _register([revisions, *lists], columns(area.width)))
        if not _missing(whole_list) and (not draft.spare or not whole_list.rows):
            return whole_list
    on = next((d.number for d in whole if d.name in {KEY, LIST}), whole[-1].number)
    parts, elsewhere = (_parted(sheet_table(listed, number, issue)) for number in (draft.number, on))
    begun = parts[0].ending(f"continued on sheet {on}")
    pointer = sheet_table([], draft.number, issue).bare().ending(f"on sheet {on}")
    for shown in (begun, pointer):      # a key tells the reader more than the list of sheets does
        ways = [_kept(draft, area, _register([revisions, shown.drawn()], n)) for n in (2, 1)]
        moved = parts[1:] if shown is begun else elsewhere
        for found in ways:
            if not _missing(found) and (not draft.spare or not found.rows):
                return replace(found, rows=(*found.rows, *_register([part.drawn() for part in moved], 1)))
    found = _kept(draft, area, [])      # all of it goes on
    return replace(found, rows=(*found.rows, *_register([revisions, *(part.drawn() for part in elsewhere)], 1)))


def _parted(table: Table) -> list[Table]:
    """Return a list of sheets in parts no higher than LIST_HEIGHT."""
    part, left = table.parted(LIST_HEIGHT)
    return [part, *(_parted(left) if left is not None else ())]


def _kept(draft: Draft, area: Box, register: Sequence[PanelRow]) -> Filled:
    """Fill a panel; when the key does not fit it goes to the key sheet, and other rows stand in its place."""
    full = filled(area, [*draft.rows, *register], draft.tables, draft.low)
    if not full.rows or not draft.spare:
        return full
    less = filled(area, [*draft.spare, *register], draft.tables, draft.low)
    kept = (*draft.spare, *register)
    return replace(less, rows=(*(r for r in draft.rows if r not in kept), *less.rows))


REGISTER = "register"


def _register(sections: Sequence[Section], beside: int) -> list[PanelRow]:
    """Return the revisions and the list of sheets in rows of so many sections."""
    first = 1 if beside == 2 and len(sections) % 2 else beside       # parts of a list stand in the order of reading
    starts = [0, *range(first, len(sections), beside)]
    ends = [*starts[1:], len(sections)]
    return [PanelRow(REGISTER, tuple(sections[a:b])) for a, b in zip(starts, ends, strict=True)]


def _missing(panel: Filled) -> bool:
    return any(row.name == REGISTER for row in panel.rows)


LIST_HEIGHT = 75.0
"""A list of sheets that does not stand on the first sheet whole is parted at this height."""
