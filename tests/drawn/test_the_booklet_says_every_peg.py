"""The pegging booklet: every peg with its readings, every check with its range, nothing on anything else."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
import shapely
from pypdf import PdfReader

from pegbook.drawings.booklet import booklet
from pegbook.drawings.chapters import chapters
from pegbook.drawings.closing_table import across, closing_table, enough
from pegbook.drawings.lettering import width
from pegbook.drawings.pdf import pdf_bytes
from pegbook.drawings.pictures import step_picture
from pegbook.drawings.pictures_plan import plan_picture
from pegbook.drawings.sheet import Fill, SheetSet, Stroke, Text, flat
from pegbook.geometry.features import Purpose
from pegbook.geometry.model.garden import loads
from pegbook.geometry.pegs.peg import Check, CheckKind, Method
from pegbook.geometry.setout import SettingOut, set_out
from support.issued import DEMO, worked

GARDENS = ("round-lawn", "town-yard-feet", "tannery-row")


@cache
def pages(name: str) -> SheetSet:
    return booklet(worked(name))


@cache
def words(name: str) -> tuple[str, ...]:
    """Return the text of each page in the order of drawing."""
    return tuple(" ".join(m.words for m in flat(sheet.marks) if isinstance(m, Text)) for sheet in pages(name).sheets)


@pytest.mark.parametrize("name", GARDENS)
def test_every_peg_stands_on_one_page_with_its_readings(name: str) -> None:
    for peg in worked(name).pegs.pegs:
        if peg.method is Method.FIXED:
            continue
        texts = [r.text.lstrip("-") for r in (peg.reading_1, peg.reading_2, peg.reading_3) if r is not None]
        found = [page for page in words(name) if re.search(rf"\b{peg.name}\b", page) and all(t in page for t in texts)]
        assert found, peg.name


@pytest.mark.parametrize("name", GARDENS)
def test_the_pdf_can_be_read_as_text(name: str, tmp_path: Path) -> None:
    # Outside check: pypdf, and pdftotext where it is installed.
    data = pdf_bytes(pages(name))
    texts = ["\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)]
    if shutil.which("pdftotext"):
        (tmp_path / "pegging.pdf").write_bytes(data)
        call = ["pdftotext", "-layout", str(tmp_path / "pegging.pdf"), "-"]
        out = subprocess.run(call, check=True, capture_output=True, text=True)
        texts.append(out.stdout)
    for text in texts:
        for peg in worked(name).pegs.pegs:
            assert re.search(rf"\b{peg.name}\b", text), peg.name
            for reading in (peg.reading_1, peg.reading_2):
                assert reading is None or reading.text.lstrip("-") in text, (peg.name, reading)


def asked(work: SettingOut) -> list[Check]:
    """Return the checks that the booklet asks for: all but a shape's closing lines beyond enough of them."""
    table = closing_table(work)
    spared = {c for element in work.pegs.elements for lines in (across(work, element, table),)
              for c in lines if c not in enough(lines)}
    return [c for c in work.pegs.checks if c not in spared]


@pytest.mark.parametrize("name", GARDENS)
def test_every_check_has_its_range(name: str) -> None:
    everything, work = " ".join(words(name)), worked(name)
    for check in asked(work):
        if check.kind is not CheckKind.PEG:
            assert f"{check.start} to {check.end} " in everything
        assert f"{check.low.text} to {check.high.text}" in everything


@pytest.mark.parametrize("name", [*GARDENS, *DEMO])
def test_the_closing_table_is_one_page_of_twelve_lines_at_most(name: str) -> None:
    work = worked(name)
    table = closing_table(work)
    closing = [c for c in work.pegs.checks if c.kind is CheckKind.CLOSING]
    assert len(table) <= 12
    assert len(table) >= min(8, len(closing))
    beside = [c for element in work.pegs.elements for c in across(work, element, table)]
    assert sorted((c.start, c.end) for c in (*table, *beside)) == sorted((c.start, c.end) for c in closing)
    for element in work.pegs.elements:
        lines = across(work, element, table)
        some = enough(lines)
        assert len(some) == min(len(lines), 8)
        assert set(some) <= set(lines)
        more = len(lines) - len(some)
        assert not more or f"{more} more lines across it stand in checks.csv." in " ".join(words(name))
    last = words(name)[-1]
    assert "If it is not good" in last
    assert all(f"{c.start} to {c.end} " in last for c in table)


