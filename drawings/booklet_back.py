"""Gates, recovery pegs, levels and the last page: where one stops, looks and measures.

The last page is the one that can always be found: the closing table, and what to do if it does not close.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..geometry.features import Purpose
from ..geometry.pegs.peg import Method, Peg, Recovery
from ..geometry.setout import SettingOut
from .booklet_blocks import Block, check_rows, portions, stacked, warning_block
from .booklet_page import BOLD, LEFT, READING, RIGHT, TEXT_LEFT, TICK_LEFT, Page, high, long
from .gates import Gate
from .pictures import plan_picture
from .words import Words

ROW, FIND_ROW = 11.0, 15.5
FIRST_ROWS, MOST_ROWS = 18, 22
"""Rows of a table on the page of its head, and on a page of its own."""

ZERO = (
    "Where is zero? Look at the end of each tape before anything else.",
    "A ring: zero is its outside, held at the nail. A line: zero is the line.",
    "Not sure? Fold the tape at 1.000: zero lies beside 2.000.",
)

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


def head_block(title: str, under: Sequence[str]) -> Block:
    """Return the head of a page that is no shape."""
    tall = 10.0 + sum(high(line, RIGHT - LEFT) for line in under) + 3.0

    def draw(page: Page, y: float) -> None:
        page.text(LEFT, y + 7.0, title, 20, BOLD)
        y += 10.0
        for line in under:
            y = page.words(LEFT, y, RIGHT - LEFT, line)

    return Block(tall, draw)


def ticks_block(ticks: Sequence[str], head: str = "") -> Block:
    """Return sentences to tick, one a row."""
    wide = TICK_LEFT - TEXT_LEFT - 6.0
    talls = [max(ROW, high(t, wide) + 3.0) for t in ticks]

    def draw(page: Page, y: float) -> None:
        page.line(LEFT, y, RIGHT, y, "cut")
        page.text(TEXT_LEFT, y + 7.0, head, 13, BOLD)
        y += 9.5 if head else 1.0
        for words, tall in zip(ticks, talls, strict=True):
            page.words(TEXT_LEFT, y + (tall - high(words, wide)) / 2, wide, words)
            page.tick(y + tall / 2)
            y += tall
            page.line(TEXT_LEFT, y, RIGHT, y)

    return Block(sum(talls) + (9.5 if head else 1.0) + 3.0, draw)


def gate_blocks(work: SettingOut, gate: Gate) -> Iterator[Block]:
    """Yield the blocks of a gate: head, warnings, what is ticked, what is measured, and when to stop."""
    under = [f"**{gate.head}**", gate.under, *(ZERO if gate.number == 0 else ())]
    together = [head_block(gate.title, under), *map(warning_block, gate.warnings)]
    if gate.number == 0:
        together.append(_plan_block(work))
    if gate.ticks:
        together.append(ticks_block(gate.ticks))
    yield stacked(together)
    if gate.checks:
        yield from check_rows(gate.checks, "Measure, and write what you read", (f"**{gate.stop}**",), 18, 21)


def _plan_block(work: SettingOut) -> Block:
    picture = plan_picture(work, 60.0, 50.0)

    def draw(page: Page, y: float) -> None:
        page.picture(LEFT, y, 60.0, 50.0, picture)
        page.text(84.0, y + 5.0, "The marks", 13, BOLD)
        words = Words(work)
        top = y + 8.0
        for mark in work.garden.site.marks[:5]:
            page.text(84.0, top + 5.4, mark.name, 14, READING)
            page.text(86.0 + long(mark.name, 14, READING), top + 5.4, words.of(mark.name), 12)
            page.box(RIGHT - 28.0, top, 28.0, 9.6, "thin")
            page.text(RIGHT - 27.0, top + 4.0, "sketch it here", 9)
            top += 10.6

    return Block(53.0, draw)


# ---- recovery

def recovery_blocks(work: SettingOut) -> Iterator[Block]:
    """Yield the recovery pegs: a row a peg, shape by shape, with what is written on it."""
    pegs = [p for p in work.pegs.pegs if p.purpose is Purpose.RECOVERY]
    under = (
        "**Each row:** stretch the string over the two nails named, and on past both ends. Hook tape 1 on the nail. "
        "Drive the R peg touching the string, at the reading. Write on the peg as printed. Tie a rag to it.",
        "A reading 'away from' runs the other way: from the nail, away from the second name.")
    yield head_block("R  Recovery pegs", under)
    for lot in portions(pegs, FIRST_ROWS, MOST_ROWS):
        yield _recovery_rows(lot)


def _text(peg: Peg, which: int = 0) -> str:
    reading = (peg.reading_1, peg.reading_2)[which]
    return reading.text.lstrip("-") if reading else ""


def _recovery_rows(pegs: Sequence[Peg]) -> Block:
    def draw(page: Page, y: float) -> None:
        page.line(LEFT, y, RIGHT, y, "cut")
        for x, words in ((LEFT, "peg"), (40.0, "hook on"), (62.0, "string"), (172.0, "reading")):
            page.text(x, y + 5.0, words, 9.5, anchor="end" if words == "reading" else "start")
        y += HEAD
        for peg in pegs:
            _recovery_row(page, peg, y)
            y += ROW
            page.line(LEFT, y, RIGHT, y)

    return Block(HEAD + ROW * len(pegs) + 3.0, draw)


HEAD = 6.5


def _recovery_row(page: Page, peg: Peg, y: float) -> None:
    base = y + 7.4
    page.text(LEFT, base, peg.name, 13, READING)
    page.text(40.0, base, peg.from_1, 13, READING)
    away = peg.reading_1 is not None and peg.reading_1.metres < 0
    toward = f"away from {peg.from_2}" if away else f"toward {peg.from_2}"
    if peg.method is not Method.LINE:
        toward = f"and tape 2 on {peg.from_2}: {_text(peg, 1)}"
    page.text(62.0, y + 5.0, toward, 12)
    page.text(62.0, y + 9.4, f"write: {peg.name}  {_text(peg)} to {peg.from_1}", 9)
    page.text(172.0, base, _text(peg), 18, READING, "end")
    page.tick(y + ROW / 2, size=8.2)


def find_blocks(work: SettingOut) -> Iterator[Block]:
    """Yield the ways back: how every peg that the dig takes is found again."""
    rows = sorted(work.pegs.recovery, key=lambda r: r.order)
    if not rows:
        return
    yield head_block("Find the pegs again", (
        "**Each row:** stretch both strings, tight. Hang a plumb line (a stone on a thread) where they cross. Drive "
        "the peg under it. Check.",))
    checked = any(row.check_from for row in rows)
    for lot in portions(rows, 14 if checked else FIRST_ROWS, 16 if checked else MOST_ROWS):
        yield _find_rows(lot, work)


def _way(row: Recovery, strings: dict[str, str]) -> str:
    if row.method == "crossing":
        names = [f"string {strings[s]}, {s}" if s in strings else s for s in (row.from_1, row.from_2)]
        return f"{names[0].replace('-', ' to ')}  and  {names[1].replace('-', ' to ')}"
    first = row.reading_1.text.lstrip("-") if row.reading_1 else ""
    if row.method == "line":
        away = row.reading_1 is not None and row.reading_1.metres < 0
        return f"hook on {row.from_1}, {'away from' if away else 'toward'} {row.from_2}"
    second = row.reading_2.text if row.reading_2 else ""
    return f"tape 1 on {row.from_1}: {first}, tape 2 on {row.from_2}: {second}, " \
           f"{row.side} of {row.from_1} to {row.from_2}"


def _find_rows(rows: Sequence[Recovery], work: SettingOut) -> Block:
    strings = dict(work.pegs.strings)
    tape = work.pegs.options.tape

    def draw(page: Page, y: float) -> None:
        page.line(LEFT, y, RIGHT, y, "cut")
        for row in rows:
            page.text(LEFT, y + 7.0, row.peg, 13, READING)
            page.text(40.0, y + 6.4, _way(row, strings), 11)
            if row.method == "line" and row.reading_1:
                page.text(TICK_LEFT - 4.0, y + 7.4, row.reading_1.text.lstrip("-"), 18, READING, "end")
            if row.check_from and row.check_reading and row.check_limit is not None:
                low, high_ = tape.span(row.check_reading.metres, row.check_limit)
                page.text(40.0, y + 12.8, f"check {row.check_from} to {row.peg}: good from", 10)
                page.text(104.0, y + 13.0, f"{low.text} to {high_.text}", 12, READING)
            tall = _find_height(row)
            page.tick(y + tall / 2, size=8.2)
            y += tall
            page.line(LEFT, y, RIGHT, y)

    return Block(sum(map(_find_height, rows)) + 3.0, draw)


def _find_height(row: Recovery) -> float:
    return FIND_ROW if row.check_from else ROW


# ---- levels

def level_blocks(work: SettingOut) -> Iterator[Block]:
    """Yield the pegs whose tops are set to a level: how much higher or lower than another."""
    pegs = [p for p in sorted(work.pegs.pegs, key=lambda p: p.order) if p.level_from and p.level_reading]
    if not pegs:
        return
    yield head_block("Set the tops to their levels", (
        "**Each row:** lay a straight board from the first peg to this one, with the level on it. Tap the peg down "
        "until the gap under the board is the reading. Turn the level round: the gap must not change.",
        "The top of the peg is the finished surface. More than 3 m: use a water level or a hired laser."))
    for lot in portions(pegs, FIRST_ROWS, MOST_ROWS):
        yield _level_rows(lot)


def _level_rows(pegs: Sequence[Peg]) -> Block:
    def draw(page: Page, y: float) -> None:
        page.line(LEFT, y, RIGHT, y, "cut")
        for peg in pegs:
            assert peg.level_reading is not None
            lower = peg.level_reading.metres < 0
            page.text(LEFT, y + 7.4, peg.name, 13, READING)
            page.text(40.0, y + 7.4, f"{'lower' if lower else 'higher'} than {peg.level_from}", 12)
            page.text(172.0, y + 7.4, peg.level_reading.text.lstrip("-"), 18, READING, "end")
            page.tick(y + ROW / 2, size=8.2)
            y += ROW
            page.line(LEFT, y, RIGHT, y)

    return Block(ROW * len(pegs) + 3.0, draw)


# ---- the last page

def last_blocks(work: SettingOut, gate: Gate | None) -> Iterator[Block]:
    """Yield the closing table, and what to do if it is not good."""
    if gate is not None and len(gate.checks) > 0:
        yield head_block("Closing table", (gate.under,))
        yield from check_rows(gate.checks, "Measure across", (), 12 if len(gate.checks) <= 12 else 18, 21)
        yield Block(11.0, _signature)
    yield Block(13.0 + 9.5 * len(NOT_GOOD), _not_good)
    yield Block(31.0, lambda page, y: _slips(page, y, work.garden.project.telephone))


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
        page.words(LEFT + 8.0, y + 0.6, 78.0, act, 10)
        page.words(108.0, y + 0.6, 88.0, answer, 10)
        y += 9.5
        page.line(LEFT, y, RIGHT, y)


def _slips(page: Page, y: float, telephone: str) -> None:
    page.box(LEFT, y + 1.0, RIGHT - LEFT, 20.0)
    for k, (difference, slip) in enumerate(SLIPS):
        x, top = LEFT + 3.0 + 82.0 * (k % 2), y + 6.4 + 6.0 * (k // 2)
        page.text(x, top, difference, 10, BOLD)
        page.text(x + (42.0 if k % 2 else 36.0), top, slip, 10)
    if telephone:
        page.text(LEFT, y + 28.0, f"The designer's telephone: {telephone}", 12, BOLD)
