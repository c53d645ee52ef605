"""The blocks of the booklet's step pages: each knows its height in mm and draws itself; none is ever split.

Takes: steps and checks in words. A reading never stands below 18 points; a check has its range, box and tick.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from .booklet_checks import BOX_WIDE, box, check_words, fitted
from .booklet_page import (
    BOLD,
    LEFT,
    PICTURE_LEFT,
    READING,
    RIGHT,
    TEXT_LEFT,
    TEXT_RIGHT,
    TICK_LEFT,
    Page,
    high,
    long,
)
from .booklet_rows import AFTER, Block
from .booklet_strip import strip_block
from .pictures import Pictures
from .steps import Form, Hook, Row, Step

TITLE, HOOK, STRIP, DONE, HEADS = 14.5, 11.4, 13.3, 10.5, 6.0
ONE_LINE, TWO_LINES = 11.0, 18.0
SQUEEZED = 0.95
"""Rows of a tight step are this much lower."""

SINGLE, SHARED = 22.0, 18.0
"""Size of a reading in points: of a single peg, and wherever several share the page's width."""

PICTURE_WIDE, PICTURE_LEAST, PICTURE_MOST = 60.0, 34.0, 56.0
THIRD = 76.6
"""Three blocks of a single peg stand on a page: none is higher than this, mm, where its words allow."""

TEXT_WIDE = TEXT_RIGHT - TEXT_LEFT


def _sentences(step: Step) -> list[str]:
    """Return the instructions in the order of doing, LEFT and RIGHT bold."""
    once, each = " ".join(step.once), " ".join(step.each)
    for hand in ("LEFT", "RIGHT"):
        once, each = once.replace(f"your {hand}", f"your **{hand}**"), each.replace(f"your {hand}", f"your **{hand}**")
    many = len(step.rows) > 1
    found = [f"**Once:** {once}" if many else once] if once else []
    if each:
        checked = " Check." if all(row.check for row in step.rows) else ""
        found.append(f"**Each row:** {each}{checked}" if many else each)
    sight = step.rows[0].toward
    if not many and sight:
        found.insert(0, f"**In line with {sight}.**")
    return [*found, *(f"**{c}**" for c in step.cautions)]


def _heads(page: Page, step: Step, y: float) -> float:
    """Draw the number, title and hooks of a step from the top; return the y below them."""
    page.line(LEFT, y, RIGHT, y, "cut")
    page.text(26.0, y + 9.5, str(step.number), 24, READING, "middle")
    page.text(26.0, y + 14.0, "step", 11, anchor="middle")
    lead = step.title.split(" ")[0]
    page.text(TEXT_LEFT, y + 7.0, lead, 15, BOLD)
    left, rest = TEXT_LEFT + long(lead + " ", 15, BOLD) + 1.2, step.title[len(lead) + 1:]
    size = 17.0 if left + long(rest, 17, READING) <= TEXT_RIGHT + 1.0 else 13.0
    page.text(left, y + 7.0, rest, size, READING)
    page.text(TEXT_LEFT, y + 12.2, step.what, 11)
    y += TITLE
    for hook in step.hooks:
        _hook(page, hook, y)
        y += HOOK
    return y


def _instruct(page: Page, step: Step, y: float, wide: float) -> None:
    for sentence in _sentences(step):
        y = page.words(TEXT_LEFT, y, wide, sentence) + 0.8


def _hook(page: Page, hook: Hook, y: float) -> None:
    page.number(TEXT_LEFT + 3.0, y + 4.2, hook.tape)
    page.text(TEXT_LEFT + 8.0, y + 6.0, hook.lead, 12)
    page.text(TEXT_LEFT + 9.5 + long(hook.lead, 12), y + 6.0, hook.at, 14, READING)
    page.text(TEXT_LEFT + 8.0, y + 10.2, hook.word, 9.5)
    if hook.reading:
        unit = "" if '"' in hook.reading else " m"
        page.text(TEXT_RIGHT, y + 7.0, hook.reading + unit, SINGLE, READING, "end")
        page.text(TEXT_RIGHT, y + 11.0, hook.paces, 9.5, anchor="end")


def _words_height(step: Step, wide: float) -> float:
    return sum(high(s, wide) + 0.8 for s in _sentences(step))


