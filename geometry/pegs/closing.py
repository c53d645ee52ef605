"""The check measures of a set: between marks, of each peg, across and along each shape, from shape to shape.

Takes: what is set, and where it really comes to stand. Gives: checks. Metres; limits in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from ..features import Pegging
from ..kernel.point import Point
from .checks import check, closing_pairs, control_pairs, proves_words
from .ground import MARK, SECONDARY
from .peg import Check, CheckKind, Peg
from .setter import Setter
from .spread import Spread
from .trued import SHORTEST_CLOSING, Trued, rows_of
from .working import Worked


class Closing:
    """One garden's pegs by number, and the checks between them."""

    def __init__(self, setter: Setter, spread: Spread, done: Worked, names: Sequence[str], places: Sequence[Point],
                 elements: Mapping[int, Sequence[int]], trued: Mapping[int, Trued]) -> None:
        self.setter, self.spread, self.done = setter, spread, done
        self.ground, self.plans, self.tape = setter.ground, setter.plans, setter.options.tape
        self.settings = setter.ground.settings
        self.names, self.places, self.elements, self.trued = names, places, elements, trued

    def checks(self, pegs: Sequence[Peg]) -> Iterator[Check]:
        """Yield all checks but those of the recovery pegs, in the order of work."""
        yield from self._control_checks()
        yield from self._bracing()
        yield from self._peg_checks(pegs)
        yield from self._shape_checks()

    def _sd(self, a: int, b: int) -> float:
        return math.sqrt(self.spread.distance_variance(a, b))

    def _row(self, a: int, b: int, kind: CheckKind, **more: Any) -> Check:
        return check(
            self.names[a], self.names[b], self.places[a], self.places[b], self._sd(a, b), kind, self.tape, **more
        )

    def _control_checks(self) -> Iterator[Check]:
        marks = [n for n in self.done.order if self.settings[n].standing == MARK]
        for a, b in control_pairs(marks):
            yield self._row(a, b, CheckKind.CONTROL, gate=0, proves="the marks are where they should be")

    def _bracing(self) -> Iterator[Check]:
        """Yield the lines that true up the extra marks."""
        for a, b in self.setter.lines:
            yield self._row(a, b, CheckKind.TRUE, proves="the extra marks agree")

    def _peg_checks(self, pegs: Sequence[Peg]) -> Iterator[Check]:
        for peg in pegs:
            if peg.check_from and peg.check_reading is not None and peg.check_limit is not None:
                low, high = self.tape.span(peg.check_reading.metres, peg.check_limit)
                yield Check(
                    start=peg.check_from,
                    end=peg.name,
                    distance=peg.check_reading,
                    allowed=peg.check_limit,
                    kind=CheckKind.PEG,
                    gate=None,
                    low=low,
                    high=high,
                    element=peg.element,
                    proves=f"{peg.part} of {peg.element}" if peg.element else "extra mark",
                )

    def _shape_checks(self) -> Iterator[Check]:
        """Yield what closes each shape, and what ties the shapes together."""
        used = {frozenset((n, s)) for n in self.done.order for s in self.settings[n].sources}
        firsts: list[int] = []
        for e, pegs in self.elements.items():
            pegging = self.plans[e].pegging
            own = [n for n in pegs if self.settings[n].standing != SECONDARY]
            yield from self._lines(e, pegs, own, used)
            yield from self._run_checks(pegs, pegging)
            yield from self._built_checks(e, pegging)
            if own:
                firsts.append(own[0])
        for a, b in pairwise(firsts):
            if frozenset((a, b)) not in used and self._seen(a, b, 1) and self.places[a].distance(self.places[b]) > 1:
                yield self._row(
                    a,
                    b,
                    CheckKind.CLOSING,
                    gate=1,
                    proves=(
                        f"{self.plans[self.settings[a].element].pegging.element} to "
                        f"{self.plans[self.settings[b].element].pegging.element}"
                    ),
                )

    def _lines(self, e: int, pegs: Sequence[int], own: Sequence[int], used: set[frozenset[int]]) -> Iterator[Check]:
        """Yield the sides and diagonals of one shape: to true it up by, else to close it."""
        pegging, trued = self.plans[e].pegging, self.trued.get(e)
        if trued is None:
            kind, pairs = CheckKind.CLOSING, [
                p for p in closing_pairs(pegs, self.ground, used)
                if self.places[p[0]].distance(self.places[p[1]]) >= SHORTEST_CLOSING and self._seen(*p, pegging.stage)]
        else:
            runs = {frozenset(pair) for row in rows_of(self.ground, pegs) for pair in pairwise(row)}
            kind, pairs = CheckKind.TRUE, [p for p in trued.lines if frozenset(p) not in runs]
        for a, b in pairs:
            step = abs(own.index(a) - own.index(b)) if a in own and b in own else 1
            words = proves_words(self.ground, a, b, step)
            yield self._row(a, b, kind, gate=None if trued else 1, element=pegging.element,
                            proves=f"{words}{' ' if words == 'across' else ' of '}{pegging.element}")

    def _seen(self, a: int, b: int, stage: int) -> bool:
        sight = self.setter.sights.get(stage) or self.setter.sights[min(self.setter.sights)]
        ends = self.ground.places[[a, b]]
        return bool(sight.free(ends[:1], ends[1:])[0]) and self.places[a].distance(self.places[b]) <= self.tape.length

    def _run_checks(self, pegs: Sequence[int], pegging: Pegging) -> Iterator[Check]:
        """Yield the chords from post to post of each row."""
        for row in rows_of(self.ground, pegs):
            for a, b in pairwise(row):
                yield self._row(a, b, CheckKind.RUN, element=pegging.element, proves="post to post")

    def _built_checks(self, e: int, pegging: Pegging) -> Iterator[Check]:
        """Yield the finished sides with the tolerance of the built edge."""
        allowed = round(pegging.tolerance.built * 1000)
        for a, b in self.plans[e].sides[:4]:
            one, two = self.setter.numbers[e].get(a), self.setter.numbers[e].get(b)
            if one is not None and two is not None and self.places[one].distance(self.places[two]) >= SHORTEST_CLOSING:
                yield self._row(
                    one,
                    two,
                    CheckKind.BUILT,
                    gate=4,
                    element=pegging.element,
                    allowed=allowed,
                    proves=f"finished edge of {pegging.element}",
                )
