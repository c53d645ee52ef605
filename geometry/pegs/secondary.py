"""Pegs between the primary ones of an element: along its curves, posts, points on edges. None is a source of another.

Lengths in metres.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..errors import ModelError, Problem
from .choose import SECONDARY_LIMIT, Bench, State
from .curves import Curves
from .ground import AUXILIARY, SECONDARY, Ground, Setting
from .linear import LINE, RADIUS, THREE
from .making import setting_of, weighed_of
from .plan import Plan, Target
from .sight import Sight
from .standing import Site
from .telling import lost


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

    def settings(self) -> list[Setting]:
        """Return a setting for each peg; ModelError for those that nothing reaches."""
        plan, numbers, stage = self.plan, self.numbers, self.plan.pegging.stage
        marks = [n for n, s in enumerate(self.ground.settings) if s.standing <= AUXILIARY]
        allowed = sorted({*marks, *numbers.values(), *self.others})
        curves = Curves(self.ground, self.sight, allowed, self.element, stage, self.gap)
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
        return [*(self._general(general) if general else ()), *curves.settings]

    def _general(self, targets: Sequence[Target]) -> list[Setting]:
        """Set posts, points on edges and leftover curve pegs by the general choice."""
        tolerance = self.plan.pegging.tolerance
        bench = Bench(
            self.ground,
            self.sight,
            targets,
            (tolerance.position, tolerance.shape),
            self.others,
            list(dict.fromkeys(self.numbers.values())),
            [[self.numbers[c] for c in t.centres if c in self.numbers] for t in targets],
        )
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

    def _one(self, bench: Bench, k: int, hooks: frozenset[int]) -> tuple[Setting, frozenset[int]] | None:
        """Return one target's setting and the hooks that are in use after it; None if nothing reaches it."""
        state = replace(bench.begin(), hooks=hooks)
        stage, target = self.plan.pegging.stage, bench.targets[k]
        found = self._in_row(bench, k, state) or bench.pick(k, state, SECONDARY_LIMIT)
        if found is None:
            three = bench.three(k, state, SECONDARY_LIMIT)
            if three is None:
                return None
            sources = tuple(bench.numbers[s] for s in three[0])
            return setting_of(self.ground, stage, self.element, target, THREE, sources, (), SECONDARY), hooks
        way, w = found[0], bench.ways[k]
        a, b = int(w.a[way]), int(w.b[way])
        weighed = weighed_of(bench, k, state, way, SECONDARY_LIMIT)
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
        w = bench.ways[k].pick(open_)
        for keep in ((w.kind == LINE) & np.isin(w.a, local) & np.isin(w.b, local), w.kind == RADIUS):
            if keep.any():
                best = np.flatnonzero(keep)[np.lexsort((w.b[keep], w.a[keep], np.round(q[keep], 6)))[0]]
                return int(open_[best]), float(q[best])
        return None
