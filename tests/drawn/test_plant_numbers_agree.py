"""Numbers at the groups of the planting plan, in its schedule and in plants.csv are of the same plants, to the last."""

import csv
import io
import re
import subprocess
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from shutil import which
from xml.etree import ElementTree

import pytest

from pegbook.drawings.compose import compose
from pegbook.drawings.issue import tables
from pegbook.drawings.pdf import pdf_bytes
from pegbook.drawings.svg import svg_text
from pegbook.geometry.model.garden import load
from pegbook.geometry.setout import SettingOut, set_out

DEMO = Path(__file__).parents[2] / "demo"
GARDENS = ("tannery-row", "quarry-end")
TITLE = "{http://www.w3.org/2000/svg}title"


@cache
def _worked(name: str) -> SettingOut:
    return set_out(load(DEMO / f"{name}.yaml"))


@cache
def _sheet(name: str) -> ElementTree.Element:
    (sheet,) = (s for s in compose(_worked(name)).sheets if s.name == "planting")
    return ElementTree.fromstring(svg_text(sheet))


def _csv(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(tables(_worked(name))["plants.csv"].decode("utf-8"))))


def _ordered(name: str) -> Counter[str]:
    counts: Counter[str] = Counter()
    for row in _csv(name):
        if not row["remark"].startswith("spare"):
            counts[row["common"]] += int(row["number"])
    return counts


@pytest.mark.parametrize("name", GARDENS)
def test_labels_on_the_plan_add_up_to_plants_csv(name: str) -> None:
    labels: Counter[str] = Counter()
    for group in _sheet(name).iter():
        if "plant-label" in group.get("class", "").split():
            words = " ".join("".join(t.itertext()) for t in group.iter() if t.tag.endswith("}text"))
            found = re.fullmatch(r"(\d+) (.+)", words)
            assert found is not None, words
            labels[found[2]] += int(found[1])
    assert labels == _ordered(name)


@pytest.mark.parametrize("name", GARDENS)
def test_the_drawn_schedule_is_that_of_plants_csv(name: str) -> None:
    numbers = [int("".join(e.itertext())) for e in _sheet(name).iter()
               if e.tag.endswith("}text") and "number" in e.get("class", "").split()]
    assert numbers == [int(r["number"]) for r in _csv(name) if not r["remark"].startswith("spare")]


@pytest.mark.parametrize("name", GARDENS)
def test_the_bill_orders_the_same_plants(name: str) -> None:
    work = _worked(name)
    bill: Counter[str] = Counter()
    for item in work.bill.items:
        if item.section == "planting" and item.order is not None:
            bill[item.item] += round(item.order)
    assert bill == _ordered(name)


@pytest.mark.skipif(not which("pdftotext"), reason="pdftotext is not installed")
@pytest.mark.parametrize("name", GARDENS)
def test_the_pdf_as_others_read_it_says_the_same(name: str) -> None:
    """The text of the planting page (poppler's reading): labels, rows and sum, each to the last plant."""
    sheets = compose(_worked(name))
    page = pdf_bytes(replace(sheets, sheets=tuple(s for s in sheets.sheets if s.name == "planting")))
    text = subprocess.run(["pdftotext", "-raw", "-", "-"], input=page, capture_output=True, check=True).stdout.decode()
    ordered = _ordered(name)
    labels: Counter[str] = Counter()
    rows: Counter[str] = Counter()
    for plant in ordered:
        word = re.escape(plant)
        labels[plant] = sum(int(n) for n in re.findall(rf"(?:^| )(\d+) {word}(?= \d|$)", text, re.MULTILINE))
        rows[plant] = sum(int(n) for n in re.findall(rf"^(\d+)\n{word}$", text, re.MULTILINE))
    assert labels == ordered
    assert rows == ordered
    total = re.search(r"(\d+) plants in (\d+) groups", text)
    assert total is not None
    assert int(total[1]) == ordered.total()
    assert int(total[2]) == sum(len(bed.groups) for bed in _worked(name).beds)
