"""Layouts of the DXF: one a sheet, at its true size, with windows on the garden at true scale.

Takes: a Book, a sheet and what model space shows for it. Gives: a layout with what belongs to the paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..geometry.kernel.path import Loop, Path, Region
from .dxf_book import Book, first_point, view_round
from .dxf_dimensions import write_dimension
from .dxf_plan import Shown, in_model_too, tint
from .lettering import safe_name
from .sheet import LAYERS, Dimension, Fill, Group, Hatch, Mark, PegSign, Sheet, Stroke, Text, View

FIRST = "Layout1"
"""The layout that every new file has."""


def write_layout(book: Book, sheet: Sheet, number: int, shown: Shown) -> None:
    """Write the layout of a sheet; the first takes the place of the one that every file has."""
    name = safe_name(sheet.file_stem, [n for n in book.doc.layouts.names() if n != FIRST])
    if FIRST in book.doc.layouts.names():
        book.doc.layouts.rename(FIRST, name)
        layout = book.doc.layouts.get(name)
    else:
        layout = book.doc.layouts.new(name)
    layout.page_setup(size=(sheet.width, sheet.height), margins=(0, 0, 0, 0), units="mm", scale=(1, 1))
    layout.dxf.extmin, layout.dxf.extmax = (-1e-6, -1e-6, 0), (sheet.width, sheet.height, 0)
    if shown.by_sheet[number]:
        hidden = shown.hidden(number)
        made = [_window(book, layout, view, hidden) for view in sheet.views if view.plan]
        if book.coloured:
            _as_drawn(book, made, sheet, number, shown)
    for window in layout.query("VIEWPORT"):         # the library's own main window lies on a layer that is not there
        window.dxf.layer = book.layer(book.style.viewports, paper=True)
        for name in ("width", "height", "view_height"):
            window.dxf.set(name, round(window.dxf.get(name), 9))
    writer = _Paper(book, layout, sheet)
    for group in LAYERS:
        for mark in sheet.marks:
            if mark.layer == group:
                writer.put(mark, group)


def _as_drawn(book: Book, windows: Sequence[Any], sheet: Sheet, number: int, shown: Shown) -> None:
    """Let windows draw their layers as the sheet does: in black, each in the pen that the sheet draws most of it in."""
    pens = book.style.pens(sheet.size, sheet.step)
    for layer in sorted(shown.by_sheet[number]):
        pen = shown.pen(number, layer)
        weight = book.weight(book.style.width(pens, pen)) if pen else None
        book.in_windows.setdefault(layer, {}).update((window.dxf.handle, weight) for window in windows)


def _window(book: Book, layout: Any, view: View, hidden: list[str]) -> Any:
    window = view.window
    middle = view.ground(window.centre)
    made = layout.add_viewport(
        center=(round(window.centre.x, 6), round(window.centre.y, 6)),
        size=(round(window.width, 6), round(window.height, 6)),
        view_center_point=(round(middle.x * book.factor, 6), round(middle.y * book.factor, 6)),
        view_height=round(window.height / view.factor * book.factor, 9),
        dxfattribs={"layer": book.layer(book.style.viewports, paper=True)})
    made.frozen_layers = hidden     # in R12 by name, in the data that the window carries
    return made


class _Paper:
    """Writes the marks of one sheet that have no place in the garden."""

    def __init__(self, book: Book, layout: Any, sheet: Sheet) -> None:
        self.book, self.sheet = book, sheet
        self.plot = book.plotter(layout)
        self.pens = book.style.pens(sheet.size, sheet.step)
        self.outlined: set[Path | Loop] = set()

    def put(self, mark: Mark, group: str) -> None:
        """Write a mark on the layer of a drawing group unless model space holds it."""
        match mark:
            case Stroke(ground=None):
                self._stroke(mark, self.book.paper_layer(group))
            case Fill(ground=None):
                self._fill(mark, group)
            case Hatch(ground=None):
                self._hatch(mark, group)
            case Text():
                look = {"layer": self.book.paper_layer(group), **self._tone(mark.tone)}
                self.plot.lettering(self.book.words(mark.words, mark.style), mark.at, mark.capitals, mark.turn,
                                    mark.anchor, self.book.text_style(mark.style), look)
            case Group(ground=None) | PegSign() if not (self.book.old and in_model_too(mark)):
                for inner in mark.marks:
                    self.put(inner, group)
            case Dimension():
                self._dimension(mark, group)

    def _tone(self, tone: str) -> dict[str, Any]:
        if tone == "black" or not self.book.coloured:
            return {}
        value = self.book.style.colour(tone)
        return {"true_color": int(value[1:], 16)}

    def _look(self, pen: str, layer: str, dash: str = "") -> dict[str, Any]:
        look: dict[str, Any] = {"layer": layer}
        width = self.book.style.width(self.pens, pen)
        if not self.book.old:
            look["lineweight"] = self.book.weight(width)
        if dash:
            look["linetype"] = self.book.linetype(dash, paper=True)
        return look

    def _stroke(self, stroke: Stroke, layer: str) -> None:
        if self._new(stroke.path):
            self.plot.line(stroke.path, self._look(stroke.pen, layer, stroke.dash))

    def _new(self, line: Path | Loop) -> bool:
        """Say whether a line is drawn for the first time: where fills are but their outlines, both would draw it."""
        if not self.book.old:
            return True
        known = line in self.outlined
        self.outlined.add(line)
        return not known

    def _fill(self, fill: Fill, group: str) -> None:
        if self.book.old:
            if fill.tone == "black":
                self._outlines(fill.region, self.book.paper_layer(group))
        elif fill.tone == "black" or self.book.coloured:
            self.plot.solid(fill.region, tint(self.book, self.book.paper_layer(group), fill.tone, fill.opacity))

    def _outlines(self, region: Region, layer: str) -> None:
        for loop in filter(self._new, (region.outer, *region.holes)):
            self.plot.loop(loop, {"layer": layer})

    def _hatch(self, hatch: Hatch, group: str) -> None:
        layer = self.book.paper_layer(group)
        look = self._look(hatch.pen, layer)
        for line in hatch.strokes:
            self.plot.line(line, look)
        for dot in hatch.dots:
            self.plot.disc(dot.at, dot.radius, {"layer": layer})
        for region in hatch.solid:
            self._fill(Fill(layer=hatch.layer, region=region), group)

    def _dimension(self, dimension: Dimension, group: str) -> None:
        """Write a dimension of a section or detail as a real one on paper, whose factor brings mm to metres."""
        start = first_point(dimension)
        view = view_round(self.sheet, start, dimension.view) if start else None
        if view is not None and view.plan:
            return
        if view is None:
            for inner in dimension.marks:
                self.put(inner, group)
            return
        on_paper = Dimension(form=dimension.form, points=tuple(view.point(p) for p in dimension.points),
                             line_at=view.point(dimension.line_at), value=dimension.value, figure=dimension.figure,
                             marks=(), turn=dimension.turn)

        def picture(block: Any) -> None:
            inside = _Paper(self.book, block, self.sheet)
            for inner in dimension.marks:
                inside.put(inner, group)

        write_dimension(self.book, self.plot, on_paper, self.book.paper_layer(group), 1 / view.factor, picture)


__all__ = ["write_layout"]
