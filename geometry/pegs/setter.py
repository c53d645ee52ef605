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
from .choose import NEVER_BELOW, SECONDARY_LIMIT, Bench, State, rank
from .control import Control
from .curves import Curves
from .extra import Site, extra_marks
from .ground import AUXILIARY, MARK, PEG, SECONDARY, Ground, Setting
from .linear import CHORD, LINE, OFFSET, THREE, cut_angle
from .peg import Method, Weighed
from .plan import SAME, Plan, Target, plan_of
from .sight import GAP, Sight, area_of
from .tape import Options

Floats = NDArray[np.float64]

METHODS = (Method.TIES, Method.RADIUS, Method.OFFSET, Method.CHORD, Method.LINE, Method.TIES)
"""The printed method of each kind of way."""
RESCUES = 3
NEAR_PEGS = 24
"""Other elements' pegs that are considered as sources: the nearest."""
SOFT = 0.045
"""Shapes with a wider tolerance (m) are set after the hard ones, whose pegs they share."""


class Setter:
    """Holds what is known while a garden's pegs are set; `run` does it all."""

    def __init__(
        self,
        peggings: Sequence[Pegging],
        control: Control,
        obstacles: Sequence[Obstacle],
        boundary: Loop | None,
        options: Options,
    ) -> None:
        self.options = options
        self.control = control
        self.area: Any = area_of(boundary)
        self._wide: Any = None if self.area is None else self.area.buffer(0.05)
        self.sights = {stage: Sight(obstacles, stage) for stage in sorted({1, *(p.stage for p in peggings)})}
        self.ground = Ground(options.tape)
        self._place_control()
        todo = [p for p in peggings if p.outlines or p.wanted]
        plans = [
            plan_of(p, lambda at, stage=p.stage: self.reach(at, stage), options.tape.length)  # type: ignore[misc]
            for p in todo
        ]

        def rank_of(k: int) -> tuple[int, bool, float, int]:
            pegging = plans[k].pegging
            return pegging.stage, pegging.tolerance.position > SOFT, -round(plans[k].extent, 3), k

        order = sorted(range(len(plans)), key=rank_of)
        self.plans: list[Plan] = [plans[k] for k in order]
        self.numbers: list[dict[int, int]] = [{} for _ in plans]
        self.needs: list[set[int]] = [set() for _ in plans]
        self.digs = [polygon(region, GAP) for p in peggings for region in p.dug]
        self.problems: list[Problem] = []
        self._found: dict[tuple[int, int], list[int]] = {}
        self.pegs: list[int] = []

    def _place_control(self) -> None:
        marks = self.control.marks
        self.ground.start(
            np.array([(m.at.x, m.at.y) for m in marks]),
            self.control.covariance,
            [Setting(standing=MARK, method=-1, sources=(), at=(m.at.x, m.at.y)) for m in marks],
        )

    def reach(self, at: Point, stage: int) -> bool:
        """Say whether a peg can stand at a point: inside the boundary, in no standing body."""
        import shapely

        spot = np.array([[at.x, at.y]])
        if self._wide is not None and not bool(shapely.intersects(self._wide, shapely.points(spot))[0]):
            return False
        return not bool(self.sights[stage].blocked_body(spot)[0])

    def soft(self, e: int) -> bool:
        """Say whether an element's pegs are set after those of hard shapes; auxiliary marks (-1) are not."""
        return e >= 0 and self.plans[e].pegging.tolerance.position > SOFT

    # the whole

    def run(self) -> Ground:
        """Set everything; ModelError for pegs that cannot be set."""
        self._refuse_short_base()
        self._auxiliary()
        for e in range(len(self.plans)):
            self._set_element(e)
        self._again()
        for e, plan in enumerate(self.plans):
            self._secondary(e, plan)
        return self.ground

    def _refuse_short_base(self) -> None:
        places = self.ground.places[: len(self.control.marks)]
        base = float(np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1)).max())
        targets = [t.at for p in self.plans for t in p.primary]
        far = max((float(np.hypot(*(places - [t.x, t.y]).T).min()) for t in targets), default=0.0)
        if far > 8 * base:
            raise ModelError(
                Problem(
                    f"the marks lie within {base:.3f} m of each other, but pegs are wanted {far:.3f} m from them: "
                    f"the base is too short",
                    f"measure in a mark at the far end, or marks {far / 4:.0f} m apart at least",
                    "baseline-short",
                )
            )

    def _auxiliary(self) -> None:
        targets = [(t.at.x, t.at.y) for p in self.plans for t in p.primary]
        if not targets:
            return
        points = np.array(targets)
        tolerance = self._tolerances(points, [p.pegging.tolerance.position for p in self.plans for _ in p.primary])
        self.site = Site.of(
            self.area,
            self.digs,
            self.sights[max(self.sights)],
            np.vstack([points, self.ground.places[: len(self.ground)]]),
        )
        extra_marks(self.ground, self.sights[1], self.site, points, tolerance, baseline=self._baseline())

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

    def _cells(self, at: Point, stage: int) -> list[int]:
        """Return numbers of pegs of this stage that stand at a point."""
        kx, ky = round(at.x / 0.01), round(at.y / 0.01)
        out = []
        for dx in (-1, 0, 1):
            for dy in (-1, 0, 1):
                out += [
                    n
                    for n in self._found.get((kx + dx, ky + dy), ())
                    if self.ground.settings[n].stage == stage
                    and math.dist(self.ground.settings[n].at, (at.x, at.y)) <= SAME
                ]
        return out

    def _share(self, e: int) -> None:
        """Take over the pegs that stand already at a target's place: neighbours share one peg."""
        plan = self.plans[e]
        for i, target in enumerate(plan.primary):
            stand = self._cells(target.at, plan.pegging.stage) if target.purpose is not Purpose.CURVE else []
            stand = [n for n in stand if e not in self.waits(self.ground.settings[n].element)]
            if i in self.numbers[e] or not stand:
                continue
            number = stand[0]
            self.numbers[e][i] = number
            setting = self.ground.settings[number]
            if setting.element != e:
                self.needs[e].add(setting.element)
                if e not in setting.serves:
                    self.ground.settings[number] = replace(setting, serves=(*setting.serves, e))

    def _others(self, e: int) -> list[int]:
        """Return other elements' nearest primary pegs that may be sources: same stage, not waiting for this one."""
        plan, own = self.plans[e], set(self.numbers[e].values())
        if not self.pegs or not (plan.primary or plan.secondary):
            return []
        middle = np.array([(t.at.x, t.at.y) for t in (*plan.primary, *plan.secondary)]).mean(axis=0)
        apart = np.hypot(*(self.ground.places[self.pegs] - middle).T)
        found: list[int] = []
        late: dict[int, bool] = {}
        for k in np.argsort(np.round(apart, 6), kind="stable"):
            if len(found) == NEAR_PEGS or apart[k] > plan.extent / 2 + self.options.tape.length:
                break
            n = self.pegs[int(k)]
            s = self.ground.settings[n]
            if s.stage != plan.pegging.stage or n in own or s.element == e:
                continue
            if s.element not in late:
                late[s.element] = e in self.waits(s.element)
            if not late[s.element]:
                found.append(n)
        return sorted(found)

    def waits(self, e: int) -> set[int]:
        """Return all elements that must stand before element e, directly or not."""
        found: set[int] = set()
        todo = list(self.needs[e])
        while todo:
            k = todo.pop()
            if k not in found:
                found.add(k)
                todo += self.needs[k]
        return found

    def _bench(self, e: int, todo: Sequence[int]) -> Bench:
        plan = self.plans[e]
        own = {i: -1 - k for k, i in enumerate(todo)}
        centres = [
            [
                own[c] if c in own else self.numbers[e][c]
                for c in plan.primary[i].centres
                if c in own or c in self.numbers[e]
            ]
            for i in todo
        ]
        tolerance = plan.pegging.tolerance
        return Bench(
            self.ground,
            self.sights[plan.pegging.stage],
            [plan.primary[i] for i in todo],
            (tolerance.position, tolerance.shape),
            self._others(e),
            list(self.numbers[e].values()),
            centres,
        )

    def _set_element(self, e: int) -> list[int]:
        """Set what can be set of an element's primary targets; return the numbers added."""
        self._share(e)
        todo = [i for i in range(len(self.plans[e].primary)) if i not in self.numbers[e]]
        if not todo:
            return []
        bench = self._bench(e, todo)
        state = bench.best(range(len(todo)))
        return self._commit(e, todo, bench, state)

    def _commit(self, e: int, todo: Sequence[int], bench: Bench, final: State) -> list[int]:
        state = bench.begin()
        added: list[int] = []
        where = dict(enumerate(bench.numbers))
        for k, way in final.picks:
            weighed = self._weighed(bench, k, state, way)
            w = bench.ways[k]
            kind = int(w.kind[way])
            sources = (where[int(w.a[way])], where[int(w.b[way])])
            setting = self._setting(e, bench.targets[k], kind, sources, weighed)
            number = self.ground.add(setting)
            where[bench.offset + k] = number
            self._stand(e, todo[k], number)
            added.append(number)
            state = bench.put(k, way, weighed[0].q if weighed else 0.0, state)
        return added

    def _stand(self, e: int, target: int, number: int) -> None:
        self.numbers[e][target] = number
        self.pegs.append(number)
        setting = self.ground.settings[number]
        cell = (round(setting.at[0] / 0.01), round(setting.at[1] / 0.01))
        self._found.setdefault(cell, []).append(number)
        for s in setting.sources:
            other = self.ground.settings[s].element
            if other not in (-1, e):
                self.needs[e].add(other)

    def _setting(
        self,
        e: int,
        target: Target,
        kind: int,
        sources: tuple[int, ...],
        weighed: tuple[Weighed, ...],
        standing: int = PEG,
    ) -> Setting:
        ground = self.ground
        centres = {n for n in sources if (t := ground.settings[n].target) is not None and t.purpose is Purpose.CENTRE}
        stated = None
        if METHODS[kind] is not Method.RADIUS:
            sources = self._to_the_left(kind, sources, target.at)
        else:
            sources = tuple(sorted(sources, key=lambda n: n not in centres))
            stated = float(np.hypot(*(ground.places[sources[0]] - [target.at.x, target.at.y])))
        return Setting(
            standing=standing,
            method=kind,
            sources=sources,
            at=(target.at.x, target.at.y),
            level=1 + max(ground.settings[s].level for s in sources),
            chain=1 + max(ground.settings[s].chain for s in sources),
            element=e,
            target=target,
            stage=self.plans[e].pegging.stage,
            weighed=weighed,
            stated=stated,
        )

    def _to_the_left(self, kind: int, sources: tuple[int, ...], at: Point) -> tuple[int, ...]:
        """Order two hooks, or the ends of a line, so that the peg lies left of the line from first to second."""
        a, b = self.ground.places[sources[0]], self.ground.places[sources[1]]
        u, d = b - a, np.array([at.x, at.y]) - a
        left = float(u[0] * d[1] - u[1] * d[0]) >= 0
        turned = (sources[1], sources[0], *sources[2:])
        if kind == LINE or left or (kind in (OFFSET, CHORD) and not 0 <= float(d @ u) <= float(u @ u)):
            return sources
        return turned

    def _weighed(self, bench: Bench, k: int, state: State, way: int, limit: int = 2) -> tuple[Weighed, ...]:
        """Return the first three ways for a target as they were weighed; sources by number."""
        open_, q, spread, level = bench.weigh(k, state, limit)
        order = rank(bench.ways[k].pick(open_), q, level, bench.pegs, state.hooks)
        firsts = [int(i) for i in order[:3]]
        chosen = [int(i) for i in np.flatnonzero(open_ == way)]
        firsts = [*chosen, *(i for i in firsts if i not in chosen)][:3]
        out = []
        for i in firsts:
            w, j = bench.ways[k], int(open_[i])
            angle = cut_angle(bench.points[k], bench.places[w.a[j]], bench.places[w.b[j]]) if w.kind[j] <= 1 else None
            sources = tuple(self._local(bench, int(n)) for n in (w.a[j], w.b[j]))
            out.append(Weighed(method=METHODS[int(w.kind[j])].value, sources=sources, q=round(float(q[i]), 4),
                               angle=angle, tape=float(w.tape[j]), level=int(level[i]), chosen=j == way,
                               error=float(np.sqrt(np.trace(spread[i]))) * 1000))
        return tuple(out)

    def _local(self, bench: Bench, k: int) -> str:
        """Return a source as `#number`, or `@x,y` for an own peg not yet numbered; names are put in later."""
        if k < bench.offset:
            return f"#{bench.numbers[k]}"
        at = bench.targets[k - bench.offset].at
        return f"@{at.x:.6f},{at.y:.6f}"

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
            extra_marks(
                self.ground, self.sights[1], self.site, targets, tolerance, urgent=True, baseline=self._baseline()
            )
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
            bench = self._bench(e, [i])
            found = bench.three(0, bench.begin(), 2)
            if found is None:
                continue
            sources = tuple(bench.numbers[s] for s in found[0])
            tape = sum(float(np.hypot(*(self.ground.places[s] - bench.points[0]))) for s in sources)
            error = found[1] * float(bench.position[0]) * 500
            weighed = (
                Weighed(
                    method="ties",
                    sources=tuple(f"#{s}" for s in sources),
                    q=round(found[1], 4),
                    angle=None,
                    tape=tape,
                    level=1,
                    error=error,
                    chosen=True,
                ),
            )
            number = self.ground.add(self._setting(e, bench.targets[0], THREE, sources, weighed))
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
            self.numbers[e] = {}
            self._set_element(e)

    def _unreached(self, e: int, i: int) -> Problem:
        plan, target = self.plans[e], self.plans[e].primary[i]
        names = [m.name for m in self.control.marks]
        spot = np.array([target.at.x, target.at.y])
        marks = [k for k, s in enumerate(self.ground.settings) if s.standing <= AUXILIARY]
        places = self.ground.places[marks]
        reach = np.hypot(*(places - spot).T)
        free = self.sights[plan.pegging.stage].free(places, np.broadcast_to(spot, places.shape))
        seen = list(np.flatnonzero(free & (reach <= self.options.tape.length)))
        called = [names[k] if k < len(names) else f"E{k - len(names) + 1}" for k in range(len(marks))]
        if not self.reach(target.at, plan.pegging.stage):
            what = "stands within something that is there already, or beyond the boundary"
            mend = "move the element, or the thing that stands there"
        else:
            words = ", ".join(f"{called[k]} at {reach[k]:.3f} m" for k in seen) or "no mark"
            pairs = [(cut_angle(spot, places[a], places[b]), called[a], called[b]) for a in seen for b in seen if a < b]
            best = max(pairs, key=lambda p: math.sin(math.radians(p[0])), default=None)
            angle = f"; its best pair {best[1]}, {best[2]} crosses at {best[0]:.0f} degrees" if best else ""
            what, mend = f"cannot be set: it sees {words}{angle}", self._helpful(spot, plan.pegging.stage, places[seen])
        return Problem(f"{_called(plan, target)} {what}", mend, "peg-unreached")

    def _helpful(self, spot: Floats, stage: int, seen: Floats) -> str:
        """Say where a mark would help most: seen from the peg, and square to what it sees already."""
        spots = self.site.candidates()
        away = spots - spot
        reach = np.hypot(*away.T)
        free = self.sights[stage].free(spots, np.broadcast_to(spot, spots.shape)) & (reach > 1) & (reach < 15)
        if not free.any():
            return "clear a line to it, or move it"
        sharp = np.ones(len(spots))
        if len(seen):
            u, v = away / reach[:, None], (seen - spot) / np.hypot(*(seen - spot).T)[:, None]
            sharp = np.abs(u[:, None, 0] * v[None, :, 1] - u[:, None, 1] * v[None, :, 0]).max(axis=1)
        score = np.where(free, sharp - reach / 100, -1.0)
        best = spots[int(np.argmax(np.round(score, 6)))]
        return f"measure in a mark near ({best[0]:.1f}, {best[1]:.1f}), where it would help most"

    # curves and what stands between primary pegs

    def _secondary(self, e: int, plan: Plan) -> None:
        if not (plan.secondary or plan.curves or plan.ellipses):
            return
        stage, numbers = plan.pegging.stage, self.numbers[e]
        marks = [n for n, s in enumerate(self.ground.settings) if s.standing <= AUXILIARY]
        allowed = [*marks, *numbers.values(), *self._others(e)]
        curves = Curves(self.ground, self.sights[stage], sorted(set(allowed)), e, stage, self.options.chord_gap)
        for ellipse, a, b in plan.ellipses:
            curves.ellipse(ellipse, numbers[a], numbers[b])
        for curve in plan.curves:
            arc = curve.segments[0]
            if curve.centre is None:
                curves.chord(curve, numbers[curve.start], numbers[curve.end])
            elif curve.start == curve.end == curve.centre:
                curves.circle(arc, numbers[curve.centre])  # type: ignore[arg-type]
            else:
                curves.arc(arc, numbers[curve.centre])  # type: ignore[arg-type]
        general = [*plan.secondary, *curves.left]
        settings = self._general(e, general) if general else []
        for setting in [*settings, *curves.settings]:
            for s in setting.sources:
                other = self.ground.settings[s].element
                if other not in (-1, e):
                    self.needs[e].add(other)
            self.ground.add(setting, source=False)

    def _general(self, e: int, targets: Sequence[Target]) -> list[Setting]:
        """Set posts, points on edges and leftover curve pegs by the general choice; none is a source of another."""
        plan, numbers = self.plans[e], self.numbers[e]
        centres = [[numbers[c] for c in t.centres if c in numbers] for t in targets]
        tolerance = plan.pegging.tolerance
        bench = Bench(
            self.ground,
            self.sights[plan.pegging.stage],
            targets,
            (tolerance.position, tolerance.shape),
            self._others(e),
            list(dict.fromkeys(numbers.values())),
            centres,
        )
        start = bench.begin()
        hooks: frozenset[int] = frozenset()
        out: list[Setting] = []
        lost: list[Problem] = []
        for k, target in enumerate(targets):
            state = replace(start, hooks=hooks)
            found = bench.pick(k, state, SECONDARY_LIMIT)
            if found is None:
                three = bench.three(k, state, SECONDARY_LIMIT)
                if three is None:
                    lost.append(self._lost(plan, target))
                    continue
                sources = tuple(bench.numbers[s] for s in three[0])
                out.append(self._setting(e, target, THREE, sources, (), SECONDARY))
                continue
            way = found[0]
            w = bench.ways[k]
            pair = (bench.numbers[int(w.a[way])], bench.numbers[int(w.b[way])])
            hooks = frozenset((int(w.a[way]), int(w.b[way])))
            weighed = self._weighed(bench, k, state, way, SECONDARY_LIMIT)
            out.append(self._setting(e, target, int(w.kind[way]), pair, weighed, SECONDARY))
        if lost:
            raise ModelError(*lost)
        return out

    def _lost(self, plan: Plan, target: Target) -> Problem:
        spot = np.array([target.at.x, target.at.y])
        mend = self._helpful(spot, plan.pegging.stage, np.zeros((0, 2)))
        return Problem(f"{_called(plan, target)} cannot be set from any mark or peg", mend, "peg-unreached")


def _called(plan: Plan, target: Target) -> str:
    return f"{target.part} of {plan.pegging.element} at ({target.at.x:.3f}, {target.at.y:.3f})"
