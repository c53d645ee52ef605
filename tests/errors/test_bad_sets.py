"""Written sets that somebody changed, cut or mixed up: each is answered with its table and line, or fails the proof."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

import pytest

from pegbook.geometry.errors import ReadingsError
from pegbook.geometry.pegs.csvs import checks_csv, pegs_csv, recovery_csv
from pegbook.geometry.pegs.proof import prove_set
from support.issued import worked

GARDEN = "tannery-row"
Change = Callable[[str], str]


def tables() -> dict[str, str]:
    pegs = worked(GARDEN).pegs
    return {"pegs.csv": pegs_csv(pegs), "recovery.csv": recovery_csv(pegs), "checks.csv": checks_csv(pegs)}


def proved(file: str, change: Change) -> str:
    """The fault that the proof finds in a set with one table changed; '' if it stands."""
    texts = tables()
    assert change(texts[file]) != texts[file]
    texts[file] = change(texts[file])
    return prove_set(worked(GARDEN).pegs, texts["pegs.csv"], texts["recovery.csv"], texts["checks.csv"]).fault


def cell(peg: str, column: str, value: str) -> Change:
    """Write another value into the row of a peg."""
    def change(text: str) -> str:
        rows = list(csv.DictReader(io.StringIO(text)))
        next(row for row in rows if row["peg"] == peg)[column] = value
        out = io.StringIO()
        writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        return out.getvalue()

    return change


def word(old: str, new: str) -> Change:
    return lambda text: text.replace(old, new, 1)


def row_of(text: str, peg: str) -> str:
    return next(line for line in text.split("\n") if line.startswith(f"{peg},"))


def without(peg: str) -> Change:
    return lambda text: text.replace(row_of(text, peg) + "\n", "")


TIED = next(p.name for p in worked(GARDEN).pegs.pegs if p.method == "ties")
LEAF = next(p.name for p in reversed(worked(GARDEN).pegs.pegs) if p.method == "line" and p.purpose == "recovery")
AGAIN = worked(GARDEN).pegs.recovery[-1].peg


@pytest.mark.parametrize(("file", "change", "said"), [
    ("pegs.csv", lambda t: "", "pegs.csv is empty"),
    ("pegs.csv", lambda t: t[:t.index("\n") + 1], "pegs.csv has no row"),
    ("pegs.csv", word("peg,", "name,"), "pegs.csv has no column peg"),
    ("pegs.csv", word("reading_2", "second"), "pegs.csv has no column reading_2"),
    ("pegs.csv", word("reading_2", "reading_1"), "pegs.csv has no column reading_2"),
    ("pegs.csv", lambda t: t.replace(",", ";"),
     "pegs.csv has no column peg, element, part and 20 more; its cells are parted by semicolons, not commas"),
    ("pegs.csv", cell(TIED, "x", "nan"), "x is 'nan', which is no number of metres"),
    ("pegs.csv", cell(TIED, "x", "inf"), "x is 'inf', which is no number of metres"),
    ("pegs.csv", cell(TIED, "y", ""), "y is '', which is no number of metres"),
    ("pegs.csv", cell("A", "x", "1e300"), "pegs.csv:2:1: A: x is '1e300', which is no number of metres"),
    ("pegs.csv", cell("A", "level", "high"), "pegs.csv:2:1: A: level is 'high', which is no number of metres"),
    ("pegs.csv", cell(TIED, "order", "x"), "order is 'x', which is no whole number"),
    ("pegs.csv", cell(TIED, "order", "9" * 30), "which is no whole number"),
    ("pegs.csv", cell(TIED, "order", "1"), "which does not stand before it"),
    ("pegs.csv", cell(TIED, "method", "magic"),
     "method is 'magic', which is none of fixed, ties, offset, line, chord, radius"),
    ("pegs.csv", cell(TIED, "method", "fixed"), "cannot have the method fixed"),
    ("pegs.csv", cell("A", "method", "ties"), "a control peg cannot have the method ties"),
    ("pegs.csv", cell(TIED, "reading_1", "nan"), "'nan' is no reading of a tape"),
    ("pegs.csv", cell(TIED, "reading_1", "-inf"), "'-inf' is no reading of a tape"),
    ("pegs.csv", cell(TIED, "reading_1", ""), f"{TIED} has no reading_1"),
    ("pegs.csv", cell(TIED, "reading_1", "9999"), f"the tapes of {TIED} do not meet"),
    ("pegs.csv", cell(TIED, "side", "up"), f"{TIED} has no side"),
    ("pegs.csv", cell(TIED, "from_1", "Q9"), f"{TIED} hangs on 'Q9', which does not stand before it"),
    ("pegs.csv", cell(TIED, "from_1", TIED), f"{TIED} hangs on '{TIED}', which does not stand before it"),
    ("pegs.csv", cell(LEAF, "from_2", next(p.from_1 for p in worked(GARDEN).pegs.pegs if p.name == LEAF)),
     "which has no length"),
    ("pegs.csv", cell(TIED, "check_reading", ""), f"{TIED} has no check_reading"),
    ("pegs.csv", lambda t: t + row_of(t, TIED) + "\n", f"{TIED} stands in line"),
    ("pegs.csv", lambda t: t.replace(row_of(t, TIED), f"{TIED},odd"), "2 cells, where the first line has 23"),
    ("pegs.csv", lambda t: t[:len(t) // 2 - 3], "cells, where the first line has 23"),
    ("pegs.csv", lambda t: t.replace(TIED, '"' + TIED, 1), "a quotation mark"),
    ("pegs.csv", without("P110"), "checks.csv:23:1: a check of 'P110', which is no mark or peg"),
    ("pegs.csv", lambda t: t.replace(TIED, "P" * 200_000, 1), "a cell of more than 131,072 characters"),
    ("pegs.csv", without("B"), "hangs on 'B', which does not stand before it"),
    ("recovery.csv", word("peg,", "name,"), "recovery.csv has no column peg"),
    ("recovery.csv", word("crossing", "magic"), "method is 'magic', which is none of crossing, line, ties"),
    ("recovery.csv", lambda t: t.replace("-R", "R"), "which does not stand before it"),
    ("recovery.csv", lambda t: t + row_of(t, AGAIN) + "\n", f"{AGAIN} stands in line"),
    ("recovery.csv", lambda t: t.replace(f"\n{AGAIN},", "\nZ1,", 1),
     "Z1 hangs on 'Z1', which does not stand before it"),
    ("checks.csv", word("distance", "far"), "checks.csv has no column distance"),
    ("checks.csv", word("A,B,8.000", "A,Q9,8.000"), "checks.csv:2:1: a check of 'Q9', which is no mark or peg"),
    ("checks.csv", word("A,B,8.000", "A,B,nan"), "checks.csv:2:1: 'nan' is no reading of a tape"),
    ("checks.csv", word("tread 1,0.140", "tread 1,nan"), "'nan' is no reading of a tape"),
])
def test_a_set_that_cannot_be_read_is_refused(file: str, change: Change, said: str) -> None:
    with pytest.raises(ReadingsError) as error:
        proved(file, change)
    (problem,) = error.value.problems
    assert said in str(problem)
    assert ".csv" in str(problem)
    assert problem.mend


@pytest.mark.parametrize(("file", "change", "said"), [
    ("pegs.csv", cell(TIED, "x", "0.001"), f"{TIED} comes out"),
    ("pegs.csv", cell("B", "x", "8.012"), "comes out"),
    ("pegs.csv", cell(TIED, "check_reading", "1.000"), f"the check of {TIED} from"),
    ("pegs.csv", cell("A", "level", "11.000"), "comes out at level"),
    ("recovery.csv", lambda t: "", "is in the design and has no row in recovery.csv"),
    ("recovery.csv", without(AGAIN), f"{AGAIN} is in the design and has no row in recovery.csv"),
    ("checks.csv", lambda t: "", "has no height in checks.csv"),
    ("checks.csv", word("A,B,8.000", "A,B,9.000"), "the check from A to B says 9.000, 998.0 mm beside"),
    ("checks.csv", word("tread 1,0.140", "tread 1,0.14 mm"), "tread 1 of garden steps comes out 0.000 m above"),
    ("checks.csv", lambda t: t.replace(t.split("\n")[1] + "\n", "", 1),
     "A to B is in the design and has no row in checks.csv"),
])
def test_a_set_that_is_not_the_design_fails(file: str, change: Change, said: str) -> None:
    assert said in proved(file, change)


@pytest.mark.parametrize("change", [
    lambda t: "\ufeff" + t, lambda t: t.replace("\n", "\r\n"), lambda t: t + "\n\n",
    lambda t: "\n".join(",".join(f'"{c}"' for c in row) for row in csv.reader(io.StringIO(t)))])
def test_a_set_saved_again_by_another_program_stands(change: Change) -> None:
    for file in tables():
        assert proved(file, change) == ""
