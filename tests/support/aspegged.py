"""Gardens pegged out and taped: what people with erring tapes, and a mistake if asked, would drive and measure."""

from __future__ import annotations

import random
from functools import lru_cache

import numpy as np

from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.pegs.control import adjust
from pegbook.geometry.pegs.expected import placed, readings_of
from pegbook.geometry.pegs.peg import CheckKind, Method, PegSet
from pegbook.geometry.pegs.solve import set_out
from pegbook.geometry.pegs.tape import Options, Tape
from pegbook.geometry.pegs.truing import of_extra_marks
from support.plots import Plot, plot

TAPED = (CheckKind.PEG, CheckKind.CLOSING, CheckKind.TRUE, CheckKind.CONTROL, CheckKind.RUN)
INCHES = Tape(feet=True, step=0.0254 / 4)


def pegged(garden: Plot, tape: Tape | None = None) -> PegSet:
    """Set a garden out."""
    return set_out(garden.peggings, adjust(garden.marks), garden.obstacles, garden.boundary,
                   Options(tape=tape or Tape()))


@lru_cache(maxsize=64)
def of_seed(seed: int, elements: int | None = None, feet: bool = False) -> tuple[Plot, PegSet]:
    """The garden of a seed, and its pegs."""
    garden = plot(seed, elements)
    return garden, pegged(garden, INCHES if feet else None)


def driven(pegs: PegSet, rng: random.Random, *, peg: str = "", reading: int = 0, slip: float = 0.0,
           knock: Vec | None = None) -> dict[str, Point] | None:
    """Where everything comes to stand; None if the tapes of a peg do not meet."""
    tape = pegs.options.tape
    values, vectors = np.linalg.eigh(pegs.control.covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    err = root @ np.array([rng.gauss(0, 1) for _ in range(len(root))])
    places = {m.name: Point(m.at.x + err[2 * i], m.at.y + err[2 * i + 1]) for i, m in enumerate(pegs.control.marks)}
    extra = [p for p in pegs.pegs if p.purpose is Purpose.AUXILIARY]
    for p in [*extra, None, *(p for p in pegs.pegs if p not in extra)]:
        if p is None:
            true_extra_marks(pegs, places, rng)
            continue
        if p.method is Method.FIXED:
            continue
        readings = readings_of(p)
        if p.name == peg and slip:
            readings[reading] += slip
        at = placed(p, places, p.sources, [r + rng.gauss(0, tape.sd(r)) for r in readings], p.side)
        if at is None:
            return None
        places[p.name] = Point(at.x + rng.gauss(0, tape.peg_sd), at.y + rng.gauss(0, tape.peg_sd))
    if knock is not None:
        places[peg] = places[peg] + knock
    return places


def true_extra_marks(pegs: PegSet, places: dict[str, Point], rng: random.Random) -> None:
    """Move the extra marks until the lines between them agree."""
    extra = of_extra_marks(pegs)
    if extra is None:
        return
    names, truing = extra
    stands = np.array([[(places[n].x, places[n].y) for n in names]])
    errors = np.array([[rng.gauss(0, pegs.options.tape.sd(float(d))) for d in truing.lengths]])
    moved = truing.moved(stands, errors)[0]
    for k in np.flatnonzero(truing.moving):
        x, y = (float(v) + rng.gauss(0, pegs.options.tape.peg_sd) for v in moved[k])
        places[names[k]] = Point(x, y)


def taped(pegs: PegSet, places: dict[str, Point], rng: random.Random, *, misread: int = -1, slip: float = 0.0) -> str:
    """All check measures of the set as taped, in the form that the phone sends."""
    rows = ["from,to,reading,when"]
    for k, check in enumerate(c for c in pegs.checks if c.kind in TAPED):
        d = places[check.start].distance(places[check.end])
        d += rng.gauss(0, pegs.options.tape.sd(d)) + (slip if k == misread else 0.0)
        rows.append(f"{check.start},{check.end},{pegs.options.tape.reading(d).text},")
    return "\n".join(rows)
