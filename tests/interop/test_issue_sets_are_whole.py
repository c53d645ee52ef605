"""The demo gardens' issue sets, read as strangers would: every file there, every number the same in each."""

from __future__ import annotations

import hashlib
import json
import math
import re
import subprocess
import sys
import zipfile
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import openpyxl
import pytest

from pegbook.drawings.issue import issue_files
from support.issued import DEMO, STARTERS, issued, rows, text_of, worked

EVERY = (*DEMO, *STARTERS)
FILES = {"drawings.dxf", "drawings.pdf", "pegging.pdf", "pegging.html", "pegs.csv", "pegs-points.csv", "checks.csv",
         "recovery.csv", "quantities.csv", "quantities.xlsx", "plants.csv", "register.csv",
         "issue.json"}


@pytest.mark.parametrize("name", EVERY)
def test_every_file_is_there_and_in_the_ledger(name: str) -> None:
    files = issued(name)
    assert set(files) >= FILES
    assert sum(1 for f in files if f.startswith("sheets/") and f.endswith(".svg")) >= 2
    ledger = json.loads(files["issue.json"])
    assert ledger["files"] == {f: hashlib.sha256(data).hexdigest() for f, data in files.items() if f != "issue.json"}
    assert ledger["model"]["sha256"] == hashlib.sha256(text_of(name).encode("utf-8")).hexdigest()


@pytest.mark.parametrize("name", EVERY)
def test_every_peg_rebuilds_within_the_rounding(name: str) -> None:
    """A rebuild of our own, here, from the columns alone: no code of the program is used."""
    found: dict[str, tuple[float, float]] = {}
    worst = 0.0
    for row in sorted(rows(name, "pegs.csv"), key=lambda r: int(r["order"])):
        x, y = rebuild(row, found)
        found[row["peg"]] = (x, y)
        off = math.hypot(x - float(row["x"]), y - float(row["y"]))
        worst = max(worst, off)
    assert worst < 0.012


def metres(reading: str) -> float:
    """Return a reading in metres, written in metres or in feet, inches and a fraction."""
    found = re.fullmatch(r"(-?)(\d+)' (\d+)(?: (\d+)/(\d+))?\"", reading)
    if not found:
        return float(reading) if reading else 0.0
    sign, feet, inches, over, under = found.groups()
    size = int(feet) * 12 + int(inches) + (int(over) / int(under) if over else 0)
    return (-size if sign else size) * 0.0254


def rebuild(row: dict[str, str], found: dict[str, tuple[float, float]]) -> tuple[float, float]:
    """Return the place that one row's readings give."""
    one, two = metres(row["reading_1"]), metres(row["reading_2"])
    if row["method"] == "fixed":
        return float(row["x"]), float(row["y"])
    if row["method"] in ("offset", "line", "chord"):
        first, second = row["from_1"].split("-") if row["method"] == "offset" else (row["from_1"], row["from_2"])
        (ax, ay), (bx, by) = found[first], found[second]
        length = math.hypot(bx - ax, by - ay)
        ux, uy = (bx - ax) / length, (by - ay) / length
        return ax + ux * one - uy * two, ay + uy * one + ux * two
    (ax, ay), (bx, by) = found[row["from_1"]], found[row["from_2"]]
    d = math.hypot(bx - ax, by - ay)
    along = (one * one - two * two + d * d) / (2 * d)
    out = math.sqrt(max(one * one - along * along, 0.0)) * (1 if row["side"] == "left" else -1)
    ux, uy = (bx - ax) / d, (by - ay) / d
    x, y = ax + ux * along - uy * out, ay + uy * along + ux * out
    if row["from_3"]:
        taped = [(found[row[f"from_{k}"]], metres(row[f"reading_{k}"])) for k in (1, 2, 3)]
        x, y = middle_of_three(x, y, taped)
    return x, y


def middle_of_three(x: float, y: float, taped: list[tuple[tuple[float, float], float]]) -> tuple[float, float]:
    """Gauss-Newton, equal weights: the middle of the little triangle."""
    for _ in range(50):
        xx = xy = yy = bx = by = 0.0
        for (px, py), r in taped:
            d = math.hypot(x - px, y - py)
            ux, uy, v = (x - px) / d, (y - py) / d, r - d
            xx, xy, yy, bx, by = xx + ux * ux, xy + ux * uy, yy + uy * uy, bx + ux * v, by + uy * v
        det = xx * yy - xy * xy
        x, y = x + (yy * bx - xy * by) / det, y + (xx * by - xy * bx) / det
    return x, y


