"""Control that would spoil every peg is refused, or advised against, with its figures and what to do."""

from __future__ import annotations

import math

import pytest

from pegbook.geometry.errors import PegbookError, Weight
from pegbook.geometry.model.garden import loads
from pegbook.geometry.setout import set_out

PLOT = """
pegbook: 1
project: {title: Plot}
site:
  control:
    A: {at: [0, 0], mark: corner of the shed, short: shed}
    B: {at: [9, 0], mark: corner of the wall, short: wall}
MARK  baseline: [A, B]
OPTIONSelements:
  pad: {kind: paving, outline: {rectangle: {corner: [2, 2], length: 3, width: 2}}}
"""


def said(mark: str = "", options: str = "") -> list[str]:
    """Everything said of a plot: its errors, else its advice; the first line of each."""
    text = PLOT.replace("MARK", f"    C: {{{mark}, mark: post, short: post}}\n" if mark else "")
    try:
        problems = set_out(loads(text.replace("OPTIONS", options), "plot.yaml")).advice
        assert all(p.weight is Weight.ADVICE for p in problems)
    except PegbookError as error:
        problems = error.problems
    assert all(p.mend and p.place and p.place.file == "plot.yaml" for p in problems)
    return [str(p).split("\n")[0].partition(": ")[2] for p in problems]


@pytest.mark.parametrize(("mark", "words"), [
    ("ties: {A: 2, B: 3}, side: left",
     "the ties of C to A and B cannot meet: 2.000 + 3.000 = 5.000 m does not reach over A-B, 9.000 m"),
    ("ties: {A: 20, B: 3}, side: left",
     "the ties of C to A and B cannot meet: 20.000 - 3.000 = 17.000 m is more than A-B, 9.000 m"),
    ("ties: {A: 8000, B: 9000}, side: left", "9000.000 - 8000.000 = 1000.000 m is more than A-B, 9.000 m"),
    ("ties: {A: 4.5, B: 4.5}, side: left", "the readings do not fix the mark C"),
    ("ties: {A: 8, B: 8}", "two ties meet on either side of the line A-B"),
    ("ties: {A: 8, Q: 8}, side: left", "there is no control mark 'Q'"),
    ("ties: {A: 8, C: 8}, side: left", "a tie of C is to itself"),
    ("ties: {A: .nan, B: 8}, side: left", "'.nan' is not a length"),
    ("at: [9, 0]", "the marks B and C coincide: 0 mm apart at (9.000, 0.000)"),
    ("at: [9.01, 0]", "the marks B and C coincide: 10 mm apart at (9.010, 0.000)"),
    ("ties: {A: 9, B: 0.005}, side: left", "the marks B and C coincide: 5 mm apart at (9.000, 0.005)"),
])
def test_a_mark_that_cannot_be_is_refused(mark: str, words: str) -> None:
    assert any(words in line for line in said(mark))


def test_a_mark_tapes_hardly_cross_at_is_called_weak() -> None:
    # by hand: 4.50 and 4.52 m over 9.00 m cross 0.28 m off the line, at 7.1 degrees; each tape, of 4.0 mm here (class
    # III, nails included), moves the crossing across by 1 / (2 sin 3.6 degrees) = 8.0 times as much
    (weak,) = [line for line in said("ties: {A: 4.5, B: 4.52}, side: left") if "the mark C may be out" in line]
    out = int(weak.partition("by ")[2].split(" ")[0])
    aside = math.sqrt(4.5**2 - ((81 + 4.5**2 - 4.52**2) / 18) ** 2)
    factor = 4.5 / (2 * aside) * math.sqrt(2)
    assert 2 * 2.5 * factor <= out <= 2 * 6.0 * factor
    assert not [line for line in said("ties: {A: 8, B: 8}, side: left") if "may be out by" in line and "mark" in line]


def test_a_tape_too_short_for_the_garden_is_named() -> None:
    found = said(options="setting_out: {tape: {length: 1}}\n")
    assert "elements.pad: corner 1 of pad at (2.000, 2.000) cannot be set: it sees no mark within a tape of 1 m (the " \
        "nearest, A, is 2.828 m away)" in found


def test_what_is_accepted_must_be_there() -> None:
    found = said(options="setting_out: {accept: [Q9, B, corner 1 of pad]}\n")
    (line,) = [line for line in found if "accept" in line]
    assert line == "advice: setting_out.accept: 'Q9' is no reading, mark or peg of this garden"
