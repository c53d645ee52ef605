"""Elevation strips: how high a bed's plants stand along its length, season by season, seen from its front.

Takes: planted beds. Gives: a table of strips to scale that parts between strips. Millimetres on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc, Line
from ..geometry.planting.plants import Habit
from ..geometry.planting.profile import strips_of
from .draft import Nib, disc, filled
from .panel import LAYER, Section, section, text
from .sheet import Mark, Stroke

if TYPE_CHECKING:
    from ..geometry.planting.planted import BedPlanting
    from ..geometry.planting.profile import Standing, Strip

WIDTH = 164.0
SCALES = (20, 50, 100, 200, 500, 1000)
CHOICES = (("spring", "summer", "autumn", "winter"), ("spring", "summer", "winter"), ("summer", "winter"))
"""Seasons shown, the best choice first: a sheet takes the first that it has room for."""

IN_LENGTHS = (100, 200)
"""Scales for which a long strip is shown in lengths: smaller ones show plants as specks."""

LEFT = 9.0
"""The scale of heights stands in this room at the left."""

ROOM = WIDTH - LEFT - 4
"""A strip is no longer than this on paper."""

ABOVE, BELOW = 4.8, 1.6
HEADING = 8.2
FOOT_SHARE = 0.5, 0.3
"""How wide a dome stands, as a part of its width: the least, and by how much kinds differ, so that they can be told."""

APART = 0.8
"""Plants of one form nearer than this, one behind the other, are drawn as one."""

ALIKE = 0.5
"""Crowns that differ by less in half their width and in their height look like one form, mm."""

DOT = 0.35
"""Radius of the dot on a grass in flower, mm."""

LEAST = 1.2
"""Plants are drawn no lower than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Elevations:
    """The strips of all beds, or some of them, at one scale."""

    strips: tuple[Strip, ...]
    scale: int
    heading: str = "Beds seen from the front"
    width: float = WIDTH
    row_height: float = 8.0

    @property
    def height(self) -> float:
        """Height with the heading."""
        return HEADING + sum(map(self._high, self.strips))

    def _high(self, strip: Strip) -> float:
        return ABOVE + max(strip.height * 1000 / self.scale, 4.0) + BELOW

    def widened(self, width: float) -> Elevations:
        """Return them as they are: they are drawn to scale."""
        del width
        return self

    def parted(self, room: float) -> tuple[Elevations, Elevations | None]:
        """Return the strips that fit in `room` (one at least) and the rest, or None."""
        count, left = 0, room - HEADING
        for strip in self.strips:
            left -= self._high(strip)
            if left < 0 and count:
                break
            count += 1
        if count == len(self.strips):
            return self, None
        return replace(self, strips=self.strips[:count]), replace(self, strips=self.strips[count:])

    def continued(self) -> Elevations:
        """Return the strips as they stand in a further column."""
        return self

    def resumed(self, number: int) -> Elevations:
        """Return the strips as they stand on another sheet than that of this number."""
        return self

    def ending(self, words: str) -> Elevations:
        """Return the strips as they are: each is whole."""
        return self

    def drawn(self) -> Section:
        """Return the strips as a section."""
        marks: list[Mark] = []
        down = 0.0
        for strip in self.strips:
            down += self._high(strip)
            marks += _strip(strip, 1000 / self.scale, -(down - BELOW), down - self._high(strip) + 2.8)
        remark = f"1:{self.scale}, heights in metres; grey, and dots on grasses: in flower"
        return section("elevations", self.heading, self.width, marks, down, remark, "table elevations")


def elevations_of(
    beds: Sequence[BedPlanting], seasons: Sequence[str] = CHOICES[-1], scale: int = 0
) -> Elevations | None:
    """Return the strips of all beds whose plants have heights, each whole at the largest scale that takes the longest.

    At another `scale` strips that are too long are shown in lengths, one under the other.
    """
    return _shown([s for bed in beds for s in strips_of(bed) if s.height > 0], seasons, scale)


