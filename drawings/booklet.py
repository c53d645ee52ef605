"""`pegging.pdf`: the setting-out sheets that a self-builder works from, A4 portrait, black and white.

Takes: a SettingOut. Gives: a SheetSet of pages. Order: cover, before you start, gate 0, shapes one by one, recovery
pegs with gate 2, gates 3 and 4, levels, planting, and last of all the closing table with what to do if it is not good.
A page is filled in the order of work; nothing that belongs together is split.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from ..geometry.features import Caution
from ..geometry.kernel.point import Vec
from ..geometry.setout import SettingOut
from .booklet_back import control_blocks, gate_blocks, last_blocks, level_blocks
from .booklet_blocks import step_block
from .booklet_checks import check_rows, edge_blocks
from .booklet_filling import Book, Filled, arranged
from .booklet_front import Line, before, contents, cover, most_listed
from .booklet_page import BOLD, HIGH, LEFT, RIGHT, TOP, WIDE, WORDS, Page, capitals, long
from .booklet_planting import planting_blocks
from .booklet_recovery import find_blocks, recovery_blocks
from .booklet_rows import Block, warning_block, words_block
from .chapters import Chapter
from .draft import moved
from .gates import STOP, WARNINGS, Told, told
from .lettering import broken
from .pictures import Pictures
from .pictures_plan import KeyPlan
from .sheet import Mark, Sheet, SheetSet

PLAIN_TOP = 16.0
"""Where a page begins that is no shape."""

BAND = 15.0
"""Height of a section band: the second shape on a page."""

GATE_STRIP = 13.0

EXTRA_LINES = 4
"""Lines of the cover's list that are no shape in every garden that is dug: gates 0, 2 and 3, closing table."""

KEY_SIZE = (29.0, 38.0)
KEY_AT = (169.0, HIGH - 9.5 - KEY_SIZE[1])
"""Size of the key plan in the head of a page, and where its lower left corner lies, mm."""

HALF = 110.0
"""A page with so much room left, mm, is half empty: the next shape begins on it if that saves a page."""

WORTH = 90.0
"""So much of a shape stands under its band at least, mm: its warnings and a step."""

ONCE = frozenset({Caution.DUST, Caution.EXCAVATION})
"""Warnings that stand before the first shape that calls for them; the others stand before each."""


def booklet(work: SettingOut, said: Told | None = None) -> SheetSet:
    """Return the booklet's pages; `said` is the pegging in words where it is known already.

    Raises DrawingError if a picture or a block cannot be set.
    """
    said = said or told(work)
    found, doors = said.chapters, {gate.number: gate for gate in said.gates}
    levels = list(level_blocks(said.heights))
    lines = len(found) + len(work.beds) + EXTRA_LINES + (4 in doors) + bool(levels)
    book = Book(3 if lines > most_listed(work) else 2)
    listed: list[Line] = []

    def plain(tab: str, name: str, blocks: Iterable[Block]) -> None:
        lot = list(blocks)
        if lot:
            listed.append(Line(tab, name, "", book.number + 1))
            _flow(book, name, lot)

    plain("0", "Gate 0: the marks", control_blocks(work, doors[0], found))
    key = KeyPlan(work, found, *KEY_SIZE)
    for chapter in found:
        _chapter(book, work, key, said.pictures, chapter, listed)
    _strip(book)
    plain("R", "Recovery pegs, gate 2", [*recovery_blocks(work), *gate_blocks(doors[2])] if 2 in doors else [])
    if 3 in doors:
        plain("F", "Gate 3: find pegs again", find_blocks(work, doors[3].title, f"{doors[3].head} {doors[3].under}"))
    plain("L", "Levels", levels)
    plain("4", "Gate 4: built", gate_blocks(doors[4]) if 4 in doors else ())
    for name, blocks in planting_blocks(work):
        plain("B", f"Plant the {name}", blocks)
    plain("=", "Closing table", last_blocks(work, doors.get(1)))
    front = [cover(work, found, listed, book.before > 2), before(work)]
    if book.before > 2:
        front.insert(1, contents(listed))
    return _set(work, [*front, *book.pages], len(front), listed)


def _flow(book: Book, title: str, blocks: Sequence[Block]) -> None:
    """Fill plain pages with blocks, the first on a fresh page."""
    book.fresh(title, PLAIN_TOP)
    if book.strip:
        _draw_strip(book)
    for k, lot in enumerate(arranged(blocks, book.here, PLAIN_TOP, title)):
        if k:
            book.fresh(title, PLAIN_TOP)
        for block in lot:
            book.add(block)


def _blocks(work: SettingOut, pictures: Pictures, chapter: Chapter, tight: bool) -> Iterator[Block]:
    for warning in _warnings(work, chapter):
        yield warning_block(warning)
    for count, step in enumerate(chapter.steps, 1):
        yield step_block(pictures, step, tight)
        yield from _measured(chapter, count)
    yield from edge_blocks(chapter.edges)
    yield from _measured(chapter, None)
    yield words_block(f"**{chapter.about}**")


