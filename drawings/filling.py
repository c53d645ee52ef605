"""Filling a panel: what must stand on the sheet, what may go to another, and tables that take what room is left.

Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.point import Box
from .composition import BAND, PAGE, Plate, plate
from .frame import Paper
from .panel import COLUMN, GUTTER, MARGIN, Section, cautions
from .ruled import FOOT, HEAD, Flowing, Row, Table
from .sheet import Mark

ABOVE, BELOW, GAP, CLOSE = 7.0, 4.0, 7.0, 5.0
"""Room above the first rule of the panel, below its last line, between rows of sections, and the least of these."""


@dataclass(frozen=True, slots=True)
class PanelRow:
    """Sections that begin at one level; `name` says what they are when they move to another sheet."""

    name: str
    sections: tuple[Section, ...]
    required: bool = False

    @property
    def height(self) -> float:
        """The height of its tallest section."""
        return max((s.height for s in self.sections), default=0.0)


Standing: TypeAlias = tuple[Section | Flowing, float, float]
"""A section or table, and the x and y of its top left corner."""


def drawn(standing: Iterable[Standing]) -> tuple[Mark, ...]:
    """Return the marks of what stands: drawn late, for many fillings are only tried."""
    marks: list[Mark] = []
    for what, x, top in standing:
        marks += (what if isinstance(what, Section) else what.drawn()).at(x, top)
    return tuple(marks)


@dataclass(frozen=True, slots=True)
class Filled:
    """What stands in a panel; rows and tables that found no room."""

    standing: tuple[Standing, ...]
    rows: tuple[PanelRow, ...]
    tables: tuple[Flowing, ...]

    @property
    def marks(self) -> tuple[Mark, ...]:
        """The marks of the panel."""
        return drawn(self.standing)

    def going_on(self, words: str) -> Filled:
        """Return the panel with words below the last table that stands in it, where some of the tables do not."""
        tables = [i for i, one in enumerate(self.standing) if not isinstance(one[0], Section)]
        if not self.tables or not tables:
            return self
        one, x, top = self.standing[tables[-1]]
        assert not isinstance(one, Section)
        standing = list(self.standing)
        standing[tables[-1]] = (one.ending(words), x, top)
        return replace(self, standing=tuple(standing))


def inner(plate: Plate) -> Box:
    """Return the part of the panel that sections stand in."""
    p = plate.panel
    above = ABOVE if plate.kind in {PAGE, BAND} else 5.0
    return Box(p.x0 + MARGIN, p.y0 + BELOW, p.x1 - MARGIN, p.y1 - above)


def columns(width: float) -> int:
    """Return how many columns of 78 stand side by side in a width."""
    return max(1, int((width + GUTTER + 1e-6) // (COLUMN + GUTTER)))


def filled(area: Box, rows: Sequence[PanelRow], tables: Sequence[Flowing] = (), low: bool = False) -> Filled:
    """Fill an area: tables on top in columns, rows below in their order.

    Required rows always stand (DrawingError if they cannot); others while there is room. Rows that do not fit with
    their sections on common levels are tried as two columns before any is left out. `low` stands them at the foot.
    """
    if not tables and (whole := _two_columns(area, rows)):
        return Filled(whole, (), ())
    kept = _kept(area, rows, 30.0 if tables else 0.0)
    used = sum(r.height for r in kept) + GAP * max(0, len(kept) - 1)
    standing: list[Standing] = []
    rest: tuple[Flowing, ...] = tuple(tables)
    if tables:
        room = Box(area.x0, area.y0 + used + (GAP if kept else 0.0), area.x1, area.y1)
        standing, rest, _ = flowed(tables, room)
        if rest:        # its last row says where it goes on
            standing, rest, _ = flowed(tables, Box(room.x0, room.y0 + tables[0].row_height, room.x1, room.y1))
            standing, rest = _worth_having(tables, standing, rest)
    bare = [one for one, _, _ in standing if isinstance(one, Table) and not one.columns]
    high = (not tables and not low) or bool(bare)
    top = area.y1 - sum(one.height + GAP for one in bare) if high else area.y0 + used
    spare = 0.0 if not high or len(kept) < 2 else min(GAP, (top - area.y0 - used) / (len(kept) - 1))
    for row in kept:
        x = area.x0
        for one in row.sections:
            standing.append((one, x, top))
            x += one.width + GUTTER
        top -= row.height + GAP + spare
    return Filled(tuple(standing), tuple(r for r in rows if r not in kept), rest)


LEAST = 8
"""A table of which fewer rows than this would stand is set whole on another sheet."""


def _worth_having(
    tables: Sequence[Flowing], standing: list[Standing], rest: tuple[Flowing, ...]
) -> tuple[list[Standing], tuple[Flowing, ...]]:
    """Return what stands of tables and what is left: of a single table its heading alone, if too little would stand."""
    parts = [part for part, _, _ in standing if isinstance(part, Table)]
    first = tables[0]
    if len(tables) > 1 or not rest or not parts or not isinstance(first, Table):
        return standing, rest
    if sum(isinstance(row, Row) for part in parts for row in part.rows) >= LEAST:
        return standing, rest
    return [(first.bare(), *standing[0][1:])], (first,)


def _two_columns(area: Box, rows: Sequence[PanelRow]) -> tuple[Standing, ...]:
    """Return two columns of sections, each stacked for itself, if only so all of them fit; else nothing."""
    pairs = all(len(r.sections) <= 2 and all(s.width <= COLUMN for s in r.sections) for r in rows)
    if not pairs or sum(r.height + GAP for r in rows) - GAP <= area.height or area.width < 2 * COLUMN + GUTTER - 1e-6:
        return ()
    stacks = [[r.sections[i] for r in rows if len(r.sections) > i] for i in (0, 1)]
    if any(sum(s.height + CLOSE for s in stack) - CLOSE > area.height + 1e-6 for stack in stacks):
        return ()
    standing: list[Standing] = []
    for i, stack in enumerate(stacks):
        free = (area.height - sum(s.height for s in stack)) / max(1, len(stack) - 1)
        top = area.y1
        for one in stack:
            standing.append((one, area.x0 + i * (COLUMN + GUTTER), top))
            top -= one.height + min(free, 2 * GAP)
    return tuple(standing)


def _kept(area: Box, rows: Sequence[PanelRow], least: float) -> list[PanelRow]:
    """Return the rows that stand: the required ones, then the others in their order while there is room."""
    need = sum(r.height + GAP for r in rows if r.required)
    if need - GAP > area.height + 1e-6:
        raise refuse(
            DrawingError,
            f"what must stand beside the plan needs {need - GAP:.0f} mm of height, the sheet has {area.height:.0f}",
            "take a larger sheet, or composition: page",
            "panel-too-small",
        )
    left = area.height - need - (least + GAP if least else 0.0)
    kept = []
    for row in rows:
        fits = row.height + GAP <= left + GAP * (not need) + 1e-6
        if row.required or fits:
            kept.append(row)
            left -= 0.0 if row.required else row.height + GAP
    return kept


SHORT = 24
"""A table of so many rows, or fewer, is not parted for the sake of equal columns."""


STUB = 4
"""So many rows, or fewer, are no part of a table that fits whole elsewhere."""


def flowed(tables: Sequence[Flowing], room: Box) -> tuple[list[Standing], tuple[Flowing, ...], float]:
    """Set tables in columns of `room`, parted where a column ends; return what stands, what is left, the lowest foot.

    A table that is wider than a column takes the width it needs. The parts of one table are made about equally long.
    """
    standing: list[Standing] = []
    left = list(tables)
    x, foot = room.x0, room.y1
    while left and x + left[0].width <= room.x1 + 1e-6:
        wide, y = left[0].width, room.y1
        while left and left[0].width <= wide + 1e-6 and y - room.y0 >= HEAD + FOOT + 2 * left[0].row_height:
            free = int((room.x1 - x + GUTTER + 1e-6) // (wide + GUTTER))
            height = y - room.y0
            if len(left) == 1 and y == room.y1:
                height = min(height, max(_even(left[0], height, free), HEAD + FOOT + SHORT * left[0].row_height))
            part, rest = left[0].parted(height)
            if y < room.y1 and (part.height > height + 1e-6 or _stubbed(left[0], part, rest, room.height, free)):
                break
            standing.append((part, x, y))
            y -= part.height + GAP
            foot = min(foot, y + GAP)
            left = ([rest.continued()] if rest else []) + left[1:]
            if rest:
                break
        x += wide + GUTTER
    return standing, tuple(left), foot


def _stubbed(table: Flowing, part: Flowing, rest: Flowing | None, height: float, columns: int) -> bool:
    """Say whether one part of a table would be a stub, while the next column has room for all of the table."""
    if rest is None or columns < 2 or table.height > height + 1e-6:
        return False
    return min(part.height, rest.height) <= HEAD + FOOT + STUB * table.row_height


def _even(table: Flowing, most: float, columns: int) -> float:
    """Return the least height at which a table fits into so many columns, at most `most`."""
    height = most
    if columns < 2 or not _columns_needed(table, most, columns):
        return most
    low, high = HEAD + FOOT + 2 * table.row_height, most
    while high - low > 1.0:
        height = (low + high) / 2
        if _columns_needed(table, height, columns):
            high = height
        else:
            low = height
    return high


def _columns_needed(table: Flowing, height: float, columns: int) -> bool:
    """Say whether a table fits into `columns` of a height."""
    rest: Flowing | None = table
    for _ in range(columns):
        if rest is None:
            return True
        _, rest = rest.parted(height)
    return rest is None


WIDEST = 2 * COLUMN + GUTTER
"""Lines of words are not set wider than two columns."""


def caution_rows(
    points: Sequence[tuple[str, str]], plate: Plate, beside: Section | None = None
) -> tuple[PanelRow, ...]:
    """Return the cautions as a required row: on a page to the right of `beside`, else as wide as there is room.

    Where they do not stand side by side, `beside` may go to another sheet.
    """
    room = inner(plate).width
    if plate.kind == PAGE and beside is not None:
        return (PanelRow("cautions", (beside, cautions(points, COLUMN)), required=True),)
    rows = (PanelRow("cautions", (cautions(points, min(room, WIDEST)),), required=True),)
    return rows if beside is None else (*rows, PanelRow("beside", (beside,)))


def band_for(points: Sequence[tuple[str, str]], sheet: Paper, kind: str, block: float) -> float:
    """Return how high the shelf or band of a sheet must be for its cautions."""
    return cautions(points, min(inner(plate(sheet, kind, block)).width, WIDEST)).height + ABOVE + BELOW + 1.0
