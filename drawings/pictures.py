"""The small pictures beside a step: what is pegged, from where, by which tape. Seen from above, house at the bottom.

Takes: a SettingOut, a step, a box in mm. Gives: marks in paper millimetres with the box's corner at (0, 0).
Never to scale on purpose (the largest true shape that fits); the map from ground to picture keeps its sense, so left
is left. Shared by booklet and phone page.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from ..geometry.errors import DrawingError, refuse
from ..geometry.features import Purpose, Role, Status
from ..geometry.kernel.combine import clip, common
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from ..geometry.kernel.segment import Line
from ..geometry.setout import SettingOut
from .annotate import place
from .draft import Nib, disc, moved
from .lettering import width as lettered
from .obstacles import gathered
from .requests import Obstacles, Placement, PointLabel, Sign, Words
from .sheet import Fill, Mark, Stroke, Text, View
from .signs import CLASSES, REACH, peg_sign
from .steps import Form, Step

MARGIN = 9.0
LEAST_ROOM = 1.5
"""A picture shows at least so many metres each way."""

FORMS_ON_STRING = (Form.LINE, Form.CIRCLE, Form.OFFSET, Form.TANGENT, Form.CHORD)
PENS = {"cut": 0.7, "edge": 0.35, "mark": 0.25, "thin": 0.18, "texture": 0.13}
NOTE = 4.2
"""Height of the line below a picture that says what it does not name, mm."""

LOOSE = 0.3
"""Lines count as no wider than this where names find no place clear of all of them, mm."""

NEW = 3.0
"""Radius of the ring round a new peg, mm."""

APART = (7.0, 4.5, 3.0)
"""Signs whose middles are so far apart do not touch; their black discs do not merge; neither hides the other, mm."""

SHORT_TAPE = 14.0
"""A tape shorter than this on paper has its number beside it, mm."""

TAG = 2.3
"""Radius of the disc that carries a tape's number, mm."""

LEADER_FROM = 8.0
"""A number farther than this from its tape has a leader to it, mm."""

NOTE_CAPITALS = 2.3


def fitted_view(points: Iterable[Point], width: float, height: float, margin: float = MARGIN) -> View:
    """Return the view that shows all the points in a box of that size, margin all round, mm."""
    box = Box.of(points)
    middle = box.centre
    wide, high = max(box.width, LEAST_ROOM), max(box.height, LEAST_ROOM)
    factor = min((width - 2 * margin) / wide, (height - 2 * margin) / high)
    origin = Point(middle.x - width / 2 / factor, middle.y - height / 2 / factor)
    return View(name="picture", scale=1000 / factor, window=Box(0, 0, width, height), origin=origin)


def framed(view: View, inset: float = 0.4) -> Region:
    """Return the ground that a view shows, a little inside its frame."""
    low = view.ground(Point(view.window.x0 + inset, view.window.y0 + inset))
    high = view.ground(Point(view.window.x1 - inset, view.window.y1 - inset))
    return Region(Loop.polygon((low, Point(high.x, low.y), high, Point(low.x, high.y))))


def outlined(view: View, shape: Region | Path, frame: Region, nib: Nib) -> Iterator[Stroke]:
    """Yield the edges of a shape as far as the frame shows them."""
    paths = [shape] if isinstance(shape, Path) else [Path(ring) for ring in shape.rings()]
    for path in paths:
        if frame.box.meets(path.box):
            pieces = (path,) if inside(path.box, frame.box) else clip(path, [frame]).inside
            yield from (nib.path(view.path(piece)) for piece in pieces)


def shown(region: Region, frame: Region) -> tuple[Region, ...]:
    """Return the parts of an area that the frame shows."""
    if not frame.box.meets(region.box):
        return ()
    return (region,) if inside(region.box, frame.box) else common([region], [frame])


STEM = 1.4
"""What is narrower than this on paper, a tree's stem, is a dot of this width, mm."""


def _surroundings(work: SettingOut, view: View, frame: Region, element: str) -> Iterator[Mark]:
    """Yield the house, what stands in the way of tapes, and the shape itself; nothing else of the garden."""
    for feature in work.features:
        if feature.role is Role.BUILDING and isinstance(feature.shape, Region) and feature.status is Status.EXISTING:
            for piece in shown(feature.shape, frame):
                yield Fill(layer="tints", region=view.region(piece), tone="shade")
            yield from outlined(view, feature.shape, frame, Nib("existing", "mark"))
    for obstacle in work.obstacles:
        box = obstacle.body.box
        if obstacle.stage == 0 and box.width * view.factor < STEM and inside(box, frame.box):
            yield disc("existing", view.point(box.centre), STEM / 2)
        elif obstacle.stage == 0:
            yield from outlined(view, obstacle.body, frame, Nib("existing", "thin", "hidden"))
    for placed in work.garden.elements:
        if placed.name == element and not isinstance(placed.shape, Point):
            shapes = placed.shape if isinstance(placed.shape, tuple) else (placed.shape,)
            for shape in shapes:
                yield from outlined(view, shape, frame, Nib("edges", "edge"))


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


