"""Facts of whole sets of sheets, read from their marks."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from pegbook.drawings.brief import read
from pegbook.drawings.compose import sheets_of
from pegbook.drawings.lettering import ink_box
from pegbook.drawings.sheet import LAYERS, Fill, Group, Mark, PegSign, Sheet, SheetSet, Stroke, Text, flat
from pegbook.drawings.titleblock import TAPE, TAPE_AT, WIDTH
from pegbook.geometry.errors import DrawingError
from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.path import Region
from pegbook.geometry.kernel.point import Box
from pegbook.geometry.model.garden import loads
from pegbook.geometry.setout import set_out
from support.issued import text_of, worked
from support.setouts import pegged, water_meadow

WISHES = ({}, {"size": "A1"}, {"size": "A2", "composition": "shelf"}, {"size": "A4"}, {"orientation": "portrait"})


@cache
def sheets(number: int) -> SheetSet:
    return sheets_of(water_meadow(**WISHES[number]), "both")


def every() -> list[Sheet]:
    return [sheet for number in range(len(WISHES)) for sheet in sheets(number).sheets]


def texts(sheet: Sheet, layer: str = "") -> list[Text]:
    return [m for m in flat(sheet.marks) if isinstance(m, Text) and layer in {"", m.layer}]


def groups(marks: tuple[Mark, ...], name: str) -> list[Group]:
    found = []
    for mark in marks:
        if isinstance(mark, Group):
            found += [mark] if name in mark.classes else []
            found += groups(mark.marks, name)
    return found


@pytest.mark.parametrize("number", range(len(WISHES)))
def test_nothing_outside_the_frame(number: int) -> None:
    for sheet in sheets(number).sheets:
        for mark in flat(sheet.marks):
            if mark.layer == "border":
                continue
            points = []
            if isinstance(mark, Text):
                points = list(ink_box(mark.words, mark.at, mark.style, mark.capitals, mark.anchor, mark.turn))
            elif isinstance(mark, Stroke):
                box = mark.path.box
                assert box.x0 >= 20 - 0.01, (sheet.name, mark)
                assert box.y0 >= 10 - 0.01, (sheet.name, mark)
                assert box.x1 <= sheet.width - 10 + 0.01, (sheet.name, mark)
                assert box.y1 <= sheet.height - 10 + 0.01, (sheet.name, mark)
            for p in points:
                assert 20 <= p.x <= sheet.width - 10, (sheet.name, mark)
                assert 10 <= p.y <= sheet.height - 10, (sheet.name, mark)


def test_the_block_hangs_at_the_lower_right() -> None:
    for sheet in every():
        (block,) = groups(sheet.marks, "titleblock")
        rule = next(m for m in block.marks if isinstance(m, Stroke) and m.pen == "cut")
        assert rule.path.length == pytest.approx(WIDTH)
        assert rule.path.box.x1 == pytest.approx(sheet.width - 10)


def test_the_tape_is_a_hundred_and_says_the_scale() -> None:
    for sheet in every():
        (bar,) = groups(sheet.marks, "checkbar")
        line = next(m for m in bar.marks if isinstance(m, Stroke) and m.pen == "thin")
        assert line.path.length == pytest.approx(TAPE, abs=1e-9)
        figures = sorted((m for m in bar.marks if isinstance(m, Text) and m.anchor == "middle"), key=lambda m: m.at.x)
        assert figures[-1].at.x - figures[0].at.x == pytest.approx(TAPE, abs=1e-9)
        unit = next(m.words for m in bar.marks if isinstance(m, Text) and m.anchor == "start")
        if sheet.scale:
            metres = float(sheet.scale.removeprefix("1:")) * TAPE / 1000
            assert float(figures[-1].words) == pytest.approx(metres * (1000 if unit == "mm" else 1))
    assert TAPE_AT == 8


def test_views_are_true_to_scale() -> None:
    for sheet in every():
        for view in sheet.views:
            assert view.factor * view.scale == pytest.approx(1000)
            if view.plan:
                assert sheet.scale == f"1:{view.scale:g}"


def test_every_peg_stands_once_on_a_plan_and_once_in_the_tables() -> None:
    recovery = {p.name for p in pegged() if p.purpose is Purpose.RECOVERY}
    first = {p.name for p in pegged()} - recovery
    assert recovery
    for number in range(len(WISHES)):
        whole = sheets(number).sheets
        for name, names, table in (("setting out", first, "pegs"), ("recovery", recovery, "recovery")):
            plan = next(s for s in whole if s.name == name)
            signs = Counter(m.number for m in plan.marks if isinstance(m, PegSign))
            assert {n: signs[n] for n in names} == dict.fromkeys(names, 1)
            assert name == "recovery" or set(signs) == names
            labels = Counter(t.words for t in texts(plan, "labels") if t.words in names)
            enlarged = {t.words for s in whole if s.name.startswith("enlarged") for t in texts(s, "labels")}
            assert set(labels.values()) == {1}
            assert len(labels) >= 0.8 * len(names)
            assert set(names) - set(labels) <= enlarged, "crowded pegs have their numbers on an enlarged view"
            rows = Counter(
                t.words
                for s in whole
                for group in groups(s.marks, "table")
                if group.classes[1] == table
                for t in flat(group.marks)
                if isinstance(t, Text)
                and t.words in names and t.style == "bold" and t.anchor == "start"
            )
            assert {n: rows[n] for n in names} == dict.fromkeys(names, 1)


def test_the_key_holds_what_is_on_the_plan() -> None:
    brief = water_meadow(plants=False)
    whole = sheets_of(brief)
    plan = next(s for s in whole.sheets if s.name == "layout")
    key = {t.words for s in whole.sheets if s.name in {"key", "layout"} for t in texts(s, "panel")}
    assert {"Turf", "Slabs", "Setts", "Gravel", "Water", "Planting", "Hedge", "Overhead", "Boundary"} <= key
    assert "Fence" not in key
    assert "Blocks" not in key
    turf = sum(f.shape.area for f in brief.features if f.surface == "turf" and isinstance(f.shape, Region))
    assert f"{turf:.1f}" in key
    assert any("turf" in m.classes for m in plan.marks if isinstance(m, Group))


def test_cautions_stand_on_every_sheet() -> None:
    for sheet in every():
        assert groups(sheet.marks, "cautions"), sheet.name
        assert any(t.words == "Buried services." for t in texts(sheet, "panel")), sheet.name


def test_the_register_lists_every_sheet_once() -> None:
    for number in range(len(WISHES)):
        whole = sheets(number).sheets
        titles = {(s.number, s.title) for s in whole}
        listed = " ".join(
            t.words
            for s in whole
            if s.name.startswith(("layout", "key", "sheets")) and s.style == "line"
            for t in texts(s, "panel")
        )
        for _, title in titles:
            assert title in listed
        assert len({s.file_stem for s in whole}) == len(whole)


@pytest.mark.parametrize("wishes", [*WISHES, {"scale": 50, "sheets": ("layout", "setting out", "hardscape")}])
def test_the_list_of_sheets_is_whole_or_says_where_it_goes_on(wishes: dict[str, object]) -> None:
    whole = sheets(WISHES.index(wishes)) if wishes in WISHES else sheets_of(water_meadow(**wishes))
    lists = {s.number: groups(s.marks, "sheets") for s in whole.sheets if s.style == "line"}
    said = {number: [t.words for g in found for t in flat(g.marks) if isinstance(t, Text)]
            for number, found in lists.items() if found}
    numbers = sorted(int(w) for words in said.values() for w in words if w.isdigit())
    assert numbers == sorted({s.number for s in whole.sheets})
    for number, found in lists.items():        # a list that stands whole on a sheet has that sheet's own line bold
        bold = {t.words for g in found for t in flat(g.marks) if isinstance(t, Text) and t.style == "bold"}
        names = {s.title: s.number for s in whole.sheets}
        own = [names[w] for w in bold if w in names]
        assert own in ([number], []), (number, own)
    if len(said) > 1:
        first, last = sorted(said)
        assert {f"continued on sheet {last}", f"on sheet {last}"} & set(said[first])
    else:
        assert not any("on sheet" in w for words in said.values() for w in words)


def test_a_table_that_goes_on_says_where_and_is_found_there() -> None:
    """Its last row names a further sheet, and there its heading names the sheet that it belongs to."""
    met = 0
    for number in range(len(WISHES)):
        whole = [s for s in sheets(number).sheets if s.style == "line"]
        for sheet in whole:
            said = [t.words for g in groups(sheet.marks, "table") if "sheets" not in g.classes
                    for t in flat(g.marks) if isinstance(t, Text) and t.words.startswith("continued on sheet")]
            assert len(said) <= 1, (number, sheet.name, said)
            for words in said:
                (onward,) = [s for s in whole if s.number == int(words.split()[-1])]
                heads = [t.words for t in texts(onward, "panel") if "from sheet" in t.words]
                assert heads, (number, sheet.name, words)
                met += 1
    assert met


def test_tables_take_sheets_of_their_own_only_when_the_others_are_full() -> None:
    for number in range(len(WISHES)):
        whole = [s for s in sheets(number).sheets if s.style == "line"]
        bare = [s for s in whole if s.name.startswith("tables")]
        shared = [s for s in whole if s.name.startswith("key") or s.name.startswith("enlarged")]
        if bare and shared and not groups(shared[-1].marks, "table"):       # then it is full of the key
            lowest = min(t.at.y for t in texts(shared[-1], "panel") if t.at.y > shared[-1].height / 3)
            assert lowest < shared[-1].height / 2, number


def test_layers_and_pens_are_known() -> None:
    for sheet in every():
        for mark in flat(sheet.marks):
            assert mark.layer in LAYERS
            if isinstance(mark, Stroke):
                assert mark.pen in {"texture", "thin", "mark", "edge", "cut"}
            if isinstance(mark, Fill) and sheet.style == "line":
                assert mark.tone in {"black", "white"}


def test_same_brief_same_marks() -> None:
    assert sheets_of(water_meadow(), "both") == sheets(0)


def test_a_plan_that_takes_too_many_sheets_is_refused_with_a_way_out() -> None:
    with pytest.raises(DrawingError) as caught:
        sheets_of(water_meadow(plants=False, size="A4", scale=5))
    assert "ask for" in caught.value.problems[0].mend


def test_an_unknown_style_is_refused() -> None:
    with pytest.raises(DrawingError):
        sheets_of(water_meadow(plants=False), "sepia")


def test_a_forced_scale_splits_the_plan_with_match_lines_and_key_plan() -> None:
    whole = sheets_of(water_meadow(plants=False, scale=50, sheets=("layout", "setting out"))).sheets
    parts = [s for s in whole if s.name.startswith("layout")]
    assert len(parts) > 1
    for sheet in parts:
        assert sheet.scale == "1:50"
        assert any(t.words == "Key plan" for t in texts(sheet, "panel"))
        assert groups(sheet.marks, "match-line")
    signs = Counter(
        m.number
        for s in whole
        if s.name.startswith(("setting out", "recovery"))
        for m in s.marks
        if isinstance(m, PegSign)
    )
    assert set(signs) == {p.name for p in pegged()}


def test_long_names_break_and_stay_inside() -> None:
    from dataclasses import replace

    brief = water_meadow(plants=False)
    long = "The Honourable Company of Gardeners and Growers of the Upper Water Meadows and Adjoining Commons"
    labels = {**brief.labels, "round lawns": "The round lawns below the terrace and beyond the old orchard wall"}
    sheets_of(
        replace(brief, project=replace(brief.project, title=long, owner=long, site=long, client=long), labels=labels)
    )


def test_an_empty_garden_still_has_a_sheet() -> None:
    from pegbook.drawings.brief import Brief, Project

    (sheet,) = [s for s in sheets_of(Brief(project=Project(title="Bare"))).sheets if s.name == "layout"]
    assert sheet.size == "A3"


@pytest.mark.parametrize(("asked", "stands"), [("", False), ("landscape", False), ("portrait", True)])
def test_a_model_says_whether_its_sheets_lie_or_stand(asked: str, stands: bool) -> None:
    text = text_of("round-lawn") + (f"\nsheets: {{orientation: {asked}}}\n" if asked else "")
    sizes = {(s.width, s.height) for s in sheets_of(read(set_out(loads(text, "round-lawn.yaml"))), "line").sheets}
    assert sizes == {(297.0, 420.0) if stands else (420.0, 297.0)}        # A3 of ISO 216


def test_a_thin_boundary_breaks_round_peg_numbers_and_stays_whole_on_the_ground() -> None:
    brief = read(worked("tannery-row"))
    sheet = next(s for s in sheets_of(brief, "line").sheets if s.name == "setting out")
    drawn = [m for m in flat(sheet.marks) if isinstance(m, Stroke) and m.dash == "boundary" and m.layer != "panel"]
    whole = [m for m in sheet.marks if isinstance(m, Group) and m.ground is not None and m.ground.role == "boundary"]
    assert len(whole) == 1
    segments = [segment.box for m in drawn for segment in m.path.segments]
    for number in (m for m in flat(sheet.marks) if isinstance(m, Text) and "peg-number" in m.classes):
        box = Box.of(ink_box(number.words, number.at, number.style, number.capitals, number.anchor, number.turn))
        assert not any(segment.meets(box.grown(0.3)) for segment in segments), number.words
