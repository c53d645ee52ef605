"""The table of what was taped, read: `from, to, reading, when`, with commas, semicolons or tabs.

Takes: a peg set and the table's text. Gives: measures between its pegs and marks. What could be taken two ways is
refused, with its line: a figure of the tape is never guessed. Lengths in metres.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from ..errors import Place, Problem, ReadingsError, refuse
from ..kernel.point import Point
from .peg import PegSet
from .tables import header, lines_of
from .tape import shown
from .verdict import Measure

WANTED = ("from", "to", "reading")
HEAD = "let the first line be: from,to,reading,when"
MOST = 2000
"""Lines weighed together at most: all are compared with all."""

SAID = 12
"""Wrong lines named at most."""

COMMA = "a decimal comma looks like the end of a cell here: write points, or part the cells by semicolons"


def measures_of(pegs: PegSet, text: str, name: str = "readings") -> list[Measure]:
    """Return the measures of a table; the last of several readings of one line counts. `name` stands in messages.

    ReadingsError for readings without a unit, of a peg that is none, that no tape can give, or that can be taken two
    ways; the first of them are named with their lines.
    """
    text = text.lstrip("\ufeff")
    lines = list(lines_of(text, name, _delimiter(text)))
    if not lines:
        raise refuse(ReadingsError, f"{name} is empty", HEAD, "no-readings")
    columns = [cell.strip().lower() for cell in lines[0][1]]
    header(columns, WANTED, name, HEAD)
    reader = _Reader(pegs)
    found: dict[frozenset[str], Measure] = {}
    problems: list[Problem] = []
    for line, cells in lines[1:]:
        try:
            measure = reader.measure(_row(columns, cells))
        except ReadingsError as error:
            problems += [replace(p, place=Place(name, line, 1)) for p in error.problems]
            continue
        found.pop(frozenset((measure.start, measure.end)), None)
        found[frozenset((measure.start, measure.end))] = measure
    if problems:
        more = [Problem(f"{name}: {len(problems) - SAID} more lines are wrong")] if len(problems) > SAID else []
        raise ReadingsError(*problems[:SAID], *more)
    if len(found) > MOST:
        raise refuse(ReadingsError, f"{name} has readings of {len(found)} lines; {MOST} are weighed together at most",
                     "give those of one part of the garden at a time", "many-readings")
    return list(found.values())


def _delimiter(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return next((sign for sign in (";", "\t") if sign in first and "," not in first), ",")


def _row(columns: Sequence[str], cells: Sequence[str]) -> Mapping[str, str]:
    """Return a line by column; ReadingsError where it can be read two ways."""
    if any(cell.strip() for cell in cells[len(columns):]):
        raise refuse(ReadingsError, f"{len(cells)} cells, where the first line has {len(columns)}", COMMA, "bad-table")
    row = dict(zip(columns, [*(cell.strip() for cell in cells), *[""] * len(columns)], strict=False))
    after = columns[columns.index("reading") + 1:][:1]
    if re.fullmatch(r"-?\d+", row["reading"]) and after and re.fullmatch(r"\d{1,3}", row[after[0]]):
        raise refuse(ReadingsError, f"is the reading {row['reading']}, or {row['reading']},{row[after[0]]}?", COMMA,
                     "bad-reading")
    return row


class _Reader:
    """Reads lines of one garden's table."""

    def __init__(self, pegs: PegSet) -> None:
        self.pegs, self.tape = pegs, pegs.options.tape
        self.places: Mapping[str, Point] = {p.name: p.rebuilt or p.at for p in pegs.pegs}
        self.allowed = {frozenset((c.start, c.end)): c.allowed / 1000 for c in pegs.checks}
        self.heights = {h.what for own in pegs.heights.values() for h in own}

    def measure(self, row: Mapping[str, str]) -> Measure:
        """Return the measure of one line."""
        start, end = (self._name(row, key) for key in ("from", "to"))
        if start == end:
            raise refuse(ReadingsError, f"a reading from {start} to itself", "name two different pegs", "same-peg")
        if not row["reading"]:
            raise refuse(ReadingsError, f"{start} to {end} has no reading",
                         "write what the tape showed, or leave the line out", "no-reading")
        reading = self.tape.read(row["reading"])
        design = self.places[start].distance(self.places[end])
        if not 0 < reading <= 2 * max(self.tape.length, design):
            mend = "write millimetres with their unit, as 8000 mm" if 1000 <= reading <= 1000 * self.tape.length else \
                "look at the metre figure and the unit"
            raise refuse(ReadingsError, f"{start} to {end} reads {reading:.3f} m, which the tape of "
                         f"{self.tape.length:.0f} m cannot show", mend, "bad-reading")
        limit = self.allowed.get(frozenset((start, end)), math.nan)
        return Measure(start, end, reading, design, limit, row.get("when", ""))

    def _name(self, row: Mapping[str, str], key: str) -> str:
        name = row[key]
        if name in self.places:
            return name
        if not name:
            raise refuse(ReadingsError, f"no mark or peg is named under '{key}'", "name both ends of the tape",
                         "unknown-mark")
        if name in self.heights:
            raise refuse(ReadingsError, f"{name} is a height, not a peg", "leave heights out: only tapes are weighed",
                         "not-taped")
        raise refuse(ReadingsError, f"there is no mark or peg {shown(name)}", self._near(name), "unknown-mark")

    def _near(self, name: str) -> str:
        """Return what to do about a name that is none: letters taken for figures, small letters, a near name."""
        figures = str.maketrans("OIL", "011")
        upper = name.upper()
        for guess in (upper, upper[:1] + upper[1:].translate(figures)):
            if guess in self.places:
                return f"did you mean {guess}?"
        near = difflib.get_close_matches(name[:8], self.places, 1, 0.6) if len(name) > 1 else []
        return f"did you mean {near[0]}?" if near else "use the names on the sheet"


__all__ = ["measures_of"]
