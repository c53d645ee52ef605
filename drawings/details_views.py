"""A detail drawn at a scale: hatches, outlines, one heavy line for the finished surface, sizes, names.

Takes: a Detail (metres) and a scale. Gives: a View on its own small sheet, about its lower left corner, in
paper millimetres, ready to be moved to its place.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from . import details_forms, details_frames
from .details_parts import Detail, Measure, millimetres
from .draft import Nib, disc, group, moved
from .lettering import broken, width
from .once import Drawn as Once
from .pens import WEIGHTS
from .requests import Column, ColumnLabel, Obstacles, Words
from .sheet import Group, Mark, Stroke, Text, View
from .symbols import break_line, fall, view_title
from .wrapping import FIGURES, NAMES

SCALES = (5, 10, 20, 50, 100)
TITLE = 6.8
PITCH = 4.3
STACK_WORDS = 44.0
"""Room for the words of a build-up beside its reading line; the thickness stands flush right 46 from the line."""

TAG_ROOM = 32.0
ROW_FIRST, ROW_NEXT = 8.0, 7.0
MEMBRANE = 1.35
"""A membrane is drawn this far below the line that it lies under, so that both can be seen."""

FORMS: Mapping[str, Callable[[SectionDetail], Detail | None]] = {
    "surface": details_forms.surface,
    "edging": details_forms.edging,
    "wall": details_forms.wall,
    "steps": details_frames.steps,
    "pergola": details_frames.pergola,
    "fence": details_frames.fence,
    "deck": details_frames.deck,
    "pond": details_frames.pond,
}


def detail_of(section: SectionDetail) -> Detail | None:
    """Return the drawing of a section; None for a form that is unknown or says too little to be drawn."""
    maker = FORMS.get(section.form)
    return maker(section) if maker else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A detail on paper, its lower left corner at (0, 0), still without its letter."""

    detail: Detail
    scale: int
    width: float
    height: float
    view: View
    marks: tuple[Mark, ...]


Textured: TypeAlias = Callable[[str, Region, int], tuple[Mark, ...]]


def at_scale(detail: Detail, scale: int, textured: Textured) -> Drawn:
    """Draw a detail at 1 : scale; `textured` fills a cut piece with its hatch."""
    left, right, above, below = _room(detail)
    box, factor = detail.box, 1000 / scale
    window = Box(left, below, left + box.width * factor, below + box.height * factor)
    view = View(name=detail.title, scale=scale, window=window, origin=Point(box.x0, box.y0), plan=False)
    wide = max(window.x1 + right, width(detail.title, "bold", NAMES) + 30.0)
    high = window.y1 + above + TITLE + 4
    once = Once()
    marks = [*_body(detail, view, textured, once), *_measures(detail, view, once), *_stack(detail, view)]
    if detail.fall:
        marks.append(fall(view.point(Point(box.x0 + box.width * 0.72, 0)) + Vec(0.0, 1.8), 0.0, detail.fall))
    marks += _tags(detail, view, wide, high)
    return Drawn(detail=detail, scale=scale, width=wide, height=high, view=view, marks=tuple(marks))


def _room(detail: Detail) -> tuple[float, float, float, float]:
    """Return the room for lettering and sizes at the left, right, above and below, mm."""
    rows = {
        side: 1 + max((m.row for m in detail.measures if m.side == side), default=-1)
        for side in ("left", "right", "above", "below")
    }
    need = {side: (ROW_FIRST + ROW_NEXT * (count - 1) + 4.5) if count else 2.0 for side, count in rows.items()}
    stack = 4.0 + PITCH * len(detail.stacked.rows) + 2.0 if detail.stacked else 0.0
    tags = TAG_ROOM + 8 if detail.tags else 0.0
    return need["left"] + 2, need["right"] + tags, max(need["above"], stack) + 2.0, need["below"] + 1.0


