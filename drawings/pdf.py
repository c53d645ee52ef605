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
from ..geometry.kernel.segment import Arc
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
        self.look: tuple[str, str, bool] | None = None      # of lines, on the page at hand
        self.tone = ""                                      # of areas and lettering

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
        c.setStrokeGray(0)
        self.look, self.tone = None, ""
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
        look = (run.pen, run.dash, run.round_ends)
        if self.look != look:
            c.setLineWidth(self.style.width(self.pens, run.pen))
            c.setDash(list(self.style.dash(run.dash)))
            c.setLineCap(1 if run.round_ends else 0)
            self.look = look
        path = _Outline()
        for line in run.paths:
            path.trace(line)
        c.drawPath(path, stroke=1, fill=0)

    def _fill(self, fill: Fill) -> None:
        c = self.canvas
        self._tone(fill.tone)
        clear = fill.opacity < 1
        if clear:
            c.saveState()
            c.setFillAlpha(fill.opacity)
        path = _Outline()
        path.area((fill.region,))
        c.drawPath(path, stroke=0, fill=1, fillMode=0)
        if clear:
            c.restoreState()

    def _tone(self, tone: str) -> None:
        from reportlab.lib.colors import HexColor
        if tone == self.tone:
            return
        self.tone = tone
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
            self._tone("black")
            path = _Outline()
            path.area(hatch.solid)
            for dot in hatch.dots:
                path.disc(dot)
            c.drawPath(path, stroke=0, fill=1, fillMode=0 if hatch.solid else 1)

    def _text(self, text: Text) -> None:
        c = self.canvas
        words = checked(text.words, text.style)
        start = {"start": 0.0, "middle": -0.5, "end": -1.0}[text.anchor] * width(words, text.style, text.capitals)
        self._tone(text.tone)
        cos, sin = math.cos(text.turn), math.sin(text.turn)
        line = c.beginText()
        line.setTextTransform(cos, sin, -sin, cos, text.at.x + start * cos, text.at.y + start * sin)
        line.setFont(FACES[text.style], font_size(text.capitals, text.style))
        line.textOut(words)
        c.drawText(line)


class _Outline:
    """A path for the library's `drawPath`, which asks it for its code: figures to a tenth of a micrometre.

    The library's own path object spends four fifths of a sheet's time on finding how many decimals a figure needs.
    """

    def __init__(self) -> None:
        self.pieces = ["n"]

    def trace(self, line: Path | Loop) -> None:
        """Go along a line, mm."""
        first, add = line.segments[0].start, self.pieces.append
        add(f"{first.x:.4f} {first.y:.4f} m")
        for segment in line.segments:
            if isinstance(segment, Arc):
                self.pieces += _curves(segment)
            else:
                end = segment.end
                add(f"{end.x:.4f} {end.y:.4f} l")
        if isinstance(line, Loop):
            add("h")

    def area(self, regions: Iterable[Region]) -> None:
        """Go round areas, mm."""
        for region in regions:
            for loop in (region.outer, *region.holes):
                self.trace(loop)

    def disc(self, dot: Dot) -> None:
        """Go round a dot, mm: four curves, within 3e-4 of so small a radius."""
        x, y, r = dot.at.x, dot.at.y, dot.radius
        k = r * 4 / 3 * math.tan(math.pi / 8)
        left, low, right, high = f"{x - r:.4f}", f"{y - r:.4f}", f"{x + r:.4f}", f"{y + r:.4f}"
        back, down, on, up, x0, y0 = (f"{v:.4f}" for v in (x - k, y - k, x + k, y + k, x, y))
        self.pieces.append(f"{right} {y0} m {right} {up} {on} {high} {x0} {high} c {back} {high} {left} {up} {left} "
                           f"{y0} c {left} {down} {back} {low} {x0} {low} c {on} {low} {right} {down} {right} {y0} c h")

    def getCode(self) -> str:  # noqa: N802 (the library's name for it)
        """Return the path in the language of PDF."""
        return _figures(" ".join(self.pieces))


def _figures(code: str) -> str:
    """Return code, in which a space follows each figure of four decimals, without needless zeros."""
    for zero in ("0 ", "0 ", "0 ", "0 ", ". "):
        code = code.replace(zero, " ")
    return code


def _curves(arc: Arc) -> Iterator[str]:
    count = max(1, math.ceil(abs(arc.sweep) / _STEP - 1e-9))
    step = arc.sweep / count
    reach = 4 / 3 * math.tan(step / 4) * arc.radius
    x, y, r = arc.centre.x, arc.centre.y, arc.radius
    ca, sa = math.cos(arc.begin), math.sin(arc.begin)
    for k in range(count):
        b = arc.begin + (k + 1) * step
        cb, sb = math.cos(b), math.sin(b)
        ex, ey = (arc.end.x, arc.end.y) if k == count - 1 else (x + r * cb, y + r * sb)
        yield (f"{x + r * ca - reach * sa:.4f} {y + r * sa + reach * ca:.4f} {ex + reach * sb:.4f} "
               f"{ey - reach * cb:.4f} {ex:.4f} {ey:.4f} c")
        ca, sa = cb, sb


__all__ = ["POINTS", "pdf_bytes", "register"]