@pytest.mark.parametrize("name", DEMO)
def test_no_page_holds_more_than_three_steps_of_one_peg(name: str) -> None:
    for text in words(name):
        assert len(re.findall(r"\bDrive peg [A-Z]\d+", text)) <= 3


@pytest.mark.parametrize("name", DEMO)
def test_every_demo_booklet_says_every_peg_check_and_plant(name: str) -> None:
    work, everything = worked(name), " ".join(words(name))
    for peg in work.pegs.pegs:
        assert re.search(rf"\b{peg.name}\b", everything), peg.name
        for reading in (peg.reading_1, peg.reading_2, peg.reading_3):
            assert reading is None or reading.text.lstrip("-") in everything
    for check in asked(work):
        assert f"{check.low.text} to {check.high.text}" in everything
    for bed, sanding in zip(work.beds, work.sandings, strict=True):
        assert f"Plant the {bed.name}" in everything
        for cane in sanding.canes:
            along, out = (work.pegs.options.tape.reading(abs(m)).text for m in (cane.spot.along, cane.spot.offset))
            said = rf"\b{cane.name} {re.escape(along)} (behind zero )?{re.escape(out)}"
            assert re.search(said, everything), cane.name


@pytest.mark.parametrize("name", DEMO)
def test_edges_round_a_centre_stand_with_their_true_radius(name: str) -> None:
    # Outside check: the radius is measured between the pegs named, where the garden has them.
    work = worked(name)
    pegs = work.pegs.by_name()
    swings = [s for chapter in chapters(work) for s in chapter.edges.swings]
    assert swings
    for swing in swings:
        for end in filter(None, (swing.start, swing.end)):
            taped = work.pegs.options.tape.read(swing.reading)
            assert pegs[swing.centre].at.distance(pegs[end].at) == pytest.approx(taped, abs=0.0076)


@pytest.mark.parametrize("name", DEMO)
def test_pictures_name_all_that_they_show_or_say_where_it_is_named(name: str) -> None:
    work = worked(name)
    for chapter in chapters(work):
        for step in chapter.steps:
            marks = step_picture(work, step, 60.0, 40.0).marks
            texts = " ".join(m.words for m in flat(marks) if isinstance(m, Text))
            hooks = {hook.at for hook in step.hooks if hook.at}
            assert "see the drawing" in texts or all(n in texts for n in {*step.pegs, *hooks}), step.title


@pytest.mark.parametrize("name", GARDENS)
def test_readings_of_pegs_are_eighteen_points_or_more(name: str) -> None:
    least = 18 * 25.4 / 72 * 0.729          # capitals of DejaVu Sans Bold are 0.729 em (read from the face)
    driven = [p for p in worked(name).pegs.pegs if p.purpose is not Purpose.CONTROL]
    readings = {r.text.lstrip("-") for p in driven for r in (p.reading_1, p.reading_2) if r is not None}
    for sheet in pages(name).sheets[3:]:
        for mark in flat(sheet.marks):
            if isinstance(mark, Text) and mark.words.removesuffix(" m") in readings and mark.style == "reading":
                assert mark.capitals >= least - 1e-6


def _boxes(marks: tuple[object, ...]) -> list[tuple[str, shapely.Polygon]]:
    found = []
    for mark in marks:
        if isinstance(mark, Text):
            wide = width(mark.words, mark.style, mark.capitals)
            x = mark.at.x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[mark.anchor]
            found.append((mark.words, shapely.box(x, mark.at.y, x + wide, mark.at.y + mark.capitals)))
    return found


@pytest.mark.parametrize("name", [*GARDENS, *DEMO])
def test_no_lettering_lies_on_other_lettering_or_off_the_page(name: str) -> None:
    for sheet in pages(name).sheets:
        boxes = _boxes(tuple(flat(sheet.marks)))
        room = shapely.box(17, 10, 199, 288)
        tree = shapely.STRtree([b for _, b in boxes])
        for text, box in boxes:
            assert room.covers(box), (sheet.number, text)
            for k in tree.query(box, predicate="intersects").tolist():
                other, area = boxes[k]
                assert area is box or area.intersection(box).area < 0.05, (sheet.number, text, other)