def _shown(all_strips: Sequence[Strip], seasons: Sequence[str], scale: int) -> Elevations | None:
    strips = [s for s in all_strips if s.season in seasons]
    if not strips:
        return None
    scale = scale or _whole(max(s.length for s in strips))
    return Elevations(strips=tuple(part for s in strips for part in _lengths(s, ROOM * scale / 1000)), scale=scale)


def ways_to_show(beds: Sequence[BedPlanting]) -> Iterator[Elevations]:
    """Yield the strips as they may be shown, the best first: large before small, then all seasons before some."""
    strips = [s for bed in beds for s in strips_of(bed) if s.height > 0]
    if not strips:
        return
    whole = _whole(max(s.length for s in strips))
    for scale in sorted({whole, *(s for s in IN_LENGTHS if s < whole)}):
        for seasons in CHOICES:
            shown = _shown(strips, seasons, scale)
            if shown is not None:
                yield shown


def _whole(length: float) -> int:
    """Return the largest scale at which so many metres stand on one line."""
    return next((s for s in SCALES if length * 1000 / s <= ROOM), SCALES[-1])


def _lengths(strip: Strip, most: float) -> Iterator[Strip]:
    """Yield a strip in equal lengths of at most so many metres; a plant stands in the one that holds its middle."""
    count = max(1, math.ceil(strip.length / most - 1e-9))
    long = strip.length / count
    for k in range(count):
        own = (p for p in strip.plants if min(count - 1, max(0, int(p.station / long))) == k)
        yield strip if count == 1 else replace(
            strip, bed=f"{strip.bed}, {k * long:.1f} to {(k + 1) * long:.1f} m", length=long,
            plants=tuple(replace(p, station=p.station - k * long) for p in own))


def _strip(strip: Strip, factor: float, foot: float, title: float) -> list[Mark]:
    """Return one strip standing on `foot`: plants from the back to the front, ground line, scale of heights."""
    thin = Nib(LAYER, "thin")
    marks: list[Mark] = [text(LEFT, title, f"{strip.bed[:1].upper()}{strip.bed[1:]}, {strip.season}", "bold")]
    if not strip.plants:
        marks.append(text(LEFT + 2, -foot - 1.6, "nothing above the ground"))
    for plant, at in _apart(strip, factor):
        marks += _standing(plant, LEFT + at, foot, factor)
    marks.append(Nib(LAYER, "edge").across(LEFT - 1.5, LEFT + strip.length * factor + 1.5, foot))
    step = next((s for s in (0.5, 1.0, 2.0, 5.0) if s * factor >= 4.0), 10.0)
    x = LEFT - 3.0
    marks.append(thin.upright(x, foot, foot + max(strip.height, step) * factor))
    for k in range(math.floor(strip.height / step + 1e-9) + 1):
        marks.append(thin.across(x - 0.8, x, foot + k * step * factor))
        marks.append(text(x - 1.4, -(foot + k * step * factor) + 1.25, f"{k * step:g}", anchor="end"))
    return marks


def _apart(strip: Strip, factor: float) -> list[tuple[Standing, float]]:
    """Return the plants that are drawn, from the back, and where along the strip, mm.

    Of plants of one form that would stand in one place the nearest to the eye is drawn. Crowns whose drawn sizes
    differ by less than a reader sees are of one form. One whose side would run along the side of another is moved a
    hair, so that both are seen; where that does not help there is no room to see it.
    """
    kept: list[tuple[Standing, float]] = []
    taken: list[tuple[float, float, float]] = []
    drawn: dict[int, list[Upright]] = {}       # by where their feet stand, in hairs
    for plant in reversed(strip.plants):
        half, high = (0.0, 0.0) if plant.plant.habit is Habit.GRASS else _sizes(plant, factor)
        at = plant.station * factor
        if all(abs(at - x) >= APART or abs(half - h) >= ALIKE or abs(high - v) >= ALIKE for x, h, v in taken):
            taken.append((at, half, high))
            sides = _sides(plant, factor)
            for _ in range(HAIRS):
                own = [(at + a, at + b, top) for a, b, top in sides]
                if not any(_along(one, other) for one in own for k in (-1, 0, 1)
                           for other in drawn.get(_hairs(one) + k, ())):
                    for one in own:
                        drawn.setdefault(_hairs(one), []).append(one)
                    kept.append((plant, at))
                    break
                at += HAIR
    return kept[::-1]


