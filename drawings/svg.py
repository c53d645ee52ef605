"""SVG: one sheet as one file in paper millimetres, real text, plain geometry only.

Takes: a Sheet. Gives: its SVG as text. The only module that knows the SVG library. No script, no link, no
outside font, no pattern or marker (some readers drop those), no scaling.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from typing import Any
from xml.etree import ElementTree

from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc
from .lettering import checked, font_size, plain
from .runs import Bundle, Part, Run, in_layers
from .sheet import Fill, Hatch, Sheet, Text
from .style import Style, house_style

FAMILY = '"Liberation Sans",Arimo,Arial,Helvetica,sans-serif'
"""All of one metric; the first that the reader's machine has is used."""

_CLASS = re.compile(r"[^\w-]+")
_LARGEST = 0.9 * math.pi
"""Arcs that turn further are written in pieces: near half a turn the flags hang on the last figure."""


def svg_text(sheet: Sheet, style: Style | None = None) -> str:
    """Return one sheet as SVG; DrawingError for a layer, pen, tone or character that does not exist."""
    return _Writer(sheet, style or house_style()).text()


def number(value: float) -> str:
    """Return a figure with at most three decimals (a thousandth of a millimetre), without needless zeros."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _figures(steps: str) -> str:
    """Return steps of a path in which `~` ends each figure of three decimals as `number` writes them, all at once."""
    for zero in ("0~", "0~", "0~", ".~"):
        steps = steps.replace(zero, "~")
    return steps.replace("-0~", "0").replace("~", "")


class _Words:
    """A title or description with an id, which the library's own cannot carry; `aria-labelledby` points at it."""

    def __init__(self, tag: str, key: str, words: str) -> None:
        self.tag, self.key, self.words = tag, key, words

    def get_xml(self) -> ElementTree.Element:
        """Return the element, as the library asks of all that it holds."""
        element = ElementTree.Element(self.tag, id=self.key)
        element.text = self.words
        return element