def _body(detail: Detail, view: View, textured: Textured, once: Once) -> Iterator[Mark]:
    """Yield what is cut and seen: hatches, outlines by weight, then the finished surface as the one heavy line."""
    yield from _hatched(detail, view, textured)
    finished = [view.path(p) for p in detail.finished]
    breaks = [(view.point(a), view.point(b)) for a, b in detail.breaks]
    for path in (*finished, *(Path.through(ends) for ends in breaks)):
        once.add(path)
    for piece in sorted(detail.pieces, key=lambda p: -WEIGHTS[p.pen]):
        layer = "edges" if piece.pen == "edge" else "thin"
        for part in once.once(view.loop(piece.outline)):
            yield Stroke(layer=layer, path=part, pen=piece.pen, dash=piece.dash)
    yield from (Stroke(layer="edges", path=path, pen="cut", classes=("finished",)) for path in finished)
    for path in detail.membranes:
        low = view.path(Path.through([Point(v.x, v.y - MEMBRANE / view.factor) for v in path.vertices()]))
        yield Stroke(layer="edges", path=low, pen="edge", dash="membrane")
    yield from (Stroke(layer="thin", path=view.path(p), pen="mark", classes=("water",)) for p in detail.water)
    yield from (break_line(a, b) for a, b in breaks)
    for path in detail.grass:
        yield from _blades(view.path(path))


def _hatched(detail: Detail, view: View, textured: Textured) -> Iterator[Mark]:
    turn = 0
    for ground in detail.ground:
        yield from textured("ground", Region(view.loop(ground)), 0)
    for piece in detail.pieces:
        if piece.hatch:
            yield from textured(piece.hatch, Region(view.loop(piece.outline)), turn)
            turn += piece.hatch == "brick-cut"


