"""The SVG: well formed whatever the words, true to scale, layers in order; a browser agrees with our widths."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.drawings.lettering import lacking, sanitised, width
from pegbook.drawings.sheet import LAYERS, Fill, Group, Stroke, Text
from pegbook.drawings.svg import svg_text
from pegbook.geometry.errors import DrawingError
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.path import Path as Line_
from pegbook.geometry.kernel.point import Point
from support.look import browser, png
from support.sheets import frame, garden, sheet_of, sheet_set

NS = "{http://www.w3.org/2000/svg}"


def root_of(*marks: object) -> ElementTree.Element:
    return ElementTree.fromstring(svg_text(sheet_of(tuple(marks))))  # type: ignore[arg-type]


def test_the_sheet_is_millimetres_of_paper() -> None:
    root = root_of(*garden())
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("420mm", "297mm", "0 0 420 297")
    assert root[0].tag == f"{NS}title"
    assert root[0].text
    assert root[1].tag == f"{NS}desc"
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "sheet-title sheet-desc"
    assert {root[0].get("id"), root[1].get("id")} == {"sheet-title", "sheet-desc"}


def test_layers_stand_in_drawing_order_with_titles() -> None:
    marks = [Stroke(layer=name, path=Loop.circle(Point(50, 50), 3), pen="thin") for name in reversed(LAYERS)]
    groups = [g for g in root_of(*marks) if g.tag == f"{NS}g"]
    assert [g.get("id") for g in groups] == [f"layer-{name}" for name in LAYERS]
    assert all(g[0].tag == f"{NS}title" for g in groups)


def test_nothing_but_plain_geometry_and_text() -> None:
    for sheet in sheet_set().sheets:
        text = svg_text(sheet)
        tags = {e.tag.removeprefix(NS) for e in ElementTree.fromstring(text).iter()}
        assert tags <= {"svg", "title", "desc", "defs", "g", "path", "text"}
        assert "href" not in text
        assert "url(" not in text
        assert "scale(" not in text


def test_arcs_stay_arcs() -> None:
    root = root_of(Stroke(layer="edges", path=Loop.circle(Point(100, 100), 25), pen="edge"))
    d = next(e.get("d", "") for e in root.iter(f"{NS}path"))
    assert d.count("A25 25") >= 2
    assert "L" not in d


def test_strokes_of_one_pen_are_one_path() -> None:
    marks = [Stroke(layer="edges", path=Line_.through([Point(k, 0), Point(k, 9)]), pen="edge") for k in range(50)]
    assert len(list(root_of(*marks).iter(f"{NS}path"))) == 1


def test_classes_say_what_a_thing_is() -> None:
    classes = {e.get("class") for e in root_of(*garden()).iter() if e.get("class")}
    assert {"hatch turf", "hatch water", "dim", "dim running", "dim radius", "peg centre", "peg control", "peg-number",
            "frame", "checkbar", "symbol tree"} <= classes


@given(st.text(max_size=120))
@settings(max_examples=150, deadline=None)
def test_any_words_leave_the_file_well_formed(words: str) -> None:
    marks = (Text(layer="labels", at=Point(50, 50), words=words),
             Group(layer="marks", classes=(words,), title=words, marks=(
                 Fill(layer="marks", region=Region(Loop.circle(Point(9, 9), 1))),)))
    if lacking(words):
        with pytest.raises(DrawingError, match="no character"):
            svg_text(sheet_of(marks, description=words))
        return
    root = ElementTree.fromstring(svg_text(sheet_of(marks, description=words)))
    assert (next(root.iter(f"{NS}text")).text or "") == sanitised(words)


@pytest.mark.parametrize("mark", [
    Stroke(layer="nowhere", path=Loop.circle(Point(5, 5), 1), pen="thin"),
    Stroke(layer="thin", path=Loop.circle(Point(5, 5), 1), pen="crayon"),
    Stroke(layer="thin", path=Loop.circle(Point(5, 5), 1), pen="thin", dash="wavy"),
    Fill(layer="tints", region=Region(Loop.circle(Point(5, 5), 1)), tone="mauve"),
    Text(layer="labels", at=Point(5, 5), words="x", style="heavy"),
], ids=["layer", "pen", "dash", "tone", "style"])
def test_what_does_not_exist_is_refused(mark: object) -> None:
    with pytest.raises(DrawingError):
        root_of(mark)


@pytest.mark.skipif(not browser(), reason="no browser is installed: left out")
def test_a_browser_draws_the_bar_100_mm_long(tmp_path: Path) -> None:
    from PIL import Image
    source, picture = tmp_path / "a.svg", tmp_path / "a.png"
    source.write_text(svg_text(sheet_of(frame())), encoding="utf-8")
    assert png(source, picture, 288)
    image = Image.open(picture).convert("L")
    y = round((297 - 30) / 25.4 * 288)
    dark = [x for x in range(round(240 / 25.4 * 288), round(360 / 25.4 * 288)) if image.getpixel((x, y)) < 128]
    assert (dark[-1] - dark[0] + 1) / 288 * 25.4 == pytest.approx(100, abs=0.15)


@pytest.mark.skipif(not browser(), reason="no browser is installed: left out")
def test_a_browser_measures_text_as_we_do(tmp_path: Path) -> None:
    if not shutil.which("fc-list") or "LiberationSans-Regular" not in subprocess.run(
            ["fc-list", ":family=Liberation Sans", "file"], capture_output=True, text=True, check=False).stdout:
        pytest.skip("Liberation Sans is not installed: left out")
    words = ["AVATAR To Wa", "12.345 × 0.60 m²", "Yew hedge, Ø 3.00", "fi ffl Wolke"]
    marks = tuple(Text(layer="labels", at=Point(30, 40 + 9 * k), words=w, capitals=5) for k, w in enumerate(words))
    page = tmp_path / "a.html"
    page.write_text("<!doctype html><meta charset=utf-8><body>" + svg_text(sheet_of(marks)) + "<pre id=o></pre><script>"
                    "document.getElementById('o').textContent=[...document.querySelectorAll('text')]"
                    ".map(t=>t.getComputedTextLength()).join(';')</script>", encoding="utf-8")
    out = subprocess.run([browser(), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path}/u",
                          "--dump-dom", page.as_uri()], capture_output=True, text=True, check=True, timeout=120).stdout
    found = re.search(r'<pre id="o">([\d.;]+)</pre>', out)
    assert found
    for measured, w in zip(found[1].split(";"), words, strict=True):
        assert float(measured) == pytest.approx(width(w, "regular", 5), rel=4e-3)     # kerning would be 3 %
