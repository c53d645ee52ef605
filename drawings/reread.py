"""Reading the DXF back: what was written is compared with the garden before anybody digs by it.

Takes: the bytes and the sheets that they were made from. Gives: nothing if they agree, else DrawingError with
what differs. Areas, lengths and radii are worked out anew from the file's own figures. The file is read by a reader
of its own (dxf_groups.py), not by the library that wrote it: a fault of one cannot hide in the other.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..geometry.errors import DrawingError, Problem
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point, Vec
from ..geometry.kernel.segment import Arc, Segment
from .dxf_book import UNITS, Book
from .dxf_dimensions import measured
from .dxf_groups import MEND, Groups, Record, grouped
from .dxf_shapes import lines_of
from .dxf_sound import faults
from .lettering import sanitised
from .sheet import Dimension, Ground, Group, Mark, PegSign, SheetSet, Stroke, View
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
    groups = grouped(data)
    blocks, entities = list(groups.records("BLOCKS")), list(groups.records("ENTITIES"))
    drawn = [*blocks, *entities]
    _refuse(list(faults(groups, drawn)))
    style = style or house_style()
    code = int(groups.header("$INSUNITS", " 70", "0"))
    factor = next((f for c, f in UNITS.values() if c == code), UNITS[units][1])
    wanted, pegs, dimensions = _wanted(sheets, style)
    _refuse([*_outlines(entities, wanted, factor), *_pegs(drawn, pegs, factor), *_dimensions(drawn, dimensions),
             *_layouts(groups, drawn, sheets, factor)])


def _refuse(found: Sequence[str]) -> None:
    if found:
        raise DrawingError(*(Problem(f"the DXF read again: {f}", MEND, "reread") for f in found[:20]))


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
        return Edge(False, 0.0, line.length, radii, _alone(line.segments) or start)
    if line.ellipse is not None:
        a, b = line.ellipse.half_length, line.ellipse.half_width
        return Edge(True, math.pi * a * b, math.nan, (a, b), line.ellipse.centre)
    return Edge(True, line.area, line.length, radii, line.segments[0].centre if line.is_circle and isinstance(
        line.segments[0], Arc) else start)


def _alone(segments: Sequence[Segment]) -> Point | None:
    """Return where an ARC of the file begins that stands for a path of one arc: it always turns left."""
    match segments:
        case (Arc(sweep=sweep, end=end),) if sweep < 0:
            return end
        case _:
            return None


# ---------------------------------------------------------------- what there is

def _read(entity: Record, factor: float, corners: Sequence[Record] = ()) -> Edge:
    """Work out what can be compared of an entity; an old polyline has its corners in records of their own."""
    start = _point(entity, factor)
    match entity.kind:
        case "CIRCLE":
            r = entity.number(" 40") / factor
            return Edge(True, math.pi * r * r, 2 * math.pi * r, (r,), start)
        case "ELLIPSE":
            a, ratio = math.hypot(entity.number(" 11"), entity.number(" 21")) / factor, entity.number(" 40")
            return Edge(True, math.pi * a * a * ratio, math.nan, (a, a * ratio), start)
        case "LINE":
            return Edge(False, 0.0, start.distance(_point(entity, factor, " 11", " 21")), (), start)
        case "ARC":
            r, begin = entity.number(" 40") / factor, math.radians(entity.number(" 50"))
            turn = math.radians((entity.number(" 51") - entity.number(" 50")) % 360)
            return Edge(False, 0.0, r * turn, (r,), start + Vec.polar(begin, r))
    if entity.kind == "LWPOLYLINE":
        vertices = list(_vertices(entity, factor))
    else:
        vertices = [(c.number(" 10") / factor, c.number(" 20") / factor, c.number(" 42")) for c in corners]
    return _bulged(vertices, bool(int(entity.first(" 70", "0")) & 1))


def _point(entity: Record, factor: float, x: str = " 10", y: str = " 20") -> Point:
    return Point(entity.number(x) / factor, entity.number(y) / factor)


def _vertices(entity: Record, factor: float) -> Iterator[tuple[float, float, float]]:
    """Yield x, y and bulge of each corner: a bulge stands after its corner where it is not nothing."""
    x = y = b = math.nan
    for code, value in zip(entity.codes, entity.values, strict=True):
        if code == " 10":
            if not math.isnan(x):
                yield x, y, b
            x, b = float(value) / factor, 0.0
        elif code == " 20":
            y = float(value) / factor
        elif code == " 42":
            b = float(value)
    yield x, y, b


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

def _outlines(entities: Sequence[Record], wanted: dict[str, list[Ground]], factor: float) -> Iterator[str]:
    held = _held(entities, set(wanted), factor)
    for layer, grounds in wanted.items():
        lines = [(g, line) for g in grounds if not isinstance(g.shape, Point) for line in lines_of(g.shape)]
        if len(lines) != len(held[layer]) and all(g.element for g in grounds):
            yield f"layer {layer} holds {len(held[layer])} outlines where {len(lines)} were drawn"
            continue
        for (ground, line), (kind, edge) in zip(lines, held[layer], strict=False):
            fault = _difference(_edge_of(line), edge, kind)
            if fault:
                yield f"{ground.element or ground.role} on layer {layer}: {fault}"


def _held(entities: Sequence[Record], layers: set[str], factor: float) -> dict[str, list[tuple[str, Edge]]]:
    """Return the outlines of model space that say what they are, by layer, in the order of the file."""
    held: dict[str, list[tuple[str, Edge]]] = {name: [] for name in layers}
    space = [r for r in entities if r.first(" 67", "0") == "0"]
    for k, entity in enumerate(space):
        layer = entity.first("  8")
        if entity.kind in OUTLINES and layer in layers and Book.APPLICATION in entity.every("1001"):
            corners = []
            for after in space[k + 1:] if entity.kind == "POLYLINE" else ():
                if after.kind != "VERTEX":
                    break
                corners.append(after)
            held[layer].append((entity.kind, _read(entity, factor, corners)))
    return held


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


def _pegs(drawn: Sequence[Record], pegs: dict[str, PegSign], factor: float) -> Iterator[str]:
    found: dict[str, tuple[Point, dict[str, str]]] = {}
    at, values = Point(0, 0), dict[str, str]()
    for record in drawn:
        if record.kind == "INSERT":
            at, values = _point(record, factor), {}
        elif record.kind == "ATTRIB":
            values[record.after("AcDbAttribute").first("  2")] = record.first("  1")
        elif record.kind == "SEQEND" and "NUMBER" in values:
            found[values["NUMBER"]] = at, values
            values = {}
    for number in sorted({sanitised(n) for n in pegs} ^ set(found)):
        yield f"peg {number} stands in one of them alone"
    for number, peg in pegs.items():
        if sanitised(number) in found:
            at, values = found[sanitised(number)]
            if not at.distance(peg.at) <= LENGTH:
                yield f"peg {number} stands {at.distance(peg.at):.6f} m off its place"
            if (values["X"], values["Y"]) != (f"{peg.at.x:.3f}", f"{peg.at.y:.3f}"):
                yield f"peg {number} carries other coordinates than its own"


def _dimensions(drawn: Sequence[Record], wanted: Sequence[Dimension]) -> Iterator[str]:
    made = [r for r in drawn if r.kind == "DIMENSION"]
    known = {(d.form, d.points, d.line_at, d.figure) for d in wanted}
    if len(made) > len(wanted) or (known and not made):
        yield f"{len(made)} dimensions where {len(wanted)} were drawn"
    for d in wanted:
        if d.form != "angular" and not abs(measured(d) - d.value) <= 0.0051:
            yield f"the dimension '{d.figure}' hangs on points that are {measured(d):.3f} m apart"


def _layouts(groups: Groups, drawn: Sequence[Record], sheets: SheetSet, factor: float) -> Iterator[str]:
    found = sorted((int(of.first(" 71")), of.first("330")) for of in (
        r.after("AcDbLayout") for r in groups.records("OBJECTS") if r.kind == "LAYOUT") if of.first("  1") != "Model")
    windows = [r for r in drawn if r.kind == "VIEWPORT" and int(r.first(" 69")) > 1]
    if not found:                       # R12 has one layout, of the setting-out plan or another
        for window in windows:
            yield from _window(window, window.every("1040")[1], [v for s in sheets.sheets for v in s.views], factor)
        return
    if len(found) != len(sheets.sheets):
        yield f"{len(found)} layouts where there are {len(sheets.sheets)} sheets"
    for (_, owner), sheet in zip(found, sheets.sheets, strict=False):
        for window in windows:
            if window.first("330") == owner:
                yield from _window(window, window.first(" 45"), sheet.views, factor)


def _window(window: Record, shown: str, views: Sequence[View], factor: float) -> Iterator[str]:
    """Yield a window whose scale, from the height that it shows, is none of the views'."""
    scale = float(shown) / factor / window.number(" 41") * 1000
    if not any(abs(scale - v.scale) <= 1e-6 * v.scale for v in views):
        yield f"a window at 1:{scale:g}"


__all__ = ["AREA", "LENGTH", "reread"]
