"""A block of lettering: several lines set as one, its size, and its marks at a place.

Takes words from requests and measures them with the advances of the very font that is written out.
Paper millimetres, turns in radians.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point, Vec
from ..geometry.kernel.segment import Line
from .lettering import width
from .requests import Words
from .sheet import Mark, Stroke, Text

CAPITAL_SHARE = 0.688
"""Capital height of Liberation Sans 2 as a share of its em (read from the font's OS/2 table)."""

FLAT = frozenset("0123456789ABCDEFGHIJKLMNOPRSTUVWXYZacemnorsuvwxz .:·-–×+=<>~*#%²")
"""Characters whose ink stays between the baseline and the height of figures."""
DEEP = frozenset("gjpqyQ$,;()[]{}@_|/\\ØÇç")
FLAT_TOP, TALL_TOP, ACCENT_TOP = 0.700, 0.742, 0.860
DEEP_FOOT, FLAT_FOOT = 0.224, 0.015
"""Ink above and below the baseline as shares of the em, Liberation Sans 2 (the largest of its three
styles, read from its glyphs): figures and capitals, tall letters, capitals with an accent."""

NAME_PITCH = 4.8
LINE_PITCH = 4.2
"""Distance of baselines below a name of 3.5, and between lines of 2.5."""

UNDERLINE = 0.75


def rise(words: Words) -> float:
    """Return how far ink stands above the baseline, mm."""
    letters = set(words.words)
    if any(c.isupper() and not c.isascii() for c in letters):
        share = ACCENT_TOP
    else:
        share = FLAT_TOP if letters <= FLAT else TALL_TOP
    return words.capitals / CAPITAL_SHARE * share


def drop(words: Words) -> float:
    """Return how far ink hangs below the baseline, mm."""
    letters = set(words.words)
    deep = bool(letters & DEEP) or any(not c.isascii() and c not in FLAT for c in letters)
    return words.capitals / CAPITAL_SHARE * (DEEP_FOOT if deep else FLAT_FOOT)


def advance(words: Words) -> float:
    """Return the width of one line, mm."""
    return width(words.words, words.style, words.capitals)


def pitch(above: Words, below: Words) -> float:
    """Return the distance of two baselines: 4.8 below a name of 3.5, 4.2 between lines of 2.5, else in proportion."""
    if above.capitals > below.capitals:
        return NAME_PITCH * above.capitals / 3.5
    return LINE_PITCH * below.capitals / 2.5


@dataclass(frozen=True, slots=True)
class Block:
    """Lines set as one block: width, ink above the first baseline, ink below it down to the last line's foot, in mm."""

    lines: tuple[Words, ...]
    width: float
    above: float
    below: float
    baselines: tuple[float, ...]    # depth of each baseline below the first
    underlined: bool = False

    @property
    def height(self) -> float:
        """Height of the ink, mm."""
        return self.above + self.below

    @property
    def shoulder(self) -> float:
        """Half the capital height of the first line: where a leader points, above the first baseline."""
        return self.lines[0].capitals / 2


def block(lines: Sequence[Words], underlined: bool = False) -> Block:
    """Return the block of `lines`, one below the other."""
    depths = [0.0]
    for above, below in pairwise(lines):
        depths.append(depths[-1] + pitch(above, below))
    foot = max(depth + drop(line) for depth, line in zip(depths, lines, strict=True))
    foot = max(foot, depths[-1] + UNDERLINE + 0.1) if underlined else foot
    return Block(tuple(lines), max(map(advance, lines)), rise(lines[0]), foot, tuple(depths), underlined)


def in_one_line(lines: Sequence[Words], apart: float = 2.0) -> tuple[float, float, float]:
    """Return width, ink above and ink below of the lines set side by side, `apart` mm between them."""
    wide = sum(map(advance, lines)) + apart * (len(lines) - 1)
    return wide, max(map(rise, lines)), max(map(drop, lines))


def corner_box(corner: Point, wide: float, high: float, turn: float = 0.0) -> Region:
    """Return the rectangle with its lower left `corner`, turned about it."""
    along, up = Vec.polar(turn, wide), Vec.polar(turn + math.pi / 2, high)
    return Region(Loop.polygon((corner, corner + along, corner + along + up, corner + up)))


def ink_corners(corner: Point, wide: float, high: float, turn: float) -> tuple[tuple[float, float], ...]:
    """Return the corners of the same rectangle as plain figures, x and y, anticlockwise from the lower left one."""
    x, y, cos, sin = corner.x, corner.y, math.cos(turn), math.sin(turn)
    right, left = (wide * cos, wide * sin), (-high * sin, high * cos)
    return ((x, y), (x + right[0], y + right[1]), (x + right[0] + left[0], y + right[1] + left[1]),
            (x + left[0], y + left[1]))


def block_marks(setting: Block, corner: Point, align: str, layer: str, classes: tuple[str, ...]) -> tuple[Mark, ...]:
    """Return the marks of a level block whose ink has its lower left `corner` there.

    align: 'start', 'middle' or 'end' of the lines within the block's width.
    """
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[align]
    x, y = corner.x + setting.width * share, corner.y + setting.below
    marks: list[Mark] = [
        Text(layer=layer, at=Point(x, y - depth), words=line.words, capitals=line.capitals, style=line.style,
             anchor=align, classes=classes)
        for line, depth in zip(setting.lines, setting.baselines, strict=True)]
    if setting.underlined:
        last, depth = setting.lines[-1], setting.baselines[-1]
        left = Point(x - advance(last) * share, y - depth - UNDERLINE)
        under = Path((Line(left, left + Vec(advance(last), 0)),))
        marks.append(Stroke(layer=layer, path=under, pen="thin", classes=classes))
    return tuple(marks)


def row_marks(lines: Sequence[Words], corner: Point, turn: float, layer: str, classes: tuple[str, ...],
              apart: float = 2.0) -> tuple[Mark, ...]:
    """Return the marks of lines set side by side on one turned baseline; `corner` is the lower left of the ink."""
    foot = max(map(drop, lines))
    at = corner + Vec.polar(turn + math.pi / 2, foot)
    marks: list[Mark] = []
    for line in lines:
        marks.append(Text(layer=layer, at=at, words=line.words, capitals=line.capitals, style=line.style, turn=turn,
                          classes=classes))
        at = at + Vec.polar(turn, advance(line) + apart)
    return tuple(marks)