def _blades(path: Path) -> Iterator[Stroke]:
    """Turf on a finished surface: blades 1.3 high every 1.4."""
    nib = Nib("thin", "thin", round_ends=True)
    count = int(path.length // 1.4)
    for i in range(count):
        at = path.segments[0].point((i + 0.5) * 1.4 / path.length)
        yield nib.upright(at.x, at.y + 0.35, at.y + 1.65)


def _measures(detail: Detail, view: View, once: Once) -> Iterator[Mark]:
    for measure in detail.measures:
        yield _measure(measure, detail, view, once)


def _measure(m: Measure, detail: Detail, view: View, once: Once) -> Mark:
    """Return one size: extension lines from 1.5 off the thing, strokes, the figure above its line; each line once."""
    level = m.side in {"above", "below"}
    out = 1 if m.side in {"above", "right"} else -1
    box, off = view.window, ROW_FIRST + ROW_NEXT * m.row
    row = (box.y1 if out > 0 else box.y0) + out * off if level else (box.x1 if out > 0 else box.x0) + out * off
    ends = sorted((view.point(m.start), view.point(m.end)), key=lambda p: p.x if level else p.y)
    length = abs(m.end.x - m.start.x) if level else abs(m.end.y - m.start.y)
    figure = millimetres(length) if detail.millimetres else f"{length:.2f}"
    wide = width(figure, "regular", FIGURES)

    def at(along: float, across: float) -> Point:
        return Point(along, across) if level else Point(across, along)

    low, high = ((p.x if level else p.y) for p in ends)
    fits = high - low >= wide + 2
    marks: list[Mark] = []
    for p, station in zip(ends, (low, high), strict=True):
        start = (p.y if level else p.x) + 1.5 * out
        marks += _thin(once, at(station, start), at(station, row + 2.0 * out))
        marks.append(_tick(at(station, row)))
    marks += _thin(once, at(low - (0 if fits else 2.0), row), at(high, row))
    if not fits:  # the line is drawn on under its figure, as a piece of its own
        marks += _thin(once, at(high, row), at(high + 3.6 + wide, row))
    middle = (low + high) / 2 if fits else high + 1.8 + wide / 2
    place = at(middle, row + 0.9) if level else at(middle, row - 0.9)
    marks.append(Text(layer="dimensions", at=place, words=figure, anchor="middle", turn=0.0 if level else math.pi / 2))
    return group("dimensions", "dim", marks, figure)


def _thin(once: Once, start: Point, end: Point) -> list[Mark]:
    """Return what of a thin line is not drawn already."""
    if start.distance(end) < 0.3:
        return []
    nib = Nib("dimensions", "thin")
    return [nib.path(piece) for piece in once.once(Path.through((start, end)))]


def _tick(at: Point) -> Stroke:
    half = 2.75 / 2 * math.sqrt(0.5)
    return Nib("dimensions", "mark").line(Point(at.x - half, at.y - half), Point(at.x + half, at.y + half))


def _stack(detail: Detail, view: View) -> Iterator[Mark]:
    """Return the reading line of a build-up: a dot in each layer, rows of words above in the same order."""
    if detail.stacked is None:
        return
    rows = detail.stacked.rows
    x = view.point(Point(detail.stacked.x, 0)).x
    top = view.window.y1 + 4.0 + PITCH * (len(rows) - 1) + 1.2
    ends = [view.point(Point(detail.stacked.x, y)).y for y, _, _ in rows]
    marks: list[Mark] = [Nib("leaders", "thin", classes=("leader",)).upright(x, min(ends), top + 2.4)]
    for i, ((_, words, thick), y) in enumerate(zip(rows, ends, strict=True)):
        marks.append(group("leaders", "leader-dot", (disc("leaders", Point(x, y), 0.5),)))
        base = top - PITCH * i
        room = STACK_WORDS - 2 - (width(thick, "bold", FIGURES) + 2 if thick else 0)
        marks.append(
            Text(layer="labels", at=Point(x + 1.4, base), words=(broken(words, room) or ("",))[0], classes=("label",))
        )
        if thick:
            marks.append(
                Text(
                    layer="labels",
                    at=Point(x + 46.0, base),
                    words=thick,
                    style="bold",
                    anchor="end",
                    classes=("label",),
                )
            )
    yield Group(layer="leaders", classes=("build-up",), marks=tuple(marks), title="Build-up")


def _tags(detail: Detail, view: View, wide: float, high: float) -> tuple[Mark, ...]:
    """Return the names at the right, on leaders that do not cross."""
    if not detail.tags:
        return ()
    from .annotate import place

    lines = [
        tuple(Words(piece, "regular") for line in tag.lines for piece in broken(line, TAG_ROOM - 1))
        for tag in detail.tags
    ]
    edge = wide - TAG_ROOM - 1.0
    requests = [
        ColumnLabel(name=f"{i:02d}", at=view.point(tag.at), lines=words, side="right", dot=True)
        for i, (tag, words) in enumerate(zip(detail.tags, lines, strict=True))
    ]
    low = min(view.window.y0 - 4, view.window.y1 - 12 * len(requests))
    column = Column(side="right", edge=edge, limit=wide, low=low, high=high - TITLE)
    field = Box(-2, low - 20, wide + 2, high + 20)
    return place(requests, Obstacles(), field, (column,)).marks


def set_at(drawn: Drawn, letter: str, x: float, y: float) -> tuple[tuple[Mark, ...], View]:
    """Return a detail's marks with its lower left corner at (x, y) and its title above, and the view as it stands."""
    by = Vec(x, y)
    title = view_title(Point(x, y + drawn.height - TITLE), letter, drawn.detail.title, f"1:{drawn.scale}")
    w = drawn.view.window
    view = View(
        name=letter,
        scale=drawn.view.scale,
        window=Box(w.x0 + x, w.y0 + y, w.x1 + x, w.y1 + y),
        origin=drawn.view.origin,
        plan=False,
    )
    return (*moved(drawn.marks, by), title), view
