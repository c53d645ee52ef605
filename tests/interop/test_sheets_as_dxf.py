"""The DXF, read by a second code base (GDAL through pyogrio) and read back by ours."""

from __future__ import annotations

import math
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from pegbook.drawings.dxf import VERSIONS, dxf_bytes, losses
from pegbook.drawings.reread import reread
from pegbook.drawings.sheet import Dimension, Ground, PegSign, SheetSet, Stroke, Text
from pegbook.geometry.errors import DrawingError
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.point import Point
from support.sheets import garden, outlines, sheet_of, sheet_set

pyogrio = pytest.importorskip("pyogrio", reason="the GDAL reader pyogrio is not installed: left out")
PLAN_ONLY = SheetSet(title="Thistle Row", author="R. Fenn", subject="drawings", sheets=sheet_set().sheets[:2])


@pytest.fixture(scope="module", params=VERSIONS)
def written(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, bytes, Path]:
    version = str(request.param)
    data = dxf_bytes(PLAN_ONLY, version)
    path = tmp_path_factory.mktemp("dxf") / f"{version}.dxf"
    path.write_bytes(data)
    return version, data, path


def gdal(path: Path, version: str, inline: bool = True, layer: str = "entities") -> list[dict[str, object]]:
    """What GDAL reads: one dictionary a feature, geometry as shapely."""
    import shapely
    options = {"OGR_ARC_STEPSIZE": "0.1", "DXF_INLINE_BLOCKS": "TRUE" if inline else "FALSE",
               "DXF_CLOSED_LINE_AS_POLYGON": "TRUE", "DXF_INCLUDE_RAW_CODE_VALUES": "TRUE",
               "DXF_ENCODING": "UTF-8" if version in {"R2010", "R2018"} else None}
    pyogrio.set_gdal_config_options(options)
    try:
        meta, _, shapes, fields = pyogrio.raw.read(path, layer=layer)
    finally:
        pyogrio.set_gdal_config_options(dict.fromkeys(options))
    names = list(meta["fields"])
    return [{"shape": shapely.from_wkb(s), **{n: f[k] for n, f in zip(names, fields, strict=True)}}
            for k, s in enumerate(shapes)]


def on(features: list[dict[str, object]], layer: str, kind: str) -> list[object]:
    return [f["shape"] for f in features if f["Layer"] == layer and kind in str(f.get("SubClasses") or kind)
            and f["PaperSpace"] != 1]


def area_within(shape: object) -> float:
    """GDAL gives circles and ellipses as closed lines, closed polylines as polygons."""
    import shapely
    if isinstance(shape, shapely.LineString) and shape.is_closed:
        return float(shapely.Polygon(shape).area)
    return float(shapely.area(shape))


def test_written_twice_is_written_the_same(written: tuple[str, bytes, Path]) -> None:
    version, data, _ = written
    assert dxf_bytes(PLAN_ONLY, version) == data


def test_another_hash_seed_gives_the_same_bytes() -> None:
    code = ("import sys, hashlib; sys.path.insert(0, 'tests'); from support.sheets import sheet_set; "
            "from pegbook.drawings.dxf import dxf_bytes; from pegbook.drawings.pdf import pdf_bytes; "
            "from pegbook.drawings.svg import svg_text; from pegbook.drawings.sheet import SheetSet; s = sheet_set(); "
            "s = SheetSet(title=s.title, author=s.author, subject=s.subject, sheets=s.sheets[:2]); "
            "print(hashlib.sha256(dxf_bytes(s) + dxf_bytes(s, 'R2000') + pdf_bytes(s) + svg_text(s.sheets[0]).encode())"
            ".hexdigest())")
    root = Path(__file__).resolve().parents[2]
    found = {subprocess.run([sys.executable, "-c", code], cwd=root, check=True, capture_output=True, text=True,
                            env={**os.environ, "PYTHONHASHSEED": seed}).stdout for seed in ("0", "4711")}
    assert len(found) == 1


@pytest.mark.parametrize("units", ["m", "mm"])
def test_read_again_it_agrees_with_the_garden(written: tuple[str, bytes, Path], units: str) -> None:
    version, data, _ = written
    reread(data if units == "m" else dxf_bytes(PLAN_ONLY, version, units), PLAN_ONLY, units)


