"""Sets every point of a garden: control, auxiliary marks, then the elements from the whole to the part.

Takes: plans, solved control, obstacles, boundary. Gives: the ground with a setting for every peg, or a
ModelError that names the pegs nobody can reach, what they see, and where a mark would help.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ModelError, Problem
from ..features import Obstacle, Pegging, Purpose
from ..kernel.flatten import polygon
from ..kernel.path import Loop
from ..kernel.point import Point, near
from .bracing import braced, bracing
from .cells import Cells
from .choose import NEVER_BELOW, Bench
from .control import Control
from .extra import extra_marks
from .footing import Footing
from .ground import AUXILIARY, MARK, Ground, Setting
from .making import setting_of, three_of, told
from .plan import SAME, Plan, plan_of
from .reach import lowest
from .secondary import Between
from .sight import GAP, Sight, area_of
from .standing import Site
from .tape import Options
from .telling import covered, short_base, unreached
from .trials import Chosen, best_order
from .waiting import Waiting

Floats = NDArray[np.float64]

RESCUES = 3
NEAR_PEGS = 24
"""Other elements' pegs that are considered as sources: the nearest."""
SOON = 4 * NEAR_PEGS
"""Pegs among which these are looked for first."""
SOFT = 0.045
"""Shapes with a wider tolerance (m) are set after the hard ones, whose pegs they share."""


