"""A detail drawn at a scale: hatches, outlines, one heavy line for the finished surface, sizes, names.

Takes: a Detail (metres) and a scale. Gives: its size on paper and its View, then its marks, about its lower left
corner, in paper millimetres, ready to be moved to their place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from . import details_forms, details_frames, details_posts, details_steps, details_walls
from .details_names import FAR, PITCH, Name, column, lowest, name_of, wide
from .details_parts import Detail, Say, Tag, millimetres
from .details_sizes import ROW_FIRST, ROW_NEXT, SIDES, Sized, size_marks, sized
from .draft import Nib, disc, group, moved
from .lettering import broken, width
from .once import Drawn as Once
from .pens import WEIGHTS
from .sheet import Dimension, Group, Mark, Stroke, Text, View, flat
from .symbols import break_line, fall, view_title
from .wrapping import FIGURES, NAMES

SCALES = (5, 10, 20, 50, 100)
TITLE = 6.8

SERVES = 5.6
"""Baseline of the line under a title that says what it is of, from the foot of the title's square, mm."""
STACK_WORDS = 44.0
"""Room for the words of a build-up beside its reading line; the thickness stands flush right 46 from the line."""

MEMBRANE = 1.35
"""A membrane is drawn this far below the line that it lies under, so that both can be seen."""

JOINTED = 10
"""Joints of brickwork are shown down to this scale, 1:10."""

FORMS: Mapping[str, Callable[[SectionDetail, Say], Detail | None]] = {
    "surface": details_forms.surface,
    "bed": details_forms.surface,
    "edging": details_forms.edging,
    "wall": details_walls.wall,
    "steps": details_steps.steps,
    "pergola": details_posts.pergola,
    "fence": details_posts.fence,
    "post foot": details_posts.post_foot,
    "deck": details_frames.deck,
    "pond": details_frames.pond,
}