def _measured(chapter: Chapter, after: int | None) -> Iterator[Block]:
    for table in chapter.tables:
        if table.after == after:
            yield check_rows(table.checks, table.head, (table.sentence,) if table.sentence else ())


def _warnings(work: SettingOut, chapter: Chapter) -> Iterator[str]:
    for caution, elements in work.cautions:
        once = caution not in ONCE or chapter.element == _first(work, elements)
        if chapter.element in elements and caution in WARNINGS and once:
            yield WARNINGS[caution]


def _first(work: SettingOut, elements: Iterable[str]) -> str:
    """Return the first of these elements in working order."""
    return min(elements, key=lambda name: (work.pegs.elements.get(name, 0), name))


def _chapter(book: Book, work: SettingOut, key: KeyPlan, pictures: Pictures, chapter: Chapter,
             listed: list[Line]) -> None:
    """Set one shape: on a fresh page, or under a section band.

    Under a band where it fits whole, or where half the page would stay empty and a page is saved; its steps are set
    tight where that saves a page.
    """
    loose, tight = (list(_blocks(work, pictures, chapter, low)) for low in (False, True))
    band = Block(BAND, lambda page, y: _band(page, chapter, y))
    steps = _steps(chapter)
    pages = min((arranged(lot, Filled(TOP), TOP, chapter.name) for lot in (loose, tight)), key=len)
    joined = _joined(book, chapter, band, (loose, tight), len(pages)) if listed and listed[-1].steps else None
    plan: tuple[Mark, ...] = ()
    for k, lot in enumerate(joined or pages):
        if k or not joined:
            plan = plan or moved(key.marks(chapter.element), Vec(*KEY_AT))
            _head(book, work, plan, chapter, steps)
        if not k:
            listed.append(Line(_tab(chapter), chapter.name, steps, book.number))
        for block in lot:
            book.add(block)


def _joined(book: Book, chapter: Chapter, band: Block, ways: Sequence[Sequence[Block]],
            fresh: int) -> list[list[Block]] | None:
    """Return a shape's pages, the first going on under a band on the page in hand; None where it begins a fresh one."""
    whole = next((lot for lot in ways if book.here.holds(band, *lot)), None)
    if whole is not None:
        return [[band, *whole]]
    if not book.here.left >= HALF:
        return None
    pages = min((arranged([band, *lot], book.here, TOP, chapter.name) for lot in ways), key=len)
    begun = sum(block.height for block in pages[0])
    return pages if len(pages) <= fresh and begun >= WORTH else None


def _tab(chapter: Chapter) -> str:
    return str(chapter.number) if chapter.number else "E"


def _steps(chapter: Chapter) -> str:
    first, last = chapter.steps[0].number, chapter.steps[-1].number
    return f"step {first}" if first == last else f"steps {first}–{last}"


def _head(book: Book, work: SettingOut, plan: tuple[Mark, ...], chapter: Chapter, steps: str) -> None:
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
    page.marks += plan


def _band(page: Page, chapter: Chapter, y: float) -> None:
    page.line(LEFT, y, RIGHT, y, "cut")
    page.tab(18.0, y + 2.0, 16.0, 10.5, _tab(chapter), 20)
    name = chapter.name[:1].upper() + chapter.name[1:]
    page.text(36.0, y + 9.5, name, 17, BOLD)
    left = 36.0 + long(name, 17, BOLD) + 6.0
    if left + long(chapter.within, 11) < RIGHT:
        page.text(RIGHT, y + 9.5, chapter.within, 11, anchor="end")


def _strip(book: Book) -> None:
    """End the shapes with the strip of gate 1; where the page is full it stands on the next one."""
    if book.pages and book.here.left >= GATE_STRIP:
        _draw_strip(book)
    else:
        book.strip = True


def _draw_strip(book: Book) -> None:
    book.add(Block(GATE_STRIP, _gate_strip))
    book.strip = False


def _gate_strip(page: Page, y: float) -> None:
    page.block(LEFT, y, RIGHT - LEFT, 10.0)
    words = "GATE 1  All shapes stand. Look from the house. Do the closing table, last page."
    page.text(LEFT + 4.0, y + 6.6, words, 11.5, BOLD, tone="white")


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


def _set(work: SettingOut, pages: list[Page], front: int, listed: Sequence[Line]) -> SheetSet:
    project = work.garden.project
    begun: dict[int, list[str]] = {}
    for line in listed:
        name = f"{line.name[:1].upper()}{line.name[1:]}"
        begun.setdefault(line.page, []).append(f"{line.tab} {name}" if line.steps else name)
    sheets = []
    for number, page in enumerate(pages, 1):
        _foot(page, work, number, len(pages))
        sheets.append(Sheet(number=number, name="pegging", title=page.title, document=project.number, size="A4",
                            width=WIDE, height=HIGH, scale="", views=(), marks=tuple(page.marks),
                            begins=tuple(begun.get(number, ())) if number > front else (page.title,),
                            description=f"Pegging booklet, page {number} of {len(pages)}"))
    return SheetSet(title=f"{project.title}: pegging booklet", author=project.designer,
                    subject="Setting out by two tapes, step by step", sheets=tuple(sheets))

