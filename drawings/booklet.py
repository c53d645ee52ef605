"""`pegging.pdf`: the setting-out sheets that a self-builder works from, A4 portrait, black and white.

Takes: a SettingOut. Gives: a SheetSet of pages. Order: cover, before you start, gate 0, shapes one by one, recovery
pegs with gate 2, gates 3 and 4, levels, and last of all the closing table with what to do if it is not good.
A page is filled in the order of work; nothing that belongs together is split.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ..geometry.errors import DrawingError, refuse
from ..geometry.features import Caution
from ..geometry.setout import SettingOut
from .booklet_back import find_blocks, gate_blocks, last_blocks, level_blocks, recovery_blocks
from .booklet_blocks import Block, check_rows, step_block, warning_block, words_block
from .booklet_front import MOST_LISTED, Line, before, contents, cover
from .booklet_page import BOLD, FOOT, HIGH, LEFT, RIGHT, TOP, WIDE, WORDS, Page, capitals, long
from .gates import STOP, WARNINGS, gates
from .lettering import broken
from .pictures import plan_picture
from .sheet import Sheet, SheetSet
from .steps import Chapter, chapters

PLAIN_TOP = 16.0
"""Where a page begins that is no shape."""

BAND = 15.0
"""Height of a section band: the second shape on a page."""

EXTRA_LINES = 6
"""Lines of the cover's list that are no shape, at most."""

ONCE = frozenset({Caution.DUST, Caution.EXCAVATION})
"""Warnings that stand before the first shape that calls for them; the others stand before each."""

SQUEEZE = 1.5
"""Blocks may run this far past the foot's clear space before a page is full."""


@dataclass(slots=True)
class _Book:
    """Pages while they are filled: the page in hand and how far down it is full."""

    pages: list[Page]
    before: int                     # pages in front of these
    y: float = FOOT

    def fresh(self, title: str, top: float) -> Page:
        """Begin a new page."""
        self.pages.append(Page(title))
        self.y = top
        return self.pages[-1]

    def room(self, height: float) -> bool:
        """Say whether a block of that height still fits."""
        return self.y + height <= FOOT + SQUEEZE

    def add(self, block: Block) -> None:
        """Draw a block on the page in hand."""
        block.draw(self.pages[-1], self.y)
        self.y += block.height


def booklet(work: SettingOut) -> SheetSet:
    """Return the booklet's pages. Raises DrawingError if a picture or a block cannot be set."""
    found = chapters(work)
    doors = {gate.number: gate for gate in gates(work)}
    book = _Book([], 3 if len(found) + EXTRA_LINES > MOST_LISTED else 2)
    listed: list[Line] = []

    def plain(tab: str, name: str, blocks: Iterable[Block]) -> None:
        lot = list(blocks)
        if lot:
            listed.append(Line(tab, name, "", len(book.pages) + book.before + 1))
            _flow(book, name, lot)

    plain("0", "Gate 0: the marks", gate_blocks(work, doors[0]))
    for chapter in found:
        _chapter(book, work, chapter, listed)
    _strip(book)
    plain("R", "Recovery pegs, gate 2", [*recovery_blocks(work), *(gate_blocks(work, doors[2]))] if 2 in doors else [])
    plain("F", "Gate 3: find pegs again", [*find_blocks(work), *(gate_blocks(work, doors[3]) if 3 in doors else ())])
    plain("L", "Levels", level_blocks(work))
    plain("4", "Gate 4: built", gate_blocks(work, doors[4]) if 4 in doors else ())
    plain("=", "Closing table", last_blocks(work, doors.get(1)))
    front = [cover(work, listed, book.before > 2), before(work)]
    if book.before > 2:
        front.insert(1, contents(listed))
    return _set(work, [*front, *book.pages])


def _flow(book: _Book, title: str, blocks: Iterable[Block]) -> None:
    """Fill plain pages with blocks, the first on a fresh page."""
    book.fresh(title, PLAIN_TOP)
    for block in blocks:
        _must_fit(block, PLAIN_TOP, title)
        if not book.room(block.height):
            book.fresh(title, PLAIN_TOP)
        book.add(block)


def _must_fit(block: Block, top: float, title: str) -> None:
    if block.height > FOOT + SQUEEZE - top:
        raise refuse(DrawingError, f"a block of '{title}' is {block.height:.0f} mm high; a page of the booklet holds "
                     f"{FOOT - top:.0f} mm", "give the element a shorter name", "booklet-block")


def _blocks(work: SettingOut, chapter: Chapter) -> Iterator[Block]:
    for warning in _warnings(work, chapter):
        yield warning_block(warning)
    for step in chapter.steps:
        yield step_block(work, step)
    if chapter.true:
        yield from check_rows(chapter.true, "Measure the sides and diagonals", (
            "If one is not good, lift the nail named last and move it until all are good. Then measure again, all of "
            "them. The first two pegs never move.",))
    yield words_block(f"**{chapter.about}**")


