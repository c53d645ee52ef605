"""Signs of pegs and marks of plants: one sign for one kind, through the whole set.

Millimetres on paper. Peg signs follow the trade's habits (ring and cross for a centre, triangle for a control
mark); their sizes are our own.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from ..geometry.features import Purpose
from ..geometry.kernel.point import Point, Vec
from .draft import Nib, arrow, blot, disc, filled, half_disc, shape
from .sheet import Mark

LAYER = "marks"

CLASSES = {
    Purpose.CONTROL: "control",
    Purpose.AUXILIARY: "auxiliary",
    Purpose.CENTRE: "centre",
    Purpose.TANGENT: "tangent",
    Purpose.CORNER: "corner",
    Purpose.CURVE: "edge",
    Purpose.ASIDE: "auxiliary",
    Purpose.LINE: "edge",
    Purpose.FOCUS: "focus",
    Purpose.POST: "post",
    Purpose.RECOVERY: "recovery",
    Purpose.LEVEL: "level",
}
"""The class that a peg's sign carries."""

REACH = {
    "control": 2.3,
    "auxiliary": 2.3,
    "centre": 2.1,
    "tangent": 1.05,
    "corner": 0.85,
    "edge": 0.8,
    "focus": 1.15,
    "post": 0.95,
    "recovery": 1.35,
    "level": 2.1,
}
"""How far a sign reaches from its point."""

WORDS = {
    "control": "control mark",
    "auxiliary": "auxiliary control",
    "centre": "centre",
    "tangent": "tangent point",
    "corner": "corner, or arcs that meet",
    "edge": "on an edge",
    "focus": "focus of an ellipse",
    "post": "post",
    "recovery": "recovery peg",
    "level": "level peg",
}
"""What the key says of each sign, in the order of the key."""


def peg_sign(kind: str, at: Point, heading: float = 0.0, layer: str = LAYER) -> tuple[Mark, ...]:
    """Return the sign of a peg of class `kind`.

    `heading` matters to a tangent point only: the way to the arc's side (its black half lies there).
    """
    return _SIGNS[kind](at, heading, layer)


def _triangle(at: Point, reach: float, down: bool = False) -> tuple[Point, ...]:
    turn = -math.pi / 2 if down else math.pi / 2
    return tuple(at + Vec.polar(turn + i * 2 * math.pi / 3, reach) for i in range(3))


def _control(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    return blot(layer, *_triangle(at, 2.3)), disc(layer, at, 0.45, "white")


def _auxiliary(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    corners = _triangle(at, 2.3)
    return blot(layer, *corners, tone="white"), Nib(layer, "mark").outline(*corners), disc(layer, at, 0.45)


def _centre(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    nib = Nib(layer, "mark")
    return disc(layer, at, 1.3, "white"), nib.ring(at, 1.3), *nib.cross(at, 2.1)


def _tangent(at: Point, heading: float, layer: str) -> tuple[Mark, ...]:
    nib = Nib(layer, "mark")
    return (disc(layer, at, 1.05, "white"), filled(layer, half_disc(at, 1.05, heading)), nib.ring(at, 1.05))


def _corner(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    h = 0.76        # the outline's pen brings the square to 1.7
    corners = shape([(-h, -h), (h, -h), (h, h), (-h, h)], at)
    return blot(layer, *corners), Nib(layer, "thin").outline(*corners)


def _edge(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    return disc(layer, at, 0.8, "white"), Nib(layer, "mark").ring(at, 0.8)


def _focus(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    return disc(layer, at, 1.15, "white"), Nib(layer, "mark").ring(at, 1.15), disc(layer, at, 0.42)


def _post(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    h = 0.95
    corners = shape([(-h, -h), (h, -h), (h, h), (-h, h)], at)
    return (
        blot(layer, *corners, tone="white"),
        Nib(layer, "mark").outline(*corners),
        *Nib(layer, "thin").saltire(at, h),
    )


def _recovery(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    corners = shape([(-1.35, 0), (0, -1.35), (1.35, 0), (0, 1.35)], at)
    return blot(layer, *corners, tone="white"), Nib(layer, "mark").outline(*corners)


def _level(at: Point, _: float, layer: str) -> tuple[Mark, ...]:
    corners = shape([(0, 0), (1.2, 2.08), (-1.2, 2.08)], at)
    return blot(layer, *corners, tone="white"), Nib(layer, "mark").outline(*corners)


_SIGNS: dict[str, Callable[[Point, float, str], tuple[Mark, ...]]] = {
    "control": _control,
    "auxiliary": _auxiliary,
    "centre": _centre,
    "tangent": _tangent,
    "corner": _corner,
    "edge": _edge,
    "focus": _focus,
    "post": _post,
    "recovery": _recovery,
    "level": _level,
}


# Plants: solid marks are evergreen, open ones are not, strokes are grasses. The plan shows its own winter.

EVERGREEN = ("disc", "block", "solid triangle", "solid diamond")
OPEN = ("ring", "box", "triangle", "triangle down", "diamond", "hexagon", "ring with dot", "half ring")
GRASS = ("plus", "cross", "star")

_PLANTS = "plants"


def _polygon(at: Point, count: int, reach: float, turn: float) -> tuple[Point, ...]:
    return tuple(at + Vec.polar(turn + i * 2 * math.pi / count, reach) for i in range(count))


_OUTLINES = {
    "box": (4, 0.9, math.pi / 4),
    "triangle": (3, 0.92, math.pi / 2),
    "triangle down": (3, 0.92, -math.pi / 2),
    "diamond": (4, 0.95, 0.0),
    "hexagon": (6, 0.9, 0.0),
    "block": (4, 0.905, math.pi / 4),
    "solid triangle": (3, 0.92, math.pi / 2),
    "solid diamond": (4, 0.95, 0.0),
}


def plant_mark(name: str, at: Point, layer: str = _PLANTS) -> tuple[Mark, ...]:
    """Return a plant's mark, 1.3 to 1.9 across; `name` is one of EVERGREEN, OPEN, GRASS, or a letter."""
    if name in _OUTLINES:
        corners = _polygon(at, *_OUTLINES[name])
        if name in EVERGREEN:
            return (blot(layer, *corners),)
        return blot(layer, *corners, tone="white"), Nib(layer, "thin").outline(*corners)
    if name == "disc":
        return (disc(layer, at, 0.72),)
    if name in GRASS:
        return _strokes(name, at, layer)
    return _rings(name, at, layer)


def _strokes(name: str, at: Point, layer: str) -> tuple[Mark, ...]:
    nib = Nib(layer, "mark")
    if name == "plus":
        return nib.cross(at, 0.85)
    if name == "cross":
        return nib.saltire(at, 0.65)
    return tuple(
        nib.line(at + -Vec.polar(a, 0.9), at + Vec.polar(a, 0.9)) for a in (math.pi / 2, math.pi / 6, -math.pi / 6)
    )


def _rings(name: str, at: Point, layer: str) -> tuple[Mark, ...]:
    reach = 0.85 if name == "ring with dot" else 0.78
    marks: tuple[Mark, ...] = (disc(layer, at, reach, "white"), Nib(layer, "thin").ring(at, reach))
    if name == "ring with dot":
        return (*marks, disc(layer, at, 0.28))
    if name == "half ring":
        return (marks[0], filled(layer, half_disc(at, reach, 0.0)), marks[1])
    return marks


def tie_arrow(tip: Point, heading: float, layer: str = "ties") -> Mark:
    """Return the slender arrowhead of ties and radii."""
    return arrow(layer, tip, heading, 2.5, math.radians(15))
