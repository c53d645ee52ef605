"""Gates, levels and the last page: where one stops, looks and measures.

The last page is the one that can always be found: the closing table, and what to do if it does not close.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..geometry.setout import SettingOut
from .booklet_checks import check_rows, fitted
from .booklet_page import BOLD, LEFT, READING, RIGHT, WORDS, Page, capitals, long
from .booklet_rows import AFTER, Block, head_block, rows_block, stacked, ticks_block, warning_block, words_block
from .chapters import Chapter
from .gates import Gate
from .heights import BUILT, HOW, KEEP, TITLE, Built, Heights, Top
from .lettering import broken
from .pictures_plan import plan_picture
from .words import Words

ROW = 10.6

SKETCHED = 8
"""Marks that gate 0 has a box for; any more are ticked below."""

ZERO = (
    "A ring: zero is its outside, held at the nail.",
    "A line: zero is the line, not the end of the tape.",
    "Not sure? Fold the tape at 1.000: zero lies beside 2.000.",
)

NOT_GOOD_ROW = 10.4
"""Height of a row of what to do, two lines long, mm."""

NOT_GOOD = (
    ("Measure again, and change hands.", "Good now? Tick. Go on."),
    ("Look at zero of both tapes.", "Zero moved: do the step again."),
    ("Say the difference. Look in the box below.", "A slip is named there: read again."),
    ("Look at the pegs named: nail, upright, name, knocked.", "Moved: do the step of that peg again."),
    ("Circle each peg that is in a bad line.", "The one circled most is the first suspect: do its step again."),
    ("Still not good.", "STOP. Pull nothing out. Write all readings down. Ask the designer."),
)

SLIPS = (
    ("about 1.000", "a whole metre misread"), ("about 0.100", "zero moved, or 10 cm misread"),
    ("6 for 9, 3 for 8", "a figure turned or smudged"), ("two figures swapped", "said in the wrong order"),
    ("grows with length", "tape slack, bent, or uphill"), ("same in a whole shape", "a mark was moved"),
)


def gate_blocks(gate: Gate) -> Iterator[Block]:
    """Yield the blocks of a gate: head, warnings, what is ticked, what is measured, and when to stop."""
    together = [head_block(gate.title, [f"**{gate.head}** {gate.under}"]), *map(warning_block, gate.warnings)]
    if gate.ticks:
        together.append(ticks_block(gate.ticks))
    yield stacked(together)
    if gate.checks:
        yield check_rows(gate.checks, "Measure, and write what you read", (f"**{gate.stop}**",))


def control_blocks(work: SettingOut, gate: Gate, chapters: Sequence[Chapter]) -> Iterator[Block]:
    """Yield gate 0: where zero is, the marks with plan and a box for a sketch, all lines between them."""
    marks = work.garden.site.marks
    yield stacked([head_block(gate.title, [f"**{gate.head}** {gate.under}"]), *map(warning_block, gate.warnings),
                   _zero_block(), _marks_block(work, chapters), ticks_block(gate.ticks[:1])])
    if len(marks) > SKETCHED:
        yield ticks_block(gate.ticks[1 + SKETCHED:])
    yield check_rows(gate.checks, "Measure, and write what you read", (f"**{gate.stop}**",))


def _zero_block() -> Block:
    """Return the three pictures of where zero is on a tape."""
    def draw(page: Page, y: float) -> None:
        page.text(LEFT, y + 5.0, "Where is zero? Look at the end of both tapes, and tick.", 13, BOLD)
        for k, words in enumerate(ZERO):
            x = LEFT + 61.0 * k
            _tape_end(page, x, y + 12.0, k)
            page.words(x, y + 18.5, 46.0 if k < 2 else 56.0, words, 10)
            if k < 2:
                page.tick(y + 22.5, x + 48.0, 7.2)

    return Block(31.0, draw)


def _tape_end(page: Page, x: float, y: float, kind: int) -> None:
    """Draw a tape's end: a ring, a line on the tape, or the tape folded at one metre."""
    left = x + (7.0 if kind == 0 else 0.0)
    page.box(left, y - 2.5, x + 46.0 - left, 5.0, "mark")
    if kind == 0:
        page.box(x, y - 2.0, 7.0, 4.0, "edge")
    zero = x if kind == 0 else x + 10.0 if kind == 1 else x + 2.0
    page.line(zero, y - 4.5, zero, y + 2.5, "cut")
    page.text(zero + 1.2, y - 3.2, "0", 10, READING)
    for n in range(1, 6):
        at = zero + 6.5 * n
        if at < x + 45.0:
            page.line(at, y - 2.5, at, y, "mark")
    if kind == 2:
        page.box(x, y - 2.5 + 5.0, 46.0, 1.6, "mark")
        page.text(x + 44.0, y - 3.2, "fold at 1.000", 9, anchor="end")


def _marks_block(work: SettingOut, chapters: Sequence[Chapter]) -> Block:
    """Return the marks, each with what it is, a box for a sketch or photo, and a tick for having stood there."""
    marks, words = work.garden.site.marks[:SKETCHED], Words(work)
    about = [broken(", ".join(w for w in (m.what, m.point) if w), 82.0, WORDS, capitals(9.5, WORDS))[:2] for m in marks]
    pitches = [11.4 if len(lines) < 2 else 13.8 for lines in about]
    tall = max(34.0, 6.0 + sum(pitches))
    picture = plan_picture(work, chapters, 44.0, tall, "")

    def draw(page: Page, y: float) -> None:
        page.picture(LEFT, y, 44.0, tall, picture)
        page.text(66.0, y + 4.0, "Stand at each mark. Is it the one described? Tick.", 12, BOLD)
        top = y + 6.0
        for mark, lines, pitch in zip(marks, about, pitches, strict=True):
            page.text(66.0, top + 4.8, mark.name, 14, READING)
            page.text(68.0 + long(mark.name, 14, READING), top + 4.8, words.of(mark.name), 12)
            for n, line in enumerate(lines):
                page.text(66.0, top + 9.0 + 3.4 * n, line, 9.5)
            page.box(150.0, top, 35.0, pitch - 1.2, "thin")
            page.text(151.0, top + 3.4, "sketch or photo", 9)
            page.tick(top + (pitch - 1.2) / 2, size=8.2)
            top += pitch

    return Block(tall + 3.0, draw)


