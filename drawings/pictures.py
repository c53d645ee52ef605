"""The small pictures beside a step: what is pegged, from where, by which tape. Seen from above, house at the bottom.

Takes: a SettingOut, a step, a box in mm. Gives: marks in paper millimetres with the box's corner at (0, 0).
Never to scale on purpose (the largest true shape that fits); the map from ground to picture keeps its sense, so left
is left. Shared by booklet and phone page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from ..geometry.errors import DrawingError, refuse
from ..geometry.features import Purpose, Role, Status
from ..geometry.kernel.combine import clip, common
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.segment import Line
from ..geometry.setout import SettingOut
from .annotate import place
from .draft import Nib, block, disc
from .obstacles import gathered
from .requests import Obstacles, Placement, PointLabel, Sign, Words
from .sheet import Fill, Mark, Stroke, Text, View
from .signs import CLASSES, REACH, peg_sign
from .steps import Chapter, Form, Step, chapters

MARGIN = 9.0
LEAST_ROOM = 1.5
"""A picture shows at least so many metres each way."""

FORMS_ON_STRING = (Form.LINE, Form.CIRCLE, Form.OFFSET, Form.TANGENT, Form.CHORD)
PENS = {"cut": 0.7, "edge": 0.35, "mark": 0.25, "thin": 0.18, "texture": 0.13}
LOOSE = 0.3
"""Lines count as no wider than this where names find no place clear of all of them, mm."""

NEW = 3.0
"""Radius of the ring round a new peg, mm."""

NUMBER_STEPS = ((0, 0), (1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1), (2, 0), (-2, 0), (0, 2),
                (0, -2), (2, 1), (-2, 1), (2, -1), (-2, -1), (1, 2), (-1, 2), (1, -2), (-1, -2))
"""Where a shape's number is tried on the key plan, in widths of a number from the shape's middle."""

SHORT_TAPE = 14.0
"""A tape shorter than this on paper has its number beside it, mm."""

TAG = 2.3
"""Radius of the disc that carries a tape's number, mm."""


def _fit(points: Iterable[Point], width: float, height: float, margin: float = MARGIN) -> View:
    box = Box.of(points)
    middle = box.centre
    wide, high = max(box.width, LEAST_ROOM), max(box.height, LEAST_ROOM)
    factor = min((width - 2 * margin) / wide, (height - 2 * margin) / high)
    origin = Point(middle.x - width / 2 / factor, middle.y - height / 2 / factor)
    return View(name="picture", scale=1000 / factor, window=Box(0, 0, width, height), origin=origin)


def _frame(view: View, inset: float = 0.4) -> Region:
    low = view.ground(Point(view.window.x0 + inset, view.window.y0 + inset))
    high = view.ground(Point(view.window.x1 - inset, view.window.y1 - inset))
    return Region(Loop.polygon((low, Point(high.x, low.y), high, Point(low.x, high.y))))


def _outline(view: View, shape: Region | Path, frame: Region, nib: Nib) -> Iterator[Stroke]:
    paths = [shape] if isinstance(shape, Path) else [Path(ring) for ring in shape.rings()]
    for path in paths:
        for piece in clip(path, [frame]).inside:
            yield nib.path(view.path(piece))


def _surroundings(work: SettingOut, view: View, frame: Region, element: str) -> Iterator[Mark]:
    """Yield the house, what stands in the way of tapes, and the shape itself; nothing else of the garden."""
    for feature in work.features:
        if feature.role is Role.BUILDING and isinstance(feature.shape, Region):
            for piece in common([feature.shape], [frame]):
                yield Fill(layer="tints", region=view.region(piece), tone="shade")
            yield from _outline(view, feature.shape, frame, Nib("existing", "mark"))
    for obstacle in work.obstacles:
        if obstacle.stage == 0:
            yield from _outline(view, obstacle.body, frame, Nib("existing", "thin", "hidden"))
    for placed in work.garden.elements:
        if placed.name == element and not isinstance(placed.shape, Point):
            shapes = placed.shape if isinstance(placed.shape, tuple) else (placed.shape,)
            for shape in shapes:
                yield from _outline(view, shape, frame, Nib("edges", "edge"))


def _places(work: SettingOut, step: Step) -> dict[str, Point]:
    """Return every mark and peg that the step uses or drives, by name."""
    pegs = work.pegs.by_name()
    names: list[str] = list(step.pegs)
    names += [hook.at for hook in step.hooks if hook.at]
    names += [name for name in step.stand if name]
    names += [row.toward.split(",")[0] for row in step.rows if row.toward and step.form is Form.LINE]
    if step.form is Form.LINE:
        names += [pegs[name].from_2 for name in step.pegs]
    return {name: pegs[name].at for name in dict.fromkeys(names) if name in pegs}


