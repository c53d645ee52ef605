"""Line widths, layer names and DXF codes against published figures (drawing_lines.yaml names the source of each)."""

from __future__ import annotations

import io
import math
import re
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import yaml

from pegbook.drawings.dxf import VERSIONS, dxf_bytes
from pegbook.drawings.dxf_shapes import Plotter
from pegbook.drawings.sheet import SheetSet
from pegbook.drawings.style import house_style
from pegbook.geometry.kernel.path import Path as Line
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc
from support.sheets import sheet_set

CASES: Any = yaml.safe_load((Path(__file__).parent / "drawing_lines.yaml").read_text(encoding="utf-8"))
STYLE = house_style()
PLAN = SheetSet(title="t", author="a", subject="s", sheets=sheet_set().sheets[:1])


def test_pens_are_groups_of_the_standard_with_a_texture_pen() -> None:
    rows = [[r["thin"], r["edge"], r["cut"], r["mark"]] for r in STYLE.pen_rows]
    assert rows == CASES["width_ratio"]["groups"]


def test_every_pen_is_a_weight_that_the_dxf_has() -> None:
    assert {round(w * 100) for row in STYLE.pen_rows for w in row.values()} <= set(CASES["lineweights"]["allowed"])


@pytest.mark.parametrize(("degrees", "bulge"), CASES["bulges"]["degrees"].items())
@pytest.mark.parametrize("turn", [1, -1])
def test_bulges(degrees: float, bulge: float, turn: int) -> None:
    arc = Arc.swung(Point(3, 4), 2.5, 0.3, turn * math.radians(degrees))
    vertices = Plotter.on(None, 1.0, text=False).vertices(Line((arc,)).segments, closed=False)
    assert [v[2] for v in vertices] == pytest.approx([turn * bulge, 0.0], abs=5e-9)


def test_arcs_beyond_a_quarter_turn_are_split() -> None:
    vertices = Plotter.on(None, 1.0, text=False).vertices((Arc.swung(Point(0, 0), 1, 0, 1.9 * math.pi),), closed=False)
    assert len(vertices) == 5
    assert max(v[2] for v in vertices) <= 0.41421357


@pytest.mark.parametrize("role", list(STYLE.roles))
@pytest.mark.parametrize("status", ["proposed", "existing", "remove"])
def test_layer_names_have_the_fields_of_the_standard(role: str, status: str) -> None:
    rule = CASES["layer_fields"]
    for sheets in ((), ("12",), ("01", "01P", "02", "03", "04")):
        name = STYLE.layer(role, status, sheets=sheets).name
        part = {field: name[at:at + length] for field, (at, length) in rule["fields"].items()}
        assert re.fullmatch(rule["characters"], name)
        assert part["agent"] == rule["agent"]
        assert part["presentation"][0] in rule["presentations"]
        assert part["status"] == rule["status"][status]
        assert len(part["element"]) == 6
        assert part["element"][:3] in CASES["external_works"]["groups"] or part["element"].startswith("900")
        assert re.fullmatch(CASES["names_r12"]["pattern"], name)


def test_units_and_versions_of_the_file() -> None:
    for unit, code in CASES["units"]["codes"].items():
        doc = ezdxf.read(io.StringIO(dxf_bytes(PLAN, "R2010", unit).decode()))
        assert doc.header["$INSUNITS"] == code
    for version in VERSIONS:
        head = dxf_bytes(PLAN, version)[:120].decode("ascii", "replace")
        assert CASES["versions"]["codes"][version] in head
