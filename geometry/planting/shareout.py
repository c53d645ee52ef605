"""Deals drifts out to the separate pieces of a bed and sets their areas.

Takes the pieces' areas and for each drift its kind and area. Gives for each piece the drifts in it with areas that
fill it, so that each kind keeps its share of the whole (iterative proportional fitting: Deming and Stephan, Annals of
Mathematical Statistics 11 (1940) 427 `[from memory]`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .order import Drift

FITTINGS = 200


@dataclass(frozen=True, slots=True)
class Dealt:
    """The drifts of one piece and their areas, m2."""

    drifts: tuple[Drift, ...]
    areas: tuple[float, ...]


def shared_out(pieces: Sequence[float], drifts: Sequence[Drift], areas: Sequence[float]) -> list[Dealt]:
    """Return what each piece of a bed holds; a piece too small for any drift gets one more of the nearest size."""
    if len(pieces) == 1:
        scale = pieces[0] / sum(areas)
        return [Dealt(tuple(drifts), tuple(a * scale for a in areas))]
    scale = sum(pieces) / sum(areas)
    wanted = [a * scale for a in areas]
    room = list(pieces)
    held: list[list[int]] = [[] for _ in pieces]
    for k in sorted(range(len(drifts)), key=lambda k: (-wanted[k], k)):
        like = [sum(drifts[j].kind == drifts[k].kind for j in row) for row in held]
        best = min(range(len(pieces)), key=lambda c: (room[c] < 0.5 * wanted[k], like[c], -room[c], c))
        held[best].append(k)
        room[best] -= wanted[k]
    for c, row in enumerate(held):
        if not row:
            row.append(min(range(len(drifts)), key=lambda k: (abs(wanted[k] - pieces[c]), k)))
    return _fitted(pieces, drifts, wanted, held)


def _fitted(pieces: Sequence[float], drifts: Sequence[Drift], wanted: Sequence[float],
            held: Sequence[Sequence[int]]) -> list[Dealt]:
    kinds = sorted({d.kind for d in drifts})
    total = np.array([sum(w for d, w in zip(drifts, wanted, strict=True) if d.kind == k) for k in kinds])
    table = np.zeros((len(kinds), len(pieces)))
    for c, row in enumerate(held):
        for k in row:
            table[kinds.index(drifts[k].kind), c] += wanted[k]
    for _ in range(FITTINGS):
        table *= (total / table.sum(axis=1))[:, None]
        table *= np.array(pieces) / table.sum(axis=0)
    dealt = []
    for c, row in enumerate(held):
        own = sorted(row)
        share = {k: table[kinds.index(k), c] for k in kinds}
        sums = {k: sum(wanted[j] for j in own if drifts[j].kind == k) for k in kinds}
        dealt.append(Dealt(tuple(drifts[j] for j in own),
                           tuple(float(share[drifts[j].kind] * wanted[j] / sums[drifts[j].kind]) for j in own)))
    return dealt


def one_fewer(dealt: Dealt) -> tuple[Dealt, Drift] | None:
    """Return the drifts without the last of the kind that has most of them, whose others take its area.

    None where every kind has one drift.
    """
    kinds = [d.kind for d in dealt.drifts]
    most = max(kinds, key=lambda kind: (kinds.count(kind), -kind))
    if kinds.count(most) < 2:
        return None
    out = max(k for k, kind in enumerate(kinds) if kind == most)
    whole = sum(a for a, kind in zip(dealt.areas, kinds, strict=True) if kind == most)
    grown = whole / (whole - dealt.areas[out])
    areas = [a * (grown if kind == most else 1.0) for a, kind in zip(dealt.areas, kinds, strict=True)]
    left = [k for k in range(len(kinds)) if k != out]
    return Dealt(tuple(dealt.drifts[k] for k in left), tuple(areas[k] for k in left)), dealt.drifts[out]