class Setter:
    """Holds what is known while a garden's pegs are set; `run` does it all."""

    def __init__(self, peggings: Sequence[Pegging], control: Control, obstacles: Sequence[Obstacle],
                 boundary: Loop | None, options: Options) -> None:
        self.options = options
        self.control = control
        self.area: Any = area_of(boundary)
        self.sights = {stage: Sight(obstacles, stage) for stage in sorted({1, *(p.stage for p in peggings)})}
        self.footing = Footing(self.area, self.sights, peggings)
        self.ground = Ground(options.tape)
        self._place_control()
        todo = [p for p in peggings if p.outlines or p.wanted]
        plans = [
            plan_of(p, lambda at, stage=p.stage: self.reach(at, stage), options.tape.length)  # type: ignore[misc]
            for p in todo
        ]

        extents = [plan.extent for plan in plans]

        def rank_of(k: int) -> tuple[int, bool, float, int]:
            pegging = plans[k].pegging
            return pegging.stage, pegging.tolerance.position > SOFT, -round(extents[k], 3), k

        order = sorted(range(len(plans)), key=rank_of)
        self.plans: list[Plan] = [plans[k] for k in order]
        self.extents = [extents[k] for k in order]
        self.numbers: list[dict[int, int]] = [{} for _ in plans]
        self.waiting = Waiting(len(plans))
        self.digs = [polygon(region, GAP) for p in peggings for region in p.dug]
        self.problems: list[Problem] = []
        self._found = Cells()
        self.pegs: list[int] = []
        self._held = np.zeros((0, 2))
        self.lines: tuple[tuple[int, int], ...] = ()

    def _place_control(self) -> None:
        marks = self.control.marks
        self.ground.start(np.array([(m.at.x, m.at.y) for m in marks]), self.control.covariance,
                          [Setting(standing=MARK, method=-1, sources=(), at=(m.at.x, m.at.y)) for m in marks])

    def reach(self, at: Point, stage: int) -> bool:
        """Say whether a peg can stand at a point: inside the boundary, in no standing body."""
        return self.footing.holds(at, stage)

    def soft(self, e: int) -> bool:
        """Say whether an element's pegs are set after those of hard shapes; auxiliary marks (-1) are not."""
        return e >= 0 and self.plans[e].pegging.tolerance.position > SOFT

    # the whole

    def run(self) -> Ground:
        """Set everything; ModelError for pegs that cannot be set."""
        places = self.ground.places[: len(self.control.marks)]
        short = short_base(places, self.plans)
        if short is not None:
            raise ModelError(short)
        self._auxiliary()
        for e in range(len(self.plans)):
            self._set_element(e)
        self._again()
        for e, plan in enumerate(self.plans):
            self._secondary(e, plan)
        return self.ground

    def _auxiliary(self) -> None:
        targets = [(t.at.x, t.at.y) for p in self.plans for t in p.primary]
        if not targets:
            return
        points = np.array(targets)
        tolerance = self._tolerances(points, [p.pegging.tolerance.position for p in self.plans for _ in p.primary])
        known = np.vstack([points, self.ground.places[: len(self.ground)]])
        self.site = Site.of(self.area, self.digs, self.sights[max(self.sights)], known)
        extra_marks(self.ground, self.sights[1], self.site, points, tolerance, baseline=self._baseline())
        self._brace()

    def _brace(self) -> None:
        """Make the extra marks true by all lines between them."""
        self.lines = bracing(self.ground, self.sights[1])
        braced(self.ground, self.lines)

    def _tolerances(self, points: Floats, stated: Sequence[float]) -> Floats:
        """Return position tolerances (m), never smaller than they can be so far from the nearer mark."""
        marks = self.ground.places[: len(self.control.marks)]
        apart = np.hypot(*(points[:, None] - marks[None]).transpose(2, 0, 1)).min(axis=1)
        limits: Floats = np.maximum(np.array(stated), NEVER_BELOW * np.sqrt(apart))
        return limits

    def _baseline(self) -> tuple[int, int]:
        names = [m.name for m in self.control.marks]
        return names.index(self.control.baseline[0]), names.index(self.control.baseline[1])

    # one element

    def _standing(self, at: Point, stage: int, e: int) -> list[int]:
        """Return numbers of the pegs of this stage that stand at a point and do not wait for element e."""
        settings = self.ground.settings
        close = [n for n in self._found.near(at) if settings[n].stage == stage
                 and math.dist(settings[n].at, (at.x, at.y)) <= SAME]
        return [n for n in close if not self.waiting.late(settings[n].element, e)]

    def _serve(self, number: int, e: int) -> None:
        """Let a peg that stands serve element e as well."""
        setting = self.ground.settings[number]
        if setting.element != e:
            self.waiting.add(e, setting.element)
            if e not in setting.serves:
                self.ground.settings[number] = replace(setting, serves=(*setting.serves, e))

    def _share(self, e: int) -> None:
        """Take over the pegs that stand already at a target's place: neighbours share one peg."""
        plan = self.plans[e]
        for i, target in enumerate(plan.primary):
            if target.purpose is Purpose.CURVE or i in self.numbers[e]:
                continue
            for number in self._standing(target.at, plan.pegging.stage, e)[:1]:
                self.numbers[e][i] = number
                self._serve(number, e)

    def _others(self, e: int) -> list[int]:
        """Return other elements' nearest primary pegs that may be sources: same stage, not waiting for this one."""
        plan, own = self.plans[e], set(self.numbers[e].values())
        if not self.pegs or not (plan.primary or plan.secondary):
            return []
        spots = np.array([(t.at.x, t.at.y) for t in (*plan.primary, *plan.secondary)])
        (x, y), places = spots.sum(axis=0) / len(spots), self._primary()
        apart = np.hypot(places[:, 0] - x, places[:, 1] - y).round(6)
        farthest = self.extents[e] / 2 + self.options.tape.length
        for count in (SOON, len(apart)):
            found: list[int] = []
            near = lowest(apart, count)
            for k, far in zip(near.tolist(), (apart[near] > farthest).tolist(), strict=True):
                if far or len(found) == NEAR_PEGS:
                    return sorted(found)
                n = self.pegs[k]
                s = self.ground.settings[n]
                if s.stage != plan.pegging.stage or s.element == e or n in own:
                    continue
                if not self.waiting.late(s.element, e):
                    found.append(n)
        return sorted(found)

    def _primary(self) -> Floats:
        """Return the places of all primary pegs that stand."""
        held = len(self._held)
        if held < len(self.pegs):
            self._held = np.concatenate([self._held, self.ground.places[self.pegs[held:]]])
        return self._held

    def _bench(self, e: int, todo: Sequence[int]) -> Bench:
        plan = self.plans[e]
        own = {i: -1 - k for k, i in enumerate(todo)}
        centres = [[own[c] if c in own else self.numbers[e][c] for c in plan.primary[i].centres
                    if c in own or c in self.numbers[e]] for i in todo]
        tolerance = plan.pegging.tolerance
        return Bench(self.ground, self.sights[plan.pegging.stage], [plan.primary[i] for i in todo],
                     (tolerance.position, tolerance.shape), self._others(e), list(self.numbers[e].values()), centres)

    def _set_element(self, e: int) -> list[int]:
        """Set what can be set of an element's primary targets; return the numbers added."""
        self._share(e)
        todo = [i for i in range(len(self.plans[e].primary)) if i not in self.numbers[e]]
        if not todo:
            return []
        bench = self._bench(e, todo)
        return self._commit(e, todo, bench, best_order(bench))

    def _commit(self, e: int, todo: Sequence[int], bench: Bench, final: Sequence[Chosen]) -> list[int]:
        added: list[int] = []
        where = dict(enumerate(bench.numbers))
        w = bench.scale.ways
        for c, weighed in zip(final, told(bench, final), strict=True):
            sources = (where[int(w.a[c.way])], where[int(w.b[c.way])])
            setting = setting_of(self.ground, self.plans[e].pegging.stage, e, bench.targets[c.target],
                                 int(w.kind[c.way]), sources, weighed)
            number = self.ground.add(setting)
            where[bench.offset + c.target] = number
            self._stand(e, todo[c.target], number)
            added.append(number)
        return added

    def _stand(self, e: int, target: int, number: int) -> None:
        self.numbers[e][target] = number
        self.pegs.append(number)
        setting = self.ground.settings[number]
        self._found.add(number, setting.at)
        self._need(e, setting)

    # what is left

    def _missing(self) -> list[tuple[int, int]]:
        return [
            (e, i) for e, plan in enumerate(self.plans) for i in range(len(plan.primary)) if i not in self.numbers[e]
        ]

    def _again(self) -> None:
        """Try what is left: later sources, marks for it alone, a third tape, an edge without centre; else refuse."""
        for _ in range(2):
            if not self._retry():
                break
        for _ in range(RESCUES):
            missing = self._missing()
            if not missing:
                return
            targets = np.array([(t.at.x, t.at.y) for e, i in missing for t in [self.plans[e].primary[i]]])
            tolerance = self._tolerances(targets, [self.plans[e].pegging.tolerance.position for e, _ in missing])
            if extra_marks(self.ground, self.sights[1], self.site, targets, tolerance, urgent=True,
                           baseline=self._baseline()):
                self.ground.begin_again()
                self._brace()
            self._retry()
            self._third_tape()
            self._drop_centres()
        missing = self._missing()
        if missing:
            raise ModelError(*(self._unreached(e, i) for e, i in missing))

    def _retry(self) -> bool:
        done = 0
        for e in sorted({e for e, _ in self._missing()}):
            done += len(self._set_element(e))
        return bool(done)

    def _third_tape(self) -> None:
        """Set what only flat pairs reach (20 to 30 degrees) with a third tape in the fix."""
        for e, i in self._missing():
            setting = three_of(self.ground, self.plans[e].pegging.stage, e, self._bench(e, [i]))
            if setting is None:
                continue
            number = self.ground.add(setting)
            self._stand(e, i, number)

    def _drop_centres(self) -> None:
        """Plan an element again without a centre that cannot be set: its edge then goes from its chord."""
        for e in sorted({e for e, i in self._missing() if self.plans[e].primary[i].spare}):
            plan = self.plans[e]
            lost = [plan.primary[i].at for k, i in self._missing() if k == e and plan.primary[i].spare]
            stage = plan.pegging.stage

            def reach(at: Point, lost: Sequence[Point] = lost, stage: int = stage) -> bool:
                return not any(near(at, p, SAME) for p in lost) and self.reach(at, stage)

            self.plans[e] = plan_of(plan.pegging, reach, self.options.tape.length)
            self.extents[e] = self.plans[e].extent
            self.numbers[e] = {}
            self._set_element(e)

    def _unreached(self, e: int, i: int) -> Problem:
        plan, target = self.plans[e], self.plans[e].primary[i]
        if not self.reach(target.at, plan.pegging.stage):
            return covered(plan, target)
        names = [m.name for m in self.control.marks]
        marks = [k for k, s in enumerate(self.ground.settings) if s.standing <= AUXILIARY]
        called = [names[k] if k < len(names) else f"E{k - len(names) + 1}" for k in range(len(marks))]
        return unreached(plan, target, self.ground.places[marks], called, self.sights[plan.pegging.stage], self.site,
                         self.options.tape.length)

    def _secondary(self, e: int, plan: Plan) -> None:
        if not (plan.secondary or plan.curves or plan.ellipses):
            return
        between = Between(ground=self.ground, sight=self.sights[plan.pegging.stage], site=self.site, element=e,
                          plan=plan, numbers=self.numbers[e], others=self._others(e), gap=self.options.chord_gap,
                          place=lambda setting: self._aside(e, setting))
        for setting in between.settings():
            if self._stands(e, setting):
                continue
            self._need(e, setting)
            self.ground.add(setting)

    def _aside(self, e: int, setting: Setting) -> int:
        """Put a peg that pegs of the edge of element e hang on."""
        self._need(e, setting)
        return self.ground.add(setting)

    def _stands(self, e: int, setting: Setting) -> bool:
        """Say whether a neighbour's peg stands where a curve peg would: it then serves both."""
        if setting.target is None or setting.target.purpose is not Purpose.CURVE:
            return False
        stand = [n for n in self._standing(Point(*setting.at), setting.stage, e)
                 if self.ground.settings[n].element not in (-1, e)]
        for number in stand[:1]:
            self._serve(number, e)
        return bool(stand)

    def _need(self, e: int, setting: Setting) -> None:
        """Note the elements whose pegs must stand before this one of element e."""
        for s in setting.sources:
            other = self.ground.settings[s].element
            if other not in (-1, e):
                self.waiting.add(e, other)
