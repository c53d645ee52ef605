"""A string as its walker meets it: start at the bottom, pegs at their places along and out, a row of figures for each.

Takes: a step whose pegs are measured along a string and out from it. Gives: a block; nothing where the figures are too
wide to stand beside the string. Up is ahead and left is left; widths are drawn larger than they are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..geometry.kernel.path import Path
from ..geometry.kernel.segment import Line
from .booklet_checks import BOX_WIDE, box, check_words
from .booklet_page import BOLD, LEFT, READING, RIGHT, TICK_LEFT, Page, long
from .booklet_rows import Block
from .draft import disc
from .sheet import Stroke
from .steps import Form, Row, Step

FORMS = (Form.OFFSET, Form.TANGENT, Form.CHORD)
FEWEST = 3
HEADS, CHECKED, PLAIN, START = 6.0, 11.0, 9.0, 7.0
STRING_WIDE, ROWS_LEFT = 32.0, 53.0
MOST_OUT = 22.0
"""The widest out on paper, mm."""

STEEPEST = math.tan(math.radians(30))
TIMES = (10, 5, 2, 1)


def strip_block(step: Step) -> Block | None:
    """Return the block of a step's rows beside their string; None where a plain table serves better."""
    if step.form not in FORMS or len(step.rows) < FEWEST:
        return None
    ends = _ends(step)
    ranges = [long(check_words(row.check), 12, READING) for row in step.rows if row.check]
    limit = TICK_LEFT - 4.5 - BOX_WIDE - 3.0 - max(ranges, default=0.0)
    if ends[-1] > limit:
        return None
    pitch = CHECKED if ranges else PLAIN
    rows = sorted(step.rows, key=lambda row: row.run)       # as they come, walking from zero
    count = len(rows)

    def draw(page: Page, y: float) -> None:
        _heads(page, ends, y, bool(ranges))
        bottom = y + HEADS + pitch * count
        for k, row in enumerate(rows):
            top = bottom - pitch * (k + 1)
            page.line(ROWS_LEFT, top, RIGHT, top)
            _row(page, row, ends, top, pitch)
        page.line(ROWS_LEFT, bottom, RIGHT, bottom)
        _string(page, step, rows, bottom, pitch)

    return Block(HEADS + pitch * count + START, draw)


def _ends(step: Step) -> tuple[float, float]:
    """Return where the figures of 'along' and 'out' end."""
    name = max(long(row.peg, 13, READING) for row in step.rows)
    along, out = (max(long(row.readings[k], 18, READING) for row in step.rows) for k in (0, 1))
    first = ROWS_LEFT + name + 2.5 + along
    return first, first + 3.0 + out


def _heads(page: Page, ends: tuple[float, float], y: float, checked: bool) -> None:
    page.text(ROWS_LEFT, y + 4.4, "peg", 9.5)
    page.text(ends[0], y + 4.4, "along", 9.5, anchor="end")
    page.text(ends[1], y + 4.4, "out", 9.5, anchor="end")
    if checked:
        page.text(TICK_LEFT - 4.5 - BOX_WIDE, y + 4.4, "check, good from ... to", 9.5, anchor="end")
        page.text(TICK_LEFT - 1.5 - BOX_WIDE, y + 4.4, "I read", 9.5)


def _row(page: Page, row: Row, ends: tuple[float, float], y: float, pitch: float) -> None:
    base = y + pitch / 2 + 2.2
    page.text(ROWS_LEFT, base, row.peg, 13, READING)
    for text, x in zip(row.readings, ends, strict=False):
        page.text(x, base, text, 18, READING, "end")
    if row.check:
        right = TICK_LEFT - 4.5 - BOX_WIDE
        page.text(right, y + 4.0, f"from {row.check.start}", 9, anchor="end")
        page.text(right, y + 9.2, check_words(row.check), 12, READING, "end")
        box(page, y + pitch / 2)
    page.tick(y + pitch / 2, size=8.2 if row.check else 7.2)


def _places(rows: Sequence[Row], pitch: float) -> tuple[list[float], list[float], int]:
    """Return how far each peg lies up the string and out of it, mm, and how many times too wide it is drawn."""
    along = [row.run for row in rows]
    span = (along[-1] - along[0]) / (len(along) - 1)
    scale = pitch / span if span > 1e-6 else 0.0
    up = [(a - along[0]) * scale for a in along]
    reach = ROWS_LEFT - LEFT - STRING_WIDE + 8.0
    if any(abs(u - pitch * k) > STEEPEST * reach for k, u in enumerate(up)):
        up = [pitch * k for k in range(len(along))]
    widest = max(row.out for row in rows)
    times = next((n for n in TIMES if widest * scale * n <= MOST_OUT), 0)
    factor = scale * times if times else MOST_OUT / widest if widest > 0 else 0.0
    return up, [row.out * factor for row in rows], times


def _string(page: Page, step: Step, rows: Sequence[Row], bottom: float, pitch: float) -> None:
    """Draw the string upright, the pegs beside it on their side, a thin line from each to its row."""
    left = step.hand != "RIGHT"
    x = LEFT + STRING_WIDE - 4.0 if left else LEFT + 6.0
    up, out, times = _places(rows, pitch)
    first = bottom - pitch / 2
    top = first - max(up) - pitch / 2
    page.line(x, bottom, x, top, "cut")
    for k, (u, o) in enumerate(zip(up, out, strict=True)):
        y, at = first - u, x - o if left else x + o
        middle = bottom - pitch * (k + 0.5)
        page.marks.append(_dashes(page, x, at, y))
        edge = max(at, x) + 1.4
        page.line(edge if at > x else x, y, ROWS_LEFT - 1.0, middle, "texture")
        page.marks.append(disc("marks", page.at(at, y), 1.5))
    page.marks.append(disc("marks", page.at(x, bottom), 1.2))
    words = "" if times == 1 else f"; widths drawn {times}x too big" if times else "; widths not to scale"
    page.text(LEFT, bottom + 4.6, f"START: zero on {step.stand[0]}, walk up{words}", 9.5, BOLD)


def _dashes(page: Page, x0: float, x1: float, y: float) -> Stroke:
    wide = x1 if abs(x1 - x0) > 0.2 else x0 + 0.2
    return Stroke(layer="marks", path=Path((Line(page.at(x0, y), page.at(wide, y)),)), pen="mark", dash="hidden")
