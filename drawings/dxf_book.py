"""What all parts of one DXF share: its layers and line types as they are needed, names, data that rides along."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, ClassVar

from ..geometry.kernel.point import Box, Point
from .dxf_shapes import Plotter
from .lettering import checked, plain, safe_name
from .sheet import Dimension, Fill, Ground, Group, PegSign, Sheet, SheetSet, Stroke, Text, View, flat
from .style import Layer, Style

FALLBACK_SCALE = 100.0

UNITS = {"m": (6, 1.0), "mm": (4, 1000.0)}
"""Drawing unit -> $INSUNITS and how many of it make a metre."""

_WESTERN = str.maketrans({"–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "„": '"', "…": "...", "€": "EUR",
                          "≤": "<=", "≥": ">=", "−": "-", "′": "'", "″": '"', "•": "-", "→": "->", "←": "<-"})


@dataclass
class Book:
    """One DXF while it is written: the library's document, its scale and unit, and what it holds already."""

    APPLICATION: ClassVar[str] = "PEGBOOK"
    DIMENSIONS: ClassVar[str] = "PEGBOOK"
    PEG: ClassVar[str] = "PEG"

    doc: Any
    version: str
    factor: float                   # file units in a metre
    style: Style
    scale: float                    # 1 : scale of the symbols, dashes and patterns in model space
    text: bool = True               # plain entities as text at once, not by the library: the same bytes
    layers: set[str] = field(default_factory=set)
    boxes: list[Box] = field(default_factory=list)
    in_windows: dict[str, dict[str, int | None]] = field(default_factory=dict)  # layer -> window -> weight

    @staticmethod
    def of(doc: Any, sheets: SheetSet, version: str, factor: float, style: Style, text: bool = True) -> Book:
        """Return the book of a fresh document; its scale is that of the first plan of the set."""
        plans = [v.scale for s in sheets.sheets for v in s.views if v.plan and v.scale > 0]
        return Book(doc, version, factor, style, plans[0] if plans else FALLBACK_SCALE, text)

    @property
    def old(self) -> bool:
        """Whether the version is R12."""
        return self.version == "R12"

    @property
    def coloured(self) -> bool:
        """Whether the version has true colours (R2004 and later)."""
        return self.version in {"R2010", "R2018"}

    @property
    def paper_to_model(self) -> float:
        """File units of the garden for one millimetre on paper at the book's scale."""
        return self.scale / 1000 * self.factor

    def plotter(self, space: Any, factor: float = 1.0) -> Plotter:
        """Return the plotter of a layout or block; `factor` brings its shapes to the file's unit."""
        return Plotter.on(space, factor, self.old, self.text)

    def words(self, text: str, style: str = "regular") -> str:
        """Return lettering as the version can hold it."""
        words = checked(text, style)
        if self.version in {"R2010", "R2018"}:
            return words
        words = words.translate(_WESTERN)
        return "".join(c if ord(c) < 256 else _western(c) for c in words)

    @staticmethod
    def text_style(name: str) -> str:
        """Return the text style of a style of lettering."""
        return f"PEGBOOK-{name.upper()}"

    def layer(self, layer: Layer, paper: bool = False) -> str:
        """Return the name of a layer, made if it is new: colour, weight, line type, description, whether it prints."""
        if layer.name not in self.layers:
            self.layers.add(layer.name)
            attributes: dict[str, Any] = {"color": layer.colour, "linetype": self.linetype(layer.dash, paper)}
            if not self.old:
                attributes |= {"lineweight": self.weight(self.style.pens("A3")[layer.pen]), "plot": int(layer.plots)}
            entry = self.doc.layers.add(layer.name, **{})
            for name, value in attributes.items():
                entry.dxf.set(name, value)
            if not self.old:
                entry.description = self.data(layer.what)
        return layer.name

    def own_dash(self, layer: str) -> str:
        """Return the line type of a layer that was made."""
        return str(self.doc.layers.get(layer).dxf.linetype)

    @staticmethod
    def weight(width: float) -> int:
        """Return a pen width (mm) as the DXF's hundredths: all widths of ISO 128 are in its list."""
        return round(width * 100)

    def linetype(self, dash: str, paper: bool) -> str:
        """Return the line type of a dash, made if it is new: lengths in mm for layouts, in the garden's unit else."""
        if not dash:
            return "Continuous"
        name = safe_name(dash) if paper else safe_name(f"{dash}-1-{self.scale:g}")
        if name not in self.doc.linetypes:
            size = 1.0 if paper else self.paper_to_model
            lengths = [round(v * size * (-1) ** k, 9) for k, v in enumerate(self.style.dash(dash))]
            pattern = [round(sum(abs(v) for v in lengths), 9), *lengths]     # the total stands first
            self.doc.linetypes.add(name, pattern=pattern, description=self.style.dash_words[dash])
        return name

    def role_layer(self, ground: Ground, presentation: str = "") -> str:
        """Return the layer of what a mark is in the garden."""
        return self.layer(self.style.layer(ground.role, ground.status, presentation))

    def paper_layer(self, group: str) -> str:
        """Return the layer of what belongs to the paper of a drawing group."""
        return self.layer(self.style.groups[group].layer, paper=True)

    def data(self, words: str) -> str:
        """Return unseen words as the version can hold them, one line, at most 240 bytes."""
        text = plain(words, 240)
        return text if self.coloured else text.translate(_WESTERN).encode("latin-1", "replace").decode("latin-1")

    def tagged(self, entity: Any, ground: Ground, **more: str) -> None:
        """Let element, kind, build-up, part and more ride along with an entity as XDATA."""
        pairs = {"element": ground.element, "kind": ground.kind, "build-up": ground.build_up, "part": ground.part}
        pairs |= more
        tags = [(1000, self.data(f"{name}:{value}")) for name, value in pairs.items() if value]
        if tags:
            entity.set_xdata(self.APPLICATION, tags)

    def stretch(self, boxes: Iterable[Box]) -> None:
        """Count boxes (metres) into the extents."""
        self.boxes += boxes

    def extents(self) -> Box:
        """Return the extents in file units; a corner of exactly zero counts as unset and is moved by a hair."""
        box = Box.around(self.boxes) if self.boxes else Box(0, 0, 1, 1)
        hair = 1e-6
        return Box(*(round(v * self.factor, 6) for v in (box.x0 - hair, box.y0 - hair, box.x1 + hair, box.y1 + hair)))


def _western(character: str) -> str:
    bare = unicodedata.normalize("NFKD", character).encode("ascii", "ignore").decode("ascii")
    return bare or "?"


def view_round(sheet: Sheet, at: Point, name: str = "") -> View | None:
    """Return the view of a name, else the smallest whose window holds a point on paper, else None."""
    for view in sheet.views:
        if name and view.name == name:
            return view
    held = [v for v in sheet.views if v.window.x0 <= at.x <= v.window.x1 and v.window.y0 <= at.y <= v.window.y1]
    if not held and len(sheet.views) == 1:
        return sheet.views[0]
    return min(held, key=lambda v: v.window.width * v.window.height) if held else None


def first_point(mark: Group | Dimension | PegSign) -> Point | None:
    """Return a point on paper of the first thing drawn in a mark."""
    for part in flat(mark.marks):
        match part:
            case Stroke(path=path):
                return path.segments[0].start
            case Fill(region=region):
                return region.outer.segments[0].start
            case Text(at=at):
                return at
            case _:
                continue
    return None


__all__ = ["UNITS", "Book", "first_point", "view_round"]
