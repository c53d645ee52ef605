"""Sample sheets for tests of the formats: a swatch of every texture, and a small plan with everything on it."""

from __future__ import annotations

import math

from pegbook.drawings.sheet import (
    Dimension,
    Dot,
    Fill,
    Ground,
    Group,
    Hatch,
    Mark,
    PegSign,
    Sheet,
    SheetSet,
    Stroke,
    Text,
    View,
)
from pegbook.drawings.textures import NAMES, texture
from pegbook.geometry.kernel.construct import rectangle, rounded_polygon
from pegbook.geometry.kernel.fit import ellipse
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Box, Point
from pegbook.geometry.kernel.segment import Arc, Line

A3 = (420.0, 297.0)


def frame() -> tuple[Mark, ...]:
    """A frame and a bar of exactly 100 mm."""
    ring = rectangle(Point(20, 10), 390, 277, 0.0)
    bar = Path((Line(Point(250, 30), Point(350, 30)),))
    return (Stroke(layer="border", path=ring, pen="cut", classes=("frame",)),
            Group(layer="titleblock", classes=("checkbar",), marks=(
                Stroke(layer="titleblock", path=bar, pen="cut"),
                Text(layer="titleblock", at=Point(250, 22), words="On a true print this bar measures 100 mm."))))


def sheet_of(marks: tuple[Mark, ...], name: str = "layout", number: int = 1, scale: str = "1:50",
             views: tuple[View, ...] = (), **more: object) -> Sheet:
    """A sheet A3 with the given marks."""
    width, height = A3
    return Sheet(number=number, name=name, title=f"{name.capitalize()} plan", document=f"TH-{number:02d}", size="A3",
                 width=width, height=height, scale=scale, views=views, marks=marks, **more)  # type: ignore[arg-type]


def swatches(clear: bool = False) -> Sheet:
    """Every texture in a rectangle of 60 × 34, with room for a name in the middle if asked for."""
    marks: list[Mark] = []
    for k, name in enumerate(NAMES):
        x, y = 26 + (k % 6) * 64, 236 - (k // 6) * 48
        narrow = {"brick-edge": 6.0, "hedge": 9.0}.get(name, 34.0)
        region = Region(rectangle(Point(x, y), 60, narrow, 0.0))
        boxes = [Box(x + 20, y + narrow / 2 - 2, x + 40, y + narrow / 2 + 2)] if clear and narrow > 20 else []
        marks += [texture(name, region, clear=boxes, pitch=2.0 if name == "brick-edge" else 0.0,
                          width=narrow if narrow < 20 else 0.0),
                  Stroke(layer="thin", path=region.outer, pen="thin"),
                  Text(layer="labels", at=Point(x, y - 4), words=name)]
    return sheet_of((*frame(), *marks), "key", 0, "")


def shapes() -> tuple[Mark, ...]:
    """Round and odd areas filled with the textures that follow an edge."""
    blob = rounded_polygon([(Point(40, 40), 15), (Point(160, 30), 30), (Point(190, 120), 20), (Point(110, 90), 10),
                            (Point(40, 130), 25)])
    ring = Region(Loop.circle(Point(290, 90), 55), (Loop.circle(Point(290, 90), 50),))
    strip = Region(Loop.of((Line(Point(30, 200), Point(130, 200)), Arc.swung(Point(130, 240), 40, -math.pi / 2, 1.5),
                            *_end_and_back())))
    marks: list[Mark] = []
    for region, hatch in ((Region(blob), texture("turf", Region(blob))),
                          (ring, texture("brick-edge", ring, width=5, pitch=1.5)),
                          (Region(ring.holes[0]), texture("water", Region(ring.holes[0]))),
                          (strip, texture("hedge", strip, width=8))):
        marks += [hatch, Stroke(layer="edges", path=region.outer, pen="edge")]
    circle = Region(Loop.circle(Point(290, 210), 40))
    marks += [texture("setts", circle, centre=Point(290, 210), pitch=4),
              Stroke(layer="edges", path=circle.outer, pen="edge")]
    return tuple(marks)


def _end_and_back() -> tuple[Line | Arc, ...]:
    outer = Arc.swung(Point(130, 240), 40, -math.pi / 2, 1.5)
    inner = Arc.swung(Point(130, 240), 32, -math.pi / 2, 1.5).reversed()
    return (Line(outer.end, inner.start), inner, Line(Point(130, 208), Point(30, 208)),
            Line(Point(30, 208), Point(30, 200)))


__all__ = ["A3", "Dimension", "Dot", "Fill", "Ground", "Hatch", "PegSign", "SheetSet", "ellipse", "frame", "shapes",
           "sheet_of", "swatches"]
