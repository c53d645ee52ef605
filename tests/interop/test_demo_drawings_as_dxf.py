"""The demo gardens' DXF as issued, opened by two other code bases: ezdxf's audit, and GDAL through pyogrio."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import ezdxf
import pytest
from ezdxf.math import bulge_to_arc

from pegbook.geometry.kernel.path import Loop
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc
from support.issued import DEMO, issued, rows, worked

pyogrio = pytest.importorskip("pyogrio", reason="the GDAL reader pyogrio is not installed: left out")

STATED = 1e-6
"""A radius or centre comes back within this, metres."""


@pytest.fixture(scope="module", params=DEMO)
def drawn(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    path = tmp_path_factory.mktemp("demo") / f"{request.param}.dxf"
    path.write_bytes(issued(str(request.param))["drawings.dxf"])
    return str(request.param), path


def read_by_gdal(path: Path, inline: bool = False) -> list[dict[str, object]]:
    """Return the features of model space, geometry as shapely; `inline` takes blocks apart."""
    import shapely
    options = {"OGR_ARC_STEPSIZE": "0.1", "DXF_INLINE_BLOCKS": "TRUE" if inline else "FALSE",
               "DXF_CLOSED_LINE_AS_POLYGON": "TRUE", "DXF_ENCODING": "UTF-8"}
    pyogrio.set_gdal_config_options(options)
    try:
        meta, _, shapes, fields = pyogrio.raw.read(path, layer="entities")
    finally:
        pyogrio.set_gdal_config_options(dict.fromkeys(options))
    found = [{"shape": shapely.from_wkb(s), **{n: f[k] for n, f in zip(meta["fields"], fields, strict=True)}}
             for k, s in enumerate(shapes)]
    return [feature for feature in found if feature["PaperSpace"] != 1]


def loops(name: str) -> list[Loop]:
    """Return the outlines of everything that is made or stands, as the garden has them."""
    return [ring for placed in worked(name).garden.elements for ring in placed.loops()]


def test_the_audit_finds_nothing(drawn: tuple[str, Path]) -> None:
    audit = ezdxf.readfile(drawn[1]).audit()
    assert [str(e) for e in (*audit.errors, *audit.fixes)] == []


def test_every_peg_is_a_block_where_the_table_says(drawn: tuple[str, Path]) -> None:
    name, path = drawn
    found = {}
    for feature in read_by_gdal(path):
        if feature["BlockName"] == "PEG":
            said = dict(str(text).split(" ", 1) for text in feature["BlockAttributes"])  # type: ignore[attr-defined]
            found[said["NUMBER"]] = (feature["shape"].x, feature["shape"].y)  # type: ignore[attr-defined]
    table = {row["peg"]: (float(row["x"]), float(row["y"])) for row in rows(name, "pegs.csv")}
    assert sorted(found) == sorted(table)
    for peg, (x, y) in table.items():
        assert found[peg] == pytest.approx((x, y), abs=0.0005 + 1e-9), peg     # the table has three decimals


def test_pegs_taken_apart_are_rings_and_numbers_at_their_places(drawn: tuple[str, Path]) -> None:
    name, path = drawn
    features = read_by_gdal(path, inline=True)
    table = rows(name, "pegs.csv")
    for layer, wanted in (("L-9001", True), ("L-9002", False)):
        own = [row for row in table if (row["purpose"] in {"control", "auxiliary"}) is wanted]
        here = [f for f in features if str(f["Layer"]).startswith(layer)]
        signs = [f["shape"].envelope.centroid for f in here if not f["Text"]]   # type: ignore[attr-defined]
        words = [(str(f["Text"]), f["shape"]) for f in here if f["Text"]]       # those that are not shown are read too
        for row in own:
            x, y = float(row["x"]), float(row["y"])
            assert any(math.hypot(sign.x - x, sign.y - y) < 0.001 for sign in signs), row["peg"]
            assert any(number == row["peg"] and math.hypot(spot.x - x, spot.y - y) < 0.5      # type: ignore[attr-defined]
                       for number, spot in words), row["peg"]


def test_nothing_lies_outside_the_extents(drawn: tuple[str, Path]) -> None:
    _, path = drawn
    head = ezdxf.readfile(path).header
    (x0, y0, _), (x1, y1, _) = head["$EXTMIN"], head["$EXTMAX"]
    for feature in read_by_gdal(path, inline=True):
        a, b, c, d = feature["shape"].bounds        # type: ignore[attr-defined]
        assert x0 - STATED <= a <= c <= x1 + STATED
        assert y0 - STATED <= b <= d <= y1 + STATED


def test_closed_outlines_have_the_areas_of_the_bill(drawn: tuple[str, Path]) -> None:
    """Rectangles, circles and curves of arcs; those of arcs lose to GDAL's chords of 0.1 degree."""
    import shapely
    name, path = drawn
    areas = []
    for feature in read_by_gdal(path):
        shape = feature["shape"]
        if "Hatch" in str(feature["SubClasses"]):
            continue
        if isinstance(shape, shapely.LineString) and shape.is_closed:
            shape = shapely.Polygon(shape)
        if isinstance(shape, shapely.Polygon):
            areas.append(shape.area)
    once = [placed for placed in worked(name).garden.elements if len(placed.loops()) == 1 and placed.area > 0.5
            and placed.kind in ("paving", "deck", "building", "pond", "path")]
    assert len(once) >= 4
    for placed in once:
        ring = placed.loops()[0]
        near = 0.0005 * ring.length if ring.ellipse is not None else 1e-4    # the bill takes an ellipse by its arcs
        assert any(math.isclose(area, placed.area, rel_tol=2e-6, abs_tol=near) for area in areas), placed.name


def test_gdal_finds_whole_circles_at_their_radius(drawn: tuple[str, Path]) -> None:
    import shapely
    name, path = drawn
    whole = [ring.segments[0] for ring in loops(name) if ring.is_circle]
    closed = [shapely.get_coordinates(f["shape"])[:, :2] for f in read_by_gdal(path)
              if f["shape"].geom_type in ("LineString", "Polygon")]  # type: ignore[attr-defined]
    assert whole
    for arc in whole:
        assert isinstance(arc, Arc)
        assert any(len(points) > 100 and all(abs(math.dist(p, (arc.centre.x, arc.centre.y)) - arc.radius) < STATED
                                             for p in points) for points in closed), arc


def arcs_of(path: Path) -> Iterator[tuple[float, float, float]]:
    """Yield centre and radius of every arc of model space: of bulges, arcs and circles."""
    for entity in ezdxf.readfile(path).modelspace():
        if entity.dxftype() in ("ARC", "CIRCLE"):
            yield (entity.dxf.center.x, entity.dxf.center.y, entity.dxf.radius)
        elif entity.dxftype() == "LWPOLYLINE":
            points = list(entity.get_points("xyb"))     # type: ignore[attr-defined]
            for (x0, y0, bulge), (x1, y1, _) in zip(points, points[1:] + points[:1], strict=True):
                if bulge:
                    centre, _, _, radius = bulge_to_arc((x0, y0), (x1, y1), bulge)
                    yield centre.x, centre.y, radius


def test_outlines_of_arcs_come_back_with_their_radii(drawn: tuple[str, Path]) -> None:
    name, path = drawn
    found = list(arcs_of(path))
    wanted = [s for ring in loops(name) if ring.ellipse is None for s in ring.segments if isinstance(s, Arc)]
    assert len(wanted) > 5
    for arc in wanted:
        near = [r for x, y, r in found if arc.centre.distance(Point(x, y)) < STATED and abs(r - arc.radius) < STATED]
        assert near, arc
