"""Levels of pegs on surfaces that fall, and what is measured when a dug-away peg is found again.

Takes: a peg set, planes of surfaces, levels of control marks. Gives: the set with its level and check columns filled.
Metres; a level is that of the finished surface, which is the top of the peg.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ..errors import Problem, Weight
from ..features import Purpose
from ..kernel.point import Point, Vec
from .peg import CheckKind, Height, Peg, PegSet, Rise
from .tape import Tape

ON_THE_EDGE = (Purpose.CORNER, Purpose.TANGENT, Purpose.CURVE, Purpose.LINE)
AGREE = 0.010
"""Spot levels of one surface that differ by more than this from its fall do not say where it lies, metres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """A surface that falls evenly: which way and how steeply (metres down a metre), and spot levels that lie on it."""

    down: Vec
    spots: tuple[tuple[Point, float], ...] = ()

    def lower(self, one: Point, other: Point) -> float:
        """Return how much lower the surface is at `other` than at `one`, metres."""
        return (other - one).dot(self.down)

    @property
    def apart(self) -> float:
        """How far the spot levels differ from the fall among themselves, metres."""
        return max((abs(level - spot + self.lower(first, at)) for first, spot in self.spots[:1]
                    for at, level in self.spots[1:]), default=0.0)

    def level(self, at: Point) -> float | None:
        """Return the level at a point; None where no spot level says it, or they disagree."""
        if not self.spots or not self.apart <= AGREE:
            return None
        first, level = self.spots[0]
        return level - self.lower(first, at)


def completed(pegs: PegSet, planes: Mapping[str, Plane], marks: Mapping[str, float],
              rises: Mapping[str, Rise] | None = None) -> PegSet:
    """Return the set with levels on surfaces that fall (`planes` by element), and checks of pegs found again.

    `rises` gives by element what is built above and below its lowest corner.
    """
    found = {p.name: p for p in pegs.pegs}
    for name, level in marks.items():
        found[name] = replace(found[name], level=level)
    for element, plane in planes.items():
        own = [p for p in pegs.pegs if p.element == element and p.purpose in ON_THE_EDGE]
        for peg in _levelled(own, plane, [found[name] for name in marks], pegs.options.tape):
            found[peg.name] = peg
    again = {c.end: c for c in pegs.checks if c.kind is CheckKind.FOUND}
    ways = tuple(replace(way, check_from=c.start, check_reading=c.distance, check_limit=c.allowed)
                 if (c := again.get(way.peg)) is not None else way for way in pegs.recovery)
    pegged = {element: rise for element, rise in (rises or {}).items() if _own(pegs, element)}
    return replace(pegs, pegs=tuple(found[p.name] for p in pegs.pegs), recovery=ways, rises=pegged,
                   heights={e: _heights(pegs, e, rise) for e, rise in pegged.items() if rise.built},
                   problems=(*pegs.problems, *_disagreeing(planes)))


def _own(pegs: PegSet, element: str) -> list[Peg]:
    """Return the pegs of an element that heights are taken from: those of its edge, else its posts."""
    own = [p for p in pegs.pegs if p.element == element]
    return [p for p in own if p.purpose in ON_THE_EDGE] or [p for p in own if p.purpose is Purpose.POST]


def _heights(pegs: PegSet, element: str, rise: Rise) -> tuple[Height, ...]:
    """Return an element's heights as readings on a rule from the lowest of its pegs, to 1 mm or 1/16 in."""
    own = _own(pegs, element)
    drop = {p.name: round(rise.drop(p.at), 4) for p in own}
    peg = max(own, key=lambda p: drop[p.name]).name
    rule = pegs.options.tape.rule()
    return tuple(Height(what=what, peg=peg, reading=rule.reading(metres + drop[peg]), allowed=allowed)
                 for what, metres, allowed in rise.built)


def _levelled(own: Sequence[Peg], plane: Plane, marks: Sequence[Peg], tape: Tape) -> Iterator[Peg]:
    """Yield the pegs of a surface with their levels: the first from the nearest mark of known level, others from it."""
    if not own:
        return
    first, level = own[0], plane.level(own[0].at)
    shift = 0.0                             # how much the first stands too high by its rounded reading
    if level is not None and marks:
        mark = min(marks, key=lambda m: (round(m.at.distance(first.at), 4), m.name))
        rise = level - (mark.level or 0.0)
        reading = tape.reading(rise)
        shift = reading.metres - rise
        yield replace(first, level=level, level_from=mark.name, level_reading=reading)
    else:
        yield replace(first, level=level)
    for peg in own[1:]:
        fall = plane.lower(first.at, peg.at)
        yield replace(peg, level=None if level is None else level - fall, level_from=first.name,
                      level_reading=tape.reading(-fall - shift))


def _disagreeing(planes: Mapping[str, Plane]) -> Iterator[Problem]:
    for element, plane in planes.items():
        if not plane.apart <= AGREE:
            said = ", ".join(f"{level:.3f} at ({at.x:.3f}, {at.y:.3f})" for at, level in plane.spots)
            yield Problem(f"{element}: its levels ({said}) differ by {plane.apart * 1000:.0f} mm from its fall",
                          "correct the levels or the fall; until then its pegs have heights to each other alone",
                          "levels-disagree", weight=Weight.ADVICE)


__all__ = ["Plane", "completed"]