def detail_of(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return the drawing of a section; None for a form that is unknown or says too little to be drawn."""
    maker = FORMS.get(section.form)
    return maker(section, say) if maker else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A detail as it stands on paper, its lower left corner at (0, 0), still without its letter."""

    detail: Detail
    scale: int
    width: float
    height: float
    view: View
    sizes: tuple[Sized, ...]
    rows: float     # x from which the sizes at the right are set out

    def marks(self, textured: Textured) -> tuple[Mark, ...]:
        """Return its marks; `textured` fills a cut piece with its hatch."""
        detail, view, once = self.detail, self.view, Once()
        keep = _crossing(self.sizes, view)
        named = [*column(_named(detail, view, False), view.window.x1, 1, keep, _floor(self.sizes, view, "high")),
                 *column(_named(detail, view, True), view.window.x0, -1, (), _floor(self.sizes, view, "low")),
                 *_stack(detail, view)]
        cut = [*detail.finished, *(Path.through(ends) for ends in detail.breaks)]
        for path in cut:
            once.add(view.path(path))
        body = list(_outlines(detail, view, once))
        sizes = list(size_marks(self.sizes, view, once, self.rows))
        clear = [path.box.grown(0.1) for mark in flat((*sizes, *named)) if isinstance(mark, Stroke)
                 for path in (mark.path,) if path.box.width < SLIGHT or path.box.height < SLIGHT]
        marks: list[Mark] = [*_hatched(detail, view, textured, clear), *body, *sizes, *named]
        if detail.fall:
            at = view.point(Point(detail.box.x0 + detail.box.width * 0.72, 0))
            marks.append(fall(at + Vec(0.0, 1.8), 0.0, detail.fall))
        marks += [mark for tag in detail.tags if _holds(tag, view) for mark in _held(tag, view)]
        return tuple(marks)


Textured: TypeAlias = Callable[[str, Region, int, Sequence[Box]], tuple[Mark, ...]]

SLIGHT = 1.0
"""Ground keeps clear of leaders and extension lines that rise or run by less than this, mm."""


def at_scale(detail: Detail, scale: int) -> Drawn:
    """Return a detail as it stands at 1 : scale: sizes and names placed, nothing drawn yet."""
    box, factor = detail.box, 1000 / scale
    sizes = sized(detail, factor)
    left, right, above, below = _room(detail, sizes)
    at_left = wide(_named(detail, _flat(detail, scale), True))
    left = max(left, at_left + 1.0)
    window = Box(left, below, left + box.width * factor, below + box.height * factor)
    view = View(name=detail.title, scale=scale, window=window, origin=Point(box.x0, box.y0), plan=False)
    names = _named(detail, view, False)
    under = min(0.0, lowest(names, _crossing(sizes, view), _floor(sizes, view, "high")) - 1.0) if names else 0.0
    if under < 0:
        window = Box(window.x0, window.y0 - under, window.x1, window.y1 - under)
        view = replace(view, window=window)
    named_to = window.x1 + (wide(names) if names else 2.0)
    whole = max(named_to + right, _stack_to(detail, view), width(detail.title, "bold", NAMES) + 30.0)
    high = window.y1 + above + TITLE + 4 + PITCH * len(_served(detail, whole))
    return Drawn(detail=detail, scale=scale, width=whole, height=high, view=view, sizes=sizes,
                 rows=named_to if right else window.x1)


def _served(detail: Detail, across: float) -> tuple[str, ...]:
    """Return the lines that say what a detail is of, as wide as the detail at most."""
    return broken(detail.serves, across - 1.0) if detail.serves else ()


def _flat(detail: Detail, scale: int) -> View:
    """Return a view of a detail with its lower left corner at (0, 0)."""
    box, factor = detail.box, 1000 / scale
    return View(name=detail.title, scale=scale, window=Box(0.0, 0.0, box.width * factor, box.height * factor),
                origin=Point(box.x0, box.y0), plan=False)


def _named(detail: Detail, view: View, left: bool) -> list[Name]:
    """Return the names that stand at one side."""
    return [name_of(tag, view) for tag in detail.tags if not _holds(tag, view) and tag.left == left]


def _holds(tag: Tag, view: View) -> bool:
    """Say whether a name stands on its thing: as is wished, if there is room for it at the scale of the view."""
    name = name_of(tag, view)
    return tag.held and name.width + 2.0 <= tag.room[0] * view.factor and name.height + 4.0 <= tag.room[1] * view.factor


def _crossing(sizes: tuple[Sized, ...], view: View) -> tuple[float, ...]:
    """Return the heights of the extension lines that run through the names at the right."""
    ends = (p for one in sizes if one.measure.side == "right" for p in (one.measure.start, one.measure.end))
    return tuple(sorted({round(view.point(p).y, 6) for p in ends}))


def _floor(sizes: tuple[Sized, ...], view: View, where: str) -> float:
    """Return how low names may stand where a figure runs out under them at that end, else as low as they like, mm."""
    out = any(one.measure.side == "below" and one.where == where for one in sizes)
    return view.window.y0 - 2.0 if out else FAR


def _room(detail: Detail, sizes: tuple[Sized, ...]) -> tuple[float, float, float, float]:
    """Return the room for sizes and build-up at the left, right, above and below, mm; names stand beyond the left."""
    rows = {side: 1 + max((s.measure.row for s in sizes if s.measure.side == side), default=-1) for side in SIDES}
    need = {side: (ROW_FIRST + ROW_NEXT * (count - 1) + 4.5) if count else 2.0 for side, count in rows.items()}
    stack = _above_surface(detail) + PITCH * len(detail.stacked.rows) + 2.0 if detail.stacked else 0.0
    right = need["right"] if rows["right"] else 0.0
    ends = [width(s.figure, "regular", FIGURES) + 3.0 for s in sizes
            if s.where != "between" and s.measure.side in {"left", "right"}]
    above = max([need["above"], stack, *ends])
    out = [width(s.figure, "regular", FIGURES) + 4.0 for s in sizes if s.where == "low" and s.measure.side == "below"]
    return max([need["left"], *out]) + 2, right, above + 2.0, need["below"] + 1.0


def _outlines(detail: Detail, view: View, once: Once) -> Iterator[Mark]:
    """Yield outlines by weight, then the finished surface as the one heavy line; what is in `once` is drawn already."""
    for piece in sorted(detail.pieces, key=lambda p: -WEIGHTS[p.pen]):
        layer = "edges" if piece.pen == "edge" else "thin"
        for part in once.once(view.loop(piece.outline)):
            yield Stroke(layer=layer, path=part, pen=piece.pen, dash=piece.dash)
    if view.scale <= JOINTED:
        yield from (Nib("textures", "texture").path(p) for j in detail.joints for p in once.once(view.path(j)))
    for line in detail.finished:
        yield Stroke(layer="edges", path=view.path(line), pen="cut", classes=("finished",))
    for path in detail.membranes:
        low = view.path(Path.through([Point(v.x, v.y - MEMBRANE / view.factor) for v in path.vertices()]))
        yield Stroke(layer="edges", path=low, pen="edge", dash="membrane")
    for path in (*detail.fabrics, *detail.damp):
        yield Stroke(layer="edges", path=view.path(path), pen="edge", dash="membrane")
    yield from (Stroke(layer="thin", path=view.path(p), pen="mark", classes=("water",)) for p in detail.water)
    yield from (break_line(view.point(a), view.point(b)) for a, b in detail.breaks)
    for path in detail.grass:
        yield from _blades(view.path(path))


def _hatched(detail: Detail, view: View, textured: Textured, clear: Sequence[Box]) -> Iterator[Mark]:
    turn = 0
    for ground in detail.ground:
        yield from textured("ground", Region(view.loop(ground)), 0, clear)
    for piece in detail.pieces:
        if piece.hatch:
            turn -= piece.hatch == "brick-cut" and not piece.lean
            holes = tuple(view.loop(hole) for hole in piece.holes)
            yield from textured(piece.hatch, Region(view.loop(piece.outline), holes), turn, ())
            turn += piece.hatch == "brick-cut"


def _blades(path: Path) -> Iterator[Stroke]:
    """Turf on a finished surface: blades 1.3 high every 1.4."""
    nib = Nib("thin", "thin", round_ends=True)
    count = int(path.length // 1.4)
    for i in range(count):
        at = path.segments[0].point((i + 0.5) * 1.4 / path.length)
        yield nib.upright(at.x, at.y + 0.35, at.y + 1.65)


def _stack_to(detail: Detail, view: View) -> float:
    """Return how far the words of a build-up reach to the right, mm."""
    return view.point(Point(detail.stacked.x, 0)).x + 47.0 if detail.stacked else 0.0


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


def _held(tag: Tag, view: View) -> Iterator[Text]:
    """Yield the lines of a name that stands on its thing."""
    at = view.point(tag.at)
    for i, words in enumerate(name_of(tag, view).lines):
        base = Point(at.x, at.y - PITCH * i)
        yield Text(layer="labels", at=base, words=words, anchor="middle", classes=("label",))


def set_at(drawn: Drawn, letter: str, x: float, y: float, textured: Textured) -> tuple[tuple[Mark, ...], View]:
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
    marks = (replace(m, view=letter) if isinstance(m, Dimension) else m for m in moved(drawn.marks(textured), by))
    served = (Text(layer="labels", at=Point(x, y + drawn.height - TITLE - SERVES + 1.2 - PITCH * i), words=words)
              for i, words in enumerate(_served(drawn.detail, drawn.width)))
    return (*marks, title, *served), view
