"""The DXF as somebody meets it who opens it in a drawing program of their own, point by point.

What is asked stands in the published DXF reference (units, extents, layers, windows, dimensions), in ISO 13567 (names
of layers) and in what offices ask of drawings that they set out from: only the lines to be set out on a layer of their
own, one thing a layer, everything by layer, flat, nothing twice, nothing of no length, live dimensions, north marked
(common practice, no source).
"""

from __future__ import annotations

import math
import re
from collections import Counter
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from ezdxf import bbox

from pegbook.drawings.compose import compose
from pegbook.drawings.dxf import VERSIONS, dxf_bytes
from pegbook.drawings.reread import reread
from pegbook.drawings.sheet import SheetSet
from pegbook.drawings.style import house_style
from pegbook.geometry.errors import DrawingError
from pegbook.geometry.kernel.path import Loop
from pegbook.geometry.kernel.path import Path as Line
from pegbook.geometry.model.garden import loads
from pegbook.geometry.setout import SettingOut, set_out
from support.drawing_file import (
    everything,
    figure_in_picture,
    heights,
    live_figure,
    opened,
    short_pieces,
    spaces,
    twin_key,
)
from support.issued import DEMO, STARTERS, worked

KINDS = Path(__file__).parents[1] / "drawn" / "every_kind.yaml"
QUICK = [("tannery-row", "R2010", "m"), ("quarry-end", "R2010", "mm"), ("town-yard-feet", "R2000", "m"),
         ("tannery-row", "R12", "mm")]
ALL = [(name, version, unit) for name in (*DEMO, *STARTERS, "every kind") for version in VERSIONS
       for unit in ("m", "mm")]
FILES = [*QUICK, *(pytest.param(*one, marks=pytest.mark.deep) for one in ALL if one not in QUICK)]
EACH = pytest.mark.parametrize(("name", "version", "unit"), FILES)
WHOLE = {"m": 1.0, "mm": 1000.0}
SET_OUT, NORTH, PEGS = "L-9006--G-N", "L-9007--G-N", ("L-9001--G-N", "L-9001--T-N", "L-9002--G-N", "L-9002--T-N")


@cache
def garden(name: str) -> SettingOut:
    return set_out(loads(KINDS.read_text("utf-8"), KINDS.name)) if name == "every kind" else worked(name)


@cache
def sheets(name: str) -> SheetSet:
    return compose(garden(name), style="both")


@cache
def drawing(name: str, version: str, unit: str) -> Any:
    return opened(dxf_bytes(sheets(name), version, unit), version)


def windows(doc: Any) -> list[tuple[str, Any]]:
    """Return the windows on the garden, each with its layout; the library's own main window is none."""
    return [(layout.name, window) for layout in doc.layouts for window in layout.query("VIEWPORT")
            if window.dxf.id > 1]


def measure_of(doc: Any, space: str, unit: str) -> float:
    """Return how long a metre is where a metre counts, and a millimetre on paper."""
    return 1.0 if space in doc.layouts.names() and space != "Model" else WHOLE[unit]


@EACH
def test_units_and_dashes_are_declared(name: str, version: str, unit: str) -> None:
    head = drawing(name, version, unit).header
    assert head["$LTSCALE"] == 1
    if version != "R12":                # the oldest form knows neither unit nor measurement
        assert head["$INSUNITS"] == {"m": 6, "mm": 4}[unit]
        assert head["$MEASUREMENT"] == 1
        assert head["$PSLTSCALE"] == 0                      # dashes have the lengths of the plan's scale


