"""Written tables read again, row by row, with everything refused that they cannot have held when they were issued.

Takes: the text of pegs.csv, recovery.csv or checks.csv. Gives: rows by column, all of them text, with the line of each
beside them. ReadingsError names file, line and column; nothing here knows of a design.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Iterator, Sequence

from ..errors import Place, Problem, ReadingsError, refuse
from ..features import Purpose
from .csvs import CHECK_COLUMNS, PEG_COLUMNS, RECOVERY_COLUMNS
from .peg import Method
from .tape import shown

PEGS, RECOVERY, CHECKS = "pegs.csv", "recovery.csv", "checks.csv"
AS_ISSUED = "give the tables as they were issued"
FARTHEST = 1e7
"""A coordinate beyond this is none, metres: once round the earth is 4e7."""

WRONG = {"end of data": "a quotation mark is not closed", "expected after": "a quotation mark within a cell",
         "field limit": "a cell of more than 131,072 characters"}
"""What the library says of a table that is none, and what that means."""

NAMED = 3
"""Missing columns named at most."""

Row = dict[str, str]


def lines_of(text: str, file: str, delimiter: str = ",") -> Iterator[tuple[int, list[str]]]:
    """Yield the lines of a table that hold anything, with their numbers; ReadingsError for what is no table."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            why = next((words for sign, words in WRONG.items() if sign in str(error)), str(error))
            raise ReadingsError(Problem(why, "write plain rows, one a line", "bad-table",
                                        Place(file, line, 1))) from None
        if any(cell.strip() for cell in cells):
            yield line, cells


def header(columns: Sequence[str], wanted: Sequence[str], file: str, mend: str) -> None:
    """Refuse a first line without one of the wanted columns, or with one twice."""
    missing = [name for name in wanted if name not in columns]
    if missing and not columns:
        raise refuse(ReadingsError, f"{file} is empty", mend, "bad-table")
    if missing:
        parted = next((word for sign, word in ((";", "semicolons"), ("\t", "tabs")) if sign in " ".join(columns)), "")
        why = f"; its cells are parted by {parted}, not commas" if parted else ""
        more = f" and {len(missing) - NAMED} more" if len(missing) > NAMED else ""
        raise refuse(ReadingsError, f"{file} has no column {', '.join(missing[:NAMED])}{more}{why}", mend, "bad-table")
    twice = next((name for name in wanted if list(columns).count(name) > 1), "")
    if twice:
        raise refuse(ReadingsError, f"{file} has the column {twice} twice", mend, "bad-table")


def _table(text: str, wanted: Sequence[str], file: str) -> list[Row]:
    lines = list(lines_of(text.lstrip("\ufeff"), file))
    columns = [cell.strip() for cell in lines[0][1]] if lines else []
    header(columns, wanted, file, AS_ISSUED)
    rows = []
    for line, cells in lines[1:]:
        if len(cells) != len(columns):
            raise ReadingsError(Problem(f"{len(cells)} cells, where the first line has {len(columns)}", AS_ISSUED,
                                        "bad-table", Place(file, line, 1)))
        rows.append({**dict(zip(columns, cells, strict=True)), "line": str(line)})
    return rows


def spot(row: Row, file: str) -> Place:
    """Return where a row is written."""
    return Place(file=file, line=int(row["line"]), column=1)


def _each(rows: list[Row], file: str, sound: Callable[[Row], str]) -> list[Row]:
    """Return rows, each of which is sound and has a name of its own."""
    seen: dict[str, str] = {}
    for row in rows:
        name = row["peg"]
        twice = f"{name} stands in line {seen[name]} too" if name in seen else ""
        wrong = twice or sound(row)
        if wrong:
            raise ReadingsError(Problem(wrong, AS_ISSUED, "bad-table", spot(row, file)))
        seen[name] = row["line"]
    return rows


def peg_rows(text: str) -> list[Row]:
    """Return the rows of pegs.csv; ReadingsError for a table that is none, or without a row."""
    rows = _each(_table(text, PEG_COLUMNS, PEGS), PEGS, _unsound)
    if not rows:
        raise refuse(ReadingsError, f"{PEGS} has no row", AS_ISSUED, "bad-table")
    return rows


def _unsound(row: Row) -> str:
    name = row["peg"]
    for column in ("x", "y", *(["level"] if row["level"] else [])):
        if not abs(_number(row[column])) <= FARTHEST:
            return f"{name}: {column} is {shown(row[column])}, which is no number of metres"
    if not (row["order"].isascii() and row["order"].isdigit() and len(row["order"]) < 10):
        return f"{name}: order is {shown(row['order'])}, which is no whole number"
    if row["method"] not in list(Method):
        return f"{name}: method is {shown(row['method'])}, which is none of {', '.join(Method)}"
    if (row["method"] == Method.FIXED) != (row["purpose"] == Purpose.CONTROL):
        return f"{name}: a {row['purpose']} peg cannot have the method {row['method']}"
    return ""


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def recovery_rows(text: str) -> list[Row]:
    """Return the rows of recovery.csv; none for an empty text."""
    def unsound(row: Row) -> str:
        known = ("crossing", "line", "ties")
        return "" if row["method"] in known else \
            f"{row['peg']}: method is {shown(row['method'])}, which is none of {', '.join(known)}"

    return _each(_table(text, RECOVERY_COLUMNS, RECOVERY), RECOVERY, unsound) if text.strip() else []


def check_rows(text: str) -> list[Row]:
    """Return the rows of checks.csv; none for an empty text."""
    return _table(text, CHECK_COLUMNS, CHECKS) if text.strip() else []


__all__ = ["AS_ISSUED", "CHECKS", "PEGS", "RECOVERY", "Row", "check_rows", "header", "lines_of", "peg_rows",
           "recovery_rows", "spot"]
