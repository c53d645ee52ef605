"""A detail drawn at a scale: hatches, outlines, one heavy line for the finished surface, sizes, names.

Takes: a Detail (metres) and a scale. Gives: a View on its own small sheet, about its lower left corner, in
paper millimetres, ready to be moved to its place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from . import details_forms, details_frames, details_steps
from .details_parts import Detail, Say, Tag, millimetres
from .details_sizes import ROW_FIRST, ROW_NEXT, SIDES, Sized, size_marks, sized
from .draft import Nib, disc, group, moved
from .lettering import broken, width
from .once import Drawn as Once
from .pens import WEIGHTS
from .requests import Column, ColumnLabel, Obstacles, Words
from .sheet import Dimension, Group, Mark, Stroke, Text, View
from .symbols import break_line, fall, view_title
from .wrapping import FIGURES, NAMES

SCALES = (5, 10, 20, 50, 100)
TITLE = 6.8
PITCH = 4.3
STACK_WORDS = 44.0
"""Room for the words of a build-up beside its reading line; the thickness stands flush right 46 from the line."""

TAG_ROOM = 28.0
"""The longest line of a name beside a detail, mm."""

LEADER = 6.0
"""Names stand so far from what they name, mm."""
MEMBRANE = 1.35
"""A membrane is drawn this far below the line that it lies under, so that both can be seen."""

JOINTED = 10
"""Joints of brickwork are shown down to this scale, 1:10."""

FORMS: Mapping[str, Callable[[SectionDetail, Say], Detail | None]] = {
    "surface": details_forms.surface,
    "edging": details_forms.edging,
    "wall": details_forms.wall,
    "steps": details_steps.steps,
    "pergola": details_frames.pergola,
    "fence": details_frames.fence,
    "deck": details_frames.deck,
    "pond": details_frames.pond,
}


def detail_of(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return the drawing of a section; None for a form that is unknown or says too little to be drawn."""
    maker = FORMS.get(section.form)
    return maker(section, say) if maker else None


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
    box, factor = detail.box, 1000 / scale
    sizes = sized(detail, factor)
    left, right, above, below = _room(detail, sizes)
    window = Box(left, below, left + box.width * factor, below + box.height * factor)
    view = View(name=detail.title, scale=scale, window=window, origin=Point(box.x0, box.y0), plan=False)
    tagged = window.x1 + right
    wide = max(tagged + _tags_wide(detail), width(detail.title, "bold", NAMES) + 30.0)
    high = window.y1 + above + TITLE + 4
    once = Once()
    marks = [*_body(detail, view, textured, once), *size_marks(sizes, view, once), *_stack(detail, view)]
    if detail.fall:
        marks.append(fall(view.point(Point(box.x0 + box.width * 0.72, 0)) + Vec(0.0, 1.8), 0.0, detail.fall))
    marks += _tags(detail, view, tagged, high)
    return Drawn(detail=detail, scale=scale, width=wide, height=high, view=view, marks=tuple(marks))


def _room(detail: Detail, sizes: tuple[Sized, ...]) -> tuple[float, float, float, float]:
    """Return the room for sizes and build-up at the left, right, above and below, mm; names stand beyond the right."""
    rows = {side: 1 + max((s.measure.row for s in sizes if s.measure.side == side), default=-1) for side in SIDES}
    need = {side: (ROW_FIRST + ROW_NEXT * (count - 1) + 4.5) if count else 2.0 for side, count in rows.items()}
    stack = _above_surface(detail) + PITCH * len(detail.stacked.rows) + 2.0 if detail.stacked else 0.0
    return need["left"] + 2, need["right"], max(need["above"], stack) + 2.0, need["below"] + 1.0


def _lines(tag: Tag) -> tuple[Words, ...]:
    return tuple(Words(piece, "regular") for line in tag.lines for piece in broken(line, TAG_ROOM - 1))


def _tags_wide(detail: Detail) -> float:
    """Return how wide the names at the right are, with their leaders."""
    wide = [width(words.words, "regular", FIGURES) for tag in detail.tags if not tag.held for words in _lines(tag)]
    return LEADER + 1.8 + max(wide) if wide else 0.0


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
    if view.scale <= JOINTED:
        yield from (Nib("textures", "texture").path(p) for j in detail.joints for p in once.once(view.path(j)))
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


def _above_surface(detail: Detail) -> float:
    """Return how far the words of a build-up stand above its surface: clear of the arrow of its fall."""
    return 7.4 if detail.fall else 4.0


def _stack(detail: Detail, view: View) -> Iterator[Mark]:
    """Return the reading line of a build-up: a dot in each layer, rows of words above in the same order."""
    if detail.stacked is None:
        return
    rows = detail.stacked.rows
    x = view.point(Point(detail.stacked.x, 0)).x
    top = view.window.y1 + _above_surface(detail) + PITCH * (len(rows) - 1) + 1.2
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


def _tags(detail: Detail, view: View, tagged: float, high: float) -> tuple[Mark, ...]:
    """Return the names at the right, on leaders that do not cross, and those that stand on the things themselves."""
    from .annotate import place

    marks = [mark for tag in detail.tags if tag.held for mark in _held(tag, view)]
    led = [tag for tag in detail.tags if not tag.held]
    if not led:
        return tuple(marks)
    requests = [
        ColumnLabel(name=f"{i:02d}", at=view.point(tag.at), lines=_lines(tag), side="right", dot=True)
        for i, tag in enumerate(led)
    ]
    low = min(view.window.y0 - 4, view.window.y1 - 12 * len(requests))
    limit = tagged + _tags_wide(detail) + 1.0
    column = Column(side="right", edge=tagged + LEADER, limit=limit, low=low, high=high - TITLE)
    field = Box(-2, low - 20, limit + 2, high + 20)
    return (*marks, *place(requests, Obstacles(), field, (column,)).marks)


def _held(tag: Tag, view: View) -> Iterator[Text]:
    """Yield the lines of a name that stands on its thing."""
    at = view.point(tag.at)
    for i, words in enumerate(_lines(tag)):
        base = Point(at.x, at.y - PITCH * i)
        yield Text(layer="labels", at=base, words=words.words, anchor="middle", classes=("label",))


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
    marks = (replace(m, view=letter) if isinstance(m, Dimension) else m for m in moved(drawn.marks, by))
    return (*marks, title), view
