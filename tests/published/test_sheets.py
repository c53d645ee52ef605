"""Frames, scales and title block against the figures of the standards (sheets.yaml names the sources)."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from pegbook.drawings.composition import RECOMMENDED
from pegbook.drawings.frame import FIELDS, LETTERS, SIZES, UNTRIMMED, Paper, frame, paper, stations
from pegbook.drawings.sheet import Fill, Stroke, Text, flat
from pegbook.drawings.style import house_style
from pegbook.drawings.titleblock import WIDTH
from support.setouts import water_meadow

CASES = yaml.safe_load((Path(__file__).parent / "sheets.yaml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("size", "row"), CASES["sizes"]["rows"].items())
def test_sizes_and_drawing_space(size: str, row: list[float]) -> None:
    short, long, raw_short, raw_long, space_short, space_long = row
    assert SIZES[size] == (long, short)
    assert UNTRIMMED[size] == (raw_long, raw_short)
    box = paper(size).frame
    assert sorted((box.width, box.height)) == [space_short, space_long]
    assert box.x0 == CASES["frame"]["filing"]
    assert box.y0 == CASES["frame"]["others"]
    assert paper(size).upright == (size == "A4")


@pytest.mark.parametrize(("size", "counts"), CASES["fields"]["rows"].items())
def test_fields(size: str, counts: list[int]) -> None:
    assert FIELDS[size] == tuple(counts)
    page = paper(size)
    across, up = page.counts
    characters = [m.words for m in flat(frame(page)) if isinstance(m, Text) and "zone" in m.classes]
    rows = 1 if size == "A4" else 2
    assert characters.count("1") == rows
    assert {c for c in characters if c.isdigit()} == {str(i + 1) for i in range(across)}
    assert {c for c in characters if c.isalpha()} == set(LETTERS[:up])
    assert not set(CASES["fields"]["not_used"]) & set(characters)


@pytest.mark.parametrize(("size", "row"), CASES["corner_fields"]["rows"].items())
def test_corner_fields(size: str, row: list[float]) -> None:
    page = paper(size)
    box = page.frame
    across = stations(page.width, page.counts[0], box.x0, box.x1)
    up = stations(page.height, page.counts[1], box.y0, box.y1)
    assert [across[1] - across[0], across[-1] - across[-2], up[1] - up[0]] == pytest.approx(row)
    assert across[2] - across[1] == CASES["fields"]["length"]


def test_centring_marks_and_frame_line() -> None:
    page = Paper("A3")
    marks = [m for m in frame(page) if isinstance(m, Stroke) and "centring" in m.classes]
    assert len(marks) == 4
    for mark in marks:
        assert mark.path.length == CASES["centring_marks"]["length"]
    pens = house_style().pens("A3")
    assert {pens[m.pen] for m in marks} == {CASES["frame"]["line"]}
    left = min(marks, key=lambda m: m.path.box.x0)
    assert left.path.box.x1 - page.frame.x0 == CASES["centring_marks"]["inside"]


def test_trimming_marks_only_on_untrimmed_stock() -> None:
    assert not [m for m in frame(Paper("A3")) if isinstance(m, Fill)]
    bars = [m for m in frame(Paper("A3"), trimmed=False) if isinstance(m, Fill)]
    assert len(bars) == 4
    long, short = CASES["trimming_marks"]["size"]
    assert {round(b.region.area, 6) for b in bars} == {2 * long * short - short * short}


def test_scales_are_the_recommended_ones() -> None:
    assert list(RECOMMENDED) == CASES["reductions"]["scales"]


def test_title_block_width_and_fields() -> None:
    from pegbook.drawings.compose import sheets_of

    assert CASES["title_block"]["width"] == WIDTH
    sheet = sheets_of(water_meadow(plants=False)).sheets[0]
    words = {m.words for m in flat(sheet.marks) if isinstance(m, Text) and m.layer == "titleblock"}
    assert set(CASES["mandatory_fields"]["captions"]) <= words


def test_lettering_and_pens_are_of_the_series() -> None:
    from pegbook.drawings.compose import sheets_of

    heights, widths = set(CASES["lettering"]["heights"]), set(CASES["widths"]["series"])
    for size in ("A3", "A2"):
        pens = house_style().pens(size)
        assert set(pens.values()) <= widths
    for sheet in sheets_of(water_meadow(plants=False)).sheets:
        assert {m.capitals for m in flat(sheet.marks) if isinstance(m, Text)} <= heights


@pytest.mark.parametrize(("size", "orientation"), [("A4", "portrait"), ("A4", "landscape"), ("A3", "portrait")])
def test_the_mark_at_the_foot_ends_at_the_frame_where_the_title_block_stands(size: str, orientation: str) -> None:
    page = paper(size, orientation)
    marks = [m for m in frame(page) if isinstance(m, Stroke) and "centring" in m.classes]
    assert sorted(round(m.path.length, 6) for m in marks) == [5.0, 10.0, 10.0, 10.0]
    foot = min(marks, key=lambda m: m.path.box.y0)
    assert foot.path.box.y1 == page.frame.y0
