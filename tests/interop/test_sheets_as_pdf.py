"""The PDF, read by poppler and by pypdf: sizes, fonts, words, and a bar that measures 100 mm."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from pypdf import PdfReader

from pegbook.drawings.pdf import pdf_bytes
from support.sheets import sheet_set

DATA = pdf_bytes(sheet_set())
POPPLER = pytest.mark.skipif(not shutil.which("pdfinfo"), reason="poppler-utils is not installed: left out")
POINT = 25.4 / 72


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "sheets.pdf"
    path.write_bytes(DATA)
    return path


def run(*command: object) -> str:
    return subprocess.run([str(c) for c in command], check=True, capture_output=True, text=True).stdout


def test_written_twice_is_written_the_same() -> None:
    assert pdf_bytes(sheet_set()) == DATA


def test_pages_are_a3_to_a_hundredth_of_a_millimetre() -> None:
    # ISO 216: A3 is 297 by 420 mm
    for page in PdfReader(io.BytesIO(DATA)).pages:
        assert float(page.mediabox.width) * POINT == pytest.approx(420, abs=0.01)
        assert float(page.mediabox.height) * POINT == pytest.approx(297, abs=0.01)


def test_the_bar_measures_100_mm() -> None:
    content = PdfReader(io.BytesIO(DATA)).pages[0].get_contents()
    assert content is not None
    text = content.get_data().decode("latin-1")
    scale = re.search(r"([2-9][\d.]+) 0 0 ([\d.]+) 0 0 cm", text)      # the one that brings points to millimetres
    bar = re.search(r"\b250 30 m 350 30 l\b", text)
    assert scale
    assert bar
    assert 100 * float(scale[1]) * POINT == pytest.approx(100.0, abs=0.05)
    assert scale[1] == scale[2]


@POPPLER
def test_the_bar_measures_100_mm_when_drawn(file: Path, tmp_path: Path) -> None:
    from PIL import Image
    run("pdftoppm", "-r", 600, "-f", 1, "-l", 1, "-gray", "-x", 5800, "-y", 6250, "-W", 2600, "-H", 100,
        file, tmp_path / "bar")
    (picture,) = tmp_path.glob("bar*.pgm")
    image = Image.open(picture)
    rows = [[x for x in range(image.width) if image.getpixel((x, y)) < 128] for y in range(image.height)]
    longest = max(rows, key=len)
    assert (longest[-1] - longest[0] + 1) / 600 * 25.4 == pytest.approx(100.0, abs=0.06)


def test_it_asks_printers_not_to_scale_and_names_its_pages() -> None:
    reader = PdfReader(io.BytesIO(DATA))
    root = reader.trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert reader.page_labels == ["01 layout", "02 setting out", "00 key"]
    assert [o.title for o in reader.outline] == ["01 Layout plan", "02 Setting out plan", "00 Key plan"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Thistle Row"


@POPPLER
def test_poppler_finds_every_word_and_embedded_subsets(file: Path) -> None:
    words = run("pdftotext", "-layout", file, "-")
    for wanted in ("On a true print this bar measures 100 mm.", "m² – “round” end", "X101", "R 2.00",
                   "compacted-stone"):
        assert wanted in words
    fonts = [line.split() for line in run("pdffonts", file).splitlines()[2:]]
    assert fonts
    assert all(f[0].split("+")[1].startswith("PegbookSans") for f in fonts)
    assert all(f[-5:-2] == ["yes", "yes", "yes"] for f in fonts)
    assert "JavaScript:      no" in run("pdfinfo", file)
