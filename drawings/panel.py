"""The panel beside the plan: sections with a ruled heading, notes, cautions, key entries, and how they are stacked.

A section is drawn once about its own top left corner and then set in a column. Lengths are millimetres on
paper; inside a section y runs down to negative figures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from ..geometry.kernel.point import Box, Point, Vec
from .draft import Nib, block, blot, group, moved
from .lettering import width
from .sheet import Mark, Text
from .wrapping import FIGURES, NAMES, wrap

LAYER = "panel"
COLUMN, GUTTER, MARGIN = 78.0, 8.0, 8.0
"""Width of a column of the panel, the gutter between two, the margin at its sides."""

HEADING, CONTENT = 5.2, 8.2
"""Baseline of a heading, and the top of what stands under it, below the section's rule."""

PITCH = 4.2
"""Least distance of two baselines of 2.5."""

KEY_ROW = 8.9
STRIP = 2.6


@dataclass(frozen=True, slots=True)
class Section:
    """A finished piece of the panel: marks about its top left corner, and how much room they take."""

    name: str
    width: float
    height: float
    marks: tuple[Mark, ...]

    def at(self, x: float, top: float) -> tuple[Mark, ...]:
        """Return the section's marks with its top left corner at (x, top)."""
        return moved(self.marks, Vec(x, top))


def text(
    x: float,
    down: float,
    words: str,
    style: str = "regular",
    anchor: str = "start",
    capitals: float = FIGURES,
    classes: tuple[str, ...] = (),
) -> Text:
    """Return a line of lettering of the panel."""
    return Text(
        layer=LAYER, at=Point(x, -down), words=words, capitals=capitals, style=style, anchor=anchor, classes=classes
    )


def head(heading: str, remark: str, width: float, start: float = 0.0) -> tuple[Mark, ...]:
    """Return a section's rule, its heading and the remark flush right."""
    marks: list[Mark] = [Nib(LAYER, "edge").across(start, width, 0)]
    if heading:
        marks.append(text(start, HEADING, heading, "bold", capitals=NAMES))
    if remark:
        marks.append(text(width, HEADING, remark, anchor="end"))
    return tuple(marks)


def head_height(heading: str, remark: str, room: float) -> float:
    """Return how far down the content begins: a remark that does not fit beside the heading goes below it."""
    beside = width(heading, "bold", NAMES) + 4 + width(remark, "regular", FIGURES) <= room
    return CONTENT if beside or not remark else CONTENT + PITCH


def section(
    name: str, heading: str, room: float, content: Iterable[Mark], height: float, remark: str = "", classes: str = ""
) -> Section:
    """Return a section of content that was drawn from down = 0; its heading is put above."""
    beside = width(heading, "bold", NAMES) + 4 + width(remark, "regular", FIGURES) <= room
    top = head_height(heading, remark, room)
    marks = [*head(heading, remark if beside else "", room), *moved(content, Vec(0, -top))]
    if remark and not beside:
        marks.append(text(0, HEADING + PITCH, remark))
    return Section(name, room, top + height, (group(LAYER, classes or name, marks, heading),))


def notes(words: Sequence[str], room: float, heading: str = "Notes") -> Section:
    """Return numbered notes: the number bold and hanging."""
    marks: list[Mark] = []
    down = 3.0
    for number, note in enumerate(words, 1):
        marks.append(text(0, down, str(number), "bold", classes=("note",)))
        for line in wrap(note, room - 5):
            marks.append(text(5, down, line, classes=("note",)))
            down += PITCH
        down += 0.6
    return section("notes", heading, room, marks, max(0.0, down - 3.0), classes="note")


def cautions(points: Sequence[tuple[str, str]], room: float, heading: str = "Before you dig") -> Section:
    """Return the cautions: lead words bold, a barrier strip along the left."""
    marks: list[Mark] = []
    down = HEADING + 5.2
    for lead, words in points:
        hang = width(lead + ".", "bold", FIGURES) + 1.2
        lines = wrap(words, room - 5, hang=hang)
        marks.append(text(5, down, lead + ".", "bold"))
        for i, line in enumerate(lines):
            if line:
                marks.append(text(5 + (hang if i == 0 else 0), down, line))
            down += PITCH
        down += 0.4
    height = down - PITCH + 1.6
    marks += [*head(heading, "", room, 5.0), *_barrier(height)]
    return Section("cautions", room, height, (group(LAYER, "cautions", marks, heading),))


def _barrier(height: float) -> list[Mark]:
    """Return the strip of slanted bars, each cut off square at the strip's edges, whole or absent inside it."""
    marks: list[Mark] = []
    step, foot = 2.6, -height
    low = foot - STRIP
    k = 0
    while low + k * step < 0:
        a = low + k * step
        bar = [(0.0, a), (STRIP, a + STRIP), (STRIP, a + STRIP + 1.3), (0.0, a + 1.3)]
        kept = _between(bar, foot, 0.0)
        if len(kept) > 2:
            marks.append(blot(LAYER, *(Point(x, y) for x, y in kept)))
        k += 1
    marks.append(Nib(LAYER, "thin").box(Box(0, foot, STRIP, 0)))
    return marks