# ---- levels

def level_blocks(found: Heights) -> Iterator[Block]:
    """Yield the pegs whose tops are set to a level, and what is built above and below pegs."""
    if found.tops:
        yield head_block(TITLE, HOW)
        yield _level_rows(found.tops)
    if found.built:
        if not found.tops:
            yield head_block(TITLE, HOW[1:])
        yield _built_rows(found.built)
        yield words_block(KEEP)


def _level_rows(tops: Sequence[Top]) -> Block:
    """Return the pegs, two in a row where their readings leave room."""
    columns = 2 if max(long(top.reading, 18, READING) for top in tops) <= LEVEL_FIGURE else 1
    lots = [tops[k:k + columns] for k in range(0, len(tops), columns)]

    def heads(first: bool) -> Block:
        return Block(0.5, lambda page, y: page.line(LEFT, y, RIGHT, y, "cut" if first else "thin"))

    def row(page: Page, n: int, y: float) -> None:
        for k, top in enumerate(lots[n]):
            x, right = (LEFT + 92.0 * k, LEFT + 92.0 * k + 76.0) if columns == 2 else (LEFT, 172.0)
            _level(page, top, x, right, y)
        page.line(LEFT, y + ROW, RIGHT, y + ROW)

    return rows_block(heads, [ROW] * len(lots), row)


LEVEL_FIGURE = 24.0
"""The widest reading that leaves room for two pegs in a row, mm."""


def _level(page: Page, top: Top, x: float, right: float, y: float) -> None:
    page.text(x, y + 7.2, top.peg, 13, READING)
    page.text(x + 19.5, y + 7.0, f"{top.way} {top.start}", 11)
    page.text(right, y + 7.2, top.reading, 18, READING, "end")
    page.tick(y + ROW / 2, right + 3.0, 8.2)


def _built_rows(built: Sequence[Built]) -> Block:
    """Return what is built above and below pegs, each with its range and a tick."""
    def heads(first: bool) -> Block:
        def head(page: Page, y: float) -> None:
            page.line(LEFT, y, RIGHT, y, "cut")
            page.text(LEFT, y + 7.0, BUILT if first else f"{BUILT}, continued", 13, BOLD)

        return Block(10.0, head)

    def row(page: Page, n: int, y: float) -> None:
        line = built[n]
        what, points = fitted(line.what[:1].upper() + line.what[1:], 78.0, 12)
        page.text(LEFT, y + 5.2, what, points)
        page.text(LEFT, y + 9.4, f"{line.element}{line.good}", 9)
        page.text(104.0, y + 7.2, f"{line.way} {line.peg}", 11)
        page.text(172.0, y + 7.6, line.reading, 18, READING, "end")
        page.tick(y + TALL / 2, 176.0, 8.2)
        page.line(LEFT, y + TALL, RIGHT, y + TALL)

    return rows_block(heads, [TALL] * len(built), row)


TALL = 11.0
"""Height of a row with two lines, mm."""


# ---- the last page

def last_blocks(work: SettingOut, gate: Gate | None) -> Iterator[Block]:
    """Yield the closing table, and what to do if it is not good: together one page."""
    if gate is not None and len(gate.checks) > 0:
        yield stacked([check_rows(gate.checks, "Closing table", (gate.under,)), Block(8.5, _signature)])
    yield stacked([Block(10.5 + NOT_GOOD_ROW * len(NOT_GOOD) + AFTER, _not_good),
                   Block(28.0, lambda page, y: _slips(page, y, work.garden.project.telephone))])


def _signature(page: Page, y: float) -> None:
    page.text(LEFT, y + 6.0, "Measured by", 11)
    page.line(LEFT + 24.0, y + 6.4, 130.0, y + 6.4)
    page.text(134.0, y + 6.0, "date", 11)
    page.line(146.0, y + 6.4, RIGHT, y + 6.4)


def _not_good(page: Page, y: float) -> None:
    page.line(LEFT, y, RIGHT, y, "cut")
    page.text(LEFT, y + 7.5, "If it is not good: take these in order", 15, BOLD)
    y += 10.5
    for k, (act, answer) in enumerate(NOT_GOOD, 1):
        page.text(LEFT, y + 6.2, str(k), 13, READING)
        page.words(LEFT + 8.0, y + 0.2, 78.0, act, 10)
        page.words(108.0, y + 0.2, 88.0, answer, 10)
        y += NOT_GOOD_ROW
        page.line(LEFT, y, RIGHT, y)


def _slips(page: Page, y: float, telephone: str) -> None:
    page.box(LEFT, y + 0.5, RIGHT - LEFT, 19.5)
    for k, (difference, slip) in enumerate(SLIPS):
        x, top = LEFT + 3.0 + 82.0 * (k % 2), y + 6.0 + 5.8 * (k // 2)
        page.text(x, top, difference, 10, BOLD)
        page.text(x + (42.0 if k % 2 else 36.0), top, slip, 10)
    if telephone:
        page.text(LEFT, y + 26.0, f"The designer's telephone: {telephone}", 12, BOLD)