@pytest.mark.parametrize("name", GARDENS)
def test_pages_are_black_and_white_a4_with_the_bar(name: str) -> None:
    found = pages(name)
    assert all((s.width, s.height) == (210.0, 297.0) for s in found.sheets)
    tones = {m.tone for s in found.sheets for m in flat(s.marks) if isinstance(m, Fill | Text)}
    assert tones <= {"black", "white", "shade", "dark"}
    bars = [m for m in flat(found.sheets[0].marks) if isinstance(m, Stroke) and m.pen == "cut"
            and abs(m.path.box.width - 100.0) < 1e-9 and m.path.box.height < 1e-9]
    assert len(bars) == 1


@pytest.mark.parametrize("name", GARDENS)
def test_every_foot_says_page_and_what_to_do(name: str) -> None:
    count = len(pages(name).sheets)
    for number, text in enumerate(words(name), 1):
        assert f"page {number} of {count}" in text
        assert number == 1 or "Not good? STOP. Go to the last page." in text
    assert "If it is not good" in words(name)[-1]


def test_steps_keep_the_order_of_work() -> None:
    for name in GARDENS:
        order = [int(m.words) for s in pages(name).sheets for m in flat(s.marks)
                 if isinstance(m, Text) and m.words.isdigit() and m.capitals == pytest.approx(24 * 25.4 / 72 * 0.729)]
        assert order == sorted(order)
        assert all(b - a == 1 for a, b in pairwise(order))


def test_the_same_garden_gives_the_same_bytes() -> None:
    again = booklet(worked("round-lawn"))
    assert pdf_bytes(again) == pdf_bytes(pages("round-lawn"))


@pytest.mark.parametrize("name", [*GARDENS, *DEMO])
def test_bookmarks_name_each_thing_once_where_it_begins(name: str) -> None:
    reader = PdfReader(io.BytesIO(pdf_bytes(pages(name))))
    found = [(o.title, reader.get_destination_page_number(o)) for o in reader.outline]  # type: ignore[union-attr,arg-type]
    assert len({title for title, _ in found}) == len(found)
    assert [page for _, page in found] == sorted(page for _, page in found)
    for chapter in chapters(worked(name)):
        title = f"{chapter.number or 'E'} {chapter.name[:1].upper()}{chapter.name[1:]}"
        page = dict(found)[title]
        assert chapter.name.lower() in reader.pages[page or 0].extract_text().lower()


def test_every_shape_has_its_number_on_the_key_plan_or_is_named_below() -> None:
    for name in (*GARDENS, *DEMO):
        work, told = worked(name), chapters(worked(name))
        numbers = {str(c.number) for c in told if c.element}
        for wide, high in ((120.0, 150.0), (29.0, 38.0), (14.0, 12.0)):
            said = {t.words for t in flat(plan_picture(work, told, wide, high)) if isinstance(t, Text)}
            left = next((w for w in said if w.startswith("no room")), "")
            assert numbers <= said | set(re.findall(r"\d+", left)) or left.endswith(" numbers")
        assert numbers <= {t.words for t in flat(plan_picture(work, told, 120.0, 150.0)) if isinstance(t, Text)}


@pytest.mark.parametrize("count", [2, 5, 6, 8])
def test_any_number_of_marks_leaves_the_cover_clear_of_its_foot(count: int) -> None:
    spots = [(0, 0), (9, 0), (9.3, 8), (-0.4, 8.2), (9.1, 16), (-0.5, 15.8), (9.2, 12), (-0.3, 12.1)][:count]
    marks = "".join(f"    {'ABCDGHKM'[k]}: {{at: [{x}, {y}], mark: brick pier {k + 1} of the old boundary wall, short: "
                    f"pier {k + 1}, point: 'screw in the third joint, 0.30 m up'}}\n"
                    for k, (x, y) in enumerate(spots))
    pads = "".join(f"  pad {k}: {{kind: paving, outline: {{rectangle: {{corner: [{k % 3 * 2 + 1}, {k // 3 * 2 + 2}], "
                   "length: 1.5, width: 1.5}}}\n" for k in range(15))
    model = (f"pegbook: 1\nproject: {{title: Piers}}\nsite:\n  control:\n{marks}  baseline: [A, B]\n"
             f"elements:\n{pads}")
    pages = booklet(set_out(loads(model, "piers.yaml"))).sheets
    for page in pages:
        texts = [m for m in flat(page.marks) if isinstance(m, Text)]
        assert all(not 14.0 < m.at.y < 19.5 for m in texts), page.title     # the foot begins 18 mm up, its words 13 mm
    said = " ".join(m.words for page in pages[:4] for m in flat(page.marks) if isinstance(m, Text))
    assert said.count("0.30 m up") >= 2 * count                             # on the cover and at gate 0, never cut off