@pytest.mark.parametrize("name", EVERY)
def test_no_peg_hangs_on_a_later_one(name: str) -> None:
    order = {row["peg"]: int(row["order"]) for row in rows(name, "pegs.csv")}
    assert sorted(order.values()) == list(range(1, len(order) + 1))
    figures = [re.sub(r"\D", "", peg) for peg in order if re.fullmatch(r"[XTPFRL]\d+", peg)]
    assert len(set(figures)) == len(figures)
    for row in rows(name, "pegs.csv"):
        for hook in (row["from_1"], row["from_2"], row["from_3"], row["check_from"]):
            for mark in filter(None, hook.split("-")):
                assert order[mark] < order[row["peg"]], row


@pytest.mark.parametrize("name", EVERY)
def test_sheets_are_sound_xml_with_no_outside_reference(name: str) -> None:
    for file, data in issued(name).items():
        if not file.endswith(".svg"):
            continue
        root = ElementTree.fromstring(data)
        assert root.attrib["width"].endswith("mm")
        assert root.attrib["viewBox"] == f"0 0 {root.attrib['width'][:-2]} {root.attrib['height'][:-2]}"
        text = data.decode("utf-8")
        assert not re.search(r"<script|href=|url\(|@import|<image|<use", text)


@pytest.mark.parametrize("name", EVERY)
def test_booklet_says_every_peg_with_its_readings(name: str, tmp_path: Path) -> None:
    from shutil import which

    if not which("pdftotext"):
        pytest.skip("pdftotext is not installed")
    (tmp_path / "pegging.pdf").write_bytes(issued(name)["pegging.pdf"])
    text = subprocess.run(["pdftotext", "-raw", tmp_path / "pegging.pdf", "-"], capture_output=True, text=True,
                          check=True).stdout
    words = set(text.split())
    work = worked(name)
    tape, pegs = work.pegs.options.tape, {peg.name: peg for peg in work.pegs.pegs}
    for row in rows(name, "pegs.csv"):
        if row["method"] == "fixed":
            continue
        assert row["peg"] in words, row["peg"]
        for reading in (row["reading_1"], row["reading_2"], row["reading_3"]):
            if reading:
                assert reading.lstrip("-") in text, row
        peg = pegs[row["peg"]]
        if peg.check_reading is not None and peg.check_limit is not None:       # printed as the range that is good
            for end in tape.span(peg.check_reading.metres, peg.check_limit):
                assert end.text in text, row


@pytest.mark.parametrize("name", DEMO)
def test_workbook_opens_elsewhere(name: str) -> None:
    book = zipfile.ZipFile(BytesIO(issued(name)["quantities.xlsx"]))
    assert "xl/workbook.xml" in book.namelist()


@pytest.mark.parametrize("name", DEMO)
def test_the_workbook_has_the_planting_schedule(name: str) -> None:
    """Its page, read from the written file, says what plants.csv says, and adds it up."""
    page = openpyxl.load_workbook(BytesIO(issued(name)["quantities.xlsx"]), data_only=True)["Planting schedule"]
    listed = rows(name, "plants.csv")
    assert listed
    for cells, row in zip(page.iter_rows(min_row=4, max_col=10, values_only=True), listed, strict=False):
        for cell, (column, words) in zip(cells, row.items(), strict=True):
            if column in {"number", "spacing", "by_area"} and words:
                assert cell == float(words), (row["key"], column)
            else:
                assert (cell or "") == words, (row["key"], column)
    assert page.cell(row=len(listed) + 5, column=4).value == sum(int(row["number"]) for row in listed)


def test_the_same_input_gives_the_same_bytes() -> None:
    name = STARTERS[0]
    again = issue_files(worked.__wrapped__(name))
    assert {f: hashlib.sha256(d).hexdigest() for f, d in again.items()} == \
        {f: hashlib.sha256(d).hexdigest() for f, d in issued(name).items()}


def test_another_process_and_hash_seed_give_the_same_bytes(tmp_path: Path) -> None:
    name = STARTERS[0]
    path = tmp_path / f"{name}.yaml"
    path.write_text(text_of(name), "utf-8")
    script = ("import sys, json, hashlib\nimport pegbook\n"
              "files = pegbook.issue_files(pegbook.set_out(pegbook.load(sys.argv[1])))\n"
              "print(json.dumps({f: hashlib.sha256(d).hexdigest() for f, d in files.items()}))\n")
    digests = []
    for seed in ("1", "77"):
        run = subprocess.run([sys.executable, "-c", script, f"{name}.yaml"], capture_output=True, text=True, check=True,
                             cwd=tmp_path, env={"PYTHONHASHSEED": seed, "PATH": "/usr/bin:/bin"})
        digests.append(json.loads(run.stdout))
    assert digests[0] == digests[1]
