"""PDF: every sheet a page at its true size, drawn directly, fonts embedded as subsets, text searchable.

Takes: a SheetSet. Gives: bytes, the same for the same sheets. The only module of the sheets that knows the
PDF library. Printers are told not to scale; each sheet's measured bar proves it.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from importlib.resources import files
from typing import Any

from .. import templates
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.segment import Arc, Segment
from .lettering import FACES, checked, font_size, plain, width
from .runs import Bundle, Part, Run, in_layers
from .sheet import Dot, Fill, Hatch, Sheet, SheetSet, Text
from .style import Style, house_style

POINTS = 72 / 25.4
"""PDF points in a millimetre."""

SHEET_STYLES = ("regular", "bold", "italic")

_STEP = math.pi / 4
"""Arcs are written as cubic curves of at most this turn: they stray by 4e-6 of the radius."""


def pdf_bytes(sheets: SheetSet, style: Style | None = None) -> bytes:
    """Return all sheets as one PDF; DrawingError for a layer, pen, tone or character that does not exist."""
    return _Writer(sheets, style or house_style()).data()


def register(styles: Iterable[str] = SHEET_STYLES) -> None:
    """Make the faces of the given styles of lettering known to the PDF library under their file names."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    known = set(pdfmetrics.getRegisteredFontNames())
    for name in (FACES[s] for s in styles):
        if name not in known:
            data = (files(templates) / "fonts" / f"{name}.ttf").read_bytes()
            pdfmetrics.registerFont(TTFont(name, io.BytesIO(data)))


class _Writer:
    """Writes one set; holds the canvas, and of the sheet at hand its pens."""

    def __init__(self, sheets: SheetSet, style: Style) -> None:
        from reportlab.pdfgen.canvas import Canvas
        register(FACES)
        self.sheets, self.style, self.buffer = sheets, style, io.BytesIO()
        made: Any = Canvas      # the library's own annotations take the font's name for a number
        self.canvas = made(self.buffer, invariant=1, pageCompression=1, initialFontName=FACES["regular"])
        self.pens = style.pens("A3")

    def data(self) -> bytes:
        """Return the whole file."""
        c = self.canvas
        c.setTitle(plain(self.sheets.title))
        c.setAuthor(plain(self.sheets.author))
        c.setSubject(plain(self.sheets.subject))
        c.setCreator("pegbook")
        c.setViewerPreference("PrintScaling", "None")
        c.setViewerPreference("DisplayDocTitle", "true")
        for page, sheet in enumerate(self.sheets.sheets):
            self._page(page, sheet)
        c.showOutline()
        c.save()
        return self.buffer.getvalue()

    def _page(self, page: int, sheet: Sheet) -> None:
        c = self.canvas
        self.pens = self.style.pens(sheet.size, sheet.step)
        c.setPageSize((sheet.width * POINTS, sheet.height * POINTS))
        c.addPageLabel(page, prefix=plain(f"{sheet.number:02d} {sheet.name}"))
        c.bookmarkPage(sheet.file_stem)
        c.addOutlineEntry(plain(f"{sheet.number:02d} {sheet.title}"), sheet.file_stem, 0)
        c.scale(POINTS, POINTS)
        c.setLineJoin(1)
        for _, parts in in_layers(sheet):
            for part in parts:
                self._put(part)
        c.showPage()

    def _put(self, part: Part) -> None:
        match part:
            case Bundle(parts=parts):
                for child in parts:
                    self._put(child)
            case Run():
                self._run(part)
            case Fill():
                self._fill(part)
            case Hatch():
                self._hatch(part)
            case Text():
                self._text(part)

    def _run(self, run: Run) -> None:
        c = self.canvas
        c.setStrokeGray(0)
        c.setLineWidth(self.style.width(self.pens, run.pen))
        c.setDash(list(self.style.dash(run.dash)))
        c.setLineCap(1 if run.round_ends else 0)
        path = c.beginPath()
        for line in run.paths:
            _trace(path, line)
        c.drawPath(path, stroke=1, fill=0)

    def _fill(self, fill: Fill) -> None:
        c = self.canvas
        self._tone(fill.tone)
        clear = fill.opacity < 1
        if clear:
            c.saveState()
            c.setFillAlpha(fill.opacity)
        c.drawPath(_area(c.beginPath(), (fill.region,)), stroke=0, fill=1, fillMode=0)
        if clear:
            c.restoreState()

    def _tone(self, tone: str) -> None:
        from reportlab.lib.colors import HexColor
        if tone == "black":
            self.canvas.setFillGray(0)
        elif tone == "white":
            self.canvas.setFillGray(1)
        else:
            self.canvas.setFillColor(HexColor(self.style.colour(tone)))

    def _hatch(self, hatch: Hatch) -> None:
        c = self.canvas
        if hatch.strokes:
            self._run(Run(hatch.strokes, hatch.pen, "", hatch.round_ends, ()))
        if hatch.dots or hatch.solid:
            c.setFillGray(0)
            path = _area(c.beginPath(), hatch.solid)
            for dot in hatch.dots:
                _disc(path, dot)
            c.drawPath(path, stroke=0, fill=1, fillMode=0 if hatch.solid else 1)

    def _text(self, text: Text) -> None:
        c = self.canvas
        words = checked(text.words, text.style)
        size = font_size(text.capitals, text.style)
        start = {"start": 0.0, "middle": -0.5, "end": -1.0}[text.anchor] * width(words, text.style, text.capitals)
        self._tone(text.tone)
        cos, sin = math.cos(text.turn), math.sin(text.turn)
        line = c.beginText()
        line.setTextTransform(cos, sin, -sin, cos, text.at.x + start * cos, text.at.y + start * sin)
        line.setFont(FACES[text.style], size)
        line.textOut(words)
        c.drawText(line)


def _trace(path: Any, line: Path | Loop) -> None:
    first = line.segments[0].start
    path.moveTo(first.x, first.y)
    for segment in line.segments:
        _segment(path, segment)
    if isinstance(line, Loop):
        path.close()


def _segment(path: Any, segment: Segment) -> None:
    if not isinstance(segment, Arc):
        path.lineTo(segment.end.x, segment.end.y)
        return
    count = max(1, math.ceil(abs(segment.sweep) / _STEP - 1e-9))
    step = segment.sweep / count
    reach = 4 / 3 * math.tan(step / 4) * segment.radius
    x, y, r = segment.centre.x, segment.centre.y, segment.radius
    for k in range(count):
        a, b = segment.begin + k * step, segment.begin + (k + 1) * step
        ca, sa, cb, sb = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
        end = segment.end if k == count - 1 else None
        ex, ey = (end.x, end.y) if end else (x + r * cb, y + r * sb)
        path.curveTo(x + r * ca - reach * sa, y + r * sa + reach * ca, ex + reach * sb, ey - reach * cb, ex, ey)


def _area(path: Any, regions: Iterable[Region]) -> Any:
    for region in regions:
        for loop in (region.outer, *region.holes):
            _trace(path, loop)
    return path


def _disc(path: Any, dot: Dot) -> None:
    path.circle(dot.at.x, dot.at.y, dot.radius)


__all__ = ["POINTS", "pdf_bytes", "register"]
