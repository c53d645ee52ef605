"""Lines that brace the extra marks: measured when all stand, the marks then moved until they agree.

Each extra mark hangs on two readings; the lines from it to the other marks are as good, and together hold the whole far
stiffer than the chain in which it was set. Lengths in metres.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .ground import AUXILIARY, Ground
from .linear import LINE
from .sight import Sight
from .truing import Truing, free_basis

Floats = NDArray[np.float64]

SHORTEST = 1.0
"""A shorter line braces nothing, metres (judgement)."""

MOST_FROM_ONE = 4
"""Lines from one extra mark to marks before it, besides the readings that set it (judgement: half an hour's work)."""


def bracing(ground: Ground, sight: Sight) -> tuple[tuple[int, int], ...]:
    """Return the lines that brace the extra marks, the readings that set them among them; by numbers, in order.

    A control mark known less well than the extra mark itself braces nothing: it never moves, and lines of equal weight
    would pull the other astray. Empty where there are no lines but the readings themselves.
    """
    marks = [n for n, s in enumerate(ground.settings) if s.standing <= AUXILIARY]
    error = {n: float(np.trace(ground.block(n, n))) for n in marks}
    lines: dict[tuple[int, int], None] = {}
    more = False
    for n in marks:
        setting = ground.settings[n]
        if setting.standing != AUXILIARY:
            continue
        taped = setting.sources[: 1 if setting.method == LINE else 2]
        others = np.array([k for k in marks if k < n and k not in taped
                           and (error[k] <= error[n] or ground.settings[k].standing == AUXILIARY)], dtype=np.intp)
        reach = np.hypot(*(ground.places[others] - ground.places[n]).T)
        order = np.argsort(np.round(reach, 6), kind="stable")
        order = order[(reach[order] >= SHORTEST) & (reach[order] <= ground.tape.length)]
        free = sight.free(ground.places[others[order]], np.broadcast_to(ground.places[n], (len(order), 2)))
        bracers = [int(k) for k in others[order][free][:MOST_FROM_ONE]]
        more = more or bool(bracers)
        lines |= dict.fromkeys((k, n) for k in (*taped, *bracers))
    return tuple(lines) if more else ()


def braced(ground: Ground, lines: tuple[tuple[int, int], ...]) -> None:
    """Put in the ground how sure the extra marks are once their lines have been shared out.

    A mark in line with two others moves along its string only.
    """
    if not lines:
        return
    marks = sorted({n for line in lines for n in line})
    index = {n: k for k, n in enumerate(marks)}
    free, along = [], {}
    for n in marks:
        setting = ground.settings[n]
        if setting.standing != AUXILIARY:
            continue
        if setting.method == LINE:
            way = ground.places[n] - ground.places[setting.sources[0]]
            along[index[n]] = way / np.hypot(*way)
        else:
            free.append(index[n])
    truing = Truing(ground.places[marks], tuple((index[a], index[b]) for a, b in lines),
                    free_basis(len(marks), free, along))
    ground.true_up(marks, truing)