def _tapes(work: SettingOut, step: Step, view: View) -> Iterator[tuple[int, Path]]:
    """Yield each tape or string as a path in mm with its number (0 for a string)."""
    pegs = work.pegs.by_name()
    many = len(step.rows) > 1
    for row in step.rows:
        new = view.point(pegs[row.peg].at)
        if step.form in (Form.OFFSET, Form.TANGENT, Form.CHORD):
            start, end = (view.point(pegs[n].at) for n in step.stand)
            foot = _foot(start, end, new)
            yield from ((tape, Path((Line(a, b),))) for tape, a, b in ((1, start, foot), (2, foot, new))
                        if a.distance(b) > 0.5)
            continue
        for hook in step.hooks:
            start = view.point(pegs[hook.at].at)
            if start.distance(new) > 0.5:
                yield (0 if many and row is not step.rows[0] else hook.tape), Path((Line(start, new),))


def _foot(start: Point, end: Point, at: Point) -> Point:
    along = (end - start).unit()
    return start + along * along.dot(at - start)


def _inside(box: Box, room: Box) -> bool:
    return room.x0 <= box.x0 and box.x1 <= room.x1 and room.y0 <= box.y0 and box.y1 <= room.y1


def _tag(path: Path, number: int, taken: list[Box], room: Box) -> tuple[Mark, ...]:
    """Put a tape's number on it, at 42 % of its length or the next free place; beside it where the tape is short."""
    start, end = path.start, path.end
    side = (end - start).unit().left()
    beside = (0.0, 4.0, -4.0, 7.5, -7.5) if path.length >= SHORT_TAPE else (4.0, -4.0, 7.5, -7.5, 0.0)
    for by in beside:
        spots = (start.toward(end, share) + side * by for share in (0.42, 0.55, 0.3, 0.66, 0.2, 0.78, 0.9, 0.08))
        boxes = (Box(at.x - TAG, at.y - TAG, at.x + TAG, at.y + TAG) for at in spots)
        box = next((b for b in boxes if not any(b.meets(other) for other in taken) and _inside(b, room)), None)
        if box is not None:
            break
    else:
        return ()
    at = box.centre
    taken.append(box)
    figure = Text(layer="labels", at=Point(at.x, at.y - 1.25), words=str(number), capitals=2.5, style="bold",
                  anchor="middle", tone="white")
    return disc("marks", at, TAG), figure


def step_picture(work: SettingOut, step: Step, width: float, height: float) -> tuple[Mark, ...]:
    """Return the picture of one step in a box of `width` by `height` mm."""
    places = _places(work, step)
    view = _fit(places.values(), width, height)
    frame = _frame(view)
    element = work.pegs.peg(step.pegs[0]).element
    marks: list[Mark] = list(_surroundings(work, view, frame, element))
    taken: list[Box] = [Box(p.x - 3, p.y - 3, p.x + 3, p.y + 3) for p in map(view.point, places.values())]
    tagged: dict[int, Path] = {}
    for number, path in _tapes(work, step, view):
        nib = Nib("ties", "cut" if number else "thin", "hidden" if number == 2 else "")
        marks.append(nib.path(path))
        if number:
            tagged.setdefault(number, path)
    named = _named(work, step, view, places, gathered(marks, PENS))
    taken += [region.box for region in named.boxes]
    tags = [mark for number, path in tagged.items() for mark in _tag(path, number, taken, view.window)]
    return (*marks, *_signs(work, step, view, places), *named.marks, *tags)


def _signs(work: SettingOut, step: Step, view: View, places: dict[str, Point]) -> Iterator[Mark]:
    """Yield the sign of every peg and mark in the picture; a new peg is a disc in a ring."""
    for name, at in sorted(places.items()):
        spot = view.point(at)
        if name in step.pegs:
            yield Nib("marks", "edge").ring(spot, NEW)
            yield disc("marks", spot, NEW - 1.0)
        else:
            yield from peg_sign(CLASSES[work.pegs.peg(name).purpose], spot)


