"""A garden in feet has feet and inches on its sheets: sizes, places, levels, scale bar. Quantities stay as ordered."""

from __future__ import annotations

import re
from functools import cache

import pytest

from pegbook.drawings.compose import compose
from pegbook.drawings.lengths import in_inches, place, within
from pegbook.drawings.sheet import Group, Mark, SheetSet, Text, flat
from pegbook.drawings.titleblock import TAPE, tape
from support.issued import worked

FOOT = 304.8
"""Millimetres in a foot (international foot, 1959)."""


@cache
def sheets() -> SheetSet:
    return compose(worked("town-yard-feet"))


def outside(marks: tuple[Mark, ...], name: str) -> list[Text]:
    """Return the lettering outside groups of a name."""
    found: list[Text] = []
    for mark in marks:
        if isinstance(mark, Group):
            found += [] if name in mark.classes else outside(mark.marks, name)
        elif isinstance(mark, Text):
            found.append(mark)
        else:
            found += [m for m in flat((mark,)) if isinstance(m, Text)]
    return found


def test_no_metres_stand_on_the_sheets() -> None:
    for sheet in sheets().sheets:
        words = [t.words for t in outside(sheet.marks, "quantities")]
        assert [w for w in words if re.search(r"\d\.\d|\bm²|\d m\b|\bmetres\b", w)] == []
        assert [w for w in words if re.search(r"\d mm\b", w) and "true print" not in w] == []


def test_the_pegs_stand_in_feet() -> None:
    work = worked("town-yard-feet")
    plan = next(s for s in sheets().sheets if s.name == "setting out")
    words = {t.words for t in outside(plan.marks, "quantities")}
    for peg in work.pegs.pegs:
        if peg.name.startswith("P"):
            assert {place(peg.at.x, "ft"), place(peg.at.y, "ft")} <= words


@pytest.mark.parametrize("scale", [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000])
def test_the_bar_shows_real_feet(scale: int) -> None:
    bar = tape(scale, feet=True)
    per = {"ft": FOOT, "in": FOOT / 12}[bar.unit] / scale
    assert bar.figures[0] == (0.0, "0")
    for at, words in bar.figures:
        assert at == pytest.approx(float(words) * per, abs=1e-9)
        assert at <= TAPE + 1e-9
    assert bar.figures[-1][0] > TAPE * 0.7
    for start, length in bar.blocks:
        assert start >= 0
        assert start + length <= bar.figures[-1][0] + 1e-9
    apart = [b[0] - a[0] for a, b in zip(bar.figures, bar.figures[1:], strict=False)]
    assert min(apart) > 6           # figures of up to four places stand clear of each other


def test_sizes_in_words_turn_into_inches() -> None:
    assert in_inches("paving brick 203.2 × 101.6 mm, herringbone") == 'paving brick 8" × 4", herringbone'
    assert in_inches("boards 139.7 mm, gap 6.35 mm") == 'boards 5 1/2", gap 1/4"'
    assert in_inches("gravel 20 to dust") == "gravel 20 to dust"
    assert (within(20, "ft"), within(20)) == ('± 3/4"', "± 20")
