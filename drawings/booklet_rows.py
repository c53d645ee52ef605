"""Blocks of the booklet: each knows its height in mm and draws itself; a table of rows may go on over a page.

What belongs together is one block and is never split; a long table is cut between two rows and carries its head again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .booklet_page import BOLD, LEFT, RIGHT, TEXT_LEFT, TICK_LEFT, Page, high

AFTER = 1.5
LEAST_ROWS = 3
"""A table is cut only where so many rows stand on either side."""

ROW = 11.0


@dataclass(frozen=True, slots=True)
class Block:
    """Something drawn from a top down: its height in mm, how to draw it, and how to cut it to a room, if at all.

    `single` marks the step of one peg: no more than three of them stand on a page.
    """

    height: float
    draw: Callable[[Page, float], None]
    cut: Callable[[float], tuple[Block, Block] | None] | None = None
    single: bool = False


def rows_block(heads: Callable[[bool], Block], heights: Sequence[float], row: Callable[[Page, int, float], None],
               first: int = 0, least: int = LEAST_ROWS) -> Block:
    """Return a table: a head (told whether it is the first one), and rows of these heights drawn by number."""
    head = heads(first == 0)

    def draw(page: Page, y: float) -> None:
        head.draw(page, y)
        y += head.height
        for k, tall in enumerate(heights):
            row(page, first + k, y)
            y += tall

    def cut(room: float) -> tuple[Block, Block] | None:
        room -= head.height + AFTER
        count = 0
        while count < len(heights) and sum(heights[:count + 1]) <= room:
            count += 1
        count = min(count, len(heights) - least)
        if count < least:
            return None
        return (rows_block(heads, heights[:count], row, first, least),
                rows_block(heads, heights[count:], row, first + count, least))

    return Block(head.height + sum(heights) + AFTER, draw, cut)


def stacked(blocks: Sequence[Block]) -> Block:
    """Return blocks that stand together as one."""
    def draw(page: Page, y: float) -> None:
        for block in blocks:
            block.draw(page, y)
            y += block.height

    return Block(sum(block.height for block in blocks), draw)


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
    wide = RIGHT - LEFT - 24.0
    tall = max(high(text, wide) + 5.0, 13.0)

    def draw(page: Page, y: float) -> None:
        page.frame(LEFT, y, RIGHT - LEFT, tall)
        page.warning_sign(LEFT + 4.0, y + tall / 2 - 5.0, 11.0)
        page.words(LEFT + 19.5, y + (tall - high(text, wide)) / 2, wide, text)

    return Block(tall + AFTER, draw)


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
    talls = [max(10.2, high(t, wide) + 3.0) for t in ticks]

    def draw(page: Page, y: float) -> None:
        page.line(LEFT, y, RIGHT, y, "cut")
        page.text(TEXT_LEFT, y + 7.0, head, 13, BOLD)
        y += 9.5 if head else 0.0
        for words, tall in zip(ticks, talls, strict=True):
            page.words(TEXT_LEFT, y + (tall - high(words, wide)) / 2, wide, words)
            page.tick(y + tall / 2, size=8.2)
            y += tall
            page.line(TEXT_LEFT, y, RIGHT, y)

    return Block(sum(talls) + (9.5 if head else 0.0) + AFTER, draw)
