"""What to do about pegs that do not read as they should, in words. Lengths in metres, moves in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..kernel.point import Vec
from .expected import Expected
from .verdict import Fault, either_way, surely

Floats = NDArray[np.float64]

TOWARD = math.radians(22)
"""A mark within this of the direction is named for it; else the frame's own directions are."""


def advice(net: Expected, wrong: float, faults: Sequence[Fault]) -> list[str]:
    """Return what to do: what to measure again, which peg to move and by how much, what hangs on it."""
    bad = [m for m in net.measures if not m.good]
    again = [f"measure {m.start} to {m.end} again: it is {abs(m.over) * 1000:.0f} mm "
             f"{'over' if m.over > 0 else 'under'}, {m.allowed * 1000:.0f} mm is allowed" for m in bad]
    if wrong <= 0.5:
        return again or ["all within limits"]
    lines = [*again]
    if not faults:
        return lines
    top = faults[0]
    if surely(faults):
        lines.append(_said(top))
        if top.shift is not None:
            lines += _move(net, top)
    else:
        lines.append("one of these is wrong; measure again: "
                     + ", ".join(f"{f.subject} ({f.probability:.0%}: {f.cause})" for f in faults[:3]))
        pair = either_way(faults)
        if pair:
            lines.append(f"if {pair[0].replace('-', ' to ')} reads the same again, {pair[1]} stands wrong: "
                         f"measure {pair[1]} from one more mark as well")
    return lines


def _said(top: Fault) -> str:
    if top.shift is None:
        return (f"the reading {top.subject} is most likely wrong, the pegs are not: {top.cause} "
                f"({top.probability:.0%} sure)")
    return f"{top.subject} is wrong by {top.shift.length * 1000:.0f} mm: {top.cause} ({top.probability:.0%} sure)"


def _move(net: Expected, top: Fault) -> list[str]:
    """Say where to move a wrong peg, and which pegs hang on it."""
    assert top.shift is not None
    peg = net.pegs[top.subject]
    size = top.shift.length
    limit = max((peg.position_limit or 0.0) / 1000, 2 * peg.error / 1000)
    if size <= limit:
        return [f"{top.subject} lies within what its tolerance allows: leave it"]
    way = _direction(net, top.subject, -top.shift)
    lines = [f"move {top.subject} {round(size * 200) * 5} mm {way}, then check again"]
    after = net.followers[top.subject]
    if after and top.cause != "moved after it was set":
        lines.append(f"set again what hangs on it: {', '.join(after)}")
    return lines


def _direction(net: Expected, name: str, way: Vec) -> str:
    """Return a direction in words: toward a mark if one lies there, else by the frame."""
    at = net.base[name]
    options = []
    for mark in net.set.control.marks:
        out = mark.at - at
        if out.length > 0:
            for sign, word in ((1, "toward"), (-1, "away from")):
                turn = abs(math.remainder(out.heading + (0 if sign > 0 else math.pi) - way.heading, 2 * math.pi))
                options.append((turn, f"{word} {mark.name}"))
    turn, words = min(options, default=(math.pi, ""))
    if turn <= TOWARD:
        return words
    along, out_ = ("along" if way.dx > 0 else "back along"), ("away from" if way.dy > 0 else "toward")
    a, b = net.set.control.baseline
    return f"({abs(way.dx) * 1000:.0f} mm {along} {a}-{b} and {abs(way.dy) * 1000:.0f} mm {out_} it)"
