"""A page of the booklet as one draws it: places in mm from the top left, sizes of type in points.

A4 portrait, black on white. Readings and names in DejaVu Sans Bold, words in DejaVu Sans Condensed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point, Vec
from ..geometry.kernel.segment import Line
from .draft import disc, moved
from .lettering import face, sanitised, width
from .sheet import Fill, Mark, Stroke, Text

WIDE, HIGH = 210.0, 297.0
LEFT, RIGHT, TOP, FOOT = 18.0, 198.0, 48.5, 277.0
TEXT_LEFT, TEXT_RIGHT, PICTURE_LEFT = 36.0, 134.0, 138.0
TICK_LEFT, TICK = 188.5, 9.0
MM_A_POINT = 25.4 / 72
LEADING = 1.28

READING, WORDS, BOLD = "reading", "words", "words bold"


def capitals(points: float, style: str) -> float:
    """Return the height of capitals in mm of type of a size in points."""
    return points * MM_A_POINT * face(style).capitals


def long(words: str, points: float, style: str = WORDS) -> float:
    """Return the length of words in mm."""
    return width(words, style, capitals(points, style))


def _tokens(words: str, style: str) -> Iterable[tuple[str, str]]:
    """Yield single words with their style: what stands between two pairs of stars is bold."""
    joined = re.sub(r"\*\*([,.;:!?]+)", r"\1**", words)       # a stop belongs to the word before it
    for k, part in enumerate(joined.split("**")):
        yield from ((word, BOLD if k % 2 else style) for word in map(sanitised, part.split()) if word)


def lines_of(words: str, wide: float, points: float, style: str = WORDS) -> list[list[tuple[str, str]]]:
    """Break words into lines at most `wide` mm long; each line is its words with their styles."""
    lines: list[list[tuple[str, str]]] = [[]]
    used = 0.0
    space = long("n", points, style) * 0.6
    for word, look in _tokens(words, style):
        size = long(word, points, look)
        if lines[-1] and used + space + size > wide:
            lines.append([])
            used = 0.0
        used += size + (space if lines[-1] else 0.0)
        lines[-1].append((word, look))
    return [line for line in lines if line]


def high(words: str, wide: float, points: float = 12.0, style: str = WORDS) -> float:
    """Return the height in mm that words take when set `wide` mm wide."""
    return len(lines_of(words, wide, points, style)) * points * MM_A_POINT * LEADING


class Page:
    """Marks of one page, gathered from the top down."""

    def __init__(self, title: str = "") -> None:
        self.title = title
        self.marks: list[Mark] = []

    @staticmethod
    def at(x: float, y: float) -> Point:
        """Return the paper point `x` from the left and `y` from the top, mm."""
        return Point(x, HIGH - y)

    def text(self, x: float, y: float, words: str, points: float = 12.0, style: str = WORDS, anchor: str = "start",
             tone: str = "black") -> None:
        """Set words with their baseline at `y`."""
        if sanitised(words):
            self.marks.append(Text(layer="labels", at=self.at(x, y), words=words, capitals=capitals(points, style),
                                   style=style, anchor=anchor, tone=tone))

    def words(self, x: float, y: float, wide: float, words: str, points: float = 12.0, style: str = WORDS) -> float:
        """Set a paragraph from the top `y`; return the y below it."""
        pitch = points * MM_A_POINT * LEADING
        space = long("n", points, style) * 0.6
        for line in lines_of(words, wide, points, style):
            left, run, look = x, "", ""
            for word, own in [*line, ("", "")]:
                if own != look and run:
                    self.text(left, y + pitch * 0.78, run, points, look)
                    left += long(run, points, look) + space
                    run = ""
                run, look = f"{run} {word}".strip(), own
            y += pitch
        return y

    def line(self, x0: float, y0: float, x1: float, y1: float, pen: str = "thin") -> None:
        """Draw a straight line."""
        self.marks.append(Stroke(layer="marks", path=Path((Line(self.at(x0, y0), self.at(x1, y1)),)), pen=pen))

    def box(self, x: float, y: float, wide: float, tall: float, pen: str = "edge") -> None:
        """Draw a rectangle."""
        self.marks.append(Stroke(layer="marks", path=self._ring(x, y, wide, tall), pen=pen))

    def _ring(self, x: float, y: float, wide: float, tall: float) -> Loop:
        return Loop.polygon((self.at(x, y + tall), self.at(x + wide, y + tall), self.at(x + wide, y), self.at(x, y)))

    def block(self, x: float, y: float, wide: float, tall: float, tone: str = "black") -> None:
        """Fill a rectangle."""
        self.marks.append(Fill(layer="tints", region=Region(self._ring(x, y, wide, tall)), tone=tone))

    def frame(self, x: float, y: float, wide: float, tall: float, thick: float = 1.1) -> None:
        """Fill a frame `thick` mm wide inside a rectangle."""
        inner = self._ring(x + thick, y + thick, wide - 2 * thick, tall - 2 * thick)
        self.marks.append(Fill(layer="tints", region=Region(self._ring(x, y, wide, tall), (inner,))))

    def tick(self, y: float, x: float = TICK_LEFT, size: float = TICK) -> None:
        """Draw a box for a tick, its middle at `y`."""
        self.box(x, y - size / 2, size, size)

    def number(self, x: float, y: float, number: int) -> None:
        """Draw a tape's number in a black disc with its middle there."""
        self.marks.append(disc("marks", self.at(x, y), 2.9))
        self.text(x, y + 1.5, str(number), 12, READING, "middle", "white")

    def tab(self, x: float, y: float, wide: float, tall: float, words: str, points: float) -> None:
        """Draw a black tab with white lettering in its middle."""
        self.block(x, y, wide, tall)
        self.text(x + wide / 2, y + tall / 2 + capitals(points, READING) / 2, words, points, READING, "middle", "white")

    def warning_sign(self, x: float, y: float, size: float) -> None:
        """Draw the triangle with an exclamation mark, its upper left corner there."""
        tall = size * 0.87
        corners = (self.at(x, y + tall), self.at(x + size, y + tall), self.at(x + size / 2, y))
        self.marks.append(Stroke(layer="marks", path=Loop.polygon(corners), pen="cut"))
        self.text(x + size / 2, y + tall - 1.6, "!", size * 1.6, READING, "middle")

    def picture(self, x: float, y: float, wide: float, tall: float, marks: Iterable[Mark], framed: bool = True) -> None:
        """Put a picture of that size there, its upper left corner at (x, y)."""
        self.marks += moved(marks, Vec(x, HIGH - y - tall))
        if framed:
            self.box(x, y, wide, tall, "thin")
