"""Tables of the booklet that stand below the steps of a shape: check measures, and edges to draw."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from .booklet_page import BOLD, LEFT, READING, RIGHT, TEXT_LEFT, TICK_LEFT, Page, high, long
from .booklet_rows import AFTER, Block, rows_block, ticks_block
from .edges import Edges, Swing
from .steps import CheckLine

CHECK_ROW, EDGE_ROW = 10.3, 9.6
BOX_WIDE, BOX_TALL = 23.0, 8.0


def check_words(check: CheckLine) -> str:
    """Return a check's range as it is printed."""
    return f"{check.low} to {check.high}"


def box(page: Page, middle: float, wide: float = BOX_WIDE, words: str = "") -> None:
    """Draw the box for what was read, left of the tick."""
    x = TICK_LEFT - 2.5 - wide
    page.block(x, middle - BOX_TALL / 2, wide, BOX_TALL, "white")
    page.box(x, middle - BOX_TALL / 2, wide, BOX_TALL)
    page.text(x + 1.0, middle - 1.2, words, 9)


def check_rows(checks: Sequence[CheckLine], head: str, sentences: Sequence[str] = ()) -> Block:
    """Return check measures, each with its range, box and tick."""
    def heads(first: bool) -> Block:
        words = sentences if first else ()
        tall = sum(high(s, RIGHT - TEXT_LEFT) for s in words)

        def draw(page: Page, y: float) -> None:
            page.line(LEFT, y, RIGHT, y, "cut")
            title = head if first else f"{head}, continued"
            page.text(TEXT_LEFT, y + 7.0, title, 13, BOLD)
            page.text(TICK_LEFT - 30.0, y + 7.0, "I read", 9.5)
            named = "good from ... to"
            if TEXT_LEFT + long(title, 13, BOLD) + 2.0 < TICK_LEFT - 34.0 - long(named, 9.5):
                page.text(TICK_LEFT - 34.0, y + 7.0, named, 9.5, anchor="end")
            y += 9.5
            for sentence in words:
                y = page.words(TEXT_LEFT, y, RIGHT - TEXT_LEFT, sentence)
            page.line(TEXT_LEFT, y + 0.5, RIGHT, y + 0.5)

        return Block(10.0 + tall, draw)

    return rows_block(heads, [CHECK_ROW] * len(checks), lambda page, k, y: check_row(page, checks[k], y))


def range_left(check: CheckLine) -> float:
    """Return where a check row's range begins, so that it ends before its box."""
    return min(120.0, TICK_LEFT - 33.0 - long(check_words(check), 13, READING))


def fitted(words: str, room: float, points: float = 9.5) -> tuple[str, float]:
    """Return words cut at a word so that they fit a room, and their size in points (9.5, or 9 where that helps)."""
    points = points if long(words, points) <= room else 9.0
    while words and long(words, points) > room:
        words = words.rsplit(" ", 1)[0] if " " in words else words[:-1]
    return words, points


def check_row(page: Page, check: CheckLine, y: float) -> None:
    """Draw one check: between what, range, middle, box, tick."""
    page.text(TEXT_LEFT, y + 5.2, f"{check.start} to {check.end}", 13, READING)
    left = range_left(check)
    words, points = fitted(check.proves or check.word, left - 2.0 - TEXT_LEFT)
    page.text(TEXT_LEFT, y + 9.2, words, points)
    page.text(left, y + 5.4, check_words(check), 13, READING)
    page.text(left, y + 9.3, f"middle {check.middle}", 9.5)
    box(page, y + CHECK_ROW / 2, 28.0)
    page.tick(y + CHECK_ROW / 2, size=8.2)
    page.line(TEXT_LEFT, y + CHECK_ROW, RIGHT, y + CHECK_ROW)


def edge_blocks(edges: Edges) -> Iterator[Block]:
    """Yield the edges of a shape: those round a centre peg a row each, then the others as sentences."""
    if edges.swings:
        yield _swings(edges.swings)
    if edges.others:
        yield ticks_block(edges.others, "" if edges.swings else "Draw the edge")


def _swings(swings: Sequence[Swing]) -> Block:
    words = "**Each row:** walk. Trickle sand at the reading, past every peg. Leave the centre in."

    def heads(first: bool) -> Block:
        tall = high(words, RIGHT - TEXT_LEFT) if first else 0.0

        def draw(page: Page, y: float) -> None:
            page.line(LEFT, y, RIGHT, y, "cut")
            page.text(TEXT_LEFT, y + 7.0, "Draw the edge", 13, BOLD)
            if first:
                page.words(TEXT_LEFT, y + 9.0, RIGHT - TEXT_LEFT, words)
            page.line(TEXT_LEFT, y + 9.7 + tall, RIGHT, y + 9.7 + tall)

        return Block(9.7 + tall, draw)

    def row(page: Page, k: int, y: float) -> None:
        swing, base = swings[k], y + 6.9
        page.text(TEXT_LEFT, base, "Hook on", 12)
        left = TEXT_LEFT + long("Hook on ", 12) + 1.0
        page.text(left, base, swing.centre, 14, READING)
        page.text(left + 24.0, base, f"swing {swing.where}", 12)
        unit = "" if '"' in swing.reading else " m"
        page.text(TICK_LEFT - 6.0, base, swing.reading + unit, 18, READING, "end")
        page.tick(y + EDGE_ROW / 2, size=7.6)
        page.line(TEXT_LEFT, y + EDGE_ROW, RIGHT, y + EDGE_ROW)

    return rows_block(heads, [EDGE_ROW] * len(swings), row)


__all__ = ["AFTER", "Block", "box", "check_row", "check_rows", "check_words", "edge_blocks", "fitted", "range_left"]
