"""Real dimensions of the DXF, each with a block that holds the very picture of the other formats.

The measured text stays live (`<>`) where the library's own rounding gives the figure that is drawn; a figure
in feet and inches is written out.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.point import Point
from .dxf_book import Book
from .dxf_shapes import Plotter
from .sheet import Dimension

_FIGURE = re.compile(r"^(.*?)(\d+(?:\.\d+)?)(\D*)$")

LINEAR, ALIGNED, DIAMETER, RADIUS, ANGULAR_3P, ORDINATE = 0, 1, 3, 4, 5, 6
OWN_BLOCK = 32                  # the block belongs to this dimension alone
X_ORDINATE = 64


def write_dimension(book: Book, plot: Plotter, dimension: Dimension, layer: str, metres: float,
                    picture: Callable[[Any], None]) -> None:
    """Write a DIMENSION on a layer; `picture` draws into its block; one unit of `plot` shapes is `metres` long."""
    where = _points(dimension, plot)
    lfac, text, style = _figure(dimension, plot.factor, metres)
    words = text if text == "<>" else book.words(text)
    attributes = {"layer": layer, "dimstyle": book.DIMENSIONS, "text": words, **where}
    made = plot.space.new_entity("DIMENSION", attributes)
    block = book.doc.blocks.new_anonymous_block(type_char="D")
    made.dxf.geometry = block.name
    picture(block)
    if not book.old:
        made.dxf.actual_measurement = round(dimension.value, 9)
    override = {name: value for name, value in {"dimlfac": lfac, **style}.items()
                if not (book.old and name in {"dimdec", "dimadec"})}
    own = made.override()
    own.update(override)
    own.commit()


def _points(d: Dimension, plot: Plotter) -> dict[str, Any]:
    need = {"linear": 2, "aligned": 2, "running": 2, "radius": 2, "diameter": 2, "angular": 3}
    if len(d.points) != need.get(d.form):
        raise refuse(DrawingError, f"a dimension of form '{d.form}' with {len(d.points)} points",
                     "the forms are linear, aligned, running, radius, diameter (two points) and angular (three)",
                     "bad-dimension")
    at = [plot.at(p) for p in d.points]
    line = plot.at(d.line_at)
    middle = {"text_midpoint": line}
    match d.form:
        case "linear":
            return {"dimtype": LINEAR | OWN_BLOCK, "defpoint": line, "defpoint2": at[0], "defpoint3": at[1],
                    "angle": round(math.degrees(d.turn), 9), **middle}
        case "aligned":
            return {"dimtype": ALIGNED | OWN_BLOCK, "defpoint": line, "defpoint2": at[0], "defpoint3": at[1], **middle}
        case "running":
            return {"dimtype": ORDINATE | X_ORDINATE | OWN_BLOCK, "defpoint": at[0], "defpoint2": at[1],
                    "defpoint3": line, "horizontal_direction": round(-math.degrees(d.turn), 9), **middle}
        case "radius":
            return {"dimtype": RADIUS | OWN_BLOCK, "defpoint": at[0], "defpoint4": at[1], **middle}
        case "diameter":
            return {"dimtype": DIAMETER | OWN_BLOCK, "defpoint": at[0], "defpoint4": at[1], **middle}
        case _:
            return {"dimtype": ANGULAR_3P | OWN_BLOCK, "defpoint": line, "defpoint2": at[1], "defpoint3": at[2],
                    "defpoint4": at[0], **middle}


def _figure(d: Dimension, factor: float, metres: float) -> tuple[float, str, dict[str, Any]]:
    """Return the factor from drawn length to figure, the text, and what of the style this figure needs."""
    to_metres = metres / factor
    found = _FIGURE.match(d.figure)
    if found:
        before, number, after = found.groups()
        decimals = len(number.partition(".")[2])
        for unit in ((1.0,) if d.form == "angular" else (1.0, 1000.0)):
            if _rounds_to(number, d, metres, unit, decimals):
                style: dict[str, Any] = {"dimdec": decimals, "dimadec": decimals}
                if before or after.strip() not in {"", "°"}:
                    style["dimpost"] = f"{before}<>{after}"
                return to_metres * unit, "<>", style
    return to_metres, d.figure, {}


def _rounds_to(number: str, d: Dimension, metres: float, unit: float, decimals: int) -> bool:
    """Say whether every reader makes this figure of a dimension's own points, whichever way its last bit falls."""
    long = abs(measured(d))
    value = math.degrees(long) if d.form == "angular" else long * metres
    return all(f"{(value + by) * unit:.{decimals}f}" == number for by in (-LAST_BIT, LAST_BIT))


LAST_BIT = 1e-7
"""Readers may measure by so much more or less, metres or degrees: the file holds nine decimals."""


def measured(d: Dimension) -> float:
    """Return what a dimension's own points measure, metres (radians for an angle)."""
    a, b = d.points[0], d.points[1]
    if d.form in {"linear", "running"}:
        return abs((b.x - a.x) * math.cos(d.turn) + (b.y - a.y) * math.sin(d.turn))
    if d.form == "angular":
        c = d.points[2]
        return abs(_between(a, b, c))
    return a.distance(b)


def _between(vertex: Point, a: Point, b: Point) -> float:
    u, v = a - vertex, b - vertex
    return math.atan2(u.cross(v), u.dot(v))


__all__ = ["measured", "write_dimension"]
