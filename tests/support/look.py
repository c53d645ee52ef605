"""Turns SVG files into PNG pictures with a headless browser, to look at them.

    python tests/support/look.py sheet.svg [sheet.png] [dots per inch, default 144]

From code: `png(svg_path, png_path, dpi)` returns False where no browser is installed.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")


def browser() -> str:
    """Return the path of a headless browser, '' if there is none."""
    return next((found for name in BROWSERS if (found := shutil.which(name))), "")


def png(source: Path, target: Path, dpi: float = 144.0) -> bool:
    """Draw one SVG at the given dots per inch; say whether a picture was made."""
    program = browser()
    if not program:
        return False
    head = source.read_text(encoding="utf-8")[:2000]
    size = {name: float(value) for name, value in re.findall(r'\b(width|height)="([\d.]+)mm"', head)}
    wide, high = (round(size[name] / 25.4 * 96) + 1 for name in ("width", "height"))
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "page.html"
        page.write_text('<!doctype html><meta charset="utf-8"><style>body{margin:0}img{display:block}</style>'
                        f'<img src="{source.resolve().as_uri()}">', encoding="utf-8")
        subprocess.run([program, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
                        "--allow-file-access-from-files", f"--user-data-dir={folder}/user",
                        f"--force-device-scale-factor={dpi / 96:.4f}", f"--window-size={wide},{high}",
                        f"--screenshot={target.resolve()}", page.as_uri()],
                       check=True, capture_output=True, timeout=120)
    return target.exists()


if __name__ == "__main__":
    svg = Path(sys.argv[1])
    out = Path(sys.argv[2]) if len(sys.argv) > 2 else svg.with_suffix(".png")
    if not png(svg, out, float(sys.argv[3]) if len(sys.argv) > 3 else 144.0):
        raise SystemExit("no browser is installed: left out")
