"""Every sheet of every garden, read as a finished file: nothing on anything else, figures on lines, no crowding."""

from __future__ import annotations

from functools import cache

import pytest

from pegbook.drawings.compose import compose
from pegbook.drawings.sheet import SheetSet
from pegbook.drawings.svg import svg_text
from pegbook.geometry.errors import PegbookError
from support.clean import unclean
from support.issued import DEMO, worked
from support.legibility import fullest, labels_in
from support.spread import GENERATED, MOST_LABELS, SPARE, plan_window

CROWDED = 0.36
"""Lettering and ink as a share of a 20 mm square, inside the plan field."""

QUICK = ("round-lawn", "town-yard-feet")
LONG = ("two-circles", *DEMO)


@cache
def sheets(name: str, style: str = "line") -> SheetSet:
    return compose(worked(name), style)


def _legible(name: str, style: str = "line") -> None:
    for sheet in sheets(name, style).sheets:
        assert not unclean(svg_text(sheet)), (name, sheet.file_stem)


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
