"""Every sheet of every garden, read as a finished file: nothing on anything else, figures on lines, no crowding."""

from __future__ import annotations

from functools import cache

import pytest

from pegbook.drawings.compose import compose
from pegbook.drawings.sheet import Sheet, SheetSet
from pegbook.drawings.svg import svg_text
from support.issued import DEMO, worked
from support.legibility import faults, fullest

NONE = ("text_overlap", "text_on_heavy", "text_hidden", "text_outside", "leader_crossings", "leader_on_text",
        "text_too_small", "wrong_way", "ambiguous", "tight_texts", "masked_heavy", "dim_off_centre", "dim_bad_gap",
        "duplicate_lines")
CROWDED = 0.36
"""Lettering and ink as a share of a 20 mm square, inside the plan field."""

QUICK = ("round-lawn",)
LONG = ("two-circles", "town-yard-feet", *DEMO, *(f"seed {k}" for k in range(1, 21)))


@cache
def sheets(name: str) -> SheetSet:
    return compose(worked(name))


def _plan_window(sheet: Sheet) -> tuple[float, float, float, float]:
    window = sheet.views[0].window
    return window.x0, sheet.height - window.y1, window.x1, sheet.height - window.y0


def _legible(name: str) -> None:
    for sheet in sheets(name).sheets:
        svg = svg_text(sheet)
        counts, notes = faults(svg)
        found = [note for note in notes if note[0] in NONE]
        assert not found, (sheet.file_stem, found)
        assert counts["dim_text_heights"] <= 1, sheet.file_stem


@pytest.mark.parametrize("name", QUICK)
def test_sheets_are_legible(name: str) -> None:
    _legible(name)


@pytest.mark.deep
@pytest.mark.parametrize("name", LONG)
def test_sheets_of_many_gardens_are_legible(name: str) -> None:
    _legible(name)


@pytest.mark.deep
@pytest.mark.parametrize("name", [*QUICK, *LONG])
def test_plans_are_not_crowded(name: str) -> None:
    # Plans of up to 250 labels; the key of the setting-out plan is a table of text and is not meant.
    for sheet in sheets(name).sheets:
        if len(sheet.views) == 1 and sheet.name in ("layout", "hardscape", "planting", "levels"):
            share, x, y = fullest(svg_text(sheet), _plan_window(sheet))
            assert share <= CROWDED, (sheet.file_stem, round(share, 2), x, y)
