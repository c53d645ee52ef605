"""The key plan of booklet and phone page: every pegged shape with its number, the house, the marks.

Takes: a SettingOut, its chapters, a box in mm. Gives: marks in paper millimetres with the box's corner at (0, 0).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..geometry.features import Purpose, Role, Status
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.segment import Line
from ..geometry.setout import SettingOut
from .chapters import Chapter
from .draft import Nib, block
from .lettering import width
from .pictures import fitted_view, framed, inside, outlined, shown
from .sheet import Fill, Mark, Text, View
from .signs import peg_sign

NUMBER_STEPS = tuple(sorted(((i, j) for i in range(-26, 27) for j in range(-30, 31)),
                            key=lambda s: (s[0] ** 2 + s[1] ** 2, -s[0], -s[1])))
"""Where a shape's number is tried on the key plan, in widths of a number from the shape's middle; the nearest first."""

LEADER_FROM = 1.5
"""A number more widths than this from its shape's middle has a leader to it."""


class KeyPlan:
    """The key plan of one garden in a box of one size: drawn once, with one shape filled or another."""

    def __init__(self, work: SettingOut, chapters: Sequence[Chapter], width: float, height: float) -> None:
        self.work = work
        self.found = [c for c in chapters if c.element]
        boundary = work.garden.site.boundary
        self.view = fitted_view(list(boundary.vertices()) if boundary else [p.at for p in work.pegs.pegs], width,
                                height, 4.0)
        self.frame = framed(self.view)
        under: list[Mark] = []
        if boundary:
            under += outlined(self.view, boundary.as_path(), self.frame, Nib("thin", "thin", "boundary"))
        self.under = (*under, *_houses(work, self.view, self.frame))
        named = {c.element for c in self.found}
        shapes = {p.name: p.shape for p in work.garden.elements if p.name in named and not isinstance(p.shape, Point)}
        self.shapes = shapes
        self.thin = {name: tuple(_shape(self.view, shape, self.frame, filled=False)) for name, shape in shapes.items()}
        self.signs = tuple(sign for mark in work.garden.site.marks
                           for sign in peg_sign("control", self.view.point(work.garden.site.control[mark.name])))

    def marks(self, only: str | None = None) -> tuple[Mark, ...]:
        """Return every pegged shape with its number, the house and the marks.

        With `only` that shape alone is filled and numbered; with an empty name none is.
        """
        marks: list[Mark] = [*self.under]
        for name, shape in self.shapes.items():
            marks += _shape(self.view, shape, self.frame, filled=True) if name == only else self.thin[name]
        return (*marks, *_numbers(self.work, self.view, self.found, only), *self.signs)


def plan_picture(work: SettingOut, chapters: Sequence[Chapter], width: float, height: float, only: str | None = None,
                 ) -> tuple[Mark, ...]:
    """Return the key plan in a box of that size, mm (see `KeyPlan.marks`)."""
    return KeyPlan(work, chapters, width, height).marks(only)


def _houses(work: SettingOut, view: View, frame: Region) -> Iterator[Mark]:
    for feature in work.features:
        if feature.role is Role.BUILDING and isinstance(feature.shape, Region) and feature.status is Status.EXISTING:
            yield from (Fill(layer="tints", region=view.region(r)) for r in shown(feature.shape, frame))


def _shape(view: View, shape: object, frame: Region, filled: bool) -> Iterator[Mark]:
    shapes = shape if isinstance(shape, tuple) else (shape,)
    for one in shapes:
        if isinstance(one, Region) and filled:
            for piece in shown(one, frame):
                yield Fill(layer="tints", region=view.region(piece), tone="dark")
        yield from outlined(view, one, frame, Nib("edges", "edge" if filled else "thin"))


def _numbers(work: SettingOut, view: View, found: list[Chapter], only: str | None) -> Iterator[Mark]:
    pegs = work.pegs
    taken: list[Box] = []
    left: list[str] = []
    for chapter in found:
        if only is not None and chapter.element != only:
            continue
        middle = view.point(Box.of([p.at for p in pegs.of(chapter.element)]).centre)
        spot = next(_free(middle, view.window, taken), None)
        if spot is None:
            left.append(str(chapter.number))
            continue
        far, box = spot
        taken.append(box)
        centre = box.centre
        if far > LEADER_FROM:
            yield Nib("leaders", "thin").line(centre, middle)
        yield block("marks", box, "white")
        yield Text(layer="labels", at=Point(centre.x, centre.y - 1.25), words=str(chapter.number), capitals=2.5,
                   style="bold", anchor="middle")
    if left:
        yield from _left_out(left, view.window)


def _free(middle: Point, room: Box, taken: Sequence[Box]) -> Iterator[tuple[int, Box]]:
    """Yield the free places for a number: how many widths from its shape's middle, and its box; the nearest first."""
    for i, j in NUMBER_STEPS:
        x, y = middle.x + 5.8 * i, middle.y + 5.0 * j
        box = Box(x - 2.8, y - 2.4, x + 2.8, y + 2.4)
        if inside(box, room) and not any(box.meets(t) for t in taken):
            yield max(abs(i), abs(j)), box


def _left_out(numbers: Sequence[str], room: Box) -> Iterator[Mark]:
    """Yield the line that names the shapes whose number finds no place: each has it on its own page and in the list."""
    words = f"no room here for {', '.join(numbers)}"
    wide = width(words, "words", 2.3)
    if wide > room.width - 2.0:
        words = f"no room for {len(numbers)} numbers"
        wide = width(words, "words", 2.3)
    yield block("marks", Box(room.x0 + 0.5, room.y0 + 0.5, room.x0 + wide + 2.0, room.y0 + 4.2), "white")
    yield Text(layer="labels", at=Point(room.x0 + 1.2, room.y0 + 1.2), words=words, capitals=2.3, style="words")


def strings_picture(work: SettingOut, width: float, height: float) -> tuple[Mark, ...]:
    """Return the plan of the recovery strings: each as a line between its two pegs, over the thin garden."""
    pegs = work.pegs.by_name()
    boundary = work.garden.site.boundary
    recovery = [p for p in work.pegs.pegs if p.purpose is Purpose.RECOVERY]
    view = fitted_view([*(boundary.vertices() if boundary else ()), *(p.at for p in recovery)], width, height, 4.0)
    frame = framed(view)
    marks: list[Mark] = [*_houses(work, view, frame)]
    for placed in work.garden.elements:
        if placed.name in work.pegs.elements and not isinstance(placed.shape, Point):
            marks += _shape(view, placed.shape, frame, filled=False)
    for pair in work.pegs.strings:
        start, end = (view.point(pegs[name].at) for name in pair.split("-"))
        if start.distance(end) > 0.5:
            marks.append(Nib("ties", "mark", "hidden").path(Path((Line(start, end),))))
    for peg in recovery:
        marks += peg_sign("recovery", view.point(peg.at))
    return tuple(marks)
