"""Filling pages with blocks in the order of work: nothing that belongs together is split, no page is over-full."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from ..geometry.errors import DrawingError, refuse
from .booklet_page import FOOT, Page
from .booklet_rows import Block

SQUEEZE = 1.5
"""Blocks may run this far past the foot's clear space before a page is full, mm."""

SINGLES = 3
"""Steps of one peg on a page at most."""


@dataclass(slots=True)
class Filled:
    """How far down a page is full, and how many steps of one peg stand on it."""

    y: float
    singles: int = 0

    @property
    def left(self) -> float:
        """The room that is left, mm."""
        return FOOT + SQUEEZE - self.y

    def holds(self, *blocks: Block) -> bool:
        """Say whether these blocks still fit."""
        singles = sum(block.single for block in blocks)
        return sum(b.height for b in blocks) <= self.left and (not singles or self.singles + singles <= SINGLES)

    def add(self, block: Block) -> None:
        """Count a block as set."""
        self.y += block.height
        self.singles += block.single


def arranged(blocks: Sequence[Block], here: Filled, top: float, title: str) -> list[list[Block]]:
    """Return the blocks page by page, the first list going on where `here` is full to, the others from `top` down.

    Raises DrawingError for a block that no page holds and that cannot be cut.
    """
    pages: list[list[Block]] = [[]]
    here = Filled(here.y, here.singles)
    waiting = list(reversed(blocks))
    while waiting:
        block = waiting.pop()
        if here.holds(block):
            pages[-1].append(block)
            here.add(block)
            continue
        parts = block.cut(here.left) if block.cut else None
        if parts is not None:
            pages[-1].append(parts[0])
            waiting.append(parts[1])
        elif not pages[-1] and here.y <= top:
            raise refuse(DrawingError, f"a block of '{title}' is {block.height:.0f} mm high; a page of the booklet "
                         f"holds {here.left:.0f} mm", "give the element a shorter name", "booklet-block")
        else:
            waiting.append(block)
        pages.append([])
        here = Filled(top)
    return pages


@dataclass(slots=True)
class Book:
    """Pages while they are filled: the page in hand, and how far down it is full."""

    before: int                     # pages in front of these
    pages: list[Page] = field(default_factory=list)
    here: Filled = field(default_factory=lambda: Filled(FOOT))
    strip: bool = False             # the strip of gate 1 waits for a page

    @property
    def number(self) -> int:
        """The number of the page in hand."""
        return len(self.pages) + self.before

    def fresh(self, title: str, top: float) -> Page:
        """Begin a new page."""
        self.pages.append(Page(title))
        self.here = Filled(top)
        return self.pages[-1]

    def add(self, block: Block) -> None:
        """Draw a block on the page in hand."""
        block.draw(self.pages[-1], self.here.y)
        self.here.add(block)
