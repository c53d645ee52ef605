"""SVG: one sheet as one file in paper millimetres, real text, plain geometry only.

Takes: a Sheet. Gives: its SVG as text. No script, no link, no outside font, no pattern or marker (some readers
drop those), no scaling. Attributes stand in the order of the alphabet.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator

from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc
from .lettering import checked, font_size, plain
from .runs import Bundle, Part, Run, in_layers
from .sheet import Fill, Hatch, Sheet, Text
from .style import Style, house_style

FAMILY = '"Liberation Sans",Arimo,Arial,Helvetica,sans-serif'
"""All of one metric; the first that the reader's machine has is used."""

HEAD = {"baseProfile": "full", "font-family": FAMILY.replace('"', "&quot;"), "role": "img", "version": "1.1",
        "style": "background:#fff;font-kerning:none;text-rendering:geometricPrecision",
        "aria-labelledby": "sheet-title sheet-desc", "xmlns": "http://www.w3.org/2000/svg",
        "xmlns:ev": "http://www.w3.org/2001/xml-events", "xmlns:xlink": "http://www.w3.org/1999/xlink"}

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


def _escaped(words: str) -> str:
    """Return words as they stand in an element."""
    return words.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _tag(name: str, look: dict[str, str], inner: str = "") -> str:
    """Return an element with its attributes, all of our own making, and what stands in it already as text."""
    said = "".join([f' {key}="{value}"' for key, value in sorted(look.items())])
    return f"<{name}{said}>{inner}</{name}>" if inner else f"<{name}{said} />"


class _Writer:
    """Writes one sheet; holds its pens and its height, for y runs down in SVG."""

    def __init__(self, sheet: Sheet, style: Style) -> None:
        self.sheet, self.style = sheet, style
        self.pens = style.pens(sheet.size, sheet.step)
        self.high = sheet.height

    def text(self) -> str:
        """Return the whole file."""
        width, height = number(self.sheet.width), number(self.high)
        size = {"height": f"{height}mm", "viewBox": f"0 0 {width} {height}", "width": f"{width}mm"}
        layers = [f"\n{self._layer(name, parts)}" for name, parts in in_layers(self.sheet)]
        return _tag("svg", HEAD | size, f"{self._described()}<defs />{''.join(layers)}") + "\n"

    def _layer(self, name: str, parts: Iterable[Part]) -> str:
        look = {"fill": "none", "id": f"layer-{name}", "stroke": "none"}
        return _tag("g", look, _title(self.style.groups[name].title) + "".join(map(self._put, parts)))

    def _described(self) -> str:
        s = self.sheet
        title = plain(f"{s.document} {s.title}".strip() or s.name)
        said = plain(s.description or f"{title}, {s.size}, {s.scale}".strip(", "))
        return (_tag("title", {"id": "sheet-title"}, _escaped(title))
                + _tag("desc", {"id": "sheet-desc"}, _escaped(said)))

    def _put(self, part: Part) -> str:
        match part:
            case Bundle(classes=classes, title=title, parts=parts):
                said = _title(plain(title)) if title else ""
                return _tag("g", _classes(classes), said + "".join(map(self._put, parts)))
            case Run():
                return self._run(part)
            case Fill():
                return self._fill(part)
            case Hatch():
                return self._hatch(part)
            case Text():
                return self._lettering(part)

    def _run(self, run: Run) -> str:
        d = _figures("".join([self._path(p) for p in run.paths]))
        look = {"d": d, "stroke": "#000", "stroke-width": number(self._pen(run.pen)), **_classes(run.classes)}
        if run.dash:
            look["stroke-dasharray"] = " ".join(number(v) for v in self.style.dash(run.dash))
        if run.round_ends:
            look["stroke-linecap"] = "round"
        return _tag("path", look)

    def _pen(self, name: str) -> float:
        return self.style.width(self.pens, name)

    def _fill(self, fill: Fill) -> str:
        look = {"d": self._region(fill.region), "fill": self.style.colour(fill.tone), "fill-rule": "evenodd",
                **_classes(fill.classes)}
        if fill.opacity < 1:
            look["fill-opacity"] = number(fill.opacity)
        return _tag("path", look)

    def _hatch(self, hatch: Hatch) -> str:
        inner = ""
        if hatch.strokes:
            inner += self._run(Run(hatch.strokes, hatch.pen, "", hatch.round_ends, ()))
        if hatch.dots:
            discs = _figures("".join([self._disc(d.at, d.radius) for d in hatch.dots]))
            inner += _tag("path", {"d": discs, "fill": "#000"})
        for region in hatch.solid:
            inner += _tag("path", {"d": self._region(region), "fill": "#000", "fill-rule": "evenodd"})
        return _tag("g", _classes(("hatch", hatch.name)), inner) if inner else ""

    def _lettering(self, text: Text) -> str:
        x, y = number(text.at.x), number(self.high - text.at.y)
        look = {"font-size": number(font_size(text.capitals, text.style)), "fill": self.style.colour(text.tone),
                "x": x, "y": y, **_classes(text.classes)}
        if text.style == "bold":
            look["font-weight"] = "bold"
        elif text.style == "italic":
            look["font-style"] = "italic"
        if text.anchor != "start":
            look["text-anchor"] = text.anchor
        if abs(text.turn) > 1e-9:
            look["transform"] = f"rotate({number(-math.degrees(text.turn))} {x} {y})"
        return _tag("text", look, _escaped(checked(text.words, text.style)))

    # ------------------------------------------------------------ geometry

    def _region(self, region: Region) -> str:
        return _figures("".join([self._path(loop) for loop in (region.outer, *region.holes)]))

    def _path(self, path: Path | Loop) -> str:
        """Return the steps of a path, for `_figures`."""
        segments = path.segments
        first, high = segments[0].start, self.high
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
        r, y = f"{radius:.3f}~", f"{self.high - at.y:.3f}~"
        left, right = f"{at.x - radius:.3f}~ {y}", f"{at.x + radius:.3f}~ {y}"
        return f"M{left}A{r} {r} 0 0 1 {right}A{r} {r} 0 0 1 {left}Z"


def _title(words: str) -> str:
    return _tag("title", {}, _escaped(words))


def _classes(classes: Iterable[str]) -> dict[str, str]:
    words = " ".join([w for w in [_CLASS.sub("-", c) for c in " ".join(classes).split()] if w])
    return {"class": words} if words else {}


def _arc(arc: Arc, high: float) -> Iterator[str]:
    pieces = max(1, math.ceil(abs(arc.sweep) / _LARGEST))
    for k in range(pieces):
        end = arc.point((k + 1) / pieces)
        yield (f"A{arc.radius:.3f}~ {arc.radius:.3f}~ 0 0 {0 if arc.sweep > 0 else 1} "
               f"{end.x:.3f}~ {high - end.y:.3f}~")


__all__ = ["FAMILY", "number", "svg_text"]
