"""A peg's setting from the way chosen for it, and the ways that were weighed. Lengths in metres, errors in mm."""

from __future__ import annotations

import math

import numpy as np

from ..features import Purpose
from ..kernel.point import Point
from .choose import PRIMARY_LIMIT, Bench, State
from .ground import PEG, Ground, Setting
from .linear import CHORD, LINE, OFFSET, THREE, cut_angle
from .peg import Method, Weighed
from .plan import Target
from .weighing import Found

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
    return told(bench, k, found, slice(0, len(found.way)), int(bench.scale.first[k]) + way)


def told(bench: Bench, k: int, found: Found, own: slice, way: int) -> tuple[Weighed, ...]:
    """Return the first three of a target's `own` ways, `way` (its number among all) first of them."""
    number, q, error, level = found.way[own], found.q[own], found.error[own], found.level[own]
    firsts = [int(i) for i in np.argsort(found.key[own], kind="stable")[:3]]
    chosen = [int(i) for i in np.flatnonzero(number == way)]
    firsts = [*chosen, *(i for i in firsts if i not in chosen)][:3]
    out = []
    w = bench.scale.ways
    for i in firsts:
        j = int(number[i])
        angle = cut_angle(bench.points[k], bench.places[w.a[j]], bench.places[w.b[j]]) if w.kind[j] <= 1 else None
        sources = tuple(_local(bench, int(n)) for n in (w.a[j], w.b[j]))
        out.append(Weighed(method=METHODS[int(w.kind[j])].value, sources=sources, q=round(float(q[i]), 4),
                           angle=angle, tape=float(w.tape[j]), level=int(level[i]), chosen=j == way,
                           error=math.sqrt(float(error[i, 0] + error[i, 2])) * 1000))
    return tuple(out)


def _local(bench: Bench, k: int) -> str:
    """Return a source as `#number`, or `@x,y` for an own peg not yet numbered; names are put in later."""
    if k < bench.offset:
        return f"#{bench.numbers[k]}"
    at = bench.targets[k - bench.offset].at
    return f"@{at.x:.6f},{at.y:.6f}"
