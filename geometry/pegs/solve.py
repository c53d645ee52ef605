"""Setting out: from what elements want pegged to named pegs with readings, checks and ways back after the dig.

Takes: peggings, solved control, obstacles, boundary, options. Gives: a PegSet. Metres; limits and errors in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from ..features import Obstacle, Pegging, Purpose
from ..kernel.path import Loop
from ..kernel.point import Point
from .checks import Checker, Third
from .choose import NEVER_BELOW
from .closing import Closing
from .control import Control
from .finding import Finder
from .ground import AUXILIARY, MARK, SECONDARY, Ground, Setting
from .linear import CHORD, LINE, OFFSET, RADIUS, THREE, TIES, cut_angle
from .making import METHODS
from .peg import Method, Peg, PegSet, Weighed
from .rounding import Rounded, rounded
from .setter import Setter
from .spread import Spread
from .tape import Options, Reading
from .telling import outside
from .trued import Shape, Trued
from .working import Worked, names_of, worked

EARLY = 0
"""In place of a stage: extra marks are checked before they are trued up."""


def set_out(
    peggings: Sequence[Pegging],
    control: Control,
    obstacles: Sequence[Obstacle],
    boundary: Loop | None,
    options: Options,
) -> PegSet:
    """Return the pegs of a garden. ModelError for pegs that nobody can reach: what they see, what would help."""
    return _Work(peggings, control, obstacles, boundary, options).result()


class _Work:
    """One garden's setting out, step by step."""

    def __init__(
        self,
        peggings: Sequence[Pegging],
        control: Control,
        obstacles: Sequence[Obstacle],
        boundary: Loop | None,
        options: Options,
    ) -> None:
        self.setter = Setter(peggings, control, obstacles, boundary, options)
        self.control, self.options, self.tape = control, options, options.tape
        self.ground: Ground = self.setter.run()
        self.spread = Spread(self.ground)
        self.first = Spread(self.ground, first=True)
        self.settings = self.ground.settings
        self.plans = self.setter.plans
        self.done: Worked = worked(
            self.settings, self.setter.extents, [self.setter.soft(e) for e in range(len(self.plans))]
        )
        self.names = names_of(self.settings, [m.name for m in control.marks], self.done)
        self._levels = {p.pegging.element: p.pegging.levels for p in reversed(self.plans)}
        self.rounded: dict[int, Rounded] = {}
        marks = np.array([(m.at.x, m.at.y) for m in control.marks])
        self._to_mark = np.array([np.hypot(*(marks - s.at).T).min() for s in self.settings]).tolist()
        self._by_place = {(round(s.at[0], 4), round(s.at[1], 4)): self.names[n] for n, s in enumerate(self.settings)}
        self.places: list[Point] = [Point(*s.at) for s in self.settings]
        self._round()
        self.elements: dict[int, list[int]] = {e: [] for e in self.done.elements}
        for n in self.done.order:
            if (e := self.settings[n].element) >= 0:
                self.elements[e].append(n)
        self.shapes = {n: v for pegs in self.elements.values() for n, v in self.spread.shapes(pegs).items()}
        self.trued = {e: found for e, pegs in self.elements.items() if (found := self._trued(e, pegs)) is not None}

    def _round(self) -> None:
        """Take every reading from where its sources really come to stand, in order of work."""
        for n in self.done.order:
            setting = self.settings[n]
            if setting.standing == MARK:
                continue
            found = rounded(setting, [self.places[s] for s in setting.sources], self.tape)
            self.rounded[n] = found
            self.places[n] = found.at

    def _trued(self, e: int, pegs: Sequence[int]) -> Trued | None:
        """Return a shape's truing up: where its kind asks for it, or where it brings inside what is out of shape."""
        plan, numbers = self.plans[e], self.setter.numbers[e]
        limit = plan.pegging.tolerance.shape
        asked = plan.pegging.tolerance.trued
        if any((t := self.settings[n].target) is not None and t.purpose is Purpose.ASIDE for n in pegs):
            return None
        if not asked and (limit is None or all(2 * self.shapes.get(n, 0.0) <= limit for n in pegs)):
            return None
        sight = self.setter.sights[plan.pegging.stage]
        centres = {n: [numbers[i] for i in t.centres if i in numbers]
                   for n in pegs if (t := self.settings[n].target) is not None}
        found = Shape(self.ground, self.spread, pegs, centres, sight).true_up()
        if found is None or asked:
            return found
        before = sum(self._fits(n, self.spread.needed(n), self.shapes[n]) for n in pegs)
        after = sum(self._fits(n, found.square[n], found.shape[n]) for n in pegs)
        return found if after > before else None

    def _fits(self, n: int, square: float, shape: float) -> bool:
        position, limit = self._position_limit(n), self._shape_limit(n)
        return ((position is None or 2000 * square <= position + 1e-9)
                and (limit is None or 2000 * shape <= limit + 1e-9))

    # -- pegs ------------------------------------------------------------------------------------------------

    def result(self) -> PegSet:
        """Return everything."""
        pegs = list(self._pegs())
        finder = Finder(self.setter, self.spread, self.done, self.names, self.places, self.elements)
        found = finder.find(pegs)
        pegs = self._ordered([*pegs, *found.pegs])
        numbers = {peg.name: peg.order for peg in pegs}
        ways = [replace(way, order=len(numbers) + k) for k, way in enumerate(found.ways, 1)]
        closing = Closing(self.setter, self.spread, self.done, self.names, self.places, self.elements, self.trued)
        checks = [*closing.checks(pegs), *found.checks]
        elements = {self.plans[e].pegging.element: first for e, first in self.done.elements.items()}
        return PegSet(
            pegs=tuple(pegs),
            checks=tuple(checks),
            recovery=tuple(ways),
            control=self.control,
            options=self.options,
            elements=elements,
            strings=found.strings,
            weighed={self.names[n]: self._weighed(n) for n in self.done.order if self.settings[n].weighed},
            outlines={p.pegging.element: p.pegging.outlines for p in self.plans if p.pegging.outlines},
            held={self.plans[e].pegging.element: (self.names[t.held[0]], self.names[t.held[1]])
                  for e, t in self.trued.items()},
            problems=(*self.setter.problems, *outside(pegs, self.plans, self.options.accept), *found.problems),
        )

    def _pegs(self) -> Iterator[Peg]:
        thirds = self._thirds()
        for order, n in enumerate(self.done.order, 1):
            if self.settings[n].standing == MARK:
                yield self._mark(n, order)
                continue
            third = thirds.get(n)
            yield self._peg(n, order, third)

    def _thirds(self) -> dict[int, Third]:
        """Return the check of each peg that has any: extra marks before they are trued up, pegs stage by stage."""
        stages = self.setter.sights
        standing: list[int] = []
        asked: dict[int, list[tuple[int, int]]] = {}
        for n in self.done.order:
            setting = self.settings[n]
            if setting.standing != MARK:
                stage = setting.stage or 1
                stage = EARLY if setting.standing == AUXILIARY else stage if stage in stages else min(stages)
                asked.setdefault(stage, []).append((n, len(standing)))
            if setting.standing != SECONDARY:
                standing.append(n)
        found: dict[int, Third] = {}
        for stage, pegs in asked.items():
            spread, sight = (self.first, stages[1]) if stage == EARLY else (self.spread, stages[stage])
            checker = Checker(self.ground, spread, sight, self.places)
            found |= checker.thirds([n for n, _ in pegs], np.array(standing, dtype=np.intp), [k for _, k in pegs])
        return found

    def _mark(self, n: int, order: int) -> Peg:
        mark = self.control.marks[n]
        return Peg(
            name=mark.name,
            purpose=Purpose.CONTROL,
            at=mark.at,
            method=Method.FIXED,
            order=order,
            error=round(mark.error, 1),
            rebuilt=mark.at,
            covariance=mark.covariance,
            remark=mark.given.what,
            stage=0,
            level=self._level("", mark.name),
        )

    def _level(self, element: str, part: str) -> float | None:
        levels = self._levels.get(element)
        return None if levels is None else levels.get(part)

    def _peg(self, n: int, order: int, third: Third | None) -> Peg:
        setting, found = self.settings[n], self.rounded[n]
        plan = self.plans[setting.element] if setting.element >= 0 else None
        target = setting.target
        hooks = [self.names[s] for s in setting.sources]
        method = METHODS[setting.method]
        block = self.spread.between(n, n)
        said = target.remark if target else ""
        remark = "" if third else "nothing independent can check this peg: read both tapes twice"
        words = "; ".join(w for w in (self._loop(n), said, remark, self._shared(n), self._after_dig(n)) if w)
        trued = self.trued.get(setting.element)
        columns = self._columns(setting, found, hooks, method)
        purpose = target.purpose if target else Purpose.AUXILIARY
        return Peg(
            name=self.names[n],
            purpose=purpose,
            at=Point(*setting.at),
            method=method,
            order=order,
            element=plan.pegging.element if plan else "",
            part=target.part if target else "",
            level=self._level(plan.pegging.element, target.part) if plan and target else None,
            check_from=self.names[third.source] if third else "",
            check_reading=third.reading if third else None,
            check_limit=third.limit if third else None,
            error=round(self.spread.error(n) * 1000, 1),
            remark=words,
            rebuilt=found.at,
            covariance=((float(block[0, 0]), float(block[0, 1])), (float(block[1, 0]), float(block[1, 1]))),
            square=self.spread.needed(n) * 1000,
            shape=self._shape(n),
            trued_square=trued.square[n] * 1000 if trued else None,
            trued_shape=trued.shape[n] * 1000 if trued else None,
            angle=self._angle(n),
            chain=setting.chain,
            position_limit=self._position_limit(n),
            shape_limit=self._shape_limit(n),
            stage=setting.stage or 1,
            work=self.done.work.get(n, 0),
            serves=tuple(self.plans[e].pegging.element for e in setting.serves),
            primary=setting.standing != SECONDARY,
            bound=found.bound,
            **columns,
        )

    def _columns(self, setting: Setting, found: Rounded, hooks: Sequence[str], method: Method) -> dict[str, Any]:
        readings: list[Reading | None] = [*found.readings, None, None, None]
        if setting.method == OFFSET:
            return {"from_1": f"{hooks[0]}-{hooks[1]}", "reading_1": readings[0], "reading_2": readings[1]}
        if setting.method in (LINE, CHORD):
            second = readings[1] if setting.method == CHORD else None
            return {"from_1": hooks[0], "from_2": hooks[1], "reading_1": readings[0], "reading_2": second}
        columns: dict[str, Any] = {
            "from_1": hooks[0],
            "reading_1": readings[0],
            "from_2": hooks[1],
            "reading_2": readings[1],
            "side": found.side,
        }
        if setting.method == THREE:
            columns |= {"from_3": hooks[2], "reading_3": readings[2]}
        del method
        return columns

    def _shared(self, n: int) -> str:
        serves = [self.plans[e].pegging.element for e in self.settings[n].serves]
        return f"also of {', '.join(serves)}" if serves else ""

    def _after_dig(self, n: int) -> str:
        """Say of a soft shape's peg in somebody's dig that it is set, or set again, after the dig."""
        import shapely

        setting = self.settings[n]
        if not self.setter.soft(setting.element) or not self.setter.digs:
            return ""
        at = shapely.Point(*setting.at)
        return "set it again after the dig" if any(dig.covers(at) for dig in self.setter.digs) else ""

    def _loop(self, n: int) -> str:
        """Return the loop that a focus's string makes: twice the half length and half the distance of the foci."""
        target, e = self.settings[n].target, self.settings[n].element
        if target is None or target.purpose is not Purpose.FOCUS:
            return ""
        for ellipse, a, b in self.plans[e].ellipses:
            if n in (self.setter.numbers[e].get(a), self.setter.numbers[e].get(b)):
                f = (ellipse.half_length**2 - ellipse.half_width**2) ** 0.5
                return f"loop {self.tape.reading(2 * (ellipse.half_length + f)).text}"
        return ""

    def _shape(self, n: int) -> float | None:
        return self.shapes[n] * 1000 if n in self.shapes else None

    def _position_limit(self, n: int) -> float | None:
        e = self.settings[n].element
        if e < 0:
            return None
        return max(self.plans[e].pegging.tolerance.position, NEVER_BELOW * math.sqrt(self._to_mark[n])) * 1000

    def _shape_limit(self, n: int) -> float | None:
        e = self.settings[n].element
        shape = self.plans[e].pegging.tolerance.shape if e >= 0 else None
        return None if shape is None else float(shape) * 1000

    def _angle(self, n: int) -> float | None:
        setting = self.settings[n]
        if setting.method in (TIES, RADIUS):
            places = self.ground.places
            return float(cut_angle(places[n], places[setting.sources[0]], places[setting.sources[1]]))
        return 90.0 if setting.method in (OFFSET, CHORD) else None

    def _weighed(self, n: int) -> tuple[Weighed, ...]:
        """Return the ways weighed for a peg with names in place of numbers."""
        return tuple(Weighed(method=w.method, sources=tuple(map(self._called, w.sources)), q=w.q, angle=w.angle,
                             tape=w.tape, level=w.level, error=w.error, chosen=w.chosen)
                     for w in self.settings[n].weighed)

    def _called(self, source: str) -> str:
        if source.startswith("#"):
            return self.names[int(source[1:])]
        x, y = source[1:].split(",")
        return self._by_place.get((round(float(x), 4), round(float(y), 4)), source)

    def _ordered(self, pegs: Sequence[Peg]) -> list[Peg]:
        """Put recovery pegs after the last shape of their stage, and number all from 1."""
        stages = sorted({p.stage for p in pegs})
        order: list[Peg] = []
        for stage in stages:
            own = [p for p in pegs if p.stage == stage]
            order += [p for p in own if p.purpose is not Purpose.RECOVERY]
            order += [p for p in own if p.purpose is Purpose.RECOVERY]
        first = [p for p in order if p.purpose in (Purpose.CONTROL, Purpose.AUXILIARY)]
        rest = [p for p in order if p.purpose not in (Purpose.CONTROL, Purpose.AUXILIARY)]
        return [p if p.order == k else replace(p, order=k) for k, p in enumerate([*first, *rest], 1)]


__all__ = ["set_out"]
