"""Dimensions that several sheets show alike: model space of the DXF holds each of them once.

Takes: all sheets. Gives: for each picture of a dimension on the ground, the sheets that show it.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence

from ..geometry.kernel.point import Box, Point, Vec
from .dxf_book import first_point, view_round
from .lettering import width
from .sheet import Dimension, Group, Mark, Sheet, SheetSet, Stroke, Text, View, flat

MOST_NAMED = 11
"""Characters left for the sheets of a layer in the 31 of the oldest form."""


def sharing(sheets: SheetSet) -> dict[Hashable, tuple[str, ...]]:
    """Return for each dimension of a plan the sheets that show it, the very same picture at the very same place."""
    found: dict[Hashable, tuple[str, ...]] = {}
    for sheet in sheets.sheets:
        for dimension, view in _plan_dimensions(sheet, sheet.marks):
            key = picture_of(dimension, view)
            if named(sheet) not in found.get(key, ()):
                found[key] = (*found.get(key, ()), named(sheet))
    return {key: of for key, of in found.items() if len("".join(of)) <= MOST_NAMED}


def named(sheet: Sheet) -> str:
    """Return what a layer calls a sheet: its number, and P after it for the presentation copy."""
    return f"{sheet.number:02d}{'P' * sheet.tinted}"


def _plan_dimensions(sheet: Sheet, marks: Sequence[Mark]) -> Iterator[tuple[Dimension, View]]:
    for mark in marks:
        if isinstance(mark, Group):
            yield from _plan_dimensions(sheet, mark.marks)
        elif isinstance(mark, Dimension):
            start = first_point(mark)
            view = view_round(sheet, start, mark.view) if start else None
            if view is not None and view.plan:
                yield mark, view


def picture_of(d: Dimension, view: View) -> Hashable:
    """Return what two dimensions have in common whose pictures on the ground are one: figures to a tenth of a mm."""
    def spot(p: Point) -> tuple[float, float]:
        return round(p.x, 4), round(p.y, 4)

    lettering = tuple((t.words, spot(view.ground(t.at)), t.capitals) for t in flat(d.marks) if isinstance(t, Text))
    lines = tuple(spot(view.ground(end)) for s in flat(d.marks) if isinstance(s, Stroke)
                  for end in (s.path.segments[0].start, s.path.segments[-1].end))
    return d.form, tuple(map(spot, d.points)), spot(d.line_at), d.figure, view.factor, lettering, lines


def lettering_box(text: Text, view: View) -> Box:
    """Return a box on the ground that a line of lettering stays within."""
    long = width(text.words, text.style, text.capitals)
    back = {"start": 0.0, "middle": long / 2, "end": long}[text.anchor]
    along, up = Vec.polar(text.turn, 1.0), Vec.polar(text.turn + math.pi / 2, text.capitals)
    foot = text.at + along * -back
    return Box.of([view.ground(p) for p in (foot, foot + along * long, foot + up, foot + along * long + up)])


__all__ = ["lettering_box", "named", "picture_of", "sharing"]
