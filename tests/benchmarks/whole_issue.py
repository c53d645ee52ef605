"""A whole issue set from a cold start, beside the libraries' own cost for the same entities. Prints ratios.

    python tests/benchmarks/whole_issue.py [GARDEN]      (the town plot, tannery-row, unless another demo is named)

Ours: `pegbook issue` in a new process, everything: reading, setting out, labels, proof, all files. The floor: a new
process that writes, with ezdxf, reportlab, svgwrite and openpyxl alone, as many entities of each type, path steps,
words, elements and cells as the set holds, and reads the DXF once (as the set is read again), without any thought.
CPU seconds of the process, the least of three runs after one that compiles the modules; a further table says where
our time goes. The floor can be beaten: the plain entities of the DXF are written as text, and read by a reader of
our own, at a fraction of what the library takes for them.
"""

from __future__ import annotations

import io
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

ROOT = Path(__file__).resolve().parents[2]
RUNS = 3
PLAIN = ("LINE", "CIRCLE", "ARC", "TEXT", "MTEXT", "POINT", "ELLIPSE", "LWPOLYLINE", "INSERT", "HATCH", "DIMENSION")


def cpu(command: list[str], scratch: str) -> float:
    """CPU seconds of a command, the least of some runs; the first compiles the modules, as an installation does."""
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env["PYTHONPYCACHEPREFIX"] = f"{scratch}/compiled"
    found = []
    for _ in range(RUNS + 1):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=env)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        found.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(found)


def counted(folder: Path) -> dict[str, Any]:
    """What a set holds: DXF entities, steps, words and fonts of both PDFs, elements of the SVGs, cells of the workbook.

    The pictures of the phone page are SVGs too.
    """
    import ezdxf
    import openpyxl
    doc = ezdxf.readfile(folder / "drawings.dxf")
    spaces = list(doc.layouts) + [b for b in doc.blocks if not b.name.startswith("*")]
    entities = [e for space in spaces for e in space]
    dxf = Counter(e.dxftype() for e in entities)
    vertices = sum(len(e) for e in entities if e.dxftype() == "LWPOLYLINE")
    texts = [path.read_text("utf-8") for path in sorted((folder / "sheets").glob("*.svg"))]
    page = (folder / "pegging.html").read_text("utf-8")
    data = json.loads(re.findall(r'<script[^>]*type="application/json"[^>]*>(.*?)</script>', page, re.DOTALL)[0])
    texts += data["pictures"].values()
    svgs = [[[e.tag.rpartition("}")[2], e.get("d", ""), (e.text or "").strip()]
             for e in ElementTree.fromstring(text).iter()] for text in texts]
    book = openpyxl.load_workbook(folder / "quantities.xlsx")
    cells = [[sheet.max_row, sheet.max_column] for sheet in book.worksheets]
    pdfs = [(pages(folder / name), fonts(folder / name)) for name in ("drawings.pdf", "pegging.pdf")]
    return {"dxf": dict(dxf), "vertices": vertices, "svgs": svgs, "cells": cells, "pdfs": pdfs}


def fonts(path: Path) -> int:
    """How many typefaces a PDF holds, each read and made smaller by the library."""
    from pypdf import PdfReader
    return len({font.get_object()["/BaseFont"].rpartition("+")[2] for page in PdfReader(path).pages
                for font in page["/Resources"].get("/Font", {}).values()})


def pages(path: Path) -> list[dict[str, Any]]:
    """How many operators of each kind the pages of a PDF hold."""
    from pypdf import PdfReader
    found = []
    for page in PdfReader(path).pages:
        content = page.get_contents()
        text = content.get_data().decode("latin-1") if content is not None else ""
        found.append({op: len(re.findall(rf"(?<=[\d)\]\s]){re.escape(op)}(?=\s)", text))
                      for op in ("m", "l", "c", "S", "f", "Tj")})
    return found


def floor(counts: dict[str, Any]) -> None:
    """Write as much with the bare libraries."""
    dxf_floor(counts["dxf"], counts["vertices"])
    for found, faces in counts["pdfs"]:
        pdf_floor(found, faces)
    for sheet in counts["svgs"]:
        svg_floor(sheet)
    from openpyxl import Workbook
    book = Workbook()
    for rows, columns in counts["cells"]:
        sheet = book.create_sheet()
        for _ in range(rows):
            sheet.append(["1.000"] * columns)
    book.save(io.BytesIO())


def dxf_floor(counts: dict[str, int], vertices: int) -> None:
    """Write the entities of a DXF, and read it once."""
    import ezdxf
    doc = ezdxf.new("R2010")
    space = doc.modelspace()
    block = doc.blocks.new("P")
    for tag in "ABCDE":
        block.add_attdef(tag, (0, 0))
    corners = max(2, round(vertices / max(1, counts.get("LWPOLYLINE", 1))))
    ring = [(float(k), float(k % 2), 0.4) for k in range(corners)]
    add = {"LINE": lambda: space.add_line((0, 0), (1, 1)), "CIRCLE": lambda: space.add_circle((0, 0), 1),
           "ARC": lambda: space.add_arc((0, 0), 1, 0, 90), "TEXT": lambda: space.add_text("1.00"),
           "MTEXT": lambda: space.add_mtext("1.00"), "POINT": lambda: space.add_point((0, 0)),
           "ELLIPSE": lambda: space.add_ellipse((0, 0), (2, 0), 0.5),
           "LWPOLYLINE": lambda: space.add_lwpolyline(ring, format="xyb"),
           "INSERT": lambda: space.add_blockref("P", (0, 0)).add_auto_attribs(dict.fromkeys("ABCDE", "1")),
           "HATCH": lambda: space.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1), (0, 1)]),
           "DIMENSION": lambda: space.add_linear_dim((0, 1), (0, 0), (1, 0)).render()}
    for kind in PLAIN:
        for _ in range(counts.get(kind, 0)):
            add[kind]()
    stream = io.StringIO()
    doc.write(stream)
    stream.seek(0)
    ezdxf.read(stream)


