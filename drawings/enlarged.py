"""Enlarged views of a setting-out plan: the pegs of its windows at a larger scale of ISO 5455, with the same numbers.

Takes: windows of a plan. Gives: views and the sheets on which they stand, in paper millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from ..geometry.errors import DrawingError, PegbookError, refuse
from ..geometry.kernel.point import Box, Point
from . import pegs_on_plan
from .brief import Brief
from .composition import RECOMMENDED, Plate
from .crowding import crowding
from .draft import Nib, moved, rectangle
from .drafts import Draft
from .filling import PanelRow
from .once import Drawn
from .panel import MARGIN
from .plan import visible_surfaces
from .planned import Stage, lettered, under
from .sheet import Mark, View
from .signs import CLASSES, REACH
from .symbols import view_title
from .windows import AROUND, LETTERS, Window
from .yielding import yielding

KIND = "setting out"
ENOUGH = 0.5
"""An enlarged view that is fuller of numbers than this is drawn larger at once; else its lettering says."""

MOST_VIEWS = 8
"""A plan that needs more enlarged views than this wants a larger sheet."""

TITLE, GAP, LEAST = 9.0, 8.0, 64.0
"""Height of a view's title, the gap between views, the least width of one: its title must fit."""

ROOMY = 110.0
"""A view is not made larger than this only to part the signs of its pegs, mm."""

PEG_CLEAR = 2.5
"""The rim of an enlarged view stays so far from the middle of a peg, mm."""


@dataclass(frozen=True, slots=True)
class Enlarged:
    """An enlarged view in the lower left corner of a field: its window, marks, view, and size with its title."""

    window: Window
    marks: tuple[Mark, ...]
    view: View
    size: tuple[float, float]


def enlarged_views(on: Stage, windows: Sequence[Window], title: str, first: int = 0) -> tuple[Enlarged, ...]:
    """Return the enlarged views of windows; a window that is too large for the scale that it needs is parted.

    `title` names the plan that they are parts of; `first` views have their letters already.
    """
    found: list[Enlarged] = []
    todo = list(windows)
    while todo:
        window = todo.pop(0)
        try:
            marks, view, size = _enlarged(on, _ground(on, window.box), LETTERS[(first + len(found)) % 24], title)
        except DrawingError:
            if max(window.box.width, window.box.height) < 2 * AROUND or len(found) + len(todo) > MOST_VIEWS:
                raise
            todo[:0] = _halves(window)
            continue
        found.append(Enlarged(window, tuple(marks), view, size))
    return tuple(found)


def _halves(window: Window) -> tuple[Window, Window]:
    """Return the two halves of a window, parted across its longer side."""
    box, middle = window.box, window.box.centre
    if box.width >= box.height:
        parts = Box(box.x0, box.y0, middle.x, box.y1), Box(middle.x, box.y0, box.x1, box.y1)
    else:
        parts = Box(box.x0, middle.y, box.x1, box.y1), Box(box.x0, box.y0, box.x1, middle.y)
    return Window(parts[0], window.names), Window(parts[1], window.names)


NAME, HEADING = "enlarged", "Enlarged views"


def enlarged_sheets(on: Stage, found: Sequence[Enlarged], rows: tuple[PanelRow, ...]) -> tuple[Draft, ...]:
    """Return the sheets of enlarged views of all plans; where they leave room tables may follow."""
    spots, places = fewest_sheets([one.size for one in found], on.plate.field)
    sheets: list[tuple[list[Mark], list[View], list[Box]]] = [([], [], place.taken) for place in places]
    for one, (index, corner) in zip(found, spots, strict=True):
        w = one.view.window
        by = corner - Point(w.x0, w.y0)
        sheets[index][0].extend(moved(one.marks, by))
        sheets[index][1].append(replace(one.view, window=Box(w.x0 + by.dx, w.y0 + by.dy, w.x1 + by.dx, w.y1 + by.dy)))
    count = len(sheets)
    return tuple(
        Draft(
            name=NAME + (f" {i}" if i > 1 else ""),
            title=HEADING + (f" {i}" if count > 1 else ""),
            plate=on.plate,
            scale=_common(views),
            views=tuple(views),
            marks=tuple(marks),
            rows=rows,
            extra=True,
            low=True,
            taken=tuple(taken),
        )
        for i, (marks, views, taken) in enumerate(sheets, 1)
    )


