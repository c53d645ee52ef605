"""Model space of the DXF: the garden at 1:1, each thing once, on the layer of its role.

Takes: a Book and all sheets. Gives: entities, and for each sheet the layers that its windows must show.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field
from typing import Any

from ..geometry.features import Purpose
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from .dxf_book import Book, first_point, view_round
from .dxf_dimensions import write_dimension
from .dxf_shapes import Plotter, lines_of, pattern
from .dxf_sharing import lettering_box, named, picture_of, sharing
from .lettering import width
from .sheet import Dimension, Fill, Ground, Group, Hatch, Mark, PegSign, Sheet, SheetSet, Stroke, Text, View, flat


@dataclass
class Shown:
    """For each sheet (by its place in the set) the model layers that its marks use, and those that none shows.

    Pegs are inserts at 1:1 for whoever opens model space, and so is the north point; on the layouts their signs are
    drawn on the paper, where each purpose has its own.
    """

    by_sheet: list[set[str]] = field(default_factory=list)
    pens: list[dict[str, Counter[str]]] = field(default_factory=list)   # of each layer on each sheet, by how often
    never: set[str] = field(default_factory=set)

    def hidden(self, number: int) -> list[str]:
        """Return the layers that the windows of a sheet must not show."""
        return sorted((set().union(*self.by_sheet) | self.never) - self.by_sheet[number])

    def pen(self, number: int, layer: str) -> str:
        """Return the pen that a sheet draws most of a layer with, '' if it draws no line of it."""
        found = self.pens[number].get(layer)
        return max(sorted(found), key=found.__getitem__) if found else ""


def write_plan(book: Book, sheets: SheetSet) -> Shown:
    """Write everything that stands for something in the garden; return what each sheet shows."""
    shown = Shown()
    writer = _Plan(book, shown.never, sharing(sheets))
    _peg_block(book)
    for sheet in sheets.sheets:
        shown.by_sheet.append(set())
        shown.pens.append({})
        writer.begin(sheet, shown.by_sheet[-1], shown.pens[-1])
        for mark in sheet.marks:
            writer.put(mark)
    return shown


def in_model_too(mark: Mark) -> bool:
    """Say whether model space has a mark of its own for what the paper shows: old windows cannot hide it."""
    return isinstance(mark, PegSign) or (isinstance(mark, Group) and "north" in mark.classes)


def _peg_block(book: Book) -> None:
    """Make the block of a peg: a ring with a cross on the very point, and its number beside it.

    Lines of a block on layer 0 belong to the layer of each insert: control marks to theirs, pegs to theirs.
    """
    block, layer = book.doc.blocks.new(book.PEG), "0"
    plot = book.plotter(block, book.paper_to_model)
    plot.loop(Loop.circle(Point(0, 0), 0.8), {"layer": layer})
    for a, b in ((Point(-1.6, 0), Point(1.6, 0)), (Point(0, -1.6), Point(0, 1.6))):
        plot.path(Path.through([a, b]), {"layer": layer})
    lettering = book.layer(book.style.layer("peg", presentation="T-"))
    for k, (tag, prompt) in enumerate(_ATTRIBUTES):
        block.add_attdef(tag, insert=plot.at(Point(2.0, 1.2 - 4.2 * k)), dxfattribs={
            "prompt": prompt, "height": plot.size(2.5), "layer": lettering, "style": book.text_style("regular"),
            "flags": 0 if tag == "NUMBER" else 1})


_ATTRIBUTES = (("NUMBER", "Number of the peg"), ("PART", "What it marks"), ("X", "x in metres"), ("Y", "y in metres"),
               ("LEVEL", "Level in metres, empty if it has none"))


class _Plan:
    """Writes marks of one sheet after another; remembers what is written, for sheets share the garden."""

    def __init__(self, book: Book, never: set[str], sharing: dict[Hashable, tuple[str, ...]]) -> None:
        self.book, self.never, self.sharing = book, never, sharing
        self.plot = book.plotter(book.doc.modelspace(), book.factor)
        self.done: set[Hashable] = set()
        self.sheet: Sheet
        self.shown: set[str]
        self.pens: dict[str, Counter[str]]

    def begin(self, sheet: Sheet, shown: set[str], pens: dict[str, Counter[str]]) -> None:
        """Turn to the next sheet."""
        self.sheet, self.shown, self.pens = sheet, shown, pens

    def put(self, mark: Mark) -> None:
        """Write a mark if it stands for something in the garden, or what it holds that does."""
        match mark:
            case PegSign():
                self._peg(mark)
            case Dimension():
                self._dimension(mark)
            case Hatch(ground=Ground() as ground):
                self._hatch(mark, ground)
            case Fill(ground=Ground() as ground):
                self._fill(mark, ground)
            case Group(ground=Ground(shape=Point()) as ground):
                self._symbol(mark, ground)
            case Stroke(ground=Ground() as ground) | Group(ground=Ground() as ground):
                self._outline(mark, ground)
            case Group(classes=("north", *_)):
                self._north(mark)
            case Group():
                for inner in mark.marks:
                    self.put(inner)

    def _first(self, *key: Hashable) -> bool:
        """Say whether this is the first time that a thing is met."""
        if key in self.done:
            return False
        self.done.add(key)
        return True

    def _show(self, layer: str, marks: tuple[Mark, ...] = ()) -> str:
        """Count a layer, and the pens that the sheet draws on it, among what the sheet shows."""
        self.shown.add(layer)
        pens = [mark.pen for mark in flat(marks) if isinstance(mark, Stroke | Hatch)]
        self.pens.setdefault(layer, Counter()).update(pens)
        return layer

    def _outline(self, mark: Stroke | Group, ground: Ground) -> None:
        layer = self._show(self.book.role_layer(ground), (mark,))
        if not self._first("outline", ground) or isinstance(ground.shape, Point):
            return
        for line in lines_of(ground.shape):
            self.book.tagged(self.plot.line(line, {"layer": layer}), ground)
            self.book.stretch((line.box,))

    def _hatch(self, hatch: Hatch, ground: Ground) -> None:
        layer = self._show(self.book.role_layer(ground, "H-"), (hatch,))
        if not self._first("hatch", hatch.name, ground):
            return
        if hatch.units:
            for line in hatch.ground_lines:
                self.plot.path(line, {"layer": layer})
        elif self.book.old:
            self._loose_lines(hatch, layer)
        else:
            for region in _regions(ground.shape):
                self._filled(hatch, region, layer, ground)

    def _filled(self, hatch: Hatch, region: Region, layer: str, ground: Ground) -> None:
        lines = self.book.style.patterns.get(hatch.name)
        if lines is None:
            made = self.plot.solid(region, {"layer": layer})
        else:
            made = self.plot.area(region, {"layer": layer})
            name = hatch.name.upper().replace("-", "_")
            made.set_pattern_fill(name, color=256, pattern_type=0, definition=pattern(lines, self.book.paper_to_model))
        self.book.tagged(made, ground)

    def _loose_lines(self, hatch: Hatch, layer: str) -> None:
        """Write a texture as its own strokes, brought to the ground: for versions without hatches."""
        for stroke in hatch.strokes:
            view = self._view(stroke.segments[0].start)
            if view is not None and view.plan:
                self.plot.line(_to_ground(view, stroke), {"layer": layer})

    def _fill(self, fill: Fill, ground: Ground) -> None:
        if self.book.old or not (self.book.coloured or fill.tone == "black"):
            return
        layer = self._show(self.book.role_layer(ground, "H1"))
        if not self._first("fill", fill.tone, ground):
            return
        for region in _regions(ground.shape):
            made = self.plot.solid(region, tint(self.book, layer, fill.tone, fill.opacity))
            self.book.tagged(made, ground)

    # -------------------------------------------------------- symbols, pegs, dimensions

    def _view(self, at: Point, name: str = "") -> View | None:
        return view_round(self.sheet, at, name)

    def _symbol(self, group: Group, ground: Ground) -> None:
        assert isinstance(ground.shape, Point)
        layer = self._show(self.book.role_layer(ground), group.marks)
        start = first_point(group)
        view = self._view(start) if start else None
        if view is None or not view.plan or not self._first("symbol", ground):
            return
        self.book.tagged(self.plot.point(ground.shape, {"layer": layer}), ground)
        self.book.stretch((Box.of((ground.shape,)),))
        write_picture(self.book, self.plot, flat(group.marks), view, layer)
        self._stretch(group.marks, view)

    def _north(self, group: Group) -> None:
        """Write the north point of the first plan beside the garden: whoever opens model space sees no paper."""
        start = first_point(group)
        view = self._view(start) if start else None
        if view is None or not view.plan or not self._first("north"):
            return
        layer = self.book.layer(self.book.style.layer("north"))
        self.never.add(layer)
        write_picture(self.book, self.plot, flat(group.marks), view, layer)
        self._stretch(group.marks, view)

    def _stretch(self, marks: tuple[Mark, ...], view: View) -> None:
        """Count a picture into the extents."""
        for mark in flat(marks):
            match mark:
                case Stroke(path=line) | Fill(region=Region(outer=line), tone="black"):
                    self.book.stretch((_to_ground(view, line).box,))
                case Text():
                    self.book.stretch((lettering_box(mark, view),))

    def _peg(self, peg: PegSign) -> None:
        role = "control mark" if peg.purpose.split(" ")[0] in {Purpose.CONTROL, Purpose.AUXILIARY} else "peg"
        layer = self.book.layer(self.book.style.layer(role))
        lettering = self.book.layer(self.book.style.layer(role, presentation="T-"))
        self.never.update((layer, lettering))
        if not self._first("peg", peg.number):
            return
        made = self.plot.space.add_blockref(self.book.PEG, self.plot.at(peg.at), dxfattribs={"layer": layer})
        level = "" if peg.level is None else f"{peg.level:.3f}"
        values = {"NUMBER": self.book.words(peg.number), "PART": self.book.words(peg.part),
                  "X": f"{peg.at.x:.3f}", "Y": f"{peg.at.y:.3f}", "LEVEL": level}
        size = self.book.paper_to_model
        x, y = self.plot.at(peg.at)
        for k, (tag, _) in enumerate(_ATTRIBUTES):
            spot = (round(x + 2.0 * size, 6), round(y + (1.2 - 4.2 * k) * size, 6))
            made.add_attrib(tag, values[tag], spot, dxfattribs={
                "layer": lettering, "height": round(2.5 * size, 6), "style": self.book.text_style("regular"),
                "flags": 0 if tag == "NUMBER" else 1})
        self.book.tagged(made, Ground(shape=peg.at, role=role, element=peg.element, part=peg.part), purpose=peg.purpose)
        paper = self.book.scale / 1000
        beside = Vec(2.0 + width(peg.number, "regular", 2.5), 1.2 + 2.5) * paper
        self.book.stretch((Box.of((peg.at + Vec(-1.6, -1.6) * paper, peg.at + beside)),))

    def _dimension(self, dimension: Dimension) -> None:
        start = first_point(dimension)
        view = self._view(start, dimension.view) if start else None
        if view is None or not view.plan:
            return                      # the layout holds it, in the metres of its own view
        key = picture_of(dimension, view)
        sheets = self.sharing.get(key, (named(self.sheet),))
        layer = self._show(self.book.layer(self.book.style.layer("dimension", sheets=sheets)), dimension.marks)
        if self._first("dimension", layer, key):
            write_dimension(self.book, self.plot, dimension, layer, 1.0, lambda space: write_picture(
                self.book, self.book.plotter(space, self.book.factor), flat(dimension.marks), view, layer))
            self._stretch(dimension.marks, view)


def _regions(shape: Region | Loop | Path | Point) -> Iterator[Region]:
    if isinstance(shape, Region):
        yield shape
    elif isinstance(shape, Loop):
        yield Region(shape)


def _to_ground(view: View, shape: Path | Loop) -> Path | Loop:
    return view.ground_loop(shape) if isinstance(shape, Loop) else view.ground_path(shape)


def tint(book: Book, layer: str, tone: str, opacity: float = 1.0) -> dict[str, Any]:
    """Return the look of an area filled with a tone: black as the colour that prints black, others as true colours."""
    look: dict[str, Any] = {"layer": layer, "color": 7 if tone == "black" else 256}
    if tone != "black" and book.coloured:
        look["true_color"] = int(book.style.colour(tone)[1:], 16)
    if opacity < 1 and book.coloured:
        look["transparency"] = OPAQUE | int((1 - round(1 - opacity, 2)) * 255)
    return look


OPAQUE = 0x02000000
"""Marks the opacity of an entity as its own; the last byte holds it, 255 for opaque (DXF reference, group 440)."""


def write_picture(book: Book, plot: Plotter, marks: Iterator[Stroke | Fill | Hatch | Text], view: View,
                  layer: str) -> None:
    """Write drawn marks brought from paper to the ground, on one layer; white grounds are left out."""
    for mark in marks:
        match mark:
            case Stroke():
                line = book.linetype(mark.dash, paper=False) if mark.dash else "BYLAYER"
                look = {"layer": layer, "linetype": "BYLAYER" if line == book.own_dash(layer) else line}
                plot.line(_to_ground(view, mark.path), look)
            case Fill(tone="black"):
                outer = view.ground_loop(mark.region.outer)
                if book.old:
                    plot.loop(outer, {"layer": layer})
                else:
                    holes = tuple(view.ground_loop(h) for h in mark.region.holes)
                    plot.solid(Region(outer, holes), {"layer": layer})
            case Text():
                plot.lettering(book.words(mark.words, mark.style), view.ground(mark.at), mark.capitals / view.factor,
                               mark.turn, mark.anchor, book.text_style(mark.style), {"layer": layer})
            case _:
                continue


__all__ = ["Shown", "in_model_too", "tint", "write_picture", "write_plan"]
