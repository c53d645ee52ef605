"""The blocks of the booklet's step pages: each knows its height in mm and draws itself; none is ever split.

Takes: steps and checks in words. A reading never stands below 18 points; a check has its range, box and tick.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from ..geometry.setout import SettingOut
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
from .pictures import step_picture
from .steps import CheckLine, Form, Hook, Row, Step

T = TypeVar("T")

TITLE, HOOK, STRIP, DONE, HEADS = 14.5, 11.4, 13.5, 10.5, 6.0
ONE_LINE, TWO_LINES, CHECK_ROW, AFTER = 11.0, 18.0, 10.8, 1.8
SINGLE, SHARED = 22.0, 18.0
"""Size of a reading in points: of a single peg, and wherever several share the page's width."""

BOX_WIDE, BOX_TALL = 23.0, 8.0
PICTURE_WIDE, PICTURE_LEAST, PICTURE_MOST = 60.0, 34.0, 56.0
TEXT_WIDE = TEXT_RIGHT - TEXT_LEFT


@dataclass(frozen=True, slots=True)
class Block:
    """Something that stands whole on one page: its height in mm, and how to draw it from a top."""

    height: float
    draw: Callable[[Page, float], None]


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
    return found


def _hooks(step: Step) -> tuple[Hook, ...]:
    return step.hooks


def _heads(page: Page, step: Step, y: float) -> float:
    """Draw the number, title, hooks and sentences of a step from the top; return the y below them."""
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
    for hook in _hooks(step):
        _hook(page, hook, y)
        y += HOOK
    for sentence in (*_sentences(step), *(f"**{c}**" for c in step.cautions)):
        y = page.words(TEXT_LEFT, y, TEXT_WIDE, sentence) + 0.8
    return y


def _hook(page: Page, hook: Hook, y: float) -> None:
    page.number(TEXT_LEFT + 3.0, y + 4.2, hook.tape)
    page.text(TEXT_LEFT + 8.0, y + 6.0, hook.lead, 12)
    page.text(TEXT_LEFT + 9.5 + long(hook.lead, 12), y + 6.0, hook.at, 14, READING)
    page.text(TEXT_LEFT + 8.0, y + 10.2, hook.word, 9.5)
    if hook.reading:
        unit = "" if '"' in hook.reading else " m"
        page.text(TEXT_RIGHT, y + 7.0, hook.reading + unit, SINGLE, READING, "end")
        page.text(TEXT_RIGHT, y + 11.0, hook.paces, 9.5, anchor="end")


def _heads_height(step: Step) -> float:
    words = sum(high(s, TEXT_WIDE) + 0.8 for s in (*_sentences(step), *(f"**{c}**" for c in step.cautions)))
    return TITLE + HOOK * len(step.hooks) + words


def check_words(check: CheckLine) -> str:
    """Return a check's range as it is printed."""
    return f"{check.low} to {check.high}"


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
    word = check.word
    while long(word, 9.5) > 53.0:
        word = word.rsplit(" ", 1)[0] if " " in word else word[:-1]
    page.text(TEXT_LEFT + 2.5, y + 10.6, word, 9.5)
    page.text(TEXT_LEFT + 57.0, y + 4.4, f"good from      middle {check.middle}", 9.5)
    page.text(TEXT_LEFT + 57.0, y + 10.6, check_words(check), 14, READING)
    _box(page, y + 6.5, 28.0, "I read")
    page.tick(y + 6.5)


def _box(page: Page, middle: float, wide: float = BOX_WIDE, words: str = "") -> None:
    x = TICK_LEFT - 2.5 - wide
    page.block(x, middle - BOX_TALL / 2, wide, BOX_TALL, "white")
    page.box(x, middle - BOX_TALL / 2, wide, BOX_TALL)
    page.text(x + 1.0, middle - 1.2, words, 9)


def step_block(work: SettingOut, step: Step) -> Block:
    """Return the block of one step."""
    single = len(step.rows) == 1
    text = _heads_height(step)
    tall = min(max(text - 3.5, PICTURE_LEAST), PICTURE_MOST)
    top = max(text, tall + 3.5) + 1.0
    rows = _table(step)
    below = (STRIP if step.rows[0].check else DONE) if single else rows.height
    picture = step_picture(work, step, PICTURE_WIDE, tall)

    def draw(page: Page, y: float) -> None:
        _heads(page, step, y)
        page.picture(PICTURE_LEFT, y + 2.5, PICTURE_WIDE, tall, picture)
        if single:
            _strip(page, step.rows[0], y + top)
        else:
            rows.draw(page, y + top)

    return Block(top + below + AFTER, draw)


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


