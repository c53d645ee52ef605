"""Enlarged views of a setting-out plan: where pegs stand too close for their numbers, the numbers go to a larger view.

Takes: the requests of a plan that is too full. Gives: windows that hold what does not fit, and sheets on which
each window is drawn at a larger scale of ISO 5455, with the same pegs and the same numbers.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.station import project
from . import pegs_on_plan
from .brief import Brief
from .composition import RECOMMENDED, Plate
from .crowding import crowding
from .draft import Nib, group, moved, rectangle
from .drafts import Draft
from .filling import PanelRow
from .obstacles import lettered as ink_of
from .obstacles import text_region
from .once import Drawn
from .plan import visible_surfaces
from .planned import Lettered, Stage, lettered, under
from .requests import Inked, PointLabel, Request
from .sheet import Mark, Stroke, Text, View, flat
from .symbols import peg_head, view_title
from .wrapping import FIGURES

KIND = "setting out"
ROUNDS = 12
ENOUGH = 0.3
"""An enlarged view that is fuller than this is drawn larger at once."""

AROUND = 9.0
"""A window reaches this far round a peg whose number finds no place, mm."""

FEW = 3
"""Fewer pegs than this are no crowd: what is in their way is not numbers."""

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
RIM = 0.18
HEAD = 3.6
"""A peg head of 4.6 this far from a line does not touch it."""

TITLE, GAP, LEAST = 9.0, 8.0, 46.0
"""Height of a view's title, the gap between views, the least width of one: its title must fit."""


@dataclass(frozen=True, slots=True)
class Window:
    """A part of the plan to be enlarged: its box on paper, and the pegs whose numbers stand in the enlarged view."""

    box: Box
    names: frozenset[str]


def numbered(
    requests: Sequence[Request], place: Callable[[Sequence[Request], Sequence[Window]], Lettered]
) -> tuple[Lettered, tuple[Window, ...], frozenset[str]]:
    """Place the lettering of a plan; numbers that find no room are left to windows.

    Returns the lettering, the windows, and the names of readings and words that were left out because they stand
    elsewhere too. DrawingError if all that is no help.
    """
    windows: list[Window] = []
    dropped: set[str] = set()
    spare = {r.name for r in requests if not isinstance(r, PointLabel)}
    for _ in range(ROUNDS):
        hidden = dropped.union(*(w.names for w in windows))
        left = [r for r in requests if r.name not in hidden]
        try:
            found = place(left, windows)
            more = _crowded(left, found.crowded)
            if not more:
                return found, tuple(windows), frozenset(dropped)
            windows = _joined([*windows, *more], requests)
        except DrawingError as error:
            failed = set(_named(error))
            if failed & spare - dropped:
                dropped |= failed & spare
                continue
            more = _windows(left, error)
            if not more:
                raise
            windows = _joined([*windows, *more], requests)
    hidden = dropped.union(*(w.names for w in windows))
    left = [r for r in requests if r.name not in hidden]
    return place(left, windows), tuple(windows), frozenset(dropped)


def _named(error: DrawingError) -> list[str]:
    """Return the names of the labels that an error is about."""
    return [name for problem in error.problems for name in re.findall(r"the label '([^']*)'", problem.what)]


def _points(requests: Sequence[Request]) -> dict[str, Point]:
    return {r.name: r.at for r in requests if isinstance(r, PointLabel) and "control-name" not in r.classes}


def _windows(requests: Sequence[Request], error: DrawingError) -> list[Window]:
    """Return windows for what is too crowded: as the crowding proposes, else round the labels that found no place."""
    points = _points(requests)
    found = [Window(i.window, frozenset(i.names) & points.keys()) for i in crowding(tuple(requests)).insets]
    found = [w for w in found if w.names]
    if found:
        return found
    return [Window(_round(points[name]), frozenset((name,))) for name in _named(error) if name in points]


def _crowded(requests: Sequence[Request], names: Sequence[str]) -> list[Window]:
    """Return the window of the pegs whose numbers crowd a plan."""
    points = _points(requests)
    own = [name for name in names if name in points]
    if len(own) < FEW:
        return []
    return [Window(Box.of(points[name] for name in own).grown(3.0), frozenset(own))]


def _round(at: Point) -> Box:
    return Box(at.x - AROUND, at.y - AROUND, at.x + AROUND, at.y + AROUND)


