"""A peg's setting from the way chosen for it, and the ways that were weighed. Lengths in metres, errors in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..features import Purpose
from ..kernel.point import Point
from .choose import PRIMARY_LIMIT, Bench, State
from .ground import PEG, Ground, Setting
from .linear import CHORD, LINE, OFFSET, RADIUS, THREE, cut_angle
from .peg import Method, Weighed
from .plan import Target
from .trials import Chosen

METHODS = (Method.TIES, Method.RADIUS, Method.OFFSET, Method.CHORD, Method.LINE, Method.TIES)
"""The printed method of each kind of way."""


def setting_of(
    ground: Ground,
    stage: int,
    e: int,
    target: Target,
    kind: int,
    sources: tuple[int, ...],
    weighed: tuple[Weighed, ...],
    standing: int = PEG,
) -> Setting:
    """Return a peg's setting: its hooks in the order in which they are read, and how deep it hangs."""
    centres = {n for n in sources if (t := ground.settings[n].target) is not None and t.purpose is Purpose.CENTRE}
    stated = None
    if METHODS[kind] is not Method.RADIUS:
        sources = _to_the_left(ground, kind, sources, target.at)
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
        stage=stage,
        weighed=weighed,
        stated=stated,
    )


def three_of(ground: Ground, stage: int, e: int, bench: Bench) -> Setting | None:
    """Return the setting of a bench's one target by three tapes; None if no three reach it."""
    found = bench.three(0, bench.begin(), PRIMARY_LIMIT)
    if found is None:
        return None
    sources = tuple(bench.numbers[s] for s in found[0])
    tape = sum(float(np.hypot(*(ground.places[s] - bench.points[0]))) for s in sources)
    weighed = Weighed(method=Method.TIES.value, sources=tuple(f"#{s}" for s in sources), q=round(found[1], 4),
                      angle=None, tape=tape, level=1, error=found[1] * float(bench.position[0]) * 500, chosen=True)
    return setting_of(ground, stage, e, bench.targets[0], THREE, sources, (weighed,))


def _to_the_left(ground: Ground, kind: int, sources: tuple[int, ...], at: Point) -> tuple[int, ...]:
    """Order two hooks, or the ends of a line, so that the peg lies left of the line from first to second."""
    a, b = ground.places[sources[0]], ground.places[sources[1]]
    u, d = b - a, np.array([at.x, at.y]) - a
    left = float(u[0] * d[1] - u[1] * d[0]) >= 0
    turned = (sources[1], sources[0], *sources[2:])
    if kind == LINE or left or (kind in (OFFSET, CHORD) and not 0 <= float(d @ u) <= float(u @ u)):
        return sources
    return turned


def weighed_of(bench: Bench, k: int, state: State, way: int, limit: int = 2) -> tuple[Weighed, ...]:
    """Return the first three ways for a target as they are weighed now, `way` among them; sources by number."""
    found = bench.look(k, state, limit)
    return told(bench, [Chosen(k, int(bench.scale.first[k]) + way, found, 0)])[0]


def told(bench: Bench, chosen: Sequence[Chosen]) -> list[tuple[Weighed, ...]]:
    """Return for each target the first three of the ways as they were weighed, the chosen one first of them."""
    names, points, places = _names(bench), list(bench.points), list(bench.places)
    w = bench.scale.ways
    out = []
    for c in chosen:
        own = c.found.of(c.node)
        taken = int(np.searchsorted(c.found.way[own], c.way))
        firsts = [taken, *(i for i in c.found.key[own].argsort(kind="stable")[:3].tolist() if i != taken)][:3]
        rows = np.array(firsts) + own.start
        ways = c.found.way[rows]
        columns = (ways, w.kind[ways], w.a[ways], w.b[ways], w.tape[ways], c.found.q[rows], c.found.level[rows],
                   c.found.error[rows, 0] + c.found.error[rows, 2])
        out.append(tuple(
            Weighed(method=METHODS[kind].value, sources=(names[a], names[b]), q=round(q, 4),
                    angle=cut_angle(points[c.target], places[a], places[b]) if kind <= RADIUS else None,
                    tape=tape, level=level, chosen=way == c.way, error=math.sqrt(error) * 1000)
            for way, kind, a, b, tape, q, level, error in zip(*(v.tolist() for v in columns), strict=True)))
    return out


def _names(bench: Bench) -> list[str]:
    """Return each source as `#number`, or `@x,y` for an own peg not yet numbered; names are put in later."""
    return [*(f"#{n}" for n in bench.numbers), *(f"@{t.at.x:.6f},{t.at.y:.6f}" for t in bench.targets)]