def inside(box: Box, room: Box) -> bool:
    """Return whether a box lies in a room."""
    return room.x0 <= box.x0 and box.x1 <= room.x1 and room.y0 <= box.y0 and box.y1 <= room.y1


def _tag(path: Path, number: int, taken: list[Box], room: Box) -> tuple[Mark, ...]:
    """Put a tape's number on it, at 42 % of its length or the next free place, else beside it, else on a leader.

    A short tape has its number beside it. Nothing where the whole picture is full.
    """
    for at, on in _tag_spots(path):
        box = Box(at.x - TAG, at.y - TAG, at.x + TAG, at.y + TAG)
        if inside(box, room) and not any(box.meets(other) for other in taken):
            taken.append(box)
            figure = Text(layer="labels", at=Point(at.x, at.y - 1.25), words=str(number), capitals=2.5, style="bold",
                          anchor="middle", tone="white")
            leader = (Nib("leaders", "thin").line(at, on),) if at.distance(on) > LEADER_FROM else ()
            return (*leader, disc("marks", at, TAG), figure)
    return ()


def _tag_spots(path: Path) -> Iterator[tuple[Point, Point]]:
    """Yield places for a tape's number with the point of the tape that it speaks of, the best first."""
    start, end = path.start, path.end
    side = (end - start).unit().left()
    for by in (0.0, 4.0, -4.0, 7.5, -7.5) if path.length >= SHORT_TAPE else (4.0, -4.0, 7.5, -7.5, 0.0):
        for share in (0.42, 0.55, 0.3, 0.66, 0.2, 0.78, 0.9, 0.08):
            on = start.toward(end, share)
            yield on + side * by, on
    on = start.toward(end, 0.5)
    for far in (9.0, 12.0, 16.0, 21.0):
        for k in range(16):
            yield on + Vec.polar(math.pi / 8 * k, far), on


@dataclass(frozen=True, slots=True)
class Picture:
    """The marks of a step's picture, and what it leaves out: names of pegs and marks, numbers of tapes."""

    marks: tuple[Mark, ...]
    missing: tuple[str, ...]


class Pictures:
    """The pictures of one garden's steps, each drawn once for booklet and phone page."""

    def __init__(self, work: SettingOut) -> None:
        self.work = work
        self._drawn: dict[tuple[int, float, float, bool], Picture] = {}

    def of(self, step: Step, width: float, height: float, *, all_named: bool = True) -> Picture:
        """Return the picture of one step in a box of `width` by `height` mm (see `step_picture`)."""
        key = (step.number, width, height, all_named)
        if key not in self._drawn:
            self._drawn[key] = step_picture(self.work, step, width, height, all_named=all_named)
        return self._drawn[key]

    def touching(self, step: Step, width: float, height: float) -> int:
        """Return how many pairs of signs touch in a picture of that size, mm; hidden ones count three times."""
        places = _places(self.work, step).values()
        view = fitted_view(places, width, height)
        spots = [view.point(at) for at in places]
        gaps = [a.distance(b) for a, b in combinations(spots, 2)]
        return sum(gap < apart for gap in gaps for apart in APART)


def step_picture(work: SettingOut, step: Step, width: float, height: float, *, all_named: bool = True) -> Picture:
    """Return the picture of one step in a box of `width` by `height` mm.

    What finds no place in it is named in a line below. `all_named` may be off for a step whose rows are a picture
    themselves: then the first and the last of its pegs are named. Raises DrawingError if it cannot be lettered.
    """
    marks, missing = _picture(work, step, width, height, all_named)
    if not missing:
        return Picture(marks, ())
    marks, missing = _picture(work, step, width, height - NOTE, all_named)
    marks = moved(marks, Vec(0.0, NOTE))
    words = f"see the drawing: {', '.join(missing)}"
    if long_in_mm(words) > width - 2.0:
        words = f"see the drawing for the names of {len(missing)} pegs"
    note = Text(layer="labels", at=Point(1.2, 1.2), words=words, capitals=NOTE_CAPITALS, style="words")
    return Picture((*marks, note) if missing else marks, missing)