def _joined(windows: Sequence[Window], requests: Sequence[Request]) -> list[Window]:
    """Return windows that do not overlap, each with all the pegs inside it."""
    boxes = [w.box for w in windows]
    names = [set(w.names) for w in windows]
    merged = True
    while merged:
        merged = False
        for i in range(len(boxes)):
            for j in range(i + 1, len(boxes)):
                if boxes[i].meets(boxes[j]):
                    boxes[i] = Box.around((boxes[i], boxes[j]))
                    names[i] |= names[j]
                    del boxes[j], names[j]
                    merged = True
                    break
            if merged:
                break
    points = _points(requests)
    out = []
    for box, own in zip(boxes, names, strict=True):
        inside = {n for n, p in points.items() if box.x0 <= p.x <= box.x1 and box.y0 <= p.y <= box.y1}
        out.append(
            Window(
                Box.around([box, *(Box(points[n].x, points[n].y, points[n].x, points[n].y).grown(3.0) for n in own)]),
                frozenset(own | inside),
            )
        )
    return out


def outlined(windows: Sequence[Window], within: Box, drawn: Sequence[Mark], signs: Sequence[Point]) -> tuple[Mark, ...]:
    """Return the outlines of windows, each with its letter on its rim, clear of lettering, heavy lines and `signs`."""
    flatted = list(flat(tuple(drawn)))
    lines = [m.path for m in flatted if isinstance(m, Stroke)]
    heavy = [m.path for m in flatted if isinstance(m, Stroke) and (m.pen in {"edge", "cut"} or "leader" in m.classes)]
    taken = [text_region(ink_of(m)).box for m in flatted if isinstance(m, Text)]
    taken += [Box(p.x, p.y, p.x, p.y).grown(2.5) for p in signs]
    nib = Nib("marks", "thin", "division")
    marks: list[Mark] = []
    for i, window in enumerate(windows):
        box = _inside(window.box, within)
        head = _clear_spot(box, lines, taken) or _clear_spot(box, heavy, taken) or _clearest(box, heavy, taken)
        taken.append(Box(head.x, head.y, head.x, head.y).grown(HEAD))
        letter = LETTERS[i % 24]
        parts = (nib.box(box), *peg_head(head, 4.6, letter, FIGURES, "marks"))
        marks.append(group("marks", "symbol enlarged", parts, f"Enlarged as view {letter}"))
    return tuple(marks)


def rim(window: Window, within: Box) -> Inked:
    """Return the outline of a window as it stands in the way of lettering."""
    return Inked(rectangle(_inside(window.box, within)), RIM)


def _clear_spot(box: Box, lines: Sequence[Path | Loop], taken: Sequence[Box]) -> Point | None:
    """Return the spot on a window's rim that is clear, the corners first."""
    return next((spot for spot, room in _rooms(box, lines, taken) if room > HEAD), None)


def _clearest(box: Box, lines: Sequence[Path | Loop], taken: Sequence[Box]) -> Point:
    return max(_rooms(box, lines, taken), key=lambda found: round(found[1], 3))[0]


def _rooms(box: Box, heavy: Sequence[Path | Loop], taken: Sequence[Box]) -> list[tuple[Point, float]]:
    """Return spots on a window's rim, the corners first, and how far each is from lines and lettering."""
    corners = [Point(box.x0, box.y1), Point(box.x1, box.y1), Point(box.x1, box.y0), Point(box.x0, box.y0)]
    ring = [*corners, corners[0]]
    spots = [*corners, *(a.toward(b, k / 8) for a, b in pairwise(ring) for k in range(1, 8))]
    near = [p for p in heavy if p.box.grown(HEAD).meets(box)]

    def away(spot: Point) -> float:
        lines = min((project(p, spot).distance for p in near), default=99.0)
        texts = min((max(t.x0 - spot.x, spot.x - t.x1, t.y0 - spot.y, spot.y - t.y1) for t in taken), default=99.0)
        return min(lines, texts)

    return [(spot, away(spot)) for spot in spots]


def _inside(box: Box, within: Box) -> Box:
    return Box(max(box.x0, within.x0), max(box.y0, within.y0), min(box.x1, within.x1), min(box.y1, within.y1))


