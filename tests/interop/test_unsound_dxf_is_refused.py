"""A DXF that is not sound in itself is refused when it is read again, whatever is wrong with it.

The faults are those that the published DXF reference forbids; several are ones that the DXF library's own audit lets
pass (undefined layers, figures that are none, radii of nothing, polylines without corners).
"""

from __future__ import annotations

import io
import re

import ezdxf
import pytest

from pegbook.drawings.dxf import dxf_bytes
from pegbook.drawings.dxf_groups import grouped
from pegbook.drawings.dxf_sound import faults
from pegbook.drawings.reread import reread
from pegbook.geometry.errors import DrawingError
from support.sheets import sheet_set

SHEETS = sheet_set()
GOOD = dxf_bytes(SHEETS).decode()

FAULTS = {
    "a figure that is none": (r"(AcDbLine\n 10\n)[^\n]+", r"\1nan"),
    "a figure without bounds": (r"(AcDbLine\n 10\n)[^\n]+", r"\1inf"),
    "words for a figure": (r"(AcDbLine\n 10\n)[^\n]+", r"\1far"),
    "words for a whole number": (r"(AcDbPolyline\n 90\n)\d+", r"\1four"),
    "an undefined layer": (r"(AcDbEntity\n(?: 67\n1\n)?  8\n)[^\n]+", r"\1NOWHERE"),
    "an undefined line type": (r"(AcDbEntity\n(?: 67\n1\n)?  8\n[^\n]+\n  6\n)[^\n]+", r"\1NOWHERE"),
    "an undefined text style": (r"(AcDbText\n(?:[^\n]*\n){10}  7\n)[^\n]+", r"\1NOWHERE"),
    "an undefined dimension style": (r"(AcDbDimension\n(?:[^\n]*\n){4}  3\n)PEGBOOK", r"\1NOWHERE"),
    "a block that is not there": (r"(AcDbBlockReference\n 66\n1\n  2\n)PEG", r"\1GONE"),
    "a dimension without its picture": (r"(AcDbDimension\n280\n0\n  2\n)\*D1", r"\1*D999"),
    "a handle that stands twice": (r"(\nLINE\n  5\n)[0-9A-F]+", r"\g<1>1"),
    "a handle above the next": (r"(\nLINE\n  5\n)[0-9A-F]+", r"\g<1>FFFFFF"),
    "an owner that is not there": (r"(\nLINE\n  5\n[0-9A-F]+\n330\n)[0-9A-F]+", r"\g<1>EEEEEE"),
    "a circle of no radius": (r"(AcDbCircle\n(?:[^\n]*\n){6} 40\n)[^\n]+", r"\g<1>0.0"),
    "lettering of no height": (r"(AcDbText\n(?:[^\n]*\n){6} 40\n)[^\n]+", r"\g<1>0.0"),
    "a polyline short of a corner": (r"(AcDbPolyline\n 90\n)4(\n 70\n1\n 10\n[^\n]*\n 20\n[^\n]*\n)", r"\g<1>5\2"),
    "an area without its edges": (r"(AcDbHatch\n(?:[^\n]*\n)*? 91\n)1", r"\g<1>2"),
    "a spline": (r"\nLINE\n  5\n", "\nSPLINE\n  5\n"),
    "a control character": (r"(AcDbText\n(?:[^\n]*\n){8}  1\n)", "\\1\x07"),
    "a code that is none": (r"\n 40\n", "\n 4x\n"),
    "an end cut off": (r"  0\nEOF\n$", ""),
    "half a group": (r"EOF\n$", "EOF\n  9\n"),
    "a section left open": (r"  0\nENDSEC\n  0\nSECTION\n  2\nOBJECTS", "  0\nSECTION\n  2\nOBJECTS"),
}


def test_what_is_written_is_sound() -> None:
    for version in ("R12", "R2000", "R2010", "R2018"):
        assert list(faults(grouped(dxf_bytes(SHEETS, version)))) == []


@pytest.mark.parametrize("name", FAULTS)
def test_every_fault_is_refused(name: str) -> None:
    find, instead = FAULTS[name]
    changed = re.sub(find, instead, GOOD, count=1, flags=re.DOTALL if "$" in find else re.NOFLAG)
    assert changed != GOOD
    with pytest.raises(DrawingError, match="read again"):
        reread(changed.encode(), SHEETS)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010", "R2018"])
def test_the_librarys_own_audit_finds_nothing_either(version: str) -> None:
    young = version in {"R2010", "R2018"}
    doc = ezdxf.read(io.StringIO(dxf_bytes(SHEETS, version).decode("utf-8" if young else "cp1252")))
    audit = doc.audit()
    assert [e.message for e in (*audit.errors, *audit.fixes)] == []
