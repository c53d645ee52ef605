"""The order of work: which shape next, which of its pegs next, and what each peg is called.

Takes: settings with their sources. Gives: numbers of settings in working order, names. Shape by shape, each whole
before the next (a beginner loses the place otherwise); inside both, the nearest next of what can be set now.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..features import Purpose
from .ground import AUXILIARY, MARK, PEG, SECONDARY, Setting

HOOK_WALK = 5.0
"""Metres of walking that changing one hook is worth (judgement)."""

MOST_NUMBERS = 50
"""Pegs of one number; an element with more takes the next number too."""

LETTERS = {
    Purpose.CENTRE: "X",
    Purpose.TANGENT: "T",
    Purpose.CORNER: "P",
    Purpose.CURVE: "P",
    Purpose.ASIDE: "Q",
    Purpose.LINE: "P",
    Purpose.POST: "P",
    Purpose.FOCUS: "F",
    Purpose.LEVEL: "L",
}


@dataclass(frozen=True, slots=True)
class Worked:
    """Settings in working order; for each peg's number its element's number in working order."""

    order: tuple[int, ...]
    work: Mapping[int, int]  # setting -> number of its element (0: none)
    elements: Mapping[int, int]  # element -> its first number


def worked(settings: Sequence[Setting], extents: Sequence[float], soft: Sequence[bool]) -> Worked:
    """Return the order of work; a setting's sources always come before it, hard shapes before `soft` ones."""
    control = [n for n, s in enumerate(settings) if s.standing == MARK]
    extra = [n for n, s in enumerate(settings) if s.standing == AUXILIARY]
    own: dict[int, list[int]] = {}
    for n, s in enumerate(settings):
        if s.standing in (PEG, SECONDARY):
            own.setdefault(s.element, []).append(n)
    waits = {e: {settings[k].element for n in pegs for k in settings[n].sources} - {e, -1} for e, pegs in own.items()}
    order = [*control, *extra]
    at = settings[control[0]].at if control else (0.0, 0.0)
    work: dict[int, int] = {}
    elements: dict[int, int] = {}
    left, number = dict(own), 1
    while left:
        e = _next_shape(settings, left, waits, extents, soft, at)
        pegs = _inside(settings, left.pop(e), at)
        elements[e] = number
        for k, n in enumerate(pegs):
            work[n] = number + k // MOST_NUMBERS
        number += 1 + (len(pegs) - 1) // MOST_NUMBERS
        order += pegs
        at = settings[pegs[-1]].at
    return Worked(tuple(order), work, elements)


def _next_shape(
    settings: Sequence[Setting],
    left: Mapping[int, list[int]],
    waits: Mapping[int, set[int]],
    extents: Sequence[float],
    soft: Sequence[bool],
    at: tuple[float, float],
) -> int:
    """Return the nearest shape of the earliest stage whose sources stand; hard ones first, large ones first if near."""
    ready = [e for e in left if not any(k in left for k in waits[e])] or list(left)
    stage = min(settings[left[e][0]].stage for e in ready)

    def cost(e: int) -> tuple[bool, float, int]:
        walk = (
            min(math.dist(at, settings[n].at) for n in left[e] if settings[n].standing == PEG or len(left[e]) == 1)
            if any(settings[n].standing == PEG for n in left[e])
            else math.dist(at, settings[left[e][0]].at)
        )
        return soft[e], round(walk - 0.25 * extents[e], 3), e

    return min((e for e in ready if settings[left[e][0]].stage == stage), key=cost)


def _inside(settings: Sequence[Setting], pegs: Sequence[int], at: tuple[float, float]) -> list[int]:
    """Return a shape's pegs: primary ones first, then the others, the nearest next whose sources stand."""
    found: list[int] = []
    standing: set[int] = set()
    mine = set(pegs)
    for group in (PEG, SECONDARY):
        left = [n for n in pegs if settings[n].standing == group]
        hooks: tuple[int, ...] = ()
        while left:
            ready = [n for n in left if all(k not in mine or k in standing for k in settings[n].sources)] or left[:1]
            n = min(
                ready,
                key=lambda k: (
                    round(math.dist(at, settings[k].at) + HOOK_WALK * len(set(settings[k].sources) - set(hooks)), 3),
                    k,
                ),
            )
            left.remove(n)
            found.append(n)
            standing.add(n)
            at, hooks = settings[n].at, settings[n].sources
    return found


def names_of(settings: Sequence[Setting], marks: Sequence[str], done: Worked) -> list[str]:
    """Return every setting's name: the marks' own, E1 …, then letter, element's number, two figures from 01."""
    names = [""] * len(settings)
    counts: dict[int, int] = {}
    extra = 0
    for n in done.order:
        setting = settings[n]
        if setting.standing == MARK:
            names[n] = marks[n]
        elif setting.standing == AUXILIARY:
            extra += 1
            names[n] = f"E{extra}"
        else:
            number = done.work[n]
            counts[number] = counts.get(number, 0) + 1
            assert setting.target is not None
            names[n] = f"{LETTERS[setting.target.purpose]}{number}{counts[number]:02d}"
    return names
