"""The parts that dimensions are drawn from, by ISO 129-1: lines, oblique strokes, arrows, figures.

Paper millimetres, turns in radians.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..geometry.kernel.path import Path
from ..geometry.kernel.point import Point, Vec
from ..geometry.kernel.segment import Line
from .blocks import advance, drop
from .draft import arrow
from .requests import Words
from .sheet import Fill, Stroke, Text

LAYER = "dimensions"
CAPITALS = 2.5
"""One height for every dimension of a drawing (ISO 129-1)."""

STROKE = 2.75
ARROW, SPREAD = 2.5, math.radians(15)
FIGURE_GAP = 0.9
"""Clear space between the dimension line and the baseline of its figure."""

FITS = 2.0
"""A figure fits if its line is this much longer."""

OBJECT_GAP, PAST = 1.5, 2.0
"""Gap of an extension line at the object, and how far it runs past the dimension line."""


def stroke(a: Point, b: Point, pen: str = "thin") -> Stroke:
    """Return a straight line of a dimension."""
    return Stroke(layer=LAYER, path=Path((Line(a, b),)), pen=pen)


def oblique(at: Point, turn: float) -> Stroke:
    """Return the oblique stroke that ends a dimension line of this turn: 45 degrees to it, heavier than it."""
    half = Vec.polar(turn + math.pi / 4, STROKE / 2)
    return stroke(at + -half, at + half, "mark")


def head(tip: Point, heading: float) -> Fill:
    """Return a slender arrowhead at `tip`."""
    return arrow(LAYER, tip, heading, ARROW, SPREAD)


def readable(turn: float) -> float:
    """Return the turn of lettering along a line: read from below or from the right, in (-90, 90] degrees."""
    out = (turn + math.pi / 2) % math.pi - math.pi / 2
    return out + math.pi if out < -math.pi / 2 + math.radians(1.0) else out


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure to set: its words, width and turn."""

    words: str
    turn: float

    @property
    def width(self) -> float:
        """Width of the lettering, mm."""
        return advance(Words(self.words, "regular", CAPITALS))

    def above(self, middle: Point) -> Text:
        """Return the figure centred above a point of its line."""
        at = middle + Vec.polar(self.turn + math.pi / 2, FIGURE_GAP)
        return Text(layer=LAYER, at=at, words=self.words, capitals=CAPITALS, anchor="middle", turn=self.turn)

    def box(self, middle: Point) -> tuple[float, float, float, float, float, float]:
        """Return the ink box of `above(middle)`: centre, half sizes, cosine and sine."""
        foot = drop(Words(self.words, "regular", CAPITALS))
        rise = FIGURE_GAP + (CAPITALS - foot) / 2 + 0.02
        centre = middle + Vec.polar(self.turn + math.pi / 2, rise)
        half = (CAPITALS + foot) / 2 + 0.05
        return (centre.x, centre.y, self.width / 2, half, math.cos(self.turn), math.sin(self.turn))
