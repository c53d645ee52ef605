"""The words that booklet and phone page share: landmarks, sides, paces, what a peg is.

Takes: a SettingOut. Gives: short garden words for marks, pegs and sides. One word for one thing all
through: the house is the house on each page. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ..geometry.features import Purpose, Role, Status
from ..geometry.kernel.measure import centroid
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Point
from ..geometry.pegs.peg import Peg
from ..geometry.setout import SettingOut

PACE = 0.75
"""One pace in metres, a guard against a wrong metre. Common practice, no source."""

SIDE_ANGLE = math.radians(45)
"""A landmark names a side when it lies within this of square to the line."""

SHORT = 18
"""The most characters that a mark's short word may have."""


@dataclass(frozen=True, slots=True)
class Landmark:
    """A thing that can be seen from the work, and where it is."""

    word: str
    at: Point


def shortened(words: str, most: int = SHORT) -> str:
    """Return `words` cut at a word so that no more than `most` characters stand."""
    if len(words) <= most:
        return words
    cut = words[: most + 1].rsplit(" ", 1)[0]
    return cut if cut and len(cut) <= most else words[:most].rstrip()


def paces(metres: float) -> str:
    """Return 'about 15 paces' for readings over 2 m, else nothing."""
    return f"about {round(abs(metres) / PACE)} paces" if abs(metres) > 2 else ""


_WHAT = {
    Purpose.CENTRE: "centre of the {element}",
    Purpose.TANGENT: "where two edges of the {element} join smoothly",
    Purpose.CURVE: "on the edge of the {element}",
    Purpose.ASIDE: "beside the edge of the {element}",
    Purpose.LINE: "on the edge of the {element}",
    Purpose.FOCUS: "string peg of the {element}",
}


def what_it_is(peg: Peg) -> str:
    """Return what the peg is, in garden words."""
    if peg.purpose is Purpose.AUXILIARY:
        return "an extra mark that other pegs hang on"
    if peg.purpose is Purpose.RECOVERY:
        return f"recovery peg for {peg.from_1}"
    words = _WHAT.get(peg.purpose, "{part} of the {element}")
    return words.format(element=peg.element, part=peg.part or "a point")


class Words:
    """The words of one garden."""

    def __init__(self, work: SettingOut) -> None:
        self.work = work
        self.pegs = work.pegs.by_name()
        self.marks = {m.name: m for m in work.garden.site.marks}
        self.landmarks = tuple(_landmarks(work))

    def of(self, name: str) -> str:
        """Return the short word for a mark or peg: 'kitchen corner', 'centre of the round lawn'."""
        mark = self.marks.get(name)
        if mark is not None:
            return mark.short or shortened(mark.what)
        peg = self.pegs.get(name)
        return "" if peg is None else "an extra mark" if peg.purpose is Purpose.AUXILIARY else what_it_is(peg)

    def place(self, name: str) -> Point:
        """Return where a mark or peg stands; KeyError for an unknown name."""
        return self.pegs[name].at

    def side(self, first: Point, second: Point, at: Point) -> tuple[str, str]:
        """Return the hand ('LEFT' or 'RIGHT') on which `at` lies from first to second, and the side's word.

        The word is the nearest landmark within 45 degrees of square on that side that has no namesake on
        the other; without one, the far or the near end as seen from the house.
        """
        along = second - first
        hand = 1.0 if along.cross(at - first) >= 0 else -1.0
        middle = first.toward(second, 0.5)
        normal = along.left() * hand
        here: list[tuple[float, str]] = []
        there: set[str] = set()
        for mark in self.landmarks:
            way = mark.at - middle
            turn = abs(math.atan2(normal.cross(way), normal.dot(way)))
            if turn <= SIDE_ANGLE:
                here.append((round(way.length, 3), mark.word))
            elif turn >= math.pi / 2:
                there.add(mark.word)
        for _, word in sorted(here):
            if word not in there:
                return ("LEFT" if hand > 0 else "RIGHT"), word
        return ("LEFT" if hand > 0 else "RIGHT"), ("far" if normal.dy >= 0 else "near")


def _middle(shape: object) -> Point | None:
    if isinstance(shape, Point):
        return shape
    if isinstance(shape, Region):
        return centroid(shape)
    return shape.box.centre if isinstance(shape, Path) else None


def _landmarks(work: SettingOut) -> Iterator[Landmark]:
    seen: set[str] = set()
    for feature in work.features:
        standing = feature.status is Status.EXISTING and feature.role is not Role.SERVICE      # and can be seen
        at = _middle(feature.shape)
        if standing and at is not None and feature.element and feature.element not in seen:
            seen.add(feature.element)
            yield Landmark(feature.element, at)
    for mark in work.garden.site.marks:
        at = work.garden.site.control.get(mark.name)
        word = mark.short or shortened(mark.what)
        if at is not None and word:
            yield Landmark(word, at)
    yield from _sides(work)


def _sides(work: SettingOut) -> Iterator[Landmark]:
    """Yield the plot's named sides as landmarks well outside it."""
    boundary, names = work.garden.site.boundary, work.garden.site.sides
    if boundary is None:
        return
    box, far = boundary.box, 3.0
    spots = {"near": Point(box.centre.x, box.y0 - far), "far": Point(box.centre.x, box.y1 + far),
             "left": Point(box.x0 - far, box.centre.y), "right": Point(box.x1 + far, box.centre.y)}
    for side, at in spots.items():
        word = names.get(side, "")
        if word:
            yield Landmark(word.removeprefix("the "), at)