def long_in_mm(words: str) -> float:
    """Return the length of the words of a note, mm."""
    return lettered(words, "words", NOTE_CAPITALS)


def _picture(work: SettingOut, step: Step, width: float, height: float, all_named: bool,
             ) -> tuple[tuple[Mark, ...], tuple[str, ...]]:
    """Return the marks of a picture, and what they leave out."""
    places = _places(work, step)
    view = fitted_view(places.values(), width, height)
    frame = framed(view)
    element = work.pegs.peg(step.pegs[0]).element
    marks: list[Mark] = list(_surroundings(work, view, frame, element))
    taken: list[Box] = [Box(p.x - 3, p.y - 3, p.x + 3, p.y + 3) for p in map(view.point, places.values())]
    tagged: dict[int, Path] = {}
    for number, path in _tapes(work, step, view):
        nib = Nib("ties", "cut" if number else "thin", "hidden" if number == 2 else "")
        marks.append(nib.path(path))
        if number:
            tagged.setdefault(number, path)
    named, missing = _named(work, step, view, places, gathered(marks, PENS), all_named)
    taken += [region.box for region in named.boxes]
    tags: list[Mark] = []
    for number, path in tagged.items():
        tag = _tag(path, number, taken, view.window)
        tags += tag
        missing += () if tag else (f"tape {number}",)
    return (*marks, *_signs(work, step, view, places), *named.marks, *tags), missing


def _signs(work: SettingOut, step: Step, view: View, places: dict[str, Point]) -> Iterator[Mark]:
    """Yield the sign of every peg and mark in the picture; a new peg is a disc in a ring."""
    for name, at in sorted(places.items()):
        spot = view.point(at)
        if name in step.pegs:
            yield Nib("marks", "edge").ring(spot, NEW)
            yield disc("marks", spot, NEW - 1.0)
        else:
            yield from peg_sign(CLASSES[work.pegs.peg(name).purpose], spot)


def _named(work: SettingOut, step: Step, view: View, places: dict[str, Point], drawn: Obstacles, all_named: bool,
           ) -> tuple[Placement, tuple[str, ...]]:
    """Place the names, beside their pegs or on leaders; return also the names that find no place.

    Where pegs stand too close for all names, the first and the last of the step are named (its rows have the same
    order), then only what the tapes hook on.
    """
    requests = [_request(work, name, view.point(at), name in step.pegs) for name, at in sorted(places.items())]
    signs = tuple(Sign(at=r.at, radius=r.radius, owner=r.name) for r in requests)
    strict = Obstacles(lines=drawn.lines, signs=signs)
    loose = replace(strict, lines=tuple(replace(ink, width=LOOSE) for ink in drawn.lines))
    bare = replace(strict, lines=())
    ends = {step.pegs[0], step.pegs[-1]}
    hooks = [r for r in requests if r.name not in step.pegs]
    few = [r for r in requests if r.name in ends] + hooks
    full = requests if all_named else few
    for wanted, capitals, obstacles in ((full, 3.5, strict), (full, 3.5, loose), (full, 2.5, loose), (full, 2.5, bare),
                                        (few, 2.5, loose), (few, 2.5, bare), (hooks, 2.5, loose), ((), 2.5, loose)):
        lot = [replace(r, lines=tuple(replace(w, capitals=min(w.capitals, capitals)) for w in r.lines)) for r in wanted]
        try:
            placed = place(lot, obstacles, view.window)
        except DrawingError:
            continue
        found = {r.name for r in wanted}
        return placed, tuple(r.name for r in full if r.name not in found)
    raise refuse(DrawingError, f"the picture of step {step.number} cannot be lettered", "", "picture")


def _request(work: SettingOut, name: str, spot: Point, new: bool) -> PointLabel:
    purpose = work.pegs.peg(name).purpose
    reach = NEW if new else REACH[CLASSES[purpose]]
    lettering = Words(name, "bold", 3.5 if new or purpose is Purpose.CONTROL else 2.5)
    gaps = (reach + 0.8, reach + 1.8, reach + 3.0, reach + 0.4)
    return PointLabel(name=name, at=spot, lines=(lettering,), radius=reach, gaps=gaps, leader=40.0)


__all__ = ["Picture", "Pictures", "fitted_view", "framed", "inside", "outlined", "shown", "step_picture"]