def test_areas_are_those_of_the_garden(written: tuple[str, bytes, Path]) -> None:
    version, _, path = written
    features = gdal(path, version)
    for layer, name in (("L-9081--E-N", "lawn"), ("L-9042--E-N", "bay"), ("L-9088--E-N", "pond"),
                        ("L-9082--E-N", "bed"), ("L-9033--E-E", "wall")):
        shape = outlines()[name].shape
        assert isinstance(shape, Region)
        areas = [area_within(s) for s in on(features, layer, "")]
        ring = shape.outer.ellipse
        expected = math.pi * ring.half_length * ring.half_width if ring and version != "R12" else shape.area
        assert min(abs(a - expected) for a in areas) < 2e-4 * max(1.0, expected), (name, areas)


@pytest.mark.parametrize("written", [v for v in VERSIONS if v != "R12"], indirect=True)
def test_hatches_have_true_edges(written: tuple[str, bytes, Path]) -> None:
    version, _, path = written
    features = gdal(path, version)
    for layer, name in (("L-9081--H-N", "lawn"), ("L-9042--H-N", "bay"), ("L-9088--H-N", "pond")):
        shape = outlines()[name].shape
        assert isinstance(shape, Region)
        (found,) = on(features, layer, "Hatch")
        assert found.area == pytest.approx(shape.area, rel=1e-4)  # type: ignore[attr-defined]
    raw = path.read_text(encoding="utf-8" if version != "R2000" else "cp1252")
    assert "TURF" in raw
    assert "BRICK_CUT" in raw


@pytest.mark.parametrize("written", ["R12"], indirect=True)
def test_in_the_oldest_form_hatches_are_lines_inside_their_edges(written: tuple[str, bytes, Path]) -> None:
    version, _, path = written
    features = gdal(path, version)
    assert not any("Hatch" in str(f.get("SubClasses")) for f in features)
    shape = outlines()["lawn"].shape
    assert isinstance(shape, Region)
    drawn = [s for s in on(features, "L-9081--H-N", "") if s.length > 0]      # type: ignore[attr-defined]
    assert len(drawn) > 10
    box = shape.outer.box
    for piece in drawn:
        x0, y0, x1, y1 = piece.bounds                                         # type: ignore[attr-defined]
        assert box.x0 - 1e-3 <= x0 <= x1 <= box.x1 + 1e-3
        assert box.y0 - 1e-3 <= y0 <= y1 <= box.y1 + 1e-3


def test_pegs_carry_their_figures(written: tuple[str, bytes, Path]) -> None:
    version, _, path = written
    features = gdal(path, version, inline=False)
    pegs = {p.number: p for p in garden() if isinstance(p, PegSign)}
    found = {}
    for f in features:
        if f.get("BlockName") == "PEG":
            values = dict(str(a).split(" ", 1) for a in f["BlockAttributes"] if " " in str(a))  # type: ignore[union-attr]
            found[values["NUMBER"]] = (f["shape"], values)
    assert set(found) == set(pegs)
    for number, (at, values) in found.items():
        assert (at.x, at.y) == pytest.approx((pegs[number].at.x, pegs[number].at.y), abs=1e-6)
        assert (values["X"], values["Y"]) == (f"{pegs[number].at.x:.3f}", f"{pegs[number].at.y:.3f}")
    assert found["A"][1]["LEVEL"] == "9.940"


def test_dimensions_show_their_figures_in_any_reader(written: tuple[str, bytes, Path]) -> None:
    version, _, path = written
    texts = {str(f["Text"]) for f in gdal(path, version) if f["Text"] and "9" in str(f["Layer"])}
    wanted = {d.figure for d in garden() if isinstance(d, Dimension) and d.view == "plan"}
    assert wanted <= {t.replace("⌀", "Ø") for t in texts}


def test_names_of_layers_are_plain_and_all_known(written: tuple[str, bytes, Path]) -> None:
    version, data, path = written
    names = {str(f["Layer"]) for f in gdal(path, version)} - {"Defpoints"}
    assert all(re.fullmatch(r"L-[A-Z0-9_-]{6}[A-Z][A-Z0-9-][A-Z-][0-9-]{0,20}", n) for n in names), names
    assert b"\nVIEWPORTS\n" not in data