@EACH
def test_every_layer_is_named_described_and_used(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    used = {entity.dxf.layer for space, entity in everything(doc) if (space, entity.dxf.layer) != ("PEG", "0")}
    own = {layer.dxf.name: layer for layer in doc.layers if layer.dxf.name not in {"0", "Defpoints"}}
    assert used == set(own)             # so nothing lies on layer 0 but the lines of a block, which take their insert's
    for layer in own.values():          # ISO 13567: agent 2, element 6, presentation 2, status 1, then further fields
        assert re.fullmatch(r"L-[0-9-]{6}[A-Z][0-9-](?:[NER](?:-{9}[0-9P]{2,11})?|-)", layer.dxf.name)
        assert version == "R12" or layer.description


@EACH
def test_model_space_is_by_layer(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    for entity in doc.modelspace():
        dxf = entity.dxf
        assert dxf.get("linetype", "BYLAYER") == "BYLAYER", entity
        assert dxf.get("lineweight", -1) == -1, entity
        tint = entity.dxftype() == "HATCH" and dxf.layer[8:10] == "H1"          # a tint has the colour of its surface
        assert tint or (dxf.get("color", 256) == 256 and not dxf.hasattr("true_color")), entity


@EACH
def test_all_is_flat(name: str, version: str, unit: str) -> None:
    assert [str(e) for _, e in everything(drawing(name, version, unit)) if any(heights(e))] == []


@EACH
def test_every_piece_has_a_length_and_every_outline_is_closed(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    found = [(space, str(entity), words) for space, entity in everything(doc)
             for words in short_pieces(entity, measure_of(doc, space, unit))]
    assert found == []


@EACH
def test_nothing_stands_twice(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    for space, held in spaces(doc):
        count = Counter((e.dxf.layer, key) for e in held
                        if (key := twin_key(e, measure_of(doc, space, unit))) is not None)
        assert [key for key, times in count.items() if times > 1] == [], space


@EACH
def test_extents_hold_all_and_little_more(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    held = bbox.extents(doc.modelspace())
    low, high = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
    near, far = 0.01 * WHOLE[unit], 0.1 * WHOLE[unit]       # lettering is as wide as the reader's own font
    for k in (0, 1):
        assert -near <= held.extmin[k] - low[k] <= far
        assert -near <= high[k] - held.extmax[k] <= far
    for layout in doc.layouts:
        if layout.name != "Model" and version != "R12":
            assert layout.dxf.extmax[0] == pytest.approx(layout.dxf.paper_width)
            assert layout.dxf.extmax[1] == pytest.approx(layout.dxf.paper_height)


@EACH
def test_windows_are_true_and_their_figures_short(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    frames = windows(doc)
    assert frames if version == "R12" else {space for space, _ in frames} >= {"02-SETTING-OUT"}
    for _, window in frames:
        if version != "R12":            # which keeps the scale where this library does not read it: see below
            scale = window.dxf.view_height / WHOLE[unit] / window.dxf.height * 1000
            assert scale == pytest.approx(round(scale), rel=1e-8)
        for name_of in ("width", "height", "view_height"):
            assert len(repr(window.dxf.get(name_of)).partition(".")[2]) <= 9
        assert not doc.layers.get(window.dxf.layer).dxf.get("plot", 0)


def test_the_oldest_form_shows_the_setting_out_plan_at_its_scale() -> None:
    plan = next(sheet for sheet in sheets("tannery-row").sheets if sheet.name == "setting out")
    text = dxf_bytes(sheets("tannery-row"), "R12", "mm").decode("cp1252")
    shown = text[text.rindex("\nVIEWPORT\n"):].split("\n")
    pairs = list(zip(shown[2::2], shown[3::2], strict=False))
    high = float(next(value for code, value in pairs if code.strip() == "41"))
    seen = [float(value) for code, value in pairs if code.strip() == "1040"][1]     # after the twist: MVIEW of R11, R12
    assert seen / high == pytest.approx(plan.views[0].scale)
    with pytest.raises(DrawingError, match="a window at 1:"):
        reread(text.replace(f"\n1040\n{seen}\n", f"\n1040\n{seen * 2}\n").encode("cp1252"), sheets("tannery-row"), "mm")


def test_the_oldest_form_hides_in_its_window_what_the_others_hide() -> None:
    # DXF reference, release 12 (from memory): data of a VIEWPORT under "ACAD" end in a list of frozen layers, by name
    text = dxf_bytes(sheets("tannery-row"), "R12", "m").decode("cp1252")
    tags = text[text.rindex("\nMVIEW\n"):].split("\n")
    pairs = [(code.strip(), value) for code, value in zip(tags[2::2], tags[3::2], strict=False)]
    found = pairs[pairs.index(("1002", "{"), 1) + 1:]
    hidden = [value for _, value in found[:found.index(("1002", "}"))]]
    newer = drawing("tannery-row", "R2010", "m")
    (window,) = [w for name, w in windows(newer) if re.fullmatch("02-SETTING-OUT", name, re.IGNORECASE)]
    older = drawing("tannery-row", "R12", "m")
    assert set(hidden) == {name for name in window.frozen_layers if name in older.layers} != set()
    assert NORTH in hidden
    assert all(name in older.layers for name in hidden)


@EACH
def test_lettering_is_plain_and_its_style_is_there(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    styles = {style.dxf.name for style in doc.styles}
    for _, entity in everything(doc):
        if entity.dxftype() in {"TEXT", "ATTRIB", "ATTDEF"}:
            assert not re.search(r"[\x00-\x1f\x7f\\^{}]|%%", entity.dxf.text)
            assert entity.dxf.style in styles
            assert entity.dxf.height > 0


@EACH
def test_figures_of_live_dimensions_are_those_of_their_pictures(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    made = [e for _, e in everything(doc) if e.dxftype() == "DIMENSION"]
    assert made
    for dimension in made:
        shown = figure_in_picture(doc, dimension)
        if dimension.dxf.text != "<>":
            assert dimension.dxf.text in shown, shown               # feet and inches are written out
        elif version != "R12":          # the oldest form has no places of decimals
            assert live_figure(dimension) in shown, (live_figure(dimension), shown)


@pytest.mark.parametrize("name", [DEMO[1]])
def test_sizes_of_details_are_live(name: str) -> None:
    doc = drawing(name, "R2010", "m")
    held = {layout.name: len(layout.query("DIMENSION")) for layout in doc.layouts if "DETAILS" in layout.name}
    assert held
    assert all(held.values())
    live = [d.dxf.text == "<>" for space, d in everything(doc) if "DETAILS" in space and d.dxftype() == "DIMENSION"]
    assert sum(live) > 0.9 * len(live)          # a figure on a tie is written out, for readers round it both ways


@pytest.mark.parametrize("name", [DEMO[1]])
def test_windows_draw_layers_as_the_sheets_do(name: str) -> None:
    doc = drawing(name, "R2010", "m")
    (_, window) = next(pair for pair in windows(doc) if pair[0] == "01-LAYOUT")
    style, sheet = house_style(), next(s for s in sheets(name).sheets if s.name == "layout")
    weights = {pen: round(100 * wide) for pen, wide in style.pens(sheet.size, sheet.step).items()}
    for role, status, pen in (("building", "existing", "cut"), ("paving", "proposed", "edge"),
                              ("boundary", "proposed", "edge")):
        layer = doc.layers.get(style.layer(role, status).name)
        assert layer.get_vp_overrides().get_lineweight(window.dxf.handle) == weights[pen], role
    for layer in doc.layers:
        if layer.dxf.name not in window.frozen_layers and layer.dxf.name.endswith("E-N"):
            assert layer.get_vp_overrides().get_color(window.dxf.handle) == 7


@EACH
def test_the_lines_to_be_set_out_have_a_layer_of_their_own(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    wanted = {element: sum(_length(line) for line in lines) for element, lines in garden(name).pegs.outlines.items()}
    found: Counter[str] = Counter()
    for entity in doc.modelspace():
        if entity.dxf.layer == SET_OUT:
            tags = dict(str(tag.value).split(":", 1) for tag in entity.get_xdata("PEGBOOK"))
            found[tags["element"]] += _drawn_length(entity) / WHOLE[unit]       # type: ignore[assignment]
    assert set(found) == set(wanted)
    for element, length in wanted.items():
        assert found[element] == pytest.approx(length, rel=2e-3), element
    for space, window in windows(doc):
        if version != "R12" and re.search("LAYOUT|HARDSCAPE|PLANTING", space):
            assert SET_OUT in window.frozen_layers, space


def _length(line: Loop | Line) -> float:
    return line.length


def _drawn_length(entity: Any) -> float:
    from ezdxf.path import make_path
    points = list(make_path(entity).flattening(1e-3, 32))
    return sum(a.distance(b) for a, b in pairwise(points))


@EACH
def test_north_stands_in_model_space_and_is_hidden_in_windows(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    site = garden(name).garden.site
    lines = [e for e in doc.modelspace() if e.dxf.layer == NORTH and e.dxftype() == "LINE"]
    staff = max(lines, key=lambda e: e.dxf.start.distance(e.dxf.end))
    way = staff.dxf.end - staff.dxf.start
    north = math.pi / 2 + site.north                         # bearing of up the sheet, turned from up
    assert math.remainder(math.atan2(way.y, way.x) - north, math.tau) == pytest.approx(0, abs=1e-6)
    for _, window in windows(doc):
        assert version == "R12" or {NORTH, *PEGS} <= set(window.frozen_layers)


@EACH
def test_dashes_are_as_long_as_the_plan_asks(name: str, version: str, unit: str) -> None:
    doc = drawing(name, version, unit)
    plan = next(view for sheet in sheets(name).sheets for view in sheet.views if view.plan)
    style = house_style()
    layer = doc.layers.get(style.layer("boundary").name)
    lengths = [abs(tag.value) for tag in doc.linetypes.get(layer.dxf.linetype).pattern_tags.tags if tag.code == 49]
    wanted = [on_paper * plan.scale / 1000 * WHOLE[unit] for on_paper in style.dash("boundary")]
    assert lengths == pytest.approx(wanted)


def test_what_is_to_go_has_layers_of_its_own() -> None:
    doc = drawing("tannery-row", "R2010", "m")
    gone = {p.name for p in garden("tannery-row").garden.elements if p.status.value == "remove"}
    assert gone
    layers: dict[str, set[str]] = {}
    for entity in doc.modelspace():
        if entity.has_xdata("PEGBOOK"):
            tags = dict(str(tag.value).split(":", 1) for tag in entity.get_xdata("PEGBOOK"))
            layers.setdefault(tags.get("element", ""), set()).add(entity.dxf.layer[10:11])
    assert gone <= set(layers)
    assert {element for element, codes in layers.items() if "R" in codes} == gone
    assert all(layers[element] == {"R"} for element in gone)