def _strip(page: Page, row: Row, y: float) -> None:
    """Draw the check of a single peg, or the tick alone where nothing independent can check it."""
    check = row.check
    if check is None:
        page.line(TEXT_LEFT, y + 1.0, RIGHT, y + 1.0)
        page.text(TICK_LEFT - 3.0, y + 7.4, f"{row.peg} driven", 12, anchor="end")
        page.tick(y + 6.0)
        return
    page.block(TEXT_LEFT, y, RIGHT - TEXT_LEFT, 13.0, "shade")
    page.box(TEXT_LEFT, y, RIGHT - TEXT_LEFT, 13.0)
    page.text(TEXT_LEFT + 2.5, y + 5.6, f"Check {check.start} to {check.end}", 12, BOLD)
    word, points = fitted(check.word, 53.0)
    page.text(TEXT_LEFT + 2.5, y + 10.6, word, points)
    page.text(TEXT_LEFT + 57.0, y + 4.4, f"good from      middle {check.middle}", 9.5)
    page.text(TEXT_LEFT + 57.0, y + 10.6, check_words(check), 14, READING)
    box(page, y + 6.5, 28.0, "I read")
    page.tick(y + 6.5)


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where the parts of a block stand: height of the picture, where the words begin, whether below it, their end."""

    tall: float
    start: float
    under: bool
    top: float


def _layout(step: Step, below: float, tight: bool) -> _Layout:
    """Return the layout of a block: words beside the picture, or below it where that keeps to a third of a page.

    `tight` takes the lower of the two, with the smallest picture.
    """
    hooks = TITLE + HOOK * len(step.hooks)
    beside = hooks + _words_height(step, TEXT_WIDE)
    wide = _words_height(step, RIGHT - TEXT_LEFT)
    least = max(beside, PICTURE_LEAST + 3.5) + 0.5
    low = max(hooks, PICTURE_LEAST + 3.0) + wide
    if low < least if tight else len(step.rows) == 1 and least + below + AFTER > THIRD:
        room = PICTURE_LEAST if tight else THIRD - AFTER - below - wide - 3.0
        tall = min(max(room, PICTURE_LEAST, hooks - 3.0), PICTURE_MOST)
        start = max(hooks, tall + 3.0)
        return _Layout(tall, start, True, start + wide)
    tall = min(max(beside - 3.5, PICTURE_LEAST), PICTURE_MOST)
    return _Layout(tall, hooks, False, max(beside, tall + 3.5) + 0.5)


def _below(step: Step) -> float:
    """Return the height of what stands below the words of a single peg, mm: its check, or the tick alone."""
    return 0.0 if len(step.rows) > 1 else STRIP if step.rows[0].check else DONE


def picture_size(step: Step) -> tuple[float, float]:
    """Return width and height of a step's picture where its block is not kept low, mm."""
    return PICTURE_WIDE, _layout(step, _below(step), False).tall


def step_block(pictures: Pictures, step: Step, tight: bool = False) -> Block:
    """Return the block of one step; `tight` keeps it as low as may be."""
    single, below = len(step.rows) == 1, _below(step)
    rows = None if single else _rows(step, SQUEEZED if tight else 1.0)
    lay = _layout(step, below, tight)

    def draw(page: Page, y: float) -> None:
        named = rows is None or not rows.named
        page.picture(PICTURE_LEFT, y + 2.0, PICTURE_WIDE, lay.tall,
                     pictures.of(step, PICTURE_WIDE, lay.tall, all_named=named).marks)
        _heads(page, step, y)
        _instruct(page, step, y + lay.start, RIGHT - TEXT_LEFT if lay.under else TEXT_WIDE)
        if rows is None:
            _strip(page, step.rows[0], y + lay.top)
        else:
            rows.draw(page, y + lay.top)

    return Block(lay.top + (below if rows is None else rows.height) + AFTER, draw, single=single)


def _columns(step: Step) -> list[str]:
    """Return the heads of the columns of readings that differ from row to row."""
    names = {Form.OFFSET: ("along", "out"), Form.TANGENT: ("along", "out"), Form.CHORD: ("along", "out")}
    return [names[step.form][k] if step.form in names else f"tape {hook.tape}"
            for k, hook in enumerate(step.hooks) if not hook.reading]


