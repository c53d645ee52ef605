"""Every sheet of every garden, read as a finished file: nothing on anything else, figures on lines, no crowding."""

from __future__ import annotations

from functools import cache

import pytest

from pegbook.drawings.compose import compose
from pegbook.drawings.sheet import SheetSet
from pegbook.drawings.svg import svg_text
from pegbook.geometry.errors import PegbookError
from support.issued import DEMO, worked
from support.legibility import faults, fullest, labels_in
from support.spread import GENERATED, MOST_LABELS, SPARE, plan_window

NONE = ("text_overlap", "text_on_heavy", "text_hidden", "text_outside", "leader_crossings", "leader_on_text",
        "text_too_small", "wrong_way", "ambiguous", "tight_texts", "masked_heavy", "dim_off_centre", "dim_bad_gap",
        "duplicate_lines")
CROWDED = 0.36
"""Lettering and ink as a share of a 20 mm square, inside the plan field."""

QUICK = ("round-lawn", "town-yard-feet")
LONG = ("two-circles", *DEMO)


@cache
def sheets(name: str, style: str = "line") -> SheetSet:
    return compose(worked(name), style)


def _legible(name: str, style: str = "line") -> None:
    for sheet in sheets(name, style).sheets:
        counts, notes = faults(svg_text(sheet))
        found = [note for note in notes if note[0] in NONE]
        assert not found, (name, sheet.file_stem, found)
        assert counts["dim_text_heights"] <= 1, (name, sheet.file_stem)


def _quiet(name: str, style: str = "line") -> None:
    # Plans of up to 250 labels.
    for sheet in sheets(name, style).sheets:
        for window in plan_window(sheet):
            svg = svg_text(sheet)
            if labels_in(svg, window) <= MOST_LABELS:
                share, x, y = fullest(svg, window)
                assert share <= CROWDED, (name, sheet.file_stem, round(share, 2), x, y)


@pytest.mark.parametrize("name", QUICK)
def test_sheets_are_legible(name: str) -> None:
    _legible(name)
    _quiet(name)


@pytest.mark.parametrize("name", [QUICK[0]])
def test_presentation_copies_are_legible(name: str) -> None:
    _legible(name, "presentation")
    _quiet(name, "presentation")


@pytest.mark.deep
@pytest.mark.parametrize("name", [*LONG, *GENERATED])
def test_sheets_of_many_gardens_are_legible(name: str) -> None:
    for garden in (name, *SPARE):
        try:
            worked(garden)
        except PegbookError:
            continue            # refused before there is anything to draw: another garden stands in
        _legible(garden)
        _quiet(garden)
        return
    raise AssertionError((name, "refused, and all that stand in for it"))
