"""The register of an issue against the drawings themselves, their words read from the PDF by pypdf."""

from __future__ import annotations

import csv
import io
from functools import cache

import pytest
from pypdf import PdfReader

from pegbook.drawings.issue import IssueOptions, issue_files
from support.issued import DEMO, text_of, worked

COLUMNS = ["drawing", "title", "sheet", "scale", "size", "revision", "date", "purpose", "file"]
EVERY = (*DEMO, "round-lawn")
A_SIZES = {"A4": (297, 210), "A3": (420, 297), "A2": (594, 420), "A1": (841, 594), "A0": (1189, 841)}    # ISO 216


@cache
def files_of(name: str) -> dict[str, bytes]:
    return issue_files(worked(name), IssueOptions(style="both"))


def register(name: str) -> list[dict[str, str]]:
    reader = csv.DictReader(io.StringIO(files_of(name)["register.csv"].decode("utf-8")))
    assert reader.fieldnames == COLUMNS
    return list(reader)


@pytest.mark.parametrize("name", EVERY)
def test_every_drawing_has_a_row_and_says_the_same(name: str) -> None:
    pages = PdfReader(io.BytesIO(files_of(name)["drawings.pdf"])).pages
    listed = register(name)
    assert len(listed) == len(pages)
    for row, page in zip(listed, pages, strict=True):
        words = page.extract_text().splitlines()
        for column in ("drawing", "revision", "date", "purpose", "scale"):
            assert not row[column] or row[column] in words, (row, column)
        title, _, copy = row["title"].partition(", presentation")
        assert title in words
        assert bool(copy) == any(line.endswith("presentation copy") for line in words)
        sides = sorted((float(page.mediabox.width) / 72 * 25.4, float(page.mediabox.height) / 72 * 25.4), reverse=True)
        assert sides == pytest.approx(A_SIZES[row["size"]], abs=0.01)


@pytest.mark.parametrize("name", EVERY)
def test_every_drawing_is_a_file_of_the_set_and_stands_once(name: str) -> None:
    listed = [row["file"] for row in register(name)]
    assert sorted(listed) == sorted(f for f in files_of(name) if f.startswith("sheets/"))
    numbers = [row["drawing"] for row in register(name) if "presentation" not in row["title"]]
    assert len(set(numbers)) == len(numbers)


@pytest.mark.parametrize("name", DEMO)
def test_a_copy_for_the_client_is_never_issued_for_construction(name: str) -> None:
    purposes = {("presentation" in row["title"]): row["purpose"] for row in register(name)}
    assert purposes == {False: "For construction", True: "For agreement"}


def test_the_list_on_the_first_sheet_names_the_issue() -> None:
    words = PdfReader(io.BytesIO(files_of("quarry-end")["drawings.pdf"])).pages[0].extract_text()
    assert "rev. A, 2026-10-05, For construction" in words


def test_a_title_that_a_spreadsheet_would_reckon_with_is_text() -> None:
    from pegbook.geometry.model.garden import loads
    from pegbook.geometry.setout import set_out

    text = text_of("round-lawn")
    assert "number: G-01" in text
    files = issue_files(set_out(loads(text.replace("number: G-01", "number: '=1+1'"), "x.yaml")))
    rows = list(csv.DictReader(io.StringIO(files["register.csv"].decode("utf-8"))))
    assert {row["drawing"][:5] for row in rows} == {"'=1+1"}
