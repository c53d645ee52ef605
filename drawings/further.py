"""Further sheets of a set: the key to the set where it does not fit beside the plan, and tables that go on.

What finds no room on its own sheet is gathered: it stands on the key, on sheets of enlarged views that have room to
spare, and only then on sheets of its own, so that no sheet is issued for the sake of a few rows.

Takes: sheets still unfinished. Gives: the sheets that they call for, numbered on after the set.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

from ..geometry.errors import DrawingError, refuse
from .brief import Brief
from .composition import BAND, PAGE, Plate, plate
from .drafts import Draft
from .filling import Filled
from .frame import paper
from .pages import Page, plain
from .panel import Section
from .ruled import Flowing
from .warnings import cautions_for

Fill = Callable[[Brief, Draft, Sequence[Draft]], Filled]

KEY, LIST, TABLES = "key", "sheets", "tables"
"""Names of further sheets: with a key, with the list of sheets and no key, with tables alone."""

REGISTER = frozenset({"revisions", "sheets"})
"""Sections that tell of the set, not of what is drawn."""


def further_sheets(brief: Brief, whole: Sequence[Draft], own: Sequence[Draft], fill: Fill) -> tuple[Draft, ...]:
    """Return the further sheets that the sheets of the set (`own`) call for, as the set (`whole`) now stands.

    A sheet of `own` that takes on tables is among them, in its new state.
    """
    sections: list[Section] = []
    tables: list[tuple[int, Flowing]] = []
    for draft in own:
        panel = fill(brief, draft, whole)
        if draft.style == "line" or not sections:
            sections += [s for row in panel.rows for s in row.sections]
        if draft.style == "line":
            tables += [(draft.number, table) for table in panel.tables]
    pages = [*(Page(d) for d in own if d.taken is not None), *_key_pages(brief, own[0], sections)]
    _set_tables(brief, own, pages, tables)
    return _finished(own, pages)


def _key_pages(brief: Brief, first: Draft, sections: Sequence[Section]) -> list[Page]:
    """Return the sheets of the key to the set; more than one if there is much in it."""
    pages: list[Page] = []
    for one in sorted(sections, key=lambda s: s.name not in REGISTER):
        if any(page.section(one) for page in pages):
            continue
        name = KEY + (f" {len(pages) + 1}" if pages else "")
        pages.append(Page(plain(first, name, "Key to the set", cautions_for(KEY, brief.cautions))))
        if not pages[-1].section(one):
            raise refuse(
                DrawingError,
                f"the key '{one.name}' is too high for a sheet of {first.plate.paper.size}",
                "take a larger sheet",
                "key-too-large",
            )
    return pages


def _set_tables(brief: Brief, own: Sequence[Draft], pages: list[Page], tables: Sequence[tuple[int, Flowing]]) -> None:
    """Set tables on the pages one after another, on new ones where they are full."""
    for sheet, kind in SMALLER:
        if len(pages) or sheet.width >= own[0].plate.paper.width:
            break
        page = Page(_bare(brief, own, 0, plate(sheet, kind, own[0].plate.block)))
        if all(page.table(table.resumed(number), number) is None for number, table in tables):
            pages += [page] * bool(tables)
            return
    at = 0
    for number, table in tables:
        left: Flowing | None = table
        while left is not None:
            if at == len(pages):
                pages.append(Page(_bare(brief, own, len(pages))))
            page = pages[at]
            before, left = left, page.table(left.resumed(number), number)
            if left is not None:
                if page.empty:
                    raise refuse(
                        DrawingError,
                        f"a table of sheet {number} finds no room on a sheet of {page.draft.plate.paper.size}",
                        "take a larger sheet",
                        "table-too-large",
                    )
                at += 1
                left = before if page.refused else left


SMALLER = ((paper("A4", "portrait"), BAND), (paper("A3"), PAGE))
"""Sheets that are tried for tables that are all there is to go on: a few rows do not take a sheet of the set's size."""


def _bare(brief: Brief, own: Sequence[Draft], count: int, smaller: Plate | None = None) -> Draft:
    """Return a sheet for nothing but tables, of the set's size or a smaller one."""
    like = replace(own[0], plate=smaller) if smaller else own[0]
    return plain(like, f"{TABLES} {count}", "Tables", cautions_for(TABLES, brief.cautions))


def _finished(own: Sequence[Draft], pages: Sequence[Page]) -> tuple[Draft, ...]:
    """Return the sheets of pages, numbered and named."""
    number = max(d.number for d in own)
    titles = {d.number: d.title for d in own}
    numbers: list[int] = []
    for page in pages:
        if page.draft.number < 0:
            number += 1
        numbers.append(page.draft.number if page.draft.number >= 0 else number)
    named = [_title(page, titles) for page in pages]
    many = Counter(named)
    met: Counter[str] = Counter()
    found: list[Draft] = []
    plainly = 0
    for i, page in enumerate(pages):
        if page.draft.taken is not None and page.empty:
            continue
        met[named[i]] += 1
        title = f"{named[i]}, part {met[named[i]]}" if many[named[i]] > 1 else named[i]
        name = page.draft.name
        if name.startswith(KEY) and not _holds_key(page):
            name = LIST + name.removeprefix(KEY)
        if name.startswith(TABLES):
            plainly += 1
            name = TABLES + (f" {plainly}" if plainly > 1 else "")
        following = next((numbers[j] for j in range(i + 1, len(pages)) if pages[j].carried), 0)
        draft = page.drawn(f"continued on sheet {following}")
        found.append(replace(draft, name=name, title=title, number=numbers[i]))
    return tuple(found)


def _holds_key(page: Page) -> bool:
    """Say whether more than the register of the set stands on a page."""
    return bool({what.name for what, _, _ in page.standing if isinstance(what, Section)} - REGISTER)


def _title(page: Page, titles: dict[int, str]) -> str:
    """Return what a page is called: by what stands on it."""
    draft, carried = page.draft, set(page.carried)
    if draft.name.startswith(KEY):
        keys = _holds_key(page)
        return ("Key" if keys else "Sheets") + (" and tables" if carried else " to the set" if keys else " of the set")
    if draft.taken is not None:
        return f"{draft.title} and tables"
    return f"{titles[carried.pop()]}, tables" if len(carried) == 1 else draft.title
