"""Plants at equal steps on lines: hedges, edgings, avenues, in one row or in two staggered ones.

Takes the lines between gaps. Gives points. On a curve both rows share the angle of the middle line, so that the
stagger survives; the steps of the two rows then differ, which is said when it shows.
Source of the counts (first plant half a step from the end, second row one fewer): UK hedging nursery advice pages on
three plants a metre in one row and six a metre in a staggered double row.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from ..errors import Problem, Weight
from ..kernel.path import Loop, Path
from ..kernel.point import Point, Vec
from ..kernel.segment import Arc
from ..kernel.station import heading_at, point_at
from .mix import LineInput, MixEntry
from .plants import Plant

UNEVEN = 1.15
"""Rows whose steps differ by more than this factor are reported. Figure ours."""

CLOSE = 5e-4
"""Plants on lines in a bed may stand this much (m) nearer than their spacing: half of what is promised."""

WHOLE = 1e-6
"""A length that is a whole number of steps within this part of a step is that number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePlanting:
    """A planted line: `rows` hold the points of each row (left row second), `step` is the true step in metres."""

    name: str
    plant: Plant
    rows: tuple[tuple[Point, ...], ...]
    length: float
    step: float
    hedge: bool
    messages: tuple[Problem, ...] = ()

    @property
    def points(self) -> tuple[Point, ...]:
        """All plants, row after row."""
        return tuple(p for row in self.rows for p in row)

    @property
    def count(self) -> int:
        """How many plants there are."""
        return sum(len(row) for row in self.rows)


def plants_on(length: float, step: float) -> int:
    """Return how many plants at about `step` metres stand on `length` metres of one row: the nearest whole number."""
    return max(1, math.floor(length / step + 0.5 + WHOLE))


def plant_line(line: LineInput) -> LinePlanting:
    """Return the plants of a line: equal steps, the first half a step from each end; a ring has no ends."""
    rows: list[list[Point]] = [[] for _ in range(line.rows)]
    messages: list[Problem] = []
    whole, planted = 0.0, 0
    for path in line.lines:
        count = plants_on(path.length, line.step)
        whole, planted = whole + path.length, planted + count
        step = path.length / count
        aside = (0.0,) if line.rows == 1 else (-line.row_gap / 2, line.row_gap / 2)
        for row, offset in enumerate(aside):
            shift = 0.5 * step if row == 0 else step
            number = count if row == 0 or isinstance(path, Loop) else count - 1
            rows[row] += [_beside(path, shift + k * step, offset) for k in range(number)]
        if line.rows == 2:
            messages += _row_faults(line, path)
    return LinePlanting(name=line.name, plant=line.plants[line.plant], rows=tuple(tuple(r) for r in rows), length=whole,
                        step=whole / planted if planted else 0.0, hedge=line.hedge, messages=tuple(messages))


def stood(entry: MixEntry, spacing: float) -> tuple[Point, ...]:
    """Return the plants of a bed's entry that stand on points or lines, `spacing` metres apart at least."""
    return entry.at + tuple(p for path in entry.along for p in on_line(path, spacing))


def on_line(path: Path | Loop, spacing: float) -> list[Point]:
    """Return plants at equal steps on a line, the first half a step from its end: the most that keep their spacing.

    Steps are longer than the spacing where the line bends, so that plants are a spacing apart as the crow flies.
    """
    for count in range(max(1, math.floor(path.length / spacing + WHOLE)), 1, -1):
        step = path.length / count
        found = [_beside(path, (k + 0.5) * step, 0.0) for k in range(count)]
        pairs = pairwise([*found, *found[:1]] if isinstance(path, Loop) else found)
        if all(a.distance(b) >= spacing - CLOSE for a, b in pairs):
            return found
    return [_beside(path, path.length / 2, 0.0)]


def _beside(path: Path | Loop, station: float, offset: float) -> Point:
    """Return the point at a station, `offset` metres to the left."""
    if isinstance(path, Loop):
        station %= path.length
    spot = point_at(path, station)
    return spot + Vec.polar(heading_at(path, station)).left() * offset if offset else spot


def _row_faults(line: LineInput, path: Path | Loop) -> list[Problem]:
    """Return advice where a curve is so tight that the two rows differ."""
    tight = min((s.radius for s in path.segments if isinstance(s, Arc)), default=math.inf)
    half = line.row_gap / 2
    if not tight > half:
        return [Problem(f"{line.name}: a curve of {tight:.2f} m is tighter than half the gap of the two rows",
                        "plant one row there", "row-too-tight", weight=Weight.ADVICE)]
    if (tight + half) / (tight - half) > UNEVEN:
        return [Problem(f"{line.name}: on a curve of {tight:.2f} m the steps of the two rows differ by "
                        f"{((tight + half) / (tight - half) - 1) * 100:.0f} %",
                        "plant one row there, or set the rows closer", "rows-uneven", weight=Weight.ADVICE)]
    return []
