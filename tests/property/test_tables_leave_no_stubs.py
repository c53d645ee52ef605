"""Tables in columns: every row stands once and in order, and no table is parted for a few rows without need."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from pegbook.drawings.filling import STUB, flowed
from pegbook.drawings.panel import COLUMN, GUTTER
from pegbook.drawings.ruled import Row, Table, TableColumn
from pegbook.geometry.kernel.point import Box


def table(name: str, rows: int) -> Table:
    return Table(name=name, heading=name, remark="", width=COLUMN, row_height=4.45,
                 columns=(TableColumn("No.", 0, 20),), rows=tuple(Row((f"{name} {k}",)) for k in range(rows)))


@given(rows=st.lists(st.integers(1, 45), min_size=1, max_size=4), high=st.floats(60.0, 260.0),
       columns=st.integers(1, 4))
def test_every_row_stands_once_and_no_part_is_a_needless_stub(rows: list[int], high: float, columns: int) -> None:
    room = Box(0.0, 0.0, columns * (COLUMN + GUTTER) - GUTTER, high)
    tables = [table(f"T{k}", count) for k, count in enumerate(rows)]
    standing, left, foot = flowed(tables, room)
    assert foot >= -1e-6
    parts = [(one, x, top) for one, x, top in standing if isinstance(one, Table)]
    words = [row.cells[0] for one, _, _ in parts for row in one.rows if isinstance(row, Row)]
    more = [row.cells[0] for one in left if isinstance(one, Table) for row in one.rows if isinstance(row, Row)]
    assert words + more == [f"T{k} {i}" for k, count in enumerate(rows) for i in range(count)]
    for one, x, top in parts:
        assert top - one.height >= -1e-6
        assert x + one.width <= room.x1 + 1e-6
    for (one, _, top), (other, _, _) in pairwise(parts):
        here, there = _first(one), _first(other)
        begun_lower = top < high and here[1] == 0
        if here[0] == there[0] and begun_lower and tables[here[0]].height <= high:
            assert min(len(one.rows), len(other.rows)) > STUB - 2       # some of its height is the head's


def _first(part: Table) -> tuple[int, int]:
    """Return the number of the table that a part belongs to, and that of its first row."""
    row = part.rows[0]
    assert isinstance(row, Row)
    name, count = row.cells[0].split()
    return int(name[1:]), int(count)