def pdf_floor(found: list[dict[str, int]], faces: int) -> None:
    """Draw as many steps, strokes, fills and words, in as many typefaces."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas
    files = sorted((ROOT / "templates" / "fonts").glob("*.ttf"))[:faces]
    for file in files:
        pdfmetrics.registerFont(TTFont(file.stem, str(file)))
    canvas = Canvas(io.BytesIO(), invariant=1, pageCompression=1)
    for page in found:
        drawn = max(1, page["S"] + page["f"])
        moves, lines, curves = (round(page[op] / drawn) for op in ("m", "l", "c"))
        for k in range(drawn):
            path = canvas.beginPath()
            for _ in range(max(1, moves)):
                path.moveTo(1.234, 2.345)
            for _ in range(lines):
                path.lineTo(1.234, 2.345)
            for _ in range(curves):
                path.curveTo(1.234, 2.345, 3.456, 4.567, 5.678, 6.789)
            canvas.drawPath(path, stroke=int(k < page["S"]), fill=int(k >= page["S"]))
        for k, file in enumerate(files):
            canvas.setFont(file.stem, 8)
            for _ in range(page["Tj"] * k // faces, page["Tj"] * (k + 1) // faces):
                canvas.drawString(1.0, 2.0, "X101 1.000")
        canvas.showPage()
    canvas.save()


def svg_floor(elements: list[list[str]]) -> None:
    """Write as many elements with the same path data and words."""
    import svgwrite
    drawing = svgwrite.Drawing(debug=False)
    for tag, steps, words in elements:
        if tag == "path":
            drawing.add(drawing.path(d=steps))
        elif tag == "text":
            drawing.add(drawing.text(words, insert=(1.0, 2.0)))
        elif tag == "g":
            drawing.add(drawing.g())
        elif tag == "title":
            drawing.add(svgwrite.base.Title(words))
    drawing.tostring()


def main() -> None:
    """Print the cost of both, and their ratio."""
    if len(sys.argv) > 2 and sys.argv[1] == "--floor":
        floor(json.loads(Path(sys.argv[2]).read_text("utf-8")))
        return
    name = sys.argv[1] if len(sys.argv) > 1 else "tannery-row"
    with tempfile.TemporaryDirectory() as scratch:
        folder, counts = Path(scratch) / "issue", Path(scratch) / "counts.json"
        model = ROOT / "demo" / f"{name}.yaml"
        ours = cpu([sys.executable, "-m", "pegbook", "issue", str(model), "--to", str(folder)], scratch)
        counts.write_text(json.dumps(counted(folder)), "utf-8")
        bare = cpu([sys.executable, __file__, "--floor", str(counts)], scratch)
        start = cpu([sys.executable, "-c", "import pegbook.drawings.issue"], scratch)
    print(f"{name}: issue {ours:.2f} s   floor {bare:.2f} s   ratio {ours / bare:.2f}   (imports alone {start:.2f} s)")
    from pegbook.work import few_collections
    with few_collections():         # as the command does
        parts(model)


def parts(model: Path) -> None:
    """Print where our time goes, CPU seconds in one warm process."""
    import time

    from pegbook.drawings import issue
    from pegbook.drawings.booklet import booklet
    from pegbook.drawings.compose import compose
    from pegbook.drawings.dxf import dxf_bytes
    from pegbook.drawings.gates import told
    from pegbook.drawings.html import page
    from pegbook.drawings.pdf import pdf_bytes
    from pegbook.drawings.reread import reread
    from pegbook.drawings.svg import svg_text
    from pegbook.geometry.model.garden import loads
    from pegbook.geometry.setout import set_out
    said = []

    def timed(what: str, call: Any) -> Any:
        start = time.process_time()
        value = call()
        said.append((what, time.process_time() - start))
        return value

    garden = timed("reading the model", lambda: loads(model.read_text("utf-8"), model.name))
    work = timed("setting out, quantities, planting", lambda: set_out(garden))
    written = timed("tables", lambda: issue.tables(work))
    timed("proof", lambda: issue.proved(work, written))
    sheets = timed("sheets and their labels", lambda: compose(work, style=garden.sheets.style))
    data = timed("dxf", lambda: dxf_bytes(sheets))
    timed("dxf read again", lambda: reread(data, sheets))
    timed("pdf of the sheets", lambda: pdf_bytes(sheets))
    timed("svg", lambda: [svg_text(sheet) for sheet in sheets.sheets])
    words = timed("pegging in words", lambda: told(work))
    book = timed("booklet", lambda: booklet(work, words))
    timed("pdf of the booklet", lambda: pdf_bytes(book))
    timed("phone page", lambda: page(work, words))
    for what, seconds in said:
        print(f"  {what:36s} {seconds:6.2f} s")


if __name__ == "__main__":
    main()
