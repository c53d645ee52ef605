"""Which of the closing measures stand on the last page: few enough to be done, together touching every shape.

Takes: a SettingOut. Gives: the closing table, at most twelve lines, and the other closing lines of each shape. No
line stands twice and none is left out.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..geometry.pegs.peg import Check, CheckKind
from ..geometry.setout import SettingOut

MOST = 12
"""Lines of the closing table at most: a page of them, an hour's work for two (judgement)."""

LEAST = 8
"""Lines that it should have where the garden offers as many."""

TWICE = 2
"""How often each shape should be touched."""


def closing_table(work: SettingOut) -> tuple[Check, ...]:
    """Return the lines of the closing table in the order of work: those that together touch every shape twice.

    Lines from shape to shape come first, since nothing else ties shapes together; of equals the longest.
    """
    left = [c for c in work.pegs.checks if c.kind is CheckKind.CLOSING]
    shapes = {c: _shapes(work, c) for c in left}
    touched = dict.fromkeys((s for c in left for s in shapes[c]), 0)
    chosen: list[Check] = []
    while left and len(chosen) < MOST:
        best = max(left, key=lambda c: (sum(max(0, TWICE - touched[s]) for s in shapes[c]), not c.element,
                                        c.distance.metres))
        if len(chosen) >= LEAST and all(touched[s] >= TWICE for s in shapes[best]) and best.element:
            break
        left.remove(best)
        chosen.append(best)
        for shape in shapes[best]:
            touched[shape] += 1
    return tuple(c for c in work.pegs.checks if c in chosen)


def across(work: SettingOut, element: str, table: Sequence[Check]) -> tuple[Check, ...]:
    """Return the closing lines of one shape that are not in the closing `table`.

    A line from shape to shape belongs to the later of the two.
    """
    order = {name: n for n, name in enumerate(work.pegs.elements)}
    return tuple(c for c in work.pegs.checks if c.kind is CheckKind.CLOSING and c not in table
                 and max(_shapes(work, c), key=lambda s: order.get(s, -1)) == element)


MOST_ACROSS = 8
"""Closing lines of one shape that the booklet asks for beyond the table: each of its pegs was checked by itself."""


def enough(lines: Sequence[Check]) -> tuple[Check, ...]:
    """Return at most eight of a shape's closing lines, in their order: those that touch the most of its pegs.

    Of lines that touch as many new ones the longest, for it shows most.
    """
    if len(lines) <= MOST_ACROSS:
        return tuple(lines)
    left, chosen, touched = list(lines), list[Check](), set[str]()
    while len(chosen) < MOST_ACROSS:
        best = max(left, key=lambda c: (len({c.start, c.end} - touched), c.distance.metres))
        left.remove(best)
        chosen.append(best)
        touched |= {best.start, best.end}
    return tuple(c for c in lines if c in chosen)


def _shapes(work: SettingOut, check: Check) -> tuple[str, ...]:
    if check.element:
        return (check.element,)
    pegs = work.pegs.by_name()
    return tuple(dict.fromkeys(pegs[name].element for name in (check.start, check.end)))
