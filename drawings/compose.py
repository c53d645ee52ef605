"""From a set-out garden to its sheets: which sheets, on what paper, at what scale, and what goes on to further ones.

The one entry of the drawings for sheets. Takes: a SettingOut. Gives: a SheetSet of marks in paper millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..geometry.kernel.point import Box
from .brief import Brief, read
from .composition import choose, kinds, plate, view_on
from .drafts import Draft
from .filling import Filled, PanelRow, columns, filled, inner
from .frame import frame, paper
from .layout_sheet import layout_sheet
from .planned import Stage, rules, stage
from .ruled import Table
from .setting_out_sheet import setting_out_sheet
from .sheet import Mark, Sheet, SheetSet
from .style import house_style
from .tables import revision_table, sheet_table
from .titleblock import TitleBlock, title_block

if TYPE_CHECKING:
    from ..geometry.setout import SettingOut


def compose(setting_out: SettingOut, style: str = "line") -> SheetSet:
    """Return all sheets of a garden; `style` is 'line', 'presentation' (a tinted layout plan) or 'both'.

    DrawingError, with a proposal, for what cannot be fitted.
    """
    return sheets_of(read(setting_out), style)


def sheets_of(brief: Brief, style: str = "line") -> SheetSet:
    """Return all sheets of a brief."""
    drafts = list(_drafts(brief, style))
    finished = _finished(brief, drafts)
    project = brief.project
    return SheetSet(title=project.title, author=project.drawn_by or project.owner, subject=project.site, sheets=finished)


def _drafts(brief: Brief, style: str) -> Sequence[Draft]:
    on = _stage(brief)
    drafts = [layout_sheet(on, one) for one in (("line", "presentation") if style == "both" else (style,))]
    return [*drafts, setting_out_sheet(on)]


def _stage(brief: Brief) -> Stage:
    wishes = brief.wishes
    sheet = paper(wishes.size, wishes.orientation)
    block = block_of(brief, 1, 1, "Layout plan", 100, wishes.size).height
    plates = [plate(sheet, kind, block) for kind in kinds(sheet, wishes.composition)]
    choice = choose(brief.extent, plates, wishes.scale)
    view = view_on(choice.plate, brief.extent, choice.margins, choice.scale)
    return stage(brief, choice.plate, view, house_style().pens(wishes.size, wishes.step), brief.extent)


def block_of(brief: Brief, number: int, total: int, title: str, scale: float, size: str, supplement: str = "") -> TitleBlock:
    """Return the title block of a sheet."""
    p = brief.project
    drawing = f"{p.number}-{number:02d}" if p.number else f"{number:02d}"
    fields = (("Owner", p.owner), ("Client", p.client), ("Site", p.site), ("Date of issue", p.date),
              ("Drawn by", p.drawn_by), ("Approved by", p.approved_by), ("Document", p.document), ("Status", p.status))
    revision = p.revisions[0].mark if p.revisions else "–"
    name = ", ".join(w for w in (p.title, supplement) if w)
    return TitleBlock(number=number, total=total, title=title, supplementary=name, drawing=drawing, revision=revision,
                      scale=scale, size=size, fields=fields)


@dataclass(frozen=True, slots=True)
class _Entry:
    number: int
    title: str
    scale: str


def _finished(brief: Brief, drafts: list[Draft]) -> tuple[Sheet, ...]:
    numbered = [replace(d, number=i + 1) for i, d in enumerate(drafts)]
    entries = [_Entry(d.number, d.title, scale_words(d.scale)) for d in numbered]
    return tuple(_sheet(brief, d, entries) for d in numbered)


def scale_words(scale: float) -> str:
    """Return '1:50', or '' where nothing is to one scale."""
    return f"1:{scale:g}" if scale else ""


def _sheet(brief: Brief, draft: Draft, entries: Sequence[_Entry]) -> Sheet:
    page = draft.plate.paper
    last = max(e.number for e in entries)
    block = block_of(brief, draft.number, last, draft.title, draft.scale, page.size, draft.supplement)
    panel = _panel(brief, draft, entries)
    marks: tuple[Mark, ...] = (*draft.marks, *panel.marks, *rules(draft.plate),
                               title_block(block, page.frame.x1, page.frame.y0), *frame(page))
    return Sheet(number=draft.number, name=draft.name, title=draft.title, document=block.drawing, size=page.size,
                 width=page.width, height=page.height, scale=scale_words(draft.scale), views=draft.views, marks=marks,
                 style=draft.style, step=brief.wishes.step, description=f"{draft.title} of {brief.project.title}",
                 fields=dict(block.fields))


def _panel(brief: Brief, draft: Draft, entries: Sequence[_Entry]) -> Filled:
    rows = list(draft.rows)
    if draft.register:
        rows.append(PanelRow("register", (revision_table(brief.project.revisions).drawn(),
                                          sheet_table([(e.number, e.title, e.scale) for e in entries],
                                                      draft.number).drawn())))
    return filled(inner(draft.plate), rows, draft.tables)