class _Writer:
    """Writes one sheet; holds its pens and its height, for y runs down in SVG."""

    def __init__(self, sheet: Sheet, style: Style) -> None:
        import svgwrite
        self.sheet, self.style = sheet, style
        self.pens = style.pens(sheet.size, sheet.step)
        width, height = number(sheet.width), number(sheet.height)
        self.book: Any = svgwrite.Drawing(size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}",
                                          debug=False)

    def text(self) -> str:
        """Return the whole file."""
        root = self.book
        root.attribs.update({"role": "img", "aria-labelledby": "sheet-title sheet-desc", "font-family": FAMILY,
                             "style": "background:#fff;font-kerning:none;text-rendering:geometricPrecision"})
        for unused in ("xmlns:xlink", "xmlns:ev", "baseProfile"):
            root.attribs.pop(unused, None)
        self._described(root)
        for name, parts in in_layers(self.sheet):
            group = self.book.g(id=f"layer-{name}", fill="none", stroke="none")
            group.set_desc(title=self.style.groups[name].title)
            for part in parts:
                self._put(group, part)
            root.add(group)
        return str(root.tostring()).replace('<g fill="none" id="layer-', '\n<g fill="none" id="layer-') + "\n"

    def _described(self, root: Any) -> None:
        s = self.sheet
        title = plain(f"{s.document} {s.title}".strip() or s.name)
        root.elements.insert(0, _Words("title", "sheet-title", title))
        root.elements.insert(1, _Words("desc", "sheet-desc",
                                       plain(s.description or f"{title}, {s.size}, {s.scale}".strip(", "))))

    def _put(self, group: Any, part: Part) -> None:
        match part:
            case Bundle(classes=classes, title=title, parts=parts):
                inner = self.book.g(**self._classes(classes))
                if title:
                    inner.set_desc(title=plain(title))
                for child in parts:
                    self._put(inner, child)
                group.add(inner)
            case Run():
                group.add(self._run(part))
            case Fill():
                group.add(self._fill(part))
            case Hatch():
                self._hatch(group, part)
            case Text():
                group.add(self._lettering(part))

    def _classes(self, classes: Iterable[str]) -> dict[str, str]:
        words = " ".join(w for w in (_CLASS.sub("-", c) for c in classes for c in c.split()) if w)
        return {"class_": words} if words else {}

    def _run(self, run: Run) -> Any:
        d = _figures("".join([self._path(p) for p in run.paths]))
        look = {"stroke": "#000", "stroke_width": number(self._pen(run.pen))}
        if run.dash:
            look["stroke_dasharray"] = " ".join(number(v) for v in self.style.dash(run.dash))
        if run.round_ends:
            look["stroke_linecap"] = "round"
        return self.book.path(d=d, **look, **self._classes(run.classes))

    def _pen(self, name: str) -> float:
        return self.style.width(self.pens, name)

    def _fill(self, fill: Fill) -> Any:
        look = {"fill": self.style.colour(fill.tone)}
        if fill.opacity < 1:
            look["fill_opacity"] = number(fill.opacity)
        return self.book.path(d=self._region(fill.region), fill_rule="evenodd", **look, **self._classes(fill.classes))

    def _hatch(self, group: Any, hatch: Hatch) -> None:
        inner = self.book.g(**self._classes(("hatch", hatch.name)))
        if hatch.strokes:
            inner.add(self._run(Run(hatch.strokes, hatch.pen, "", hatch.round_ends, ())))
        if hatch.dots:
            discs = _figures("".join([self._disc(d.at, d.radius) for d in hatch.dots]))
            inner.add(self.book.path(d=discs, fill="#000"))
        for region in hatch.solid:
            inner.add(self.book.path(d=self._region(region), fill="#000", fill_rule="evenodd"))
        if hatch.strokes or hatch.dots or hatch.solid:
            group.add(inner)

    def _lettering(self, text: Text) -> Any:
        x, y = number(text.at.x), number(self.sheet.height - text.at.y)
        look = {"font_size": number(font_size(text.capitals, text.style)), "fill": self.style.colour(text.tone)}
        if text.style == "bold":
            look["font_weight"] = "bold"
        elif text.style == "italic":
            look["font_style"] = "italic"
        if text.anchor != "start":
            look["text_anchor"] = text.anchor
        if abs(text.turn) > 1e-9:
            look["transform"] = f"rotate({number(-math.degrees(text.turn))} {x} {y})"
        return self.book.text(checked(text.words, text.style), insert=(x, y), **look, **self._classes(text.classes))

    # ------------------------------------------------------------ geometry

    def _region(self, region: Region) -> str:
        return _figures("".join([self._path(loop) for loop in (region.outer, *region.holes)]))

    def _path(self, path: Path | Loop) -> str:
        """Return the steps of a path, for `_figures`."""
        segments, high = path.segments, self.sheet.height
        first = segments[0].start
        out = [f"M{first.x:.3f}~ {high - first.y:.3f}~"]
        closed = isinstance(path, Loop)
        if closed and not isinstance(segments[-1], Arc):
            segments = segments[:-1]
        for segment in segments:
            if isinstance(segment, Arc):
                out += _arc(segment, high)
            else:
                end = segment.end
                out.append(f"L{end.x:.3f}~ {high - end.y:.3f}~")
        return "".join(out) + ("Z" if closed else "")

    def _disc(self, at: Point, radius: float) -> str:
        """Return the steps of a disc, for `_figures`."""
        r, y = f"{radius:.3f}~", f"{self.sheet.height - at.y:.3f}~"
        left, right = f"{at.x - radius:.3f}~ {y}", f"{at.x + radius:.3f}~ {y}"
        return f"M{left}A{r} {r} 0 0 1 {right}A{r} {r} 0 0 1 {left}Z"


def _arc(arc: Arc, high: float) -> Iterator[str]:
    pieces = max(1, math.ceil(abs(arc.sweep) / _LARGEST))
    r, turn = f"{arc.radius:.3f}~", 0 if arc.sweep > 0 else 1
    for k in range(pieces):
        end = arc.point((k + 1) / pieces)
        yield f"A{r} {r} 0 0 {turn} {end.x:.3f}~ {high - end.y:.3f}~"


__all__ = ["FAMILY", "number", "svg_text"]