def test_words_arrive_as_written(written: tuple[str, bytes, Path]) -> None:
    version, _, path = written
    texts = {str(f["Text"]) for f in gdal(path, version)}
    exact = "Lawn, 24.3 m² – “round” end"
    assert (exact if version in {"R2010", "R2018"} else 'Lawn, 24.3 m² - "round" end') in texts


def test_no_bulge_is_above_a_quarter_turn(written: tuple[str, bytes, Path]) -> None:
    _, data, _ = written
    lines = data.decode("cp1252", "replace").splitlines()
    bulges = [float(b) for a, b in zip(lines[::2], lines[1::2], strict=False) if a.strip() == "42" and "." in b]
    assert bulges
    assert max(abs(b) for b in bulges if abs(b) <= 1.0) <= 1.0


def test_what_a_version_loses_is_said() -> None:
    assert losses("R2010") == ()
    assert len(losses("R12")) > 2


HOSTILE = (
    "a\nb\r\nc", "\0nul", "50 %%d %%u", "\\U+0041 \\P", "{\\fArial|b1;x}", "^J ^ ", "<&>\"'`", "]]>", "\u202ertl",
           "x" * 3000, "  ", "L-9081;*?=|,", "é\u0301\ufffe", "\ud800", "0\nENDSEC\n0\nEOF")


@pytest.mark.parametrize("version", VERSIONS)
def test_hostile_words_stay_words(version: str, tmp_path: Path) -> None:
    loop = Loop.circle(Point(3, 3), 1)
    marks = tuple(m for k, words in enumerate(HOSTILE) for m in (
        Text(layer="labels", at=Point(100, 20 + 5 * k), words=words),
        Stroke(layer="edges", path=Loop.circle(Point(100, 100), 10 + k), pen="edge",
               ground=Ground(shape=Loop.circle(Point(3, 3), 1 + k / 10), role="turf", element=words, kind=words))))
    sheets = SheetSet(title=HOSTILE[0], author=HOSTILE[1], subject=HOSTILE[2],
                      sheets=(sheet_of(marks, views=sheet_set().sheets[1].views),))
    data = dxf_bytes(sheets, version)
    reread(data, sheets)
    path = tmp_path / "hostile.dxf"
    path.write_bytes(data)
    features = gdal(path, version)
    assert len([f for f in features if f["Layer"] == "L-9081--E-N"]) == len(HOSTILE)
    assert loop.area > 0


def test_a_file_that_was_changed_is_refused() -> None:
    data = dxf_bytes(PLAN_ONLY).decode()
    r = next(re.finditer(r"\nAcDbCircle\n(?:.*\n){6} 40\n(0\.9)\n", data))
    for changed in (data[:r.start(1)] + "0.91" + data[r.end(1):], data.replace("\nX101\n", "\nX102\n"),
                    data.replace("\nL-9033--E-E\n", "\nL-9032--E-N\n"), data.replace("\n5.000\n", "\n5.010\n")):
        assert changed != data
        with pytest.raises(DrawingError, match="read again"):
            reread(changed.encode(), PLAN_ONLY)


@pytest.mark.parametrize(("version", "units"), [("R9", "m"), ("R2010", "ft")])
def test_unknown_versions_and_units_are_refused(version: str, units: str) -> None:
    with pytest.raises(DrawingError):
        dxf_bytes(PLAN_ONLY, version, units)


def test_windows_are_at_true_scale_on_a_layer_that_does_not_print() -> None:
    import io

    import ezdxf
    doc = ezdxf.read(io.StringIO(dxf_bytes(PLAN_ONLY).decode()))
    for name in doc.layouts.names()[1:]:
        window = [v for v in doc.layouts.get(name).query("VIEWPORT") if v.dxf.id > 1]
        assert [round(v.get_scale(), 9) for v in window] == [20.0]       # 1:50 in metres and millimetres
        assert not doc.layers.get(window[0].dxf.layer).dxf.plot
        frozen = set(window[0].frozen_layers)
        assert "L-9002--G-N" in frozen
        assert "L-9081--E-N" not in frozen
    assert doc.header["$INSUNITS"] == 6
    assert doc.header["$MEASUREMENT"] == 1
    assert doc.header["$PSLTSCALE"] == 0
    assert doc.dimstyles.get("PEGBOOK").dxf.dimlfac == 1.0
    assert doc.dimstyles.get("PEGBOOK").dxf.dimdsep == 46
