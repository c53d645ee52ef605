"""Reading the DXF back: what was written is compared with the garden before anybody digs by it.

Takes: the bytes and the sheets that they were made from. Gives: nothing if they agree, else DrawingError with
what differs. Areas, lengths and radii are worked out anew from the file's own figures.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ..geometry.errors import DrawingError, Problem
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc
from .dxf import UNITS, opened
from .dxf_dimensions import measured
from .dxf_shapes import lines_of
from .lettering import sanitised
from .sheet import Dimension, Ground, Group, Mark, PegSign, SheetSet, Stroke
from .style import Style, house_style

LENGTH = 1e-5
"""Lengths, radii and places may differ by this, metres: the file holds six decimals."""

AREA = 1e-5
"""Areas may differ by this share and, where small, by this many m2."""

OUTLINES = frozenset({"LWPOLYLINE", "POLYLINE", "CIRCLE", "ELLIPSE", "LINE", "ARC"})


@dataclass(frozen=True, slots=True)
class Edge:
    """What can be compared of a line: closed or not, area, length (nan where there is no plain one), radii, start."""

    closed: bool
    area: float
    length: float
    radii: tuple[float, ...]
    start: Point


def reread(data: bytes, sheets: SheetSet, units: str = "m", style: Style | None = None) -> None:
    """Compare a DXF with the sheets it was made from; DrawingError names everything that differs.

    `units` serves files that cannot say their own (R12).
    """
    doc = opened(data)
    style = style or house_style()
    code = doc.header.get("$INSUNITS", 0)
    factor = next((f for c, f in UNITS.values() if c == code), UNITS[units][1])
    wanted, pegs, dimensions = _wanted(sheets, style)
    faults = [*_audit(doc), *_outlines(doc, wanted, factor), *_pegs(doc, pegs, factor),
              *_dimensions(doc, dimensions, factor), *_layouts(doc, sheets, factor)]
    if faults:
        mend = "this is a fault of the program: report it with the model"
        raise DrawingError(*(Problem(f"the DXF read again: {f}", mend, "reread") for f in faults[:20]))


# ---------------------------------------------------------------- what there must be

def _wanted(sheets: SheetSet, style: Style) -> tuple[dict[str, list[Ground]], dict[str, PegSign], list[Dimension]]:
    grounds: dict[str, list[Ground]] = {}
    pegs: dict[str, PegSign] = {}
    dimensions: list[Dimension] = []
    seen: set[Hashable] = set()

    def walk(marks: Sequence[Mark]) -> None:
        for mark in marks:
            match mark:
                case PegSign():
                    pegs.setdefault(mark.number, mark)
                case Dimension():
                    dimensions.append(mark)
                case Stroke(ground=Ground(shape=shape) as g) | Group(ground=Ground(shape=shape) as g):
                    if g not in seen and not isinstance(shape, Point):
                        seen.add(g)
                        grounds.setdefault(style.layer(g.role, g.status).name, []).append(g)
                case Group():
                    walk(mark.marks)

    for sheet in sheets.sheets:
        walk(sheet.marks)
    return grounds, pegs, dimensions


def _edge_of(line: Path | Loop) -> Edge:
    radii = tuple(sorted({round(s.radius, 6) for s in line.segments if isinstance(s, Arc)}))
    start = line.segments[0].start
    if isinstance(line, Path):
        return Edge(False, 0.0, line.length, radii, start)
    if line.ellipse is not None:
        a, b = line.ellipse.half_length, line.ellipse.half_width
        return Edge(True, math.pi * a * b, math.nan, (a, b), line.ellipse.centre)
    return Edge(True, line.area, line.length, radii, line.segments[0].centre if line.is_circle and isinstance(
        line.segments[0], Arc) else start)


# ---------------------------------------------------------------- what there is

def _read(entity: Any, factor: float) -> Edge:
    kind, dxf = entity.dxftype(), entity.dxf
    if kind == "CIRCLE":
        r = dxf.radius / factor
        return Edge(True, math.pi * r * r, 2 * math.pi * r, (r,), _point(dxf.center, factor))
    if kind == "ELLIPSE":
        a = dxf.major_axis.magnitude / factor
        return Edge(True, math.pi * a * a * dxf.ratio, math.nan, (a, a * dxf.ratio), _point(dxf.center, factor))
    if kind == "LINE":
        a, b = _point(dxf.start, factor), _point(dxf.end, factor)
        return Edge(False, 0.0, a.distance(b), (), a)
    if kind == "ARC":
        r = dxf.radius / factor
        turn = math.radians((dxf.end_angle - dxf.start_angle) % 360)
        return Edge(False, 0.0, r * turn, (r,), _point(entity.start_point, factor))
    if kind == "LWPOLYLINE":
        return _bulged([(x / factor, y / factor, b) for x, y, b in entity.get_points("xyb")], entity.closed)
    return _bulged([(v.dxf.location.x / factor, v.dxf.location.y / factor, v.dxf.get("bulge", 0.0))
                    for v in entity.vertices], entity.is_closed)


def _point(v: Any, factor: float) -> Point:
    return Point(v.x / factor, v.y / factor)


def _bulged(vertices: list[tuple[float, float, float]], closed: bool) -> Edge:
    """Work out area, length and radii of a polyline from its bulges b: the turn of a piece is 4 atan b."""
    twice, length, radii = 0.0, 0.0, []
    for (x0, y0, b), (x1, y1, _) in pairwise([*vertices, vertices[0]] if closed else vertices):
        chord = math.hypot(x1 - x0, y1 - y0)
        twice += (x0 - vertices[0][0]) * (y1 - vertices[0][1]) - (x1 - vertices[0][0]) * (y0 - vertices[0][1])
        if b:
            turn = 4 * math.atan(b)
            r = chord * (1 + b * b) / (4 * abs(b))
            radii.append(r)
            length += r * abs(turn)
            twice += r * r * (turn - math.sin(turn))
        else:
            length += chord
    distinct = tuple(r for k, r in enumerate(sorted(radii)) if k == 0 or r - sorted(radii)[k - 1] > 1e-6 * max(1.0, r))
    return Edge(closed, abs(twice) / 2 if closed else 0.0, length, distinct, Point(vertices[0][0], vertices[0][1]))


# ---------------------------------------------------------------- comparison

def _outlines(doc: Any, wanted: dict[str, list[Ground]], factor: float) -> Iterator[str]:
    held: dict[str, list[Any]] = {name: [] for name in wanted}
    for entity in doc.modelspace():
        if entity.dxftype() in OUTLINES and entity.dxf.layer in held and entity.has_xdata("PEGBOOK"):
            held[entity.dxf.layer].append(entity)
    for layer, grounds in wanted.items():
        lines = [(g, line) for g in grounds if not isinstance(g.shape, Point) for line in lines_of(g.shape)]
        if len(lines) != len(held[layer]) and all(g.element for g in grounds):
            yield f"layer {layer} holds {len(held[layer])} outlines where {len(lines)} were drawn"
            continue
        for (ground, line), entity in zip(lines, held[layer], strict=False):
            fault = _difference(_edge_of(line), _read(entity, factor), entity.dxftype())
            if fault:
                yield f"{ground.element or ground.role} on layer {layer}: {fault}"


def _difference(a: Edge, b: Edge, kind: str) -> str:
    if a.closed != b.closed:
        return "the outline is closed in one and open in the other"
    if kind == "POLYLINE" and math.isnan(a.length):
        return ""                       # an ellipse as the arcs that stand for it: R12 has no other
    if not abs(a.area - b.area) <= AREA * max(1.0, a.area):
        return f"an area of {b.area:.6f} m2 instead of {a.area:.6f} m2"
    if not math.isnan(a.length) and not abs(a.length - b.length) <= LENGTH * max(1.0, a.length):
        return f"a length of {b.length:.6f} m instead of {a.length:.6f} m"
    return _radii(a, b) or ("" if a.start.distance(b.start) <= LENGTH else "it starts at another place")


def _radii(a: Edge, b: Edge) -> str:
    """Every radius of one must be among those of the other; flat arcs know theirs less well, hence the share."""
    for first, second in ((a, b), (b, a)):
        for r in first.radii:
            if not any(abs(r - q) <= max(LENGTH, 1e-4 * r * max(1.0, r)) for q in second.radii):
                return f"a radius of {r:.6f} m in one of them alone"
    return ""


def _pegs(doc: Any, pegs: dict[str, PegSign], factor: float) -> Iterator[str]:
    found = {}
    for insert in doc.modelspace().query("INSERT"):
        values = {a.dxf.tag: a.dxf.text for a in insert.attribs}
        if "NUMBER" in values:
            found[values["NUMBER"]] = (_point(insert.dxf.insert, factor), values)
    for number in sorted({sanitised(n) for n in pegs} ^ set(found)):
        yield f"peg {number} stands in one of them alone"
    for number, peg in pegs.items():
        if sanitised(number) in found:
            at, values = found[sanitised(number)]
            if not at.distance(peg.at) <= LENGTH:
                yield f"peg {number} stands {at.distance(peg.at):.6f} m off its place"
            if (values["X"], values["Y"]) != (f"{peg.at.x:.3f}", f"{peg.at.y:.3f}"):
                yield f"peg {number} carries other coordinates than its own"


def _dimensions(doc: Any, wanted: Sequence[Dimension], factor: float) -> Iterator[str]:
    made = [d for space in doc.layouts for d in space.query("DIMENSION")]
    for d in made:
        if not d.dxf.hasattr("geometry") or d.dxf.geometry not in doc.blocks:
            yield "a dimension without its picture"
    known = {(d.form, d.points, d.line_at, d.figure) for d in wanted}
    if len(made) > len(wanted) or (known and not made):
        yield f"{len(made)} dimensions where {len(wanted)} were drawn"
    for d in wanted:
        if d.form != "angular" and not abs(measured(d) - d.value) <= 0.0051:
            yield f"the dimension '{d.figure}' hangs on points that are {measured(d):.3f} m apart"


def _audit(doc: Any) -> Iterator[str]:
    audit = doc.audit()
    yield from (f"the audit reports: {e.message}" for e in (*audit.errors, *audit.fixes))
    layers = {layer.dxf.name for layer in doc.layers}
    for space in doc.layouts:
        yield from (f"an entity on the undefined layer {name}"
                    for name in sorted({e.dxf.layer for e in space} - layers))


def _layouts(doc: Any, sheets: SheetSet, factor: float) -> Iterator[str]:
    names = [n for n in doc.layouts.names_in_taborder() if n != "Model"]
    if doc.dxfversion == "AC1009":
        return                          # R12 has one layout, and its windows' scales are not read back
    if len(names) != len(sheets.sheets):
        yield f"{len(names)} layouts where there are {len(sheets.sheets)} sheets"
    for name, sheet in zip(names, sheets.sheets, strict=False):
        scales = {v.scale for v in sheet.views}
        for window in doc.layouts.get(name).query("VIEWPORT"):
            if window.dxf.get("id", 0) > 1 and window.dxf.height:
                scale = window.dxf.view_height / factor / window.dxf.height * 1000
                if not any(abs(scale - s) <= 1e-6 * s for s in scales):
                    yield f"a window of sheet {sheet.number} at 1:{scale:g}"


__all__ = ["AREA", "LENGTH", "reread"]
