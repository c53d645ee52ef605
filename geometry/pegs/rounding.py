"""Readings as the tape shows them, taken from where the sources really come to stand, so that rounding never adds up.

In order of work: sources at their rebuilt place, exact readings to the design peg, the best of the neighbouring
whole readings, the peg rebuilt from those and kept. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

from ..kernel.point import Point
from .ground import Setting
from .linear import CHORD, LINE, OFFSET, RADIUS, THREE
from .rebuild import across, along_line, three_tapes
from .tape import Reading, Tape


@dataclass(frozen=True, slots=True)
class Rounded:
    """Readings in the order of the hooks, side for ties, the place that they give, the bound of its shift (mm)."""

    readings: tuple[Reading, ...]
    side: str
    at: Point
    bound: float


def rounded(setting: Setting, sources: Sequence[Point], tape: Tape) -> Rounded:
    """Return the readings of one setting from its rebuilt sources."""
    design = Point(*setting.at)
    if setting.method in (LINE, OFFSET, CHORD):
        return _along(setting, sources, design, tape)
    if setting.method == RADIUS:
        return _radius(setting, sources, design, tape)
    if setting.method == THREE:
        return _three(sources, design, tape)
    return _ties(setting, sources, design, tape)


def _side(a: Point, b: Point, at: Point) -> str:
    return "left" if (b - a).cross(at - a) >= 0 else "right"


def _best(
    exact: Sequence[float], tape: Tape, place: Callable[[tuple[Reading, ...]], Point | None], design: Point
) -> tuple[tuple[Reading, ...], Point]:
    """Return the readings, each at most one step from the exact one, that rebuild nearest to the design."""
    found = []
    near = [{step: tape.at_count(tape.count(value) + step) for step in (0, -1, 1)} for value in exact]
    for steps in product((0, -1, 1), repeat=len(exact)):
        readings = tuple(held[step] for held, step in zip(near, steps, strict=True))
        at = place(readings)
        if at is not None:
            found.append((round(at.distance(design), 7), sum(map(abs, steps)), steps, readings, at))
    _, _, _, readings, at = min(found, key=lambda f: f[:3])
    return readings, at


def _angle(sources: Sequence[Point], at: Point) -> float:
    a, b = (sources[0] - at).unit(), (sources[1] - at).unit()
    return math.atan2(abs(a.cross(b)), a.dot(b))


def _ties(setting: Setting, sources: Sequence[Point], design: Point, tape: Tape) -> Rounded:
    a, b = sources[0], sources[1]
    side = _side(a, b, design)

    def place(readings: tuple[Reading, ...]) -> Point | None:
        return across(a, b, readings[0].metres, readings[1].metres, side == "left")

    if setting.whole:
        readings = tuple(tape.reading(value) for value in setting.whole)
        at = place(readings)
        if at is not None:
            return Rounded(readings, side, at, at.distance(design) * 1000 + 0.1)
    readings, at = _best((a.distance(design), b.distance(design)), tape, place, design)
    g = _angle(sources, at)
    g = min(g, math.pi - g)
    return Rounded(readings, side, at, tape.step * 1000 / (2 * math.sin(g / 2)))


def _radius(setting: Setting, sources: Sequence[Point], design: Point, tape: Tape) -> Rounded:
    """Keep the design's own radius; choose the tie for the point of that circle nearest to the design."""
    centre, mark = sources[0], sources[1]
    radius = tape.reading(setting.stated if setting.stated is not None else centre.distance(design))
    side = _side(centre, mark, design)
    aim = centre + (design - centre).unit() * radius.metres
    count = tape.count(mark.distance(aim))
    found = []
    for step in (0, -1, 1):
        tie = tape.at_count(count + step)
        at = across(centre, mark, radius.metres, tie.metres, side == "left")
        if at is not None:
            found.append((round(at.distance(design), 7), abs(step), step, tie, at))
    _, _, _, tie, at = min(found, key=lambda f: f[:3])
    bound = aim.distance(design) * 1000 + tape.step * 1000 / (2 * math.sin(_angle((centre, mark), at)))
    return Rounded((radius, tie), side, at, bound)


def _three(sources: Sequence[Point], design: Point, tape: Tape) -> Rounded:
    side = _side(sources[0], sources[1], design)

    def place(readings: tuple[Reading, ...]) -> Point | None:
        return three_tapes(tuple(sources), tuple(r.metres for r in readings), side == "left")

    readings, at = _best([s.distance(design) for s in sources], tape, place, design)
    g = min(_angle(sources, at), math.pi - _angle(sources, at))
    return Rounded(readings, side, at, tape.step * 1000 / (2 * math.sin(g / 2)))


def _along(setting: Setting, sources: Sequence[Point], design: Point, tape: Tape) -> Rounded:
    a, b = sources[0], sources[1]
    u = (b - a).unit()
    t, out = (design - a).dot(u), u.cross(design - a)
    if setting.method == LINE:
        value = setting.stated if setting.stated is not None else setting.whole[0] if setting.whole else t
        reading = tape.reading(value)
        at = along_line(a, b, reading.metres, 0.0)
        return Rounded((reading,), "", at, math.hypot(tape.step / 2, out) * 1000 + abs(value - t) * 1000)

    readings = (tape.reading(t), tape.reading(out))
    at = along_line(a, b, readings[0].metres, readings[1].metres)
    return Rounded(readings, "", at, tape.step * 1000 / math.sqrt(2))


__all__ = ["Rounded", "rounded"]
