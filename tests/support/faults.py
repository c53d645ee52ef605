"""Faults made in pegged gardens, and whether the measures can show them and tell them from others.

A fault is *seen* when its effect on the measures has a non-centrality of 4.13 squared (80 in 100 at a risk of 1 in
1,000). It is *clear* when also no other peg moved, and no measure misread, explains all but a little of that effect:
the correlation of the two tests is under 0.98 and what is left stands out by three deviations.
"""

from __future__ import annotations

import math
import random
from collections import Counter

import numpy as np

from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.point import Vec
from pegbook.geometry.pegs.expected import Expected, placed, readings_of
from pegbook.geometry.pegs.guesses import Guesses
from pegbook.geometry.pegs.measured import judge, measures_of
from pegbook.geometry.pegs.peg import Method, PegSet
from support.aspegged import TAPED, driven, of_seed, taped

SEEN = 4.13**2
ALIKE = 0.98
STANDS_OUT = 9.0
SIZES = (1.0, -1.0, 0.1, -0.1)
NEAR = 1e-4


def slopes(net: Expected) -> dict[tuple[str, bool | None], np.ndarray]:
    """How the measures change with each peg, alone or with all that hangs on it, and with each measure itself."""
    guesses, here = Guesses(net), net.effect({})
    found: dict[tuple[str, bool | None], np.ndarray] = {}
    for name in net.driven:
        for following in (True, False):
            moved = [guesses._shifted(name, np.array(d), following) for d in ((NEAR, 0.0), (0.0, NEAR))]
            if all(m is not None for m in moved):
                found[name, following] = np.column_stack([(m - here) / NEAR for m in moved if m is not None])
    for k, m in enumerate(net.measures):
        found[f"{m.start}-{m.end}", None] = np.eye(len(net.measures))[:, k:k + 1]
    return found


def seen_and_clear(net: Expected, ways: dict[tuple[str, bool | None], np.ndarray], subject: str,
                   effect: np.ndarray) -> tuple[bool, bool]:
    """Whether an effect can be seen in the measures, and told from everything else."""
    size = float(effect @ net.inverse @ effect)
    least = math.inf
    for (name, _), slope in ways.items():
        if name != subject:
            pull = slope.T @ net.inverse @ effect
            least = min(least, size - float(pull @ np.linalg.pinv(slope.T @ net.inverse @ slope) @ pull))
    return size >= SEEN, size >= SEEN and least >= (1 - ALIKE**2) * size and least >= STANDS_OUT


def fault(pegs: PegSet, rng: random.Random, kind: str) -> tuple[str, str, np.ndarray] | None:
    """One garden pegged and taped with a fault: readings, what is at fault, its effect; None if tapes do not meet."""
    own = [p for p in pegs.pegs if p.method is not Method.FIXED and p.purpose is not Purpose.RECOVERY]
    peg = rng.choice(own)
    if kind == "misread":
        places, lines = driven(pegs, rng), [c for c in pegs.checks if c.kind in TAPED]
        pairs = Counter(frozenset((c.start, c.end)) for c in lines)
        pick = rng.choice([k for k, c in enumerate(lines) if pairs[frozenset((c.start, c.end))] == 1])
        size = rng.choice(SIZES)
        if places is None or not lines[pick].distance.metres + size > 0.05:
            return None
        text = taped(pegs, places, rng, misread=pick, slip=size)
        ends = {lines[pick].start, lines[pick].end}
        measures = measures_of(pegs, text)
        effect = np.array([size if {m.start, m.end} == ends else 0.0 for m in measures])
        name = next(f"{m.start}-{m.end}" for m in measures if {m.start, m.end} == ends)
        return text, name, effect
    if kind == "knocked":
        knock = Vec.polar(rng.uniform(0, 2 * math.pi), rng.uniform(0.04, 0.3))
        places = driven(pegs, rng, peg=peg.name, knock=knock)
        if places is None:
            return None
        text = taped(pegs, places, rng)
        net = Expected(pegs, measures_of(pegs, text))
        known = peg.name in net.base
        moved = {peg.name: net.base[peg.name] + knock} if known else {}
    else:
        reading, size = rng.randrange(len(readings_of(peg))), rng.choice(SIZES)
        places = driven(pegs, rng, peg=peg.name, reading=reading, slip=size)
        if places is None:
            return None
        text = taped(pegs, places, rng)
        net = Expected(pegs, measures_of(pegs, text))
        values = readings_of(peg)
        values[reading] += size
        at = placed(peg, net.base, peg.sources, values, peg.side) if peg.name in net.base else None
        moved = (net.rebuilt(peg.name, at) if at is not None else None) or {}
    return text, peg.name, net.effect(moved)


def campaign(seeds: range, kind: str, each: int = 4) -> Counter[str]:
    """Make `each` faults of a kind in every garden, and count what `judge` says of them."""
    found: Counter[str] = Counter()
    for seed in seeds:
        _, pegs = of_seed(seed)
        rng = random.Random(100 * seed + len(kind))
        for _ in range(each):
            made = fault(pegs, rng, kind)
            if made is None:
                found["tapes do not meet"] += 1
                continue
            text, subject, effect = made
            net = Expected(pegs, measures_of(pegs, text))
            seen, clear = seen_and_clear(net, slopes(net), subject, effect)
            verdict = judge(pegs, text)
            named = not verdict.good and verdict.faults[0].subject == subject
            listed = not verdict.good and any(f.subject == subject for f in verdict.faults[:3])
            said = listed and any(subject.split("-")[0] in line for line in verdict.advice)
            for word, true in (("made", True), ("seen", seen), ("clear", clear), ("named", named),
                               ("seen and listed", seen and listed), ("seen and said", seen and said),
                               ("clear and named", clear and named), ("sure", verdict.sure),
                               ("sure and right", verdict.sure and named)):
                found[word] += true
    return found


def honest(seeds: range) -> Counter[str]:
    """Peg and tape gardens with no fault but the tape's own."""
    found: Counter[str] = Counter()
    for seed in seeds:
        _, pegs = of_seed(seed)
        rng = random.Random(seed)
        places = driven(pegs, rng)
        if places is not None:
            verdict = judge(pegs, taped(pegs, places, rng))
            found["gardens"] += 1
            found["blamed"] += not verdict.good
    return found