def _named(work: SettingOut, step: Step, view: View, places: dict[str, Point], drawn: Obstacles) -> Placement:
    """Place the names: beside their pegs or on leaders.

    Where pegs stand too close for all names, the first and the last of the step are named (its rows have the same
    order), then only what the tapes hook on: the words of the step name every peg.
    """
    pegs = work.pegs.by_name()
    requests: list[PointLabel] = []
    signs: list[Sign] = []
    for name, at in sorted(places.items()):
        spot = view.point(at)
        kind = CLASSES[pegs[name].purpose]
        new = name in step.pegs
        reach = NEW if new else REACH[kind]
        lettering = Words(name, "bold", 3.5 if new or pegs[name].purpose is Purpose.CONTROL else 2.5)
        signs.append(Sign(at=spot, radius=reach, owner=name))
        gaps = (reach + 0.8, reach + 1.8, reach + 3.0, reach + 0.4)
        requests.append(PointLabel(name=name, at=spot, lines=(lettering,), radius=reach, gaps=gaps, leader=40.0))
    strict = Obstacles(lines=drawn.lines, signs=tuple(signs))
    loose = replace(strict, lines=tuple(replace(ink, width=LOOSE) for ink in drawn.lines))
    ends = {step.pegs[0], step.pegs[-1]}
    hooks = [r for r in requests if r.name not in step.pegs]
    for wanted, capitals, obstacles in ((requests, 3.5, strict), (requests, 3.5, loose), (requests, 2.5, loose),
                                        ([r for r in requests if r.name in ends] + hooks, 2.5, loose),
                                        (hooks, 2.5, loose), ((), 2.5, loose)):
        lot = [replace(r, lines=tuple(replace(w, capitals=min(w.capitals, capitals)) for w in r.lines)) for r in wanted]
        try:
            return place(lot, obstacles, view.window)
        except DrawingError:
            continue
    raise refuse(DrawingError, f"the picture of step {step.number} cannot be lettered", "", "picture")


def plan_picture(work: SettingOut, width: float, height: float, only: str = "") -> tuple[Mark, ...]:
    """Return the key plan: every pegged shape with its number, house and marks; `only` fills one shape."""
    found = [c for c in chapters(work) if c.element]
    boundary = work.garden.site.boundary
    spots = list(boundary.vertices()) if boundary else [p.at for p in work.pegs.pegs]
    view = _fit(spots, width, height, 4.0)
    frame = _frame(view)
    marks: list[Mark] = []
    if boundary:
        marks += _outline(view, boundary.as_path(), frame, Nib("thin", "thin", "boundary"))
    for feature in work.features:
        if feature.role is Role.BUILDING and isinstance(feature.shape, Region) and feature.status is Status.EXISTING:
            marks += [Fill(layer="tints", region=view.region(r)) for r in common([feature.shape], [frame])]
    for placed in work.garden.elements:
        chapter = next((c for c in found if c.element == placed.name), None)
        if chapter and not isinstance(placed.shape, Point):
            marks += _shape(view, placed.shape, frame, filled=placed.name == only)
    marks += _numbers(work, view, found, only)
    for mark in work.garden.site.marks:
        spot = view.point(work.garden.site.control[mark.name])
        marks += peg_sign("control", spot)
    return tuple(marks)


def _shape(view: View, shape: object, frame: Region, filled: bool) -> Iterator[Mark]:
    shapes = shape if isinstance(shape, tuple) else (shape,)
    for one in shapes:
        if isinstance(one, Region) and filled:
            for piece in common([one], [frame]):
                yield Fill(layer="tints", region=view.region(piece), tone="dark")
        yield from _outline(view, one, frame, Nib("edges", "edge" if filled else "thin"))


def _numbers(work: SettingOut, view: View, found: list[Chapter], only: str) -> Iterator[Mark]:
    pegs = work.pegs
    taken: list[Box] = []
    for chapter in found:
        own = [p.at for p in pegs.of(chapter.element)]
        if only and chapter.element != only:
            continue
        middle = view.point(Box.of(own).centre)
        tries = [Point(middle.x + 5.8 * i, middle.y + 5.0 * j) for i, j in NUMBER_STEPS]
        boxes = [Box(p.x - 2.8, p.y - 2.4, p.x + 2.8, p.y + 2.4) for p in tries]
        room = view.window
        box = next((b for b in boxes if _inside(b, room) and not any(b.meets(t) for t in taken)), boxes[0])
        taken.append(box)
        centre = box.centre
        yield block("marks", box, "white")
        yield Text(layer="labels", at=Point(centre.x, centre.y - 1.25), words=str(chapter.number), capitals=2.5,
                   style="bold", anchor="middle")


__all__ = ["plan_picture", "step_picture"]