HAIR, HAIRS = 0.3, 6
"""How far a crown is moved off the side of another, and how often at the most, mm."""


Upright: TypeAlias = tuple[float, float, float]
"""An upright line of a plant: where its foot and its top stand, and how high its top is, mm."""


def _hairs(one: Upright) -> int:
    return math.floor(one[0] / HAIR)


def _along(one: Upright, other: Upright) -> bool:
    """Say whether two uprights run along each other as far as both go."""
    high = min(one[2], other[2])
    tops = [a + (b - a) * high / top for a, b, top in (one, other)]
    return abs(one[0] - other[0]) < HAIR and abs(tops[0] - tops[1]) < HAIR


def _sides(plant: Standing, factor: float) -> tuple[Upright, ...]:
    """Return the uprights of a plant about its middle: the sides of a crown, the blades of a grass."""
    half, high = _sizes(plant, factor)
    if plant.plant.habit is Habit.GRASS:
        return tuple((0.0, half * lean, high * (1 - 0.25 * abs(lean))) for lean in LEANS)
    narrow = _narrow(half, high)
    return ((-narrow, -half, high - half), (narrow, half, high - half)) if high > half else ()


def _narrow(half: float, high: float) -> float:
    """Return how wide a crown stands on the ground, from its middle."""
    return half * (FOOT_SHARE[0] + FOOT_SHARE[1] * (high * 0.73 % 1.0))


def _sizes(plant: Standing, factor: float) -> tuple[float, float]:
    """Return half the width and the height that a plant is drawn with, mm."""
    return max(plant.width * factor / 2, 0.6), max(plant.height * factor, LEAST)


def _standing(plant: Standing, x: float, foot: float, factor: float) -> tuple[Mark, ...]:
    """Return a plant from the side: blades of a grass, else a crown that hides what stands behind it."""
    half, high = _sizes(plant, factor)
    if plant.plant.habit is Habit.GRASS:
        return _blades(x, foot, half, high, plant.flowering)
    crown = _crown(x, foot, half, high)
    tone = "shade" if plant.flowering else "white"
    return filled(LAYER, crown, tone), Stroke(layer=LAYER, path=Path(crown.segments[1:]), pen="texture")


LEANS = (-0.9, -0.4, 0.0, 0.4, 0.9)
"""How far the blades of a grass lean out, as parts of half its width."""


def _blades(x: float, foot: float, half: float, high: float, flowering: bool) -> tuple[Mark, ...]:
    """Return the blades of a grass, a dot on the middle ones when it flowers."""
    nib = Nib(LAYER, "texture")
    tips = [(lean, Point(x + half * lean, foot + high * (1 - 0.25 * abs(lean)))) for lean in LEANS]
    dots = tuple(disc(LAYER, tip, DOT) for lean, tip in tips if flowering and abs(lean) < 0.5)
    return (*(nib.line(Point(x, foot), tip) for _, tip in tips), *dots)


def _crown(x: float, foot: float, half: float, high: float) -> Loop:
    """Return a dome: sides that lean out from the foot, and an arc on top; one flat arc where it is low."""
    if high > half:
        shoulder, narrow = foot + high - half, _narrow(half, high)
        top = Arc.swung(Point(x, shoulder), half, 0.0, math.pi)
        left, right = Point(x - narrow, foot), Point(x + narrow, foot)
        return Loop.of((Line(left, right), Line(right, top.start), top, Line(top.end, left)))
    radius = (half * half + high * high) / (2 * high)
    centre = Point(x, foot + high - radius)
    begin = math.atan2(foot - centre.y, half)
    arc = Arc.swung(centre, radius, begin, math.pi - 2 * begin)
    return Loop.of((Line(arc.end, arc.start), arc))
