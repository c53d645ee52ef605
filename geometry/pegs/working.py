"""The order of work: which shape next, which of its pegs next, and what each peg is called.

Takes: settings with their sources. Gives: numbers of settings in working order, names. Shape by shape, each whole
before the next (a beginner loses the place otherwise); inside both, the nearest next of what can be set now.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

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
    order = [*control, *extra]
    at = settings[control[0]].at if control else (0.0, 0.0)
    work: dict[int, int] = {}
    elements: dict[int, int] = {}
    number = 1
    shapes = _Shapes(settings, own, extents, soft)
    while (e := shapes.next(at)) is not None:
        pegs = _inside(settings, own[e], at)
        elements[e] = number
        for k, n in enumerate(pegs):
            work[n] = number + k // MOST_NUMBERS
        number += 1 + (len(pegs) - 1) // MOST_NUMBERS
        order += pegs
        at = settings[pegs[-1]].at
    return Worked(tuple(order), work, elements)


class _Shapes:
    """Shapes that wait for their turn: where each may be entered, and how many of its sources' shapes are left."""

    def __init__(self, settings: Sequence[Setting], own: Mapping[int, Sequence[int]], extents: Sequence[float],
                 soft: Sequence[bool]) -> None:
        self.elements = np.array(list(own), dtype=np.intp)
        where = {e: k for k, e in enumerate(own)}
        entries = [[n for n in pegs if settings[n].standing == PEG] or pegs[:1] for pegs in own.values()]
        self.places = np.array([settings[n].at for pegs in entries for n in pegs]).reshape(-1, 2)
        self.starts = np.cumsum([0, *(len(pegs) for pegs in entries)])[:-1]
        self.stage = np.array([settings[pegs[0]].stage for pegs in own.values()], dtype=np.intp)
        self.soft = np.array([soft[e] for e in own], dtype=bool)
        self.large = 0.25 * np.array([extents[e] for e in own])
        self.left = np.ones(len(own), dtype=bool)
        self.waits = np.zeros(len(own), dtype=np.intp)
        self.after: list[list[int]] = [[] for _ in own]
        for e, pegs in own.items():
            for other in {settings[k].element for n in pegs for k in settings[n].sources} - {e, -1}:
                if other in where:
                    self.waits[where[e]] += 1
                    self.after[where[other]].append(where[e])

    def next(self, at: tuple[float, float]) -> int | None:
        """Take the nearest shape of the earliest stage whose sources stand; hard ones first, large ones if near."""
        ready = np.flatnonzero(self.left & (self.waits == 0))
        ready = ready if len(ready) else np.flatnonzero(self.left)
        if not len(ready):
            return None
        ready = ready[self.stage[ready] == self.stage[ready].min()]
        walks = np.minimum.reduceat(np.hypot(self.places[:, 0] - at[0], self.places[:, 1] - at[1]), self.starts)
        cost = np.round(walks[ready] - self.large[ready], 3)
        k = int(ready[np.lexsort((self.elements[ready], cost, self.soft[ready]))[0]])
        self.left[k] = False
        self.waits[self.after[k]] -= 1
        return int(self.elements[k])


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
