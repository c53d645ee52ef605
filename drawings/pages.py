"""A sheet that still has room: its free columns, in field and panel, and the sections and tables set in them.

Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..geometry.kernel.point import Box
from .composition import PAGE, Plate, plate
from .drafts import Draft
from .filling import GAP, Standing, band_for, caution_rows, drawn, inner
from .filling import columns as columns_of
from .panel import COLUMN, GUTTER, MARGIN, Section
from .ruled import FOOT, HEAD, Flowing

FEW = 8
"""Rows: a table is not begun, nor gone on with, in a column that has room for fewer."""

WIDEST = 1.3 * COLUMN
"""A table is set no wider than this, even in a wider column."""

SHALLOW = 30.0
"""Columns lower than this are left empty."""


class _Column:
    """A column: its left edge and width, and the part of it that is free."""

    def __init__(self, x: float, wide: float, top: float, foot: float) -> None:
        self.x, self.wide, self.top, self.foot = x, wide, top, foot


class Page:
    """A sheet being filled. Sections come first, tables after them in the order of reading."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.areas = _free(draft)
        self.standing: list[Standing] = []
        self.carried: list[int] = []
        self.refused = False
        """The last table that was offered found no room at all."""
        self._at = (0, 0)
        self._goes_on = False

    @property
    def empty(self) -> bool:
        """Nothing has been set on it."""
        return not self.standing

    def section(self, one: Section) -> bool:
        """Set a section in the first column that has room for it; say whether there was one."""
        for area in self.areas:
            for column in area:
                if column.top - one.height >= column.foot - 1e-6 and one.width <= COLUMN + 1e-6:
                    self.standing.append((one, column.x, column.top))
                    column.top -= one.height + GAP
                    return True
        return False

    def table(self, table: Flowing, number: int) -> Flowing | None:
        """Set as much of a table of sheet `number` as there is room for; return what is left."""
        left: Flowing | None = table
        self.refused = True
        while left is not None:
            spot = self._spot(left)
            if spot is None:
                break
            area, index, columns = spot
            top = min(c.top for c in columns)
            room = top - max(c.foot for c in columns)
            made, fitted = left.width, left.widened(columns[0].wide) if len(columns) == 1 else left
            part, rest = fitted.parted(room)
            if rest is not None:
                part, rest = fitted.parted(room - left.row_height)      # the last row says where it goes on
            self.standing.append((part, columns[0].x, top))
            self.carried.append(number)
            self.refused = False
            for column in columns:
                column.top = top - part.height - GAP
            self._at = (area, index)
            left = rest.continued().widened(made) if rest is not None else None
        self._goes_on = left is not None and not self.refused
        return left

    def _spot(self, table: Flowing) -> tuple[int, int, list[_Column]] | None:
        """Return the next columns that take a table or a part of it worth having."""
        count = max(1, -int(-(table.width + GUTTER - 1e-6) // (COLUMN + GUTTER)))
        need = min(table.height, HEAD + FOOT + FEW * table.row_height)
        for i, area in enumerate(self.areas):
            for j in range(len(area) - count + 1):
                columns = area[j : j + count]
                room = min(c.top for c in columns) - max(c.foot for c in columns) - table.row_height
                if (i, j) >= self._at and need <= room and table.parted(room)[0].height <= room + 1e-6:
                    return i, j, columns
        return None

    def drawn(self, onward: str) -> Draft:
        """Return the sheet with all that was set on it; `onward` ends a table that goes on elsewhere."""
        standing = list(self.standing)
        last = standing[-1][0] if standing else None
        if self._goes_on and last is not None and not isinstance(last, Section):
            standing[-1] = (last.ending(onward), *standing[-1][1:])
        carried = tuple(dict.fromkeys(self.carried))
        return replace(self.draft, marks=(*self.draft.marks, *drawn(standing)), carries=carried)


def _free(draft: Draft) -> list[list[_Column]]:
    """Return the free columns of a sheet: of its field, below the views that stand there, and of its panel."""
    own = draft.plate
    f, panel = own.field, inner(own)
    used = sum(row.height + GAP for row in draft.rows)
    rooms = (
        Box(f.x0 + MARGIN, f.y0 + 6, f.x1 - MARGIN, f.y1 - 7),
        Box(panel.x0, min(panel.y0 + used, panel.y1), panel.x1, panel.y1),
    )
    return [_columns(room, draft.taken or ()) for room in rooms]


def _columns(room: Box, taken: Sequence[Box]) -> list[_Column]:
    found: list[_Column] = []
    count = columns_of(room.width)
    wide = (room.width - GUTTER * (count - 1)) / count if room.width >= COLUMN else 0.0
    for x in (room.x0 + k * (wide + GUTTER) for k in range(count if wide else 0)):
        top = min([room.y1, *(b.y0 - GAP for b in taken if b.x0 < x + wide and b.x1 > x)])
        if top - room.y0 > SHALLOW:
            found.append(_Column(x, min(wide, WIDEST), top, room.y0))
    return found


def plain(like: Draft, name: str, title: str, cautions: Sequence[tuple[str, str]]) -> Draft:
    """Return a sheet without views, with cautions at the foot of its panel, divided as `like` is."""
    own = _low(like.plate, cautions)
    return Draft(
        name=name,
        title=title,
        plate=own,
        scale=0.0,
        views=(),
        marks=(),
        rows=caution_rows(cautions, own),
        low=True,
    )


def _low(own: Plate, points: Sequence[tuple[str, str]]) -> Plate:
    """Return a sheet's plate with a shelf or band no higher than its cautions need."""
    if own.kind == PAGE:
        return own
    return plate(own.paper, own.kind, own.block, band_for(points, own.paper, own.kind, own.block))
