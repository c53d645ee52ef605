"""Pegs between the primary ones of an element: along its curves, posts, points on edges. None is a source of another.

Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import ModelError, Problem
from ..kernel.segment import Arc
from .choose import SECONDARY_LIMIT, Bench, State
from .concentric import DEEPEST, Round, Shut, shut_parts
from .curves import Curves, Rim
from .ground import SECONDARY, Ground, Setting
from .linear import LINE, RADIUS, THREE
from .making import setting_of, weighed_of
from .plan import Plan, Target
from .sight import Sight
from .standing import Site
from .telling import lost

MOST_SHUT = 0.5
"""A circle of which a larger share cannot be swung is set as one without a centre."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Between:
    """One element whose primary pegs stand: its number, its plan, their numbers by target, others' pegs as sources."""

    ground: Ground
    sight: Sight
    site: Site
    element: int
    plan: Plan
    numbers: Mapping[int, int]
    others: Sequence[int]
    gap: float                                   # largest gap between chord and curve
    place: Callable[[Setting], int]              # puts a peg that others hang on, and gives its number

    def settings(self) -> list[Setting]:
        """Return a setting for each peg; ModelError for those that nothing reaches."""
        plan, numbers, stage = self.plan, self.numbers, self.plan.pegging.stage
        allowed = sorted({*self.ground.marks, *numbers.values(), *self.others})
        curves = Curves(self.ground, self.sight, allowed, self.element, stage, self.gap)
        for ellipse, a, b in plan.ellipses:
            curves.ellipse(ellipse, numbers[a], numbers[b])
        shut: list[Shut] = []
        for curve in plan.curves:
            arc = curve.segments[0]
            if curve.centre is None:
                curves.chord(curve, numbers[curve.start], numbers[curve.end])
            else:
                shut += self._swung(curves, arc, numbers[curve.centre])  # type: ignore[arg-type]
        general = [*plan.secondary, *curves.left]
        first = self._general(general) if general else []
        return [*first, *curves.settings, *self._round(shut, allowed, curves.name)]

    def _swung(self, curves: Curves, arc: Arc, centre: int) -> list[Shut]:
        """Put the pegs of an arc or circle that is swung from its centre; return the parts where it cannot be."""
        shut = shut_parts(arc, centre, self.ground, self.sight)
        if not arc.is_circle:
            curves.arc(arc, centre, [(s.begin, s.end) for s in shut])
            return shut
        if math.fsum(s.end - s.begin for s in shut) > MOST_SHUT:
            shut = []
        curves.circle(arc, centre, bool(shut))
        return shut

    def _round(self, shut: Sequence[Shut], allowed: Sequence[int], name: Callable[[], str]) -> list[Setting]:
        """Set the pegs of arcs where their centre does not reach."""
        if not shut:
            return []
        stage = self.plan.pegging.stage
        low = Curves(self.ground, self.sight, [n for n in allowed if self.ground.settings[n].level < DEEPEST],
                     self.element, stage, self.gap)

        def rims(arc: Arc, centre: int, angle: float) -> Rim | None:
            return next(iter(low.by_radius(arc, centre, [angle])), None)

        tolerance = self.plan.pegging.tolerance
        work = Round(ground=self.ground, sight=self.sight, site=self.site, element=self.element, stage=stage,
                     gap=self.gap, tolerance=(tolerance.position, tolerance.shape), rims=rims, usual=self._usual,
                     index_of=self._index_of, place=self.place, name=name, trued=tolerance.trued)
        out: list[Setting] = []
        for part in shut:
            settings, targets = work.part(part)
            out += [*settings, *(self._general(targets) if targets else ())]
        return out

    def _usual(self, targets: Sequence[Target], limit: int) -> list[Setting | None]:
        """Return the usual choice for each of some targets by itself."""
        bench, none = self._bench(targets), frozenset[int]()
        found = [self._one(bench, k, none, limit) for k in range(len(targets))]
        return [None if one is None else one[0] for one in found]

    def _index_of(self, number: int) -> tuple[int, ...]:
        return tuple(i for i, n in self.numbers.items() if n == number)

    def _bench(self, targets: Sequence[Target]) -> Bench:
        tolerance = self.plan.pegging.tolerance
        return Bench(
            self.ground,
            self.sight,
            targets,
            (tolerance.position, tolerance.shape),
            self.others,
            list(dict.fromkeys(self.numbers.values())),
            [[self.numbers[c] for c in t.centres if c in self.numbers] for t in targets],
            hang=False,
        )

    def _general(self, targets: Sequence[Target]) -> list[Setting]:
        """Set posts, points on edges and leftover curve pegs by the general choice."""
        bench = self._bench(targets)
        hooks: frozenset[int] = frozenset()
        out: list[Setting] = []
        missing: list[Problem] = []
        for k, target in enumerate(targets):
            found = self._one(bench, k, hooks)
            if found is None:
                missing.append(lost(self.plan, target, self.sight, self.site))
                continue
            setting, hooks = found
            out.append(setting)
        if missing:
            raise ModelError(*missing)
        return out

    def _one(self, bench: Bench, k: int, hooks: frozenset[int],
             limit: int = SECONDARY_LIMIT) -> tuple[Setting, frozenset[int]] | None:
        """Return one target's setting and the hooks that are in use after it; None if nothing reaches it."""
        state = replace(bench.begin(), hooks=hooks)
        stage, target = self.plan.pegging.stage, bench.targets[k]
        found = self._in_row(bench, k, state) or bench.pick(k, state, limit)
        if found is None:
            three = bench.three(k, state, limit)
            if three is None:
                return None
            sources = tuple(bench.numbers[s] for s in three[0])
            return setting_of(self.ground, stage, self.element, target, THREE, sources, (), SECONDARY), hooks
        way, w = found[0], bench.ways(k)
        a, b = int(w.a[way]), int(w.b[way])
        weighed = weighed_of(bench, k, state, way, limit)
        setting = setting_of(self.ground, stage, self.element, target, int(w.kind[way]),
                             (bench.numbers[a], bench.numbers[b]), weighed, SECONDARY)
        return setting, frozenset((a, b))

    def _in_row(self, bench: Bench, k: int, state: State) -> tuple[int, float] | None:
        """Return the way that holds a post in its row: on the string between the ends, else swung from the centre."""
        target = bench.targets[k]
        if target.row is None:
            return None
        ends = [self.numbers[i] for i in self.plan.rows[target.row] if i in self.numbers]
        local = [bench.local[n] for n in ends if n in bench.local]
        open_, q, _, _ = bench.weigh(k, state, SECONDARY_LIMIT)
        w = bench.ways(k).pick(open_)
        for keep in ((w.kind == LINE) & np.isin(w.a, local) & np.isin(w.b, local), w.kind == RADIUS):
            if keep.any():
                best = np.flatnonzero(keep)[np.lexsort((w.b[keep], w.a[keep], np.round(q[keep], 6)))[0]]
                return int(open_[best]), float(q[best])
        return None
