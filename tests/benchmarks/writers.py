"""What our writers cost beside the libraries' own cost for the same entities. Prints ratios; asserts nothing.

    python tests/benchmarks/writers.py

The floor writes the same number of entities of each type with the bare library (DXF, PDF), or the same file as one
joined string (SVG). Process time, the least of five runs after one to warm up.
"""

from __future__ import annotations

import io
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from pegbook.drawings.dxf import dxf_bytes
from pegbook.drawings.pdf import pdf_bytes, register
from pegbook.drawings.reread import reread
from pegbook.drawings.runs import Bundle, Part, Run, in_layers
from pegbook.drawings.sheet import Hatch, Sheet, SheetSet, Text
from pegbook.drawings.svg import svg_text
from pegbook.geometry.kernel.segment import Arc
from support.sheets import sheet_set


def least(call: Callable[[], object], runs: int = 5) -> float:
    """Milliseconds of process time, the least of some runs."""
    call()
    found = []
    for _ in range(runs):
        start = time.process_time()
        call()
        found.append((time.process_time() - start) * 1000)
    return min(found)


def dxf_floor(counts: Counter[str]) -> None:
    """The bare library writing as many entities of each type."""
    import ezdxf
    doc = ezdxf.new("R2010")
    space = doc.modelspace()
    block = doc.blocks.new("P")
    for tag in "ABCDE":
        block.add_attdef(tag, (0, 0))
    plain = {"LINE": lambda: space.add_line((0, 0), (1, 1)), "CIRCLE": lambda: space.add_circle((0, 0), 1),
             "ARC": lambda: space.add_arc((0, 0), 1, 0, 90), "TEXT": lambda: space.add_text("1.00"),
             "POINT": lambda: space.add_point((0, 0)), "ELLIPSE": lambda: space.add_ellipse((0, 0), (2, 0), 0.5),
             "LWPOLYLINE": lambda: space.add_lwpolyline([(0, 0, 0), (1, 0, 0.4), (1, 1, 0), (0, 1, 0)], format="xyb"),
             "INSERT": lambda: space.add_blockref("P", (0, 0)).add_auto_attribs(dict.fromkeys("ABCDE", "1"))}
    for kind, number in sorted(counts.items()):
        for _ in range(number):
            if kind == "HATCH":
                space.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1), (0, 1)])
            elif kind == "DIMENSION":
                space.add_linear_dim((0, 1), (0, 0), (1, 0)).render()
            elif kind in plain:
                plain[kind]()
    doc.write(io.StringIO())


def entities(data: bytes) -> Counter[str]:
    """How many entities of each type a DXF holds."""
    import ezdxf
    doc = ezdxf.read(io.StringIO(data.decode()))
    return Counter(e.dxftype() for space in doc.layouts for e in space)


def pdf_floor(sheets: SheetSet) -> None:
    """The bare library drawing as many segments and words."""
    from reportlab.pdfgen.canvas import Canvas
    register()
    canvas = Canvas(io.BytesIO(), invariant=1, pageCompression=1)

    def draw(part: Part) -> None:
        if isinstance(part, Bundle):
            for child in part.parts:
                draw(child)
        elif isinstance(part, Run | Hatch):
            path = canvas.beginPath()
            for line in part.paths if isinstance(part, Run) else part.strokes:
                path.moveTo(0.123, 1.234)
                for s in line.segments:
                    if isinstance(s, Arc):
                        path.curveTo(1.234, 2.345, 3.456, 4.567, 5.678, 6.789)
                    else:
                        path.lineTo(1.234, 2.345)
            for _ in part.dots if isinstance(part, Hatch) else ():
                path.circle(1.234, 2.345, 0.135)
            canvas.drawPath(path)
        elif isinstance(part, Text):
            canvas.setFont("sans-regular", 3.634)
            canvas.drawString(1, 2, part.words)

    for sheet in sheets.sheets:
        for _, parts in in_layers(sheet):
            for part in parts:
                draw(part)
        canvas.showPage()
    canvas.save()


def svg_floor(sheet: Sheet, text: str) -> None:
    """The same file from its own pieces: no library, no arithmetic beyond writing each figure once."""
    del sheet
    out = []
    for word in text.split(" "):
        out.append(f"{word}")
        if word.replace(".", "").isdigit():
            f"{1.2345:.3f}".rstrip("0")
    " ".join(out)


def main() -> None:
    """Print one line for each writer."""
    full = sheet_set()
    plan = SheetSet(title=full.title, author=full.author, subject=full.subject, sheets=full.sheets[:2])
    for name, sheets in (("plan and setting out", plan), ("with a sheet of all textures", full)):
        data = dxf_bytes(sheets)
        counts = entities(data)
        ours, floor = least(lambda s=sheets: dxf_bytes(s)), least(lambda c=counts: dxf_floor(c))
        print(f"{name}: {sum(counts.values())} entities")
        print(f"  dxf    {ours:7.1f} ms   floor {floor:7.1f} ms   ratio {ours / floor:.2f}")
        back = least(lambda s=sheets, d=data: reread(d, s), 3)
        print(f"  reread {back:7.1f} ms   ratio to writing {back / ours:.2f}")
        ours, floor = least(lambda s=sheets: pdf_bytes(s)), least(lambda s=sheets: pdf_floor(s))
        print(f"  pdf    {ours:7.1f} ms   floor {floor:7.1f} ms   ratio {ours / floor:.2f}")
        texts = [svg_text(s) for s in sheets.sheets]
        ours = least(lambda s=sheets: [svg_text(x) for x in s.sheets])
        floor = least(lambda s=sheets, t=texts: [svg_floor(x, y) for x, y in zip(s.sheets, t, strict=True)])
        print(f"  svg    {ours:7.1f} ms   floor {floor:7.1f} ms   ratio {ours / floor:.2f}")


if __name__ == "__main__":
    main()