def enlarged_sheets(on: Stage, windows: Sequence[Window], rows: tuple[PanelRow, ...]) -> tuple[Draft, ...]:
    """Return the sheets of enlarged views."""
    sheets: list[tuple[list[Mark], list[View]]] = []
    places = _Places(on.plate.field)
    for i, window in enumerate(windows):
        marks, view, size = _enlarged(on, _ground(on, window.box), LETTERS[i % 24])
        corner = places.take(size) if sheets else None
        if corner is None:
            sheets.append(([], []))
            places = _Places(on.plate.field)
            corner = places.take(size)
        assert corner is not None       # a view that is larger than a field was refused
        by = corner - Point(view.window.x0, view.window.y0)
        w = view.window
        sheets[-1][0].extend(moved(marks, by))
        sheets[-1][1].append(replace(view, window=Box(w.x0 + by.dx, w.y0 + by.dy, w.x1 + by.dx, w.y1 + by.dy)))
    count = len(sheets)
    return tuple(
        Draft(
            name=f"{KIND} enlarged" + (f" {i}" if i > 1 else ""),
            title="Setting-out plan, enlarged" + (f" {i}" if count > 1 else ""),
            plate=on.plate,
            scale=_common(views),
            views=tuple(views),
            marks=tuple(marks),
            rows=rows,
            extra=True,
        )
        for i, (marks, views) in enumerate(sheets, 1)
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
        self.room = Box(field.x0 + 6, field.y0 + 5, field.x1 - 5, field.y1 - 7)
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


def _enlarged(on: Stage, ground: Box, letter: str) -> tuple[list[Mark], View, tuple[float, float]]:
    """Draw a window at the first larger scale at which its numbers find room, in the lower left corner of the field."""
    at = Point(on.plate.field.x0 + 6, on.plate.field.y0 + 5)
    failed: DrawingError | None = None
    for scale in sorted((s for s in RECOMMENDED if s < on.view.scale), reverse=True):
        factor = 1000 / scale
        wide, high = max(ground.width * factor, LEAST), ground.height * factor
        if wide > on.plate.field.width - 11 or high + TITLE > on.plate.field.height - 12:
            break
        try:
            shown = _as_wide(ground, wide / factor)
            marks, view = _drawn(on, shown, Box(at.x, at.y, at.x + wide, at.y + high), scale, letter)
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


def _as_wide(ground: Box, wide: float) -> Box:
    """Return ground that is at least so wide (m), about the same middle: a view shows all of its ground."""
    more = max(0.0, wide - ground.width) / 2
    return Box(ground.x0 - more, ground.y0, ground.x1 + more, ground.y1)


def _drawn(on: Stage, ground: Box, box: Box, scale: int, letter: str) -> tuple[list[Mark], View]:
    brief = replace(window_brief(on.brief, ground), close=True)
    view = View(name=letter, scale=scale, window=box, origin=Point(ground.x0, ground.y0))
    plate: Plate = replace(on.plate, field=box)
    here = Stage(brief=brief, plate=plate, view=view, surfaces=visible_surfaces(brief, view), plot=box, pens=on.pens)
    asked = list(pegs_on_plan.numbers(brief, view))
    if crowding(tuple(asked)).fill > ENOUGH:
        raise refuse(
            DrawingError,
            f"the pegs of the enlarged view {letter} stand too close at 1:{scale}",
            "take a larger sheet, so that a larger scale fits",
            "enlarged-too-full",
        )
    _, marks = under(KIND, here)
    pegs, standing = pegs_on_plan.signs(brief, view), pegs_on_plan.standing(brief, view)
    words = lettered(here, marks, asked, sides=(), more=standing, compass=False)
    title = view_title(Point(box.x0, box.y1 + 2.0), letter, "Enlarged", f"1:{scale}")
    rim = [Nib("thin", "thin").path(piece) for piece in Drawn.of(marks).rest(rectangle(box))]
    return [*marks, *pegs, *words.marks, *rim, title], view


def window_brief(brief: Brief, ground: Box) -> Brief:
    """Return a brief that shows only a part of the ground, with the pegs that stand in it."""
    inside = tuple(p for p in brief.pegs if ground.x0 <= p.at.x <= ground.x1 and ground.y0 <= p.at.y <= ground.y1)
    return replace(brief, window=ground, pegs=inside)
