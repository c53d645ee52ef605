"""How legible the sheets are: one line a sheet, read from its finished SVG.

    python tests/benchmarks/legible.py [GARDEN ...] [--style line] [--svg FOLDER]

Without names: every demo, every starter and the generated gardens of `support.spread`. A line holds the counts that
are not 0, the fullest 20 mm square inside the plan field (share, x, y in mm from the top left), labels and CPU seconds.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from pegbook.drawings.compose import compose
from pegbook.drawings.sheet import SheetSet
from pegbook.drawings.svg import svg_text
from pegbook.geometry.errors import PegbookError
from support.issued import DEMO, STARTERS, worked
from support.legibility import faults, fullest
from support.spread import GENERATED, plan_window


def _lines(sheets: SheetSet, folder: Path | None) -> None:
    for sheet in sheets.sheets:
        svg = svg_text(sheet)
        if folder:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / f"{sheet.file_stem}.svg").write_text(svg, "utf-8")
        counts, notes = faults(svg)
        shown = {k: v for k, v in sorted(counts.items()) if v and not (k == "dim_text_heights" and v == 1)}
        full = [fullest(svg, w) for w in plan_window(sheet)]
        share = "  ".join(f"{s:.2f} at ({x:.0f}, {y:.0f})" for s, x, y in full)
        print(f"  {sheet.file_stem:42} {share:24} {shown or ''}")
        for kind, words, x, y in notes:
            if kind not in ("text_on_thin", "text_on_hatch"):
                print(f"      {kind}: {words} ({x:.1f}, {y:.1f})")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("gardens", nargs="*")
    parser.add_argument("--style", default="line")
    parser.add_argument("--svg", type=Path)
    asked = parser.parse_args()
    for name in asked.gardens or (*DEMO, *STARTERS, *GENERATED):
        began = time.process_time()
        try:
            setting_out = worked(name)
            middle = time.process_time()
            sheets = compose(setting_out, asked.style)
        except PegbookError as error:
            print(f"{name}: refused: {error}")
            continue
        done = time.process_time()
        pegs = len(setting_out.pegs.pegs)
        print(f"{name}: {pegs} pegs, set out {middle - began:.1f} s, sheets {done - middle:.1f} s")
        _lines(sheets, asked.svg / name.replace(" ", "-") if asked.svg else None)
        print(f"  read {time.process_time() - done:.1f} s", flush=True)


if __name__ == "__main__":
    main()