def _warnings(work: SettingOut, chapter: Chapter) -> Iterator[str]:
    for caution, elements in work.cautions:
        once = caution not in ONCE or chapter.element == _first(work, elements)
        if chapter.element in elements and caution in WARNINGS and once:
            yield WARNINGS[caution]


def _first(work: SettingOut, elements: Iterable[str]) -> str:
    """Return the first of these elements in working order."""
    return min(elements, key=lambda name: (work.pegs.elements.get(name, 0), name))


def _chapter(book: _Book, work: SettingOut, chapter: Chapter, listed: list[Line]) -> None:
    """Set one shape: on a fresh page, or under a section band where it fits whole."""
    blocks = list(_blocks(work, chapter))
    whole = BAND + sum(block.height for block in blocks)
    steps = _steps(chapter)
    joins = bool(book.pages) and bool(listed) and listed[-1].steps != "" and book.room(whole)
    if joins:
        _band(book.pages[-1], chapter, book.y)
        book.y += BAND
    else:
        _head(book, work, chapter, steps)
    listed.append(Line(_tab(chapter), chapter.name, steps, len(book.pages) + book.before))
    for block in blocks:
        _must_fit(block, TOP, chapter.name)
        if not book.room(block.height):
            _head(book, work, chapter, steps)
        book.add(block)


def _tab(chapter: Chapter) -> str:
    return str(chapter.number) if chapter.number else "E"


def _steps(chapter: Chapter) -> str:
    first, last = chapter.steps[0].number, chapter.steps[-1].number
    return f"step {first}" if first == last else f"steps {first}–{last}"


def _head(book: _Book, work: SettingOut, chapter: Chapter, steps: str) -> None:
    """Begin a page of a shape: its number, name, how near is good enough, house bar, key plan."""
    page = book.fresh(chapter.name, TOP)
    page.tab(18.0, 16.0, 20.0, 22.0, _tab(chapter), 36 if len(_tab(chapter)) == 1 else 28)
    name = broken(chapter.name[:1].upper() + chapter.name[1:], 120.0, BOLD, 5.1)[0]
    page.text(42.0, 23.0, name, 20, BOLD)
    page.text(42.0, 29.5, f"{steps[:1].upper()}{steps[1:]}.", 11)
    page.text(42.0, 34.8, chapter.within, 11)
    page.tab(18.0, 40.0, 20.0, 6.0, "HOUSE", 10)
    unit = "" if work.pegs.options.tape.feet else " All readings in metres."
    page.text(42.0, 44.4, f"Turn the paper: its house toward the real house.{unit}", 11)
    page.picture(169.0, 9.5, 29.0, 38.0, plan_picture(work, 29.0, 38.0, chapter.element), framed=False)


def _band(page: Page, chapter: Chapter, y: float) -> None:
    page.line(LEFT, y, RIGHT, y, "cut")
    page.tab(18.0, y + 2.0, 16.0, 10.5, _tab(chapter), 20)
    name = chapter.name[:1].upper() + chapter.name[1:]
    page.text(36.0, y + 9.5, name, 17, BOLD)
    left = 36.0 + long(name, 17, BOLD) + 6.0
    if left + long(chapter.within, 11) < RIGHT:
        page.text(RIGHT, y + 9.5, chapter.within, 11, anchor="end")


def _strip(book: _Book) -> None:
    """End the shapes with the strip of gate 1."""
    if not book.pages:
        return
    if not book.room(12.0):
        book.fresh("Gate 1", PLAIN_TOP)
    page = book.pages[-1]
    page.block(LEFT, book.y, RIGHT - LEFT, 10.0)
    words = "GATE 1  All shapes stand. Look at them from the house. Then the last page."
    page.text(LEFT + 4.0, book.y + 6.6, words, 11.5, BOLD, tone="white")
    book.y += 12.0


def _foot(page: Page, work: SettingOut, number: int, pages: int) -> None:
    project = work.garden.project
    date = project.revisions[-1].date if project.revisions else project.date
    revision = f"revision {project.revision}" if project.revision else ""
    job = " · ".join(w for w in (project.title, project.number, revision, date) if w)
    page.line(LEFT, 279.0, RIGHT, 279.0)
    page.text(LEFT, 284.0, broken(job, 74.0, WORDS, capitals(9, WORDS))[0], 9)
    if number > 1:
        page.text(RIGHT - 32.0, 284.0, STOP, 10.5, BOLD, "end")
    page.text(RIGHT, 284.0, f"page {number} of {pages}", 12, BOLD, "end")


def _set(work: SettingOut, pages: list[Page]) -> SheetSet:
    project = work.garden.project
    sheets = []
    for number, page in enumerate(pages, 1):
        _foot(page, work, number, len(pages))
        sheets.append(Sheet(number=number, name="pegging", title=page.title, document=project.number, size="A4",
                            width=WIDE, height=HIGH, scale="", views=(), marks=tuple(page.marks),
                            description=f"Pegging booklet, page {number} of {len(pages)}"))
    return SheetSet(title=f"{project.title}: pegging booklet", author=project.designer,
                    subject="Setting out by two tapes, step by step", sheets=tuple(sheets))

