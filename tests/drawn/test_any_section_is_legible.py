"""Sections of every form and of sizes at the edge of what is built make clean sheets of details.

The faults are those that `support.legibility` counts from the SVG.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from pegbook.drawings.brief import read
from pegbook.drawings.compose import sheets_of
from pegbook.drawings.svg import svg_text
from support.clean import unclean
from support.issued import worked
from support.legibility import Note
from support.sections import sections_by_lot

SOME, MANY = 10, 150

RARE = 0.06
"""So many in a hundred sheets of such extremes may have a figure on a line or a name: known and left."""


def faults_of(seed: int) -> list[list[Note]]:
    """Return the faults of each sheet of details of sections by lot."""
    brief = read(worked("round-lawn"))
    wishes = replace(brief.wishes, sheets=("layout", "details"), size=("A3", "A3", "A2")[seed % 3])
    asked = replace(brief, sections=sections_by_lot(seed), unit=("m", "ft")[seed % 4 == 3], wishes=wishes)
    return [unclean(svg_text(s)) for s in sheets_of(asked).sheets if s.name.startswith("details")]


@pytest.mark.parametrize("seed", range(SOME))
def test_sections_by_lot_make_clean_sheets(seed: int) -> None:
    found = faults_of(seed)
    assert found
    assert not [note for notes in found for note in notes]


@pytest.mark.deep
def test_faults_are_rare_among_many() -> None:
    found = [notes for seed in range(MANY) for notes in faults_of(seed)]
    bad = [notes for notes in found if notes]
    print(f"{len(bad)} of {len(found)} sheets of details with a fault")
    assert len(bad) <= RARE * len(found), bad
