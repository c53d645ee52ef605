"""A DXF opened by the library that writes most of them, looked at as somebody does who is handed it: every entity with
where it stands, keys of what may not stand twice, pieces of no length."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from typing import Any

import ezdxf

YOUNG = ("R2010", "R2018")
NO_LENGTH = 1e-6
"""A piece shorter than this is none: in metres in model space, in mm on paper."""


def opened(data: bytes, version: str = "R2010") -> Any:
    """Return the document of a file's bytes."""
    return ezdxf.read(io.StringIO(data.decode("utf-8" if version in YOUNG else "cp1252")))


def spaces(doc: Any) -> Iterator[tuple[str, Any]]:
    """Yield model space, every layout, and every block that a drawing uses."""
    for layout in doc.layouts:
        yield layout.name, layout
    for block in doc.blocks:
        if not block.is_any_layout:
            yield block.name, block


def everything(doc: Any) -> Iterator[tuple[str, Any]]:
    """Yield every entity, attributes of inserts too, with the space that it stands in."""
    for name, space in spaces(doc):
        for entity in space:
            yield name, entity
            if entity.dxftype() == "INSERT":
                yield from ((name, attribute) for attribute in entity.attribs)


def corners(entity: Any) -> tuple[list[tuple[float, float, float]], bool]:
    """Return x, y, bulge of a polyline's corners, and whether it is closed."""
    if entity.dxftype() == "LWPOLYLINE":
        return [(float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb")], bool(entity.closed)
    return [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices], entity.is_closed


def short_pieces(entity: Any, unit: float = 1.0) -> Iterator[str]:
    """Yield what is wrong with the pieces of one entity: of no length, open though it comes back, without words."""
    kind, none = entity.dxftype(), NO_LENGTH * unit
    if kind == "LINE" and entity.dxf.start.distance(entity.dxf.end) < none:
        yield "a line of no length"
    elif kind in {"CIRCLE", "ARC"} and entity.dxf.radius < none:
        yield "a radius of nothing"
    elif kind == "TEXT" and not entity.dxf.text.strip():
        yield "lettering without words"
    elif kind in {"LWPOLYLINE", "POLYLINE"}:
        points, closed = corners(entity)
        for a, b in zip(points, points[1:] + points[:1] if closed else points[1:], strict=False):
            if math.dist(a[:2], b[:2]) < none:
                yield "a piece of no length"
        if not closed and len(points) > 2 and math.dist(points[0][:2], points[-1][:2]) < none:
            yield "open though it comes back to its start"


def heights(entity: Any) -> Iterator[float]:
    """Yield every height above the plane that an entity has."""
    for name in ("start", "end", "center", "location", "insert", "align_point", "defpoint", "defpoint2", "defpoint3",
                 "defpoint4", "text_midpoint"):
        if entity.dxf.hasattr(name):
            yield entity.dxf.get(name).z
    if entity.dxf.hasattr("elevation"):
        flat = entity.dxf.elevation
        yield flat if isinstance(flat, float) else flat.z
    if entity.dxf.hasattr("extrusion"):
        yield entity.dxf.extrusion.z - 1


def twin_key(entity: Any, unit: float = 1.0) -> tuple[object, ...] | None:
    """Return what two entities of one layer may not have in common; None for kinds that may lie on each other."""
    def spot(p: Any) -> tuple[float, float]:
        return round(p[0] / unit, 5), round(p[1] / unit, 5)

    kind, dxf = entity.dxftype(), entity.dxf
    match kind:
        case "LINE":
            return kind, *sorted((spot(dxf.start), spot(dxf.end)))
        case "CIRCLE":
            return kind, spot(dxf.center), round(dxf.radius / unit, 5)
        case "ARC":
            return (kind, spot(dxf.center), round(dxf.radius / unit, 5), round(dxf.start_angle, 3),
                    round(dxf.end_angle, 3))
        case "LWPOLYLINE" | "POLYLINE":
            points, closed = corners(entity)
            return kind, closed, *sorted((*spot(p), round(abs(p[2]), 6)) for p in points)
        case "ELLIPSE":
            return kind, spot(dxf.center), spot(dxf.major_axis), round(dxf.ratio, 6)
        case "INSERT" | "POINT":
            return kind, spot(dxf.insert if kind == "INSERT" else dxf.location)
        case "TEXT":
            return kind, dxf.text, spot(dxf.insert), round(dxf.rotation, 3)
        case "DIMENSION":
            points = [spot(dxf.get(n)) if dxf.hasattr(n) else () for n in ("defpoint", "defpoint2", "defpoint3",
                                                                           "defpoint4")]
            return kind, dxf.dimtype, *points
    return None


def figure_in_picture(doc: Any, dimension: Any) -> str:
    """Return the figure that a dimension's own block shows."""
    block = doc.blocks.get(dimension.dxf.geometry)
    return " ".join(str(text.dxf.text) for text in block.query("TEXT"))


def live_figure(dimension: Any) -> str:
    """Return the figure that a reader works out anew from a live dimension's points and style (ISO 129-1 point)."""
    over = dimension.override()
    measured = dimension.get_measurement()
    if dimension.dimtype == 6:                              # a running dimension measures along its own direction
        turn = math.radians(-dimension.dxf.get("horizontal_direction", 0.0))
        measured = measured.x * math.cos(turn) + measured.y * math.sin(turn)
    angle = dimension.dimtype in {2, 5}
    value = abs(float(measured)) * (1.0 if angle else over.get("dimlfac"))
    words = f"{value:.{over.get('dimadec' if angle else 'dimdec')}f}" + ("°" if angle else "")
    post = over.get("dimpost") or "<>"
    return str(post).replace("<>", words)
