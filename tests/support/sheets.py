"""Sample sheets for tests of the formats: a swatch of every texture, and a small plan with everything on it."""

from __future__ import annotations

import math

from pegbook.drawings.sheet import (
    Dimension,
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


PLAN = View(name="plan", scale=50.0, window=Box(30, 20, 230, 280), origin=Point(-1.0, -1.5))
DETAIL = View(name="A", scale=10.0, window=Box(250, 60, 400, 120), origin=Point(0.0, -0.2), plan=False)


def outlines() -> dict[str, Ground]:
    """Areas with every sort of edge: straight, arcs of more than half a turn, a circle, an ellipse, holes."""
    lawn = Loop.of((Line(Point(1, 3), Point(5, 3)), Arc.swung(Point(5, 5), 2, -math.pi / 2, math.pi),
                    Line(Point(5, 7), Point(1, 7)), Line(Point(1, 7), Point(1, 3))))
    keyhole = Arc.swung(Point(3.0, 9.2), 1.1, -math.pi / 3, 5 * math.pi / 3)
    bay = Loop.of((keyhole, Line(keyhole.end, keyhole.start)))
    pond = Loop.circle(Point(6.2, 9.0), 0.9)
    bed = ellipse(Point(1.6, 1.4), 2.4, 1.2, 0.3)
    ring = Region(Loop.circle(Point(6.2, 9.0), 1.1), (pond,))
    wall = Region(rectangle(Point(-0.5, 0.2), 0.215, 9.0, 0.0))
    return {
        "lawn": Ground(shape=Region(lawn), role="turf", element="lawn", kind="lawn"),
        "bay": Ground(shape=Region(bay), role="loose", element="seat bay", kind="paving", build_up="gravel on stone"),
        "pond": Ground(shape=Region(pond), role="water", element="pond", kind="pond"),
        "rim": Ground(shape=ring, role="edge band", element="pond", kind="pond", part="edge"),
        "bed": Ground(shape=Region(bed), role="planting", element="oval bed", kind="bed"),
        "wall": Ground(shape=wall, role="wall", element="west wall", kind="wall", status="existing"),
    }


def garden() -> tuple[Mark, ...]:
    """The marks of a small plan: grounds with edges and textures, a tree, pegs, dimensions, labels, a detail."""
    marks: list[Mark] = list(frame())
    hatch = {"lawn": "turf", "bay": "gravel", "pond": "water", "rim": "brick-edge", "bed": "planting",
             "wall": "brick-cut"}
    for name, ground in outlines().items():
        assert isinstance(ground.shape, Region)
        region = PLAN.region(ground.shape)
        marks.append(texture(hatch[name], region, ground=ground, view=PLAN, width=4.0 if name == "rim" else 0.0))
        marks += [Stroke(layer="edges", path=loop, pen="edge", ground=ground)
                  for loop in (region.outer, *region.holes)]
    tree = Point(6.0, 1.5)
    crown = Stroke(layer="plants", path=Loop.circle(PLAN.point(tree), 12), pen="edge", dash="removed")
    marks.append(Group(layer="plants", classes=("symbol", "tree"), marks=(crown,),
                       ground=Ground(shape=tree, role="crown", element="quince")))
    fence = Path.through([Point(-0.9, -1.2), Point(8.8, -1.2), Point(8.8, 11.0)])
    marks.append(Stroke(layer="existing", path=PLAN.path(fence), pen="edge", dash="boundary",
                        ground=Ground(shape=fence, role="boundary", element="plot")))
    for number, at, purpose in (("A", Point(0, 0), "control"), ("X101", Point(5, 5), "centre"),
                                ("T102", Point(5, 3), "tangent")):
        spot = PLAN.point(at)
        marks.append(PegSign(number=number, purpose=purpose, at=at, part="centre 1", element="lawn",
                             level=9.94 if number == "A" else None, marks=(
                                 Fill(layer="marks", region=Region(Loop.circle(spot, 1.2)), tone="white"),
                                 Stroke(layer="marks", path=Loop.circle(spot, 1.2), pen="mark"))))
        marks.append(Text(layer="labels", at=Point(spot.x + 2, spot.y + 1), words=number, style="bold",
                          classes=("peg-number",)))
    marks += dimensions()
    marks.append(Text(layer="labels", at=PLAN.point(Point(3, 5)), words="Lawn, 24.3 m² – “round” end", anchor="middle",
                      capitals=3.5, style="bold"))
    return tuple(marks)


def _picture(view: View, a: Point, b: Point, words: str) -> tuple[Mark, ...]:
    p, q = view.point(a), view.point(b)
    return (Stroke(layer="dimensions", path=Path.through([p, q]), pen="thin"),
            Text(layer="dimensions", at=Point((p.x + q.x) / 2, (p.y + q.y) / 2 + 0.9), words=words, anchor="middle"))


def dimensions() -> tuple[Mark, ...]:
    """A dimension of every form, one in a detail, one in feet."""
    def dim(form: str, points: tuple[Point, ...], at: Point, value: float, figure: str, turn: float = 0.0,
            view: View = PLAN) -> Dimension:
        return Dimension(form=form, points=points, line_at=at, value=value, figure=figure, turn=turn, view=view.name,
                         marks=_picture(view, points[0], points[1], figure))
    return (dim("linear", (Point(1, 3), Point(5, 3)), Point(3, 2.5), 4.0, "4.00"),
            dim("aligned", (Point(1, 3), Point(5, 7)), Point(3, 5), math.sqrt(32), "(5.66)"),
            dim("running", (Point(0, -1), Point(5, -1)), Point(5, -1.4), 5.0, "5.00"),
            dim("radius", (Point(5, 5), Point(7, 5)), Point(6, 5), 2.0, "R 2.00"),
            dim("diameter", (Point(5.3, 9), Point(7.1, 9)), Point(6.2, 9), 1.8, "Ø 1.80"),
            dim("angular", (Point(1, 3), Point(5, 3), Point(1, 7)), Point(1.5, 3.5), 90.0, "90.0°"),
            dim("linear", (Point(1, 7), Point(5, 7)), Point(3, 7.5), 4.0, "13' 1 1/2\""),
            dim("linear", (Point(0.1, 0.0), Point(0.5, 0.0)), Point(0.3, -0.1), 0.4, "400", view=DETAIL))


def sheet_set() -> SheetSet:
    """Three sheets: the plan, the same garden again with less on it, and a key without a view."""
    detail = Stroke(layer="built", path=rectangle(DETAIL.point(Point(0.1, 0.0)), 40, 20, 0.0), pen="cut")
    first = sheet_of((*garden(), detail), views=(PLAN, DETAIL))
    fewer = tuple(m for m in garden() if not isinstance(m, Dimension | Hatch))
    return SheetSet(title="Thistle Row", author="R. Fenn", subject="Garden drawings",
                    sheets=(first, sheet_of(fewer, "setting out", 2, views=(PLAN,)), swatches()))


__all__ = ["A3", "DETAIL", "PLAN", "dimensions", "frame", "garden", "outlines", "shapes", "sheet_of", "sheet_set",
           "swatches"]
