"""A sheet as SVG drawn by a browser, and the same sheet as PDF drawn by poppler: one picture, dot by dot.

Two renderers of two code bases soften edges differently, so both pictures are blurred by less than half a millimetre;
what differs after that more than two fifths of black and white is a mark that one of them lacks or has elsewhere.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from support.issued import DEMO, issued

DOTS = 96
"""An inch, as browsers count."""

BLURRED, FAR = 1.5, 110

pytestmark = pytest.mark.skipif(not (shutil.which("chromium") and shutil.which("pdftoppm")),
                                reason="chromium or poppler-utils is not installed: left out")


@pytest.mark.parametrize("name", DEMO)
def test_both_draw_the_same(name: str, tmp_path: Path) -> None:
    from PIL import Image, ImageChops, ImageFilter
    files = issued(name)
    (tmp_path / "drawings.pdf").write_bytes(files["drawings.pdf"])
    names = sorted(n.removesuffix(".svg") for n in files if n.startswith("sheets/"))
    for page in (1 + names.index("sheets/02-setting-out"), len(names)):
        text = files[f"{names[page - 1]}.svg"].decode()
        size = round(_paper(text, "width") / 25.4 * DOTS), round(_paper(text, "height") / 25.4 * DOTS)
        sheet = tmp_path / "sheet.svg"
        sheet.write_text(text, "utf-8")
        subprocess.run(["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
                        f"--window-size={size[0]},{size[1] + 120}", f"--screenshot={tmp_path / 'sheet.png'}",
                        sheet.as_uri()], check=True, capture_output=True, timeout=120)
        subprocess.run(["pdftoppm", "-r", str(DOTS), "-gray", "-singlefile", "-f", str(page), "-l", str(page),
                        str(tmp_path / "drawings.pdf"), str(tmp_path / "page")], check=True, timeout=120)
        seen = [Image.open(tmp_path / "sheet.png").convert("L").crop((0, 0, *size)),
                Image.open(tmp_path / "page.pgm").convert("L").resize(size)]
        one, other = (picture.filter(ImageFilter.GaussianBlur(BLURRED)) for picture in seen)
        assert min(one.getextrema()) < 128      # there is a picture at all
        apart = ImageChops.difference(one, other).histogram()
        assert sum(apart[FAR:]) == 0, (names[page - 1], max(k for k, count in enumerate(apart) if count))


def _paper(text: str, side: str) -> float:
    found = re.search(rf'\b{side}="([\d.]+)mm"', text)
    assert found
    return float(found[1])