def _common(views: Sequence[View]) -> float:
    scales = [v.scale for v in views]
    return min(scales, key=lambda s: (-scales.count(s), s))


def _ground(on: Stage, box: Box) -> Box:
    a, b = on.view.ground(Point(box.x0, box.y0)), on.view.ground(Point(box.x1, box.y1))
    return Box(a.x, a.y, b.x, b.y)


class _Places:
    """Sets views on a field, each as high up and then as far left as it goes."""

    def __init__(self, field: Box) -> None:
        self.room = Box(field.x0 + MARGIN, field.y0 + 6, field.x1 - MARGIN, field.y1 - 7)
        self.taken: list[Box] = []

    def take(self, size: tuple[float, float]) -> Point | None:
        """Return the lower left corner of the next view, mm; None if no place is left for it."""
        lefts = sorted({self.room.x0, *(round(box.x1 + GAP, 3) for box in self.taken)})
        tops = sorted({self.room.y1, *(round(box.y0 - GAP, 3) for box in self.taken)}, reverse=True)
        for top in tops:
            for left in lefts:
                box = Box(left, top - size[1], left + size[0], top)
                inside = box.x1 <= self.room.x1 + 1e-6 and box.y0 >= self.room.y0 - 1e-6
                if inside and not any(box.meets(other.grown(GAP - 0.01)) for other in self.taken):
                    self.taken.append(box)
                    return Point(box.x0, box.y0)
        return None


def fewest_sheets(
    sizes: Sequence[tuple[float, float]], field: Box
) -> tuple[tuple[tuple[int, Point], ...], list[_Places]]:
    """Return the sheet and lower left corner of each view, and the places taken, on as few sheets as an order gives.

    The order of the letters comes first; the tallest first, or the largest, only where that saves a sheet.
    """
    letters = range(len(sizes))
    orders = (
        letters,
        sorted(letters, key=lambda i: -sizes[i][1]),
        sorted(letters, key=lambda i: -sizes[i][0] * sizes[i][1]),
    )
    return min((_packed(sizes, order, field) for order in orders), key=lambda way: len(way[1]))


def _packed(
    sizes: Sequence[tuple[float, float]], order: Sequence[int], field: Box
) -> tuple[tuple[tuple[int, Point], ...], list[_Places]]:
    places: list[_Places] = []
    spots: dict[int, tuple[int, Point]] = {}
    for view in order:
        taken = ((i, at) for i, place in enumerate(places) if (at := place.take(sizes[view])))
        index, corner = next(taken, (len(places), None))
        if corner is None:
            places.append(_Places(field))
            corner = places[-1].take(sizes[view])
        assert corner is not None       # a view that is larger than a field was refused
        spots[view] = index, corner
    return tuple(spots[i] for i in range(len(sizes))), places


def _enlarged(on: Stage, ground: Box, letter: str, title: str) -> tuple[list[Mark], View, tuple[float, float]]:
    """Draw a window at the first larger scale at which its numbers find room, in the lower left corner of the field.

    Scales at which signs of pegs stand clear of one another come first.
    """
    at = Point(on.plate.field.x0 + 6, on.plate.field.y0 + 5)
    failed: DrawingError | None = None
    scales = sorted((s for s in RECOMMENDED if s < on.view.scale), reverse=True)
    longest = max(ground.width, ground.height) * 1000
    clear = [s for s in scales if longest / s <= ROOMY and _apart(window_brief(on.brief, ground), 1000 / s)]
    for scale in (*clear, *(s for s in scales if s not in clear)):
        factor = 1000 / scale
        shown = clear_of_pegs(_as_wide(ground, LEAST / factor), [p.at for p in on.brief.pegs], PEG_CLEAR / factor)
        wide, high = shown.width * factor, shown.height * factor
        if wide > on.plate.field.width - 2 * MARGIN or high + TITLE > on.plate.field.height - 12:
            continue
        try:
            marks, view = _drawn(on, shown, Box(at.x, at.y, at.x + wide, at.y + high), scale, letter, title)
        except DrawingError as error:
            failed = error
            continue
        return marks, view, (wide, high + TITLE)
    raise failed or refuse(
        DrawingError,
        f"the enlarged view {letter} does not fit on the sheet",
        "take a larger sheet",
        "enlarged-too-large",
    )


