"""PDF: every sheet a page at its true size, drawn directly, fonts embedded as subsets, text searchable.

Takes: a SheetSet. Gives: bytes, the same for the same sheets. The only module of the sheets that knows the
PDF library. Printers are told not to scale; each sheet's measured bar proves it.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
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


@contextmanager
def _compact() -> Iterator[None]:
    """Let the library write compressed streams as they are, not once more as text."""
    from reportlab import rl_config
    config: Any = rl_config
    before = config.useA85
    config.useA85 = 0
    try:
        yield
    finally:
        config.useA85 = before


class _Writer:
    """Writes one set; holds the canvas, and of the sheet at hand its pens."""

    def __init__(self, sheets: SheetSet, style: Style) -> None:
        from reportlab.pdfgen.canvas import Canvas
        register(FACES)
        self.sheets, self.style, self.buffer = sheets, style, io.BytesIO()
        made: Any = Canvas      # the library's own annotations take the font's name for a number
        self.canvas = made(self.buffer, invariant=1, pageCompression=1, initialFontName=FACES["regular"],
                           lang="en-GB")
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
        with _compact():
            for page, sheet in enumerate(self.sheets.sheets):
                self._page(page, sheet)
        c.showOutline()
        with _compact():
            c.save()
        return self.buffer.getvalue()

    def _page(self, page: int, sheet: Sheet) -> None:
        c = self.canvas
        self.pens = self.style.pens(sheet.size, sheet.step)
        c.setPageSize((sheet.width * POINTS, sheet.height * POINTS))
        c.addPageLabel(page, prefix=plain(f"{sheet.number:02d} {sheet.name}{' presentation' * sheet.tinted}"))
        for number, words in enumerate(sheet.bookmarks):
            place = f"{sheet.file_stem}-{number}" if number else sheet.file_stem     # one place takes one name
            c.bookmarkPage(place)
            c.addOutlineEntry(plain(words), place, 0)
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
        path = _Outline()
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
        c.drawPath(_area(_Outline(), (fill.region,)), stroke=0, fill=1, fillMode=0)
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
            path = _area(_Outline(), hatch.solid)
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


class _Outline:
    """A path for the library's `drawPath`, which asks it for its code: figures to a tenth of a micrometre.

    The library's own path object spends four fifths of a sheet's time on finding how many decimals a figure needs.
    """

    def __init__(self) -> None:
        self.pieces = ["n"]

    def move(self, x: float, y: float) -> None:
        """Begin at a point, mm."""
        self.pieces.append(f"{_figure(x)} {_figure(y)} m")

    def line(self, x: float, y: float) -> None:
        """Go straight to a point, mm."""
        self.pieces.append(f"{_figure(x)} {_figure(y)} l")

    def curve(self, *points: float) -> None:
        """Go to a point by a cubic curve, mm."""
        self.pieces.append(" ".join(map(_figure, points)) + " c")

    def close(self) -> None:
        """Go back to the beginning."""
        self.pieces.append("h")

    def getCode(self) -> str:  # noqa: N802 (the library's name for it)
        """Return the path in the language of PDF."""
        return " ".join(self.pieces)


def _figure(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _trace(path: _Outline, line: Path | Loop) -> None:
    first = line.segments[0].start
    path.move(first.x, first.y)
    for segment in line.segments:
        _segment(path, segment)
    if isinstance(line, Loop):
        path.close()


def _segment(path: _Outline, segment: Segment) -> None:
    if not isinstance(segment, Arc):
        path.line(segment.end.x, segment.end.y)
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
        path.curve(x + r * ca - reach * sa, y + r * sa + reach * ca, ex + reach * sb, ey - reach * cb, ex, ey)


def _area(path: _Outline, regions: Iterable[Region]) -> _Outline:
    for region in regions:
        for loop in (region.outer, *region.holes):
            _trace(path, loop)
    return path


def _disc(path: _Outline, dot: Dot) -> None:
    x, y, r = dot.at.x, dot.at.y, dot.radius
    k = r * 4 / 3 * math.tan(math.pi / 8)           # four curves: within 3e-4 of so small a radius
    path.move(x + r, y)
    path.curve(x + r, y + k, x + k, y + r, x, y + r)
    path.curve(x - k, y + r, x - r, y + k, x - r, y)
    path.curve(x - r, y - k, x - k, y - r, x, y - r)
    path.curve(x + k, y - r, x + r, y - k, x + r, y)
    path.close()


__all__ = ["POINTS", "pdf_bytes", "register"]