def _between(corners: list[tuple[float, float]], low: float, high: float) -> list[tuple[float, float]]:
    """Cut a convex shape off below `low` and above `high`."""
    for limit, sign in ((low, 1.0), (high, -1.0)):
        out: list[tuple[float, float]] = []
        for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
            a, b = (ay - limit) * sign, (by - limit) * sign
            if a >= 0:
                out.append((ax, ay))
            if a * b < 0:
                out.append((ax + (bx - ax) * a / (a - b), limit))
        corners = [c for i, c in enumerate(out) if abs(c[0] - out[i - 1][0]) + abs(c[1] - out[i - 1][1]) > 1e-6]
        if len(corners) < 3:
            return []
    return corners


@dataclass(frozen=True, slots=True)
class KeyEntry:
    """One entry of the key: a swatch drawn in a box, a name, a second line, and a figure flush right."""

    name: str
    remark: str
    figure: str
    swatch: Callable[[Box], tuple[Mark, ...]]


SWATCH = (14.0, 5.8)


def key(heading: str, entries: Sequence[KeyEntry], room: float, remark: str = "", close: bool = False) -> Section:
    """Return a key: swatch of 14 by 5.8, then the name bold and one line of what and where.

    `close` sets name and remark on one line where they fit, in rows as low as their swatches allow.
    """
    marks: list[Mark] = []
    down = 0.0
    for entry in entries:
        figure = width(entry.figure, "regular", FIGURES) + 2 if entry.figure else 0.0
        lines = _entry_lines(entry, room - 17 - figure, close)
        shift = 1.9 if len(lines) == 1 else 0.0
        marks += entry.swatch(Box(0, -down - SWATCH[1], SWATCH[0], -down))
        base = down + 2.1 + shift
        if entry.figure:
            marks.append(text(room, base, entry.figure, anchor="end"))
        for line in lines:
            x = 17.0
            for words, style in line:
                marks.append(text(x, base, words, style))
                x += width(words, style, FIGURES) + 1.6
            base += 4.05
        low = CLOSE_ROW if close else KEY_ROW
        down += max(low, KEY_ROW + (len(lines) - 2) * 4.05) if len(lines) > 1 else low
    return section("key", heading, room, marks, down - 2.0, remark)


CLOSE_ROW = 6.9


def _entry_lines(entry: KeyEntry, room: float, close: bool) -> list[list[tuple[str, str]]]:
    """Return the lines of an entry as runs of words and style."""
    both = width(entry.name, "bold", FIGURES) + 1.6 + width(entry.remark, "regular", FIGURES)
    if close and entry.remark and both <= room:
        return [[(entry.name, "bold"), (entry.remark, "regular")]]
    remark = wrap(entry.remark, room) if entry.remark else ()
    return [*([(line, "bold")] for line in wrap(entry.name, room, "bold")), *([(line, "regular")] for line in remark)]


LOOSE = 9.5
"""A key with rows so far apart has its words looser too, mm."""


def legend(
    heading: str, rows: Sequence[tuple[str, Callable[[Point], tuple[Mark, ...]]]], room: float, pitch: float = 6.4
) -> Section:
    """Return a short key of signs: each drawn about a point at 8 from the left, its words at 16."""
    marks: list[Mark] = []
    down, lead = 3.2, 4.0 if pitch < LOOSE else 5.0
    for words, sign in rows:
        marks += sign(Point(8.0 if room > 30 else 4.0, -down))
        lines = wrap(words, room - 14)
        for i, line in enumerate(lines):
            marks.append(text(14, down + 1.2 + i * lead, line))
        down += max(pitch, pitch + (len(lines) - 1) * lead)
    return section("legend", heading, room, marks, down - 2.0, classes="key")


def white(x0: float, y0: float, x1: float, y1: float) -> Mark:
    """Return a white ground of the panel."""
    return block(LAYER, Box(x0, y0, x1, y1), "white")


@dataclass(frozen=True, slots=True)
class Stack:
    """Where sections stand in the panel, and those for which there was no room."""

    marks: tuple[Mark, ...]
    left_out: tuple[Section, ...]
    foot: float


def stacked(rows: Sequence[Sequence[Section]], area: Box, gap: float = 7.0) -> Stack:
    """Set rows of sections from the top of `area`: those of one row begin at one level, side by side.

    If room is left over it goes between the rows (up to twice the gap). A row that does not fit is left out whole.
    """
    heights = [max(s.height for s in row) for row in rows]
    kept = 0
    used = 0.0
    for height in heights:
        if used + height + (gap if kept else 0) > area.height + 1e-6:
            break
        used += height + (gap if kept else 0)
        kept += 1
    spare = min((area.height - used) / max(1, kept - 1), gap) if kept > 1 else 0.0
    marks: list[Mark] = []
    top = area.y1
    for row, height in zip(rows[:kept], heights, strict=False):
        x = area.x0
        for one in row:
            marks += one.at(x, top)
            x += one.width + GUTTER
        top -= height + gap + spare
    return Stack(tuple(marks), tuple(s for row in rows[kept:] for s in row), top + gap + spare)