def _table(step: Step) -> Block:
    """Return the rows of a step with several pegs, in one line each, or in two where readings are long."""
    box_left = TICK_LEFT - 2.5 - BOX_WIDE
    ranges = [long(check_words(row.check), 12, READING) for row in step.rows if row.check]
    narrow = bool(ranges) and _range_left(step) + 4.0 + max(ranges) > box_left - 2.0
    pitch = TWO_LINES if narrow else ONE_LINE

    def draw(page: Page, y: float) -> None:
        _table_heads(page, step, y, not narrow and bool(ranges))
        for k, row in enumerate(step.rows):
            top = y + HEADS + pitch * k
            page.line(TEXT_LEFT, top, RIGHT, top)
            _row(page, step, row, top, narrow)
            page.tick(top + pitch / 2, size=8.2)
        end = y + HEADS + pitch * len(step.rows)
        page.line(TEXT_LEFT, end, RIGHT, end)

    return Block(HEADS + pitch * len(step.rows) + 0.5, draw)


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


def _row(page: Page, step: Step, row: Row, y: float, narrow: bool) -> None:
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
        _box(page, y + TWO_LINES / 2)
        return
    page.text(right, y + 4.0, f"from {row.check.start}", 9, anchor="end")
    page.text(right, y + 9.2, check_words(row.check), 12, READING, "end")
    _box(page, y + ONE_LINE / 2)


def portions(items: Sequence[T], first: int, most: int) -> Iterator[Sequence[T]]:
    """Yield items in lots of at most `most`, the first of at most `first`."""
    begin = 0
    while begin < len(items):
        end = begin + (first if begin == 0 else most)
        yield items[begin:end]
        begin = end


def check_rows(checks: Sequence[CheckLine], head: str, sentences: Sequence[str] = (), first: int = 12,
               most: int = 12) -> Iterator[Block]:
    """Yield blocks of check measures, each with its range, box and tick; at most `most` rows in one."""
    for k, lot in enumerate(portions(checks, first, most)):
        yield _check_block(lot, f"{head}, continued" if k else head, () if k else sentences)


def stacked(blocks: Sequence[Block]) -> Block:
    """Return blocks that stand together as one."""
    def draw(page: Page, y: float) -> None:
        for block in blocks:
            block.draw(page, y)
            y += block.height

    return Block(sum(block.height for block in blocks), draw)


def _check_block(lot: Sequence[CheckLine], head: str, sentences: Sequence[str]) -> Block:
    words = sum(high(s, RIGHT - TEXT_LEFT) for s in sentences)

    def draw(page: Page, y: float) -> None:
        page.line(LEFT, y, RIGHT, y, "cut")
        page.text(TEXT_LEFT, y + 7.0, head, 13, BOLD)
        y += 9.5
        for sentence in sentences:
            y = page.words(TEXT_LEFT, y, RIGHT - TEXT_LEFT, sentence)
        page.text(min(map(range_left, lot)), y + 4.4, "good from ... to", 9.5)
        page.text(TICK_LEFT - 30.0, y + 4.4, "I read", 9.5)
        y += HEADS
        for check in lot:
            page.line(TEXT_LEFT, y, RIGHT, y)
            _check_row(page, check, y)
            y += CHECK_ROW
        page.line(TEXT_LEFT, y, RIGHT, y)

    return Block(9.5 + words + HEADS + CHECK_ROW * len(lot) + AFTER, draw)


def range_left(check: CheckLine) -> float:
    """Return where a check row's range begins, so that it ends before its box."""
    return min(120.0, TICK_LEFT - 33.0 - long(check_words(check), 13, READING))


def _check_row(page: Page, check: CheckLine, y: float) -> None:
    page.text(TEXT_LEFT, y + 5.2, f"{check.start} to {check.end}", 13, READING)
    room = range_left(check) - 2.0 - TEXT_LEFT
    words = check.proves or check.word
    points = 9.5 if long(words, 9.5) <= room else 9.0
    while words and long(words, points) > room:
        words = words.rsplit(" ", 1)[0] if " " in words else words[:-1]
    page.text(TEXT_LEFT, y + 9.4, words, points)
    left = range_left(check)
    page.text(left, y + 5.6, check_words(check), 13, READING)
    page.text(left, y + 9.6, f"middle {check.middle}", 9.5)
    _box(page, y + CHECK_ROW / 2, 28.0)
    page.tick(y + CHECK_ROW / 2, size=8.2)


def words_block(words: str, wide: float = RIGHT - TEXT_LEFT) -> Block:
    """Return a paragraph as a block."""
    return Block(high(words, wide) + 3.0, lambda page, y: _ignore(page.words(TEXT_LEFT, y + 1.0, wide, words)))


def _ignore(_: float) -> None:
    """Let a paragraph stand as a statement."""


def warning_block(words: str) -> Block:
    """Return a warning in its frame; the signal word is bold."""
    lead, _, rest = words.partition(":") if words.startswith("WARNING") else words.partition(".")
    sign = ":" if words.startswith("WARNING") else "."
    text = f"**{lead}{sign}** {rest.strip()}"
    wide = RIGHT - LEFT - 28.0
    tall = max(high(text, wide) + 6.0, 16.0)

    def draw(page: Page, y: float) -> None:
        page.frame(LEFT, y, RIGHT - LEFT, tall)
        page.warning_sign(LEFT + 5.0, y + tall / 2 - 5.5, 12.0)
        page.words(LEFT + 23.0, y + 2.6, wide, text)

    return Block(tall + AFTER, draw)