def _readings(step: Step, row: Row) -> list[str]:
    """Return a row's readings that are not printed once for all."""
    return [text for text, hook in zip(row.readings, step.hooks, strict=False) if not hook.reading]


def _range_left(step: Step) -> float:
    """Return where a row's readings end and its check may begin, mm."""
    x = TEXT_LEFT + 20.0
    if any(row.toward for row in step.rows):
        x += 4.0 + max(long(row.toward, 12, BOLD) for row in step.rows)
    for k, _ in enumerate(_columns(step)):
        x += 5.0 + max(long(_readings(step, row)[k], SHARED, READING) for row in step.rows)
    return x


@dataclass(frozen=True, slots=True)
class _Table:
    """The rows below a step's head; `named` says that they are a picture that names the pegs."""

    height: float
    draw: Callable[[Page, float], None]
    named: bool = False


def _rows(step: Step, squeeze: float) -> _Table:
    strip = strip_block(step)
    return _Table(strip.height, strip.draw, named=True) if strip else _table(step, squeeze)


def _table(step: Step, squeeze: float) -> _Table:
    """Return the rows of a step with several pegs, in one line each, or in two where readings are long."""
    box_left = TICK_LEFT - 2.5 - BOX_WIDE
    ranges = [long(check_words(row.check), 12, READING) for row in step.rows if row.check]
    narrow = bool(ranges) and _range_left(step) + 4.0 + max(ranges) > box_left - 2.0
    pitch = squeeze * (TWO_LINES if narrow else ONE_LINE)

    def draw(page: Page, y: float) -> None:
        _table_heads(page, step, y, not narrow and bool(ranges))
        for k, row in enumerate(step.rows):
            top = y + HEADS + pitch * k
            page.line(TEXT_LEFT, top, RIGHT, top)
            _row(page, step, row, top, narrow, pitch)
            page.tick(top + pitch / 2, size=8.2)
        end = y + HEADS + pitch * len(step.rows)
        page.line(TEXT_LEFT, end, RIGHT, end)

    return _Table(HEADS + pitch * len(step.rows) + 0.5, draw)


def _reading_ends(step: Step) -> list[float]:
    x = TEXT_LEFT + 20.0
    ends = []
    for k, _ in enumerate(_columns(step)):
        x += 5.0 + max(long(_readings(step, row)[k], SHARED, READING) for row in step.rows)
        ends.append(x)
    return ends


def _table_heads(page: Page, step: Step, y: float, ranged: bool) -> None:
    page.text(TEXT_LEFT, y + 4.4, "peg", 9.5)
    ends = _reading_ends(step)
    for name, x in zip(_columns(step), ends, strict=True):
        page.text(x, y + 4.4, name, 9.5, anchor="end")
    after = (ends[-1] if ends else TEXT_LEFT + 20.0) + 4.0
    if any(row.toward for row in step.rows):
        page.text(after, y + 4.4, "in line with", 9.5)
    if ranged:
        page.text(TICK_LEFT - 4.5 - BOX_WIDE, y + 4.4, "check, good from ... to", 9.5, anchor="end")
        page.text(TICK_LEFT - 1.5 - BOX_WIDE, y + 4.4, "I read", 9.5)


def _row(page: Page, step: Step, row: Row, y: float, narrow: bool, pitch: float) -> None:
    base = y + 7.6
    page.text(TEXT_LEFT, base, row.peg, 13, READING)
    ends = _reading_ends(step)
    for text, x in zip(_readings(step, row), ends, strict=True):
        page.text(x, base, text, SHARED, READING, "end")
    if row.toward:
        page.text((ends[-1] if ends else TEXT_LEFT + 20.0) + 4.0, base, row.toward, 12, BOLD)
    if row.check is None:
        return
    right = TICK_LEFT - 4.5 - BOX_WIDE
    if narrow:
        page.text(TEXT_LEFT + 20.0, y + 15.0, f"{row.check.start} to {row.peg}: good from", 10)
        page.text(right, y + 15.0, check_words(row.check), 12, READING, "end")
        box(page, y + pitch / 2)
        return
    page.text(right, y + 4.0, f"from {row.check.start}", 9, anchor="end")
    page.text(right, y + 9.2, check_words(row.check), 12, READING, "end")
    box(page, y + pitch / 2)
