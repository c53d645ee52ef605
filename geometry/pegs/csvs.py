"""The tables of the pegs as text: pegs.csv, checks.csv, recovery.csv, pegs-points.csv.

Readings are written as they are printed for the tape; lines end in a line feed; nothing here works anything out.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence

from ..kernel.point import Point
from .peg import CheckKind, Peg, PegSet
from .tape import Grid, Reading

PEG_COLUMNS = (
    "peg",
    "element",
    "part",
    "purpose",
    "x",
    "y",
    "level",
    "method",
    "from_1",
    "reading_1",
    "from_2",
    "reading_2",
    "side",
    "from_3",
    "reading_3",
    "level_from",
    "level_reading",
    "check_from",
    "check_reading",
    "check_limit",
    "error",
    "order",
    "remark",
)
CHECK_COLUMNS = ("from", "to", "distance", "allowed", "kind", "gate", "element", "proves")
RECOVERY_COLUMNS = (
    "peg",
    "method",
    "from_1",
    "reading_1",
    "from_2",
    "reading_2",
    "side",
    "check_from",
    "check_reading",
    "check_limit",
    "order",
)
POINT_COLUMNS = ("number", "easting", "northing", "level", "code")


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table as CSV: lines end in a line feed, no cell begins as a formula does."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_plain(cell) for cell in row] for row in rows)
    return out.getvalue()


def _plain(cell: object) -> str:
    """Return a cell as text, on one line, never one that a spreadsheet would take for a formula."""
    if cell is None:
        return ""
    if isinstance(cell, Reading):
        return cell.text
    text = " ".join(str(cell).split())
    return f"'{text}" if text[:1] in ("=", "+", "@") else text


def figure(value: float, places: int = 3) -> str:
    """Return a number with fixed decimals, without a minus before nothing."""
    text = f"{value:.{places}f}"
    return text.lstrip("-") if float(text) == 0 else text


def peg_row(peg: Peg) -> tuple[object, ...]:
    """Return one row of pegs.csv."""
    level = None if peg.level is None else figure(peg.level)
    return (
        peg.name,
        peg.element,
        peg.part,
        peg.purpose.value,
        figure(peg.at.x),
        figure(peg.at.y),
        level,
        peg.method.value,
        peg.from_1,
        peg.reading_1,
        peg.from_2,
        peg.reading_2,
        peg.side,
        peg.from_3,
        peg.reading_3,
        peg.level_from,
        peg.level_reading,
        peg.check_from,
        peg.check_reading,
        peg.check_limit,
        figure(peg.error, 1),
        peg.order,
        peg.remark,
    )


def pegs_csv(pegs: PegSet) -> str:
    """Return pegs.csv in working order."""
    return csv_text(PEG_COLUMNS, (peg_row(peg) for peg in pegs.pegs))


def checks_csv(pegs: PegSet) -> str:
    """Return checks.csv; last what is built higher (negative: lower) than the top of a peg: from the peg, to what."""
    taped = ((c.start, c.end, c.distance, c.allowed, c.kind.value, c.gate, c.element, c.proves) for c in pegs.checks)
    ruled = ((h.peg, h.what, h.reading, h.allowed, CheckKind.LEVEL.value, None, element, f"{h.what} of {element}")
             for element, own in pegs.heights.items() for h in own)
    return csv_text(CHECK_COLUMNS, (*taped, *ruled))


def recovery_csv(pegs: PegSet) -> str:
    """Return recovery.csv."""
    return csv_text(
        RECOVERY_COLUMNS,
        (
            (
                r.peg,
                r.method,
                r.from_1,
                r.reading_1,
                r.from_2,
                r.reading_2,
                r.side,
                r.check_from,
                r.check_reading,
                r.check_limit,
                r.order,
            )
            for r in pegs.recovery
        ),
    )


def on_grid(at: Point, grid: Grid | None) -> tuple[float, float]:
    """Return easting and northing of a point: turned by the grid's turn, then shifted; the frame itself without one."""
    if grid is None:
        return at.x, at.y
    c, s = math.cos(grid.turn), math.sin(grid.turn)
    return grid.east + at.x * c - at.y * s, grid.north + at.x * s + at.y * c


def points_csv(pegs: PegSet) -> str:
    """Return pegs-points.csv: number, easting, northing, level, code, for a total station or satellite receiver."""
    rows = []
    for peg in pegs.pegs:
        east, north = on_grid(peg.at, pegs.options.grid)
        rows.append(
            (peg.name, figure(east), figure(north), None if peg.level is None else figure(peg.level), peg.purpose.value)
        )
    return csv_text(POINT_COLUMNS, rows)
