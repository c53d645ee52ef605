"""DXF: one file for a contractor's own drawing program: the garden at 1:1, and a layout for each sheet.

Takes: a SheetSet. Gives: bytes, the same for the same sheets. The only module that imports the DXF library.
Marks that stand for something in the garden (`Ground`) are written once, in true size, on the layer of
their role; what belongs to the paper is written in the layout. Pegs are inserts of one block with
attributes; dimensions are real ones whose picture is the one on the other formats.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from ..geometry.errors import DrawingError, refuse
from .dxf_book import UNITS, Book
from .dxf_paper import write_layout
from .dxf_plan import write_plan
from .lettering import FACES, plain
from .sheet import SheetSet
from .style import Style, house_style

VERSIONS = ("R12", "R2000", "R2010", "R2018")
LOSSES = {
    "R12": ("Only the setting-out plan has a layout; the other sheets are in the PDF.",
            "Hatches are drawn as single lines and dots, ellipses as arcs.",
            "Line weights, true colours and the drawing unit are lost.",
            "Letters outside Western European are replaced."),
    "R2000": ("Tints and white grounds are left out, for there are no true colours.",
              "Letters outside Western European are replaced."),
}
"""What a version cannot hold, in sentences for people."""

_FAMILY = {"regular": ("arial.ttf", False, False), "bold": ("arialbd.ttf", True, False),
           "italic": ("ariali.ttf", False, True)}


def losses(version: str) -> tuple[str, ...]:
    """Return what a DXF of this version cannot hold, in sentences; none for R2010 and R2018."""
    return LOSSES.get(version, ())


def dxf_bytes(sheets: SheetSet, version: str = "R2010", units: str = "m", style: Style | None = None,
              text: bool = True) -> bytes:
    """Return the DXF of all sheets; DrawingError for a version, unit, role, layer or character that does not exist.

    `text` off makes every entity by the library: the same bytes, later.
    """
    if version not in VERSIONS:
        raise refuse(DrawingError, f"a DXF of version '{version}'", f"use one of {', '.join(VERSIONS)}", "no-version")
    if units not in UNITS:
        raise refuse(DrawingError, f"a DXF in '{units}'", f"use one of {', '.join(UNITS)}", "no-unit")
    import ezdxf
    code, factor = UNITS[units]
    with _fixed_metadata():
        doc = ezdxf.new(version, units=0 if version == "R12" else code)  # type: ignore[attr-defined]
        book = Book.of(doc, sheets, version, factor, style or house_style(), text)
        _prepare(book, sheets)
        used = write_plan(book, sheets)
        for number in [_plan_of(sheets)] if version == "R12" else range(len(sheets.sheets)):
            write_layout(book, sheets.sheets[number], number, used)
        _look_in_windows(book)
        _finish(book)
        return _encoded(doc, version)


def _plan_of(sheets: SheetSet) -> int:
    """Return the place of the one sheet that the oldest version has room for: the setting-out plan, else a plan."""
    order = ("setting out", *(s.name for s in sheets.sheets if any(v.plan for v in s.views)))
    return next((k for name in order for k, s in enumerate(sheets.sheets) if s.name == name), 0)


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    """Let the library write fixed dates and identifiers, without remarks, for as long as the block lasts."""
    from ezdxf._options import options
    logger = logging.getLogger("ezdxf")
    before, level = options.write_fixed_meta_data_for_testing, logger.level
    options.write_fixed_meta_data_for_testing = True
    logger.setLevel(logging.ERROR)      # R12 holds no unit: `losses` says so
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
        logger.setLevel(level)


def _prepare(book: Book, sheets: SheetSet) -> None:
    doc = book.doc
    doc.header["$MEASUREMENT"] = 1
    doc.header["$LUPREC"] = 3
    doc.header["$LTSCALE"] = 1.0
    doc.header["$PSLTSCALE"] = 0
    if not book.old:
        doc.header.custom_vars.append("Title", plain(sheets.title, 240))
        doc.header.custom_vars.append("Author", plain(sheets.author, 240))
    doc.appids.add(book.APPLICATION)
    for name in ("regular", "bold", "italic"):
        assert name in FACES
        font, bold, italic = _FAMILY[name]
        entry = doc.styles.add(book.text_style(name), font=font)
        if not book.old:
            entry.set_extended_font_data("Arial", italic=italic, bold=bold)
    _dimension_style(book)


def _dimension_style(book: Book) -> None:
    """Make the one dimension style: every variable that shows is set, for unset ones fall back to inches and commas."""
    entry = book.doc.dimstyles.new(book.DIMENSIONS)
    values = {"dimtxsty": book.text_style("regular"), "dimtxt": 2.5, "dimasz": 2.5, "dimexo": 1.5, "dimexe": 2.0,
              "dimgap": 0.9, "dimdec": 2, "dimdsep": 46, "dimlfac": 1.0, "dimscale": book.paper_to_model, "dimtad": 1,
              "dimzin": 0, "dimtih": 0, "dimtoh": 0, "dimrnd": 0.0, "dimlunit": 2, "dimtsz": 1.375, "dimdle": 0.0,
              "dimclrd": 256, "dimclre": 256, "dimclrt": 256, "dimlwd": -1, "dimlwe": -1, "dimadec": 1, "dimaunit": 0}
    young = {"dimtxsty", "dimdec", "dimdsep", "dimlunit", "dimlwd", "dimlwe", "dimadec", "dimaunit"}
    for name, value in values.items():
        if not (book.old and name in young):
            entry.dxf.set(name, value)
    book.doc.header["$DIMSTYLE"] = book.DIMENSIONS


def _look_in_windows(book: Book) -> None:
    """Let layers look in windows as their sheets draw them: the PDF and a plot of the layout are to agree."""
    for name, windows in sorted(book.in_windows.items()):
        layer = book.doc.layers.get(name)
        own = layer.get_vp_overrides()
        for window, weight in windows.items():
            if layer.dxf.color != BLACK:
                own.set_color(window, BLACK)
            if weight not in {None, layer.dxf.lineweight}:
                own.set_lineweight(window, weight)
        own.commit()


BLACK = 7
"""The index colour that prints black."""


def _finish(book: Book) -> None:
    """Set extents and the first view, and settle the order of what the library keeps in sets."""
    doc, box = book.doc, book.extents()
    doc.header["$EXTMIN"], doc.header["$EXTMAX"] = (box.x0, box.y0, 0.0), (box.x1, box.y1, 0.0)
    middle = (round(box.centre.x, 6), round(box.centre.y, 6))
    doc.set_modelspace_vport(height=round(max(box.height, box.width / 1.5, 1e-3) * 1.1, 6), center=middle)
    msp = doc.modelspace()
    msp.dxf.extmin, msp.dxf.extmax = (box.x0, box.y0, 0.0), (box.x1, box.y1, 0.0)
    if not book.old:
        from ezdxf.sections.classes import REQUIRED_CLASSES
        wanted = doc.entitydb.dxf_types_in_use() | set(REQUIRED_CLASSES.get(doc.dxfversion, ()))
        for name in sorted(wanted):
            doc.classes.add_class(name)


def _encoded(doc: Any, version: str) -> bytes:
    stream = io.StringIO(newline="\n")
    doc.write(stream)
    return stream.getvalue().encode("utf-8" if version in {"R2010", "R2018"} else "cp1252", errors="strict")


__all__ = ["LOSSES", "UNITS", "VERSIONS", "dxf_bytes", "losses"]