def _apart(brief: Brief, factor: float) -> bool:
    """Say whether the signs of all pegs stand clear of one another, `factor` mm on paper to the metre."""
    reaches = [(p.at, REACH[CLASSES[p.purpose]]) for p in brief.pegs]
    return all(a.distance(b) * factor > r + s for (a, r), (b, s) in combinations(reaches, 2))


def _as_wide(ground: Box, wide: float) -> Box:
    """Return ground that is at least so wide (m), about the same middle: a view shows all of its ground."""
    more = max(0.0, wide - ground.width) / 2
    return Box(ground.x0 - more, ground.y0, ground.x1 + more, ground.y1)


def clear_of_pegs(ground: Box, at: Sequence[Point], room: float) -> Box:
    """Return ground whose sides are moved outwards until no peg stands nearer to one than `room` (m).

    A peg's sign on the rim of a view would be cut, or drawn on the rim.
    """
    for _ in range(len(at) + 1):
        near = ground.grown(room)
        rows = [p for p in at if near.x0 <= p.x <= near.x1 and near.y0 <= p.y <= near.y1]
        wider = Box(
            min([ground.x0, *(p.x - 1.01 * room for p in rows if abs(p.x - ground.x0) < room)]),
            min([ground.y0, *(p.y - 1.01 * room for p in rows if abs(p.y - ground.y0) < room)]),
            max([ground.x1, *(p.x + 1.01 * room for p in rows if abs(p.x - ground.x1) < room)]),
            max([ground.y1, *(p.y + 1.01 * room for p in rows if abs(p.y - ground.y1) < room)]),
        )
        if wider == ground:
            break
        ground = wider
    return ground


def _drawn(on: Stage, ground: Box, box: Box, scale: int, letter: str, name: str) -> tuple[list[Mark], View]:
    brief = replace(window_brief(on.brief, ground), close=True)
    view = View(name=letter, scale=scale, window=box, origin=Point(ground.x0, ground.y0))
    asked = list(pegs_on_plan.numbers(brief, view))
    if crowding(tuple(asked)).fill > ENOUGH:
        raise _too_close(letter, scale)
    plate: Plate = replace(on.plate, field=box)
    here = Stage(brief=brief, plate=plate, view=view, surfaces=visible_surfaces(brief, view), plot=box, pens=on.pens)
    _, marks = under(KIND, here)
    pegs, standing = pegs_on_plan.signs(brief, view), pegs_on_plan.standing(brief, view)
    words = lettered(here, marks, asked, sides=(), more=standing, compass=False)
    if words.crowded:
        raise _too_close(letter, scale)
    title = view_title(Point(box.x0, box.y1 + 2.0), letter, name, f"1:{scale}")
    rim = [Nib("thin", "thin").path(piece) for piece in Drawn.of(marks).rest(rectangle(box))]
    apart = pegs_on_plan.parted(brief, view)
    return [*yielding(marks, words.marks), *pegs, *apart, *words.marks, *rim, title], view


def _too_close(letter: str, scale: int) -> PegbookError:
    return refuse(
        DrawingError,
        f"the pegs of the enlarged view {letter} stand too close at 1:{scale}",
        "take a larger sheet, so that a larger scale fits",
        "enlarged-too-full",
    )


def window_brief(brief: Brief, ground: Box) -> Brief:
    """Return a brief that shows only a part of the ground, with the pegs that stand in it."""
    inside = tuple(p for p in brief.pegs if ground.x0 <= p.at.x <= ground.x1 and ground.y0 <= p.at.y <= ground.y1)
    return replace(brief, window=ground, pegs=inside)
