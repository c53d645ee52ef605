"""Every written form of point, outline and line: its docstring's examples run, and mean what they say.

Expected places and areas are worked out here by school geometry, not by the library.
"""

from __future__ import annotations

import math
from functools import cache

import jsonschema
import pytest

from pegbook.geometry.errors import ModelError, Weight
from pegbook.geometry.kernel.path import Path
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.kernel.station import project
from pegbook.geometry.kernel.tolerance import FIT
from pegbook.geometry.kinds.base import Placed
from pegbook.geometry.model.garden import loads
from pegbook.geometry.model.schema import schema
from support.models import data_of, form_examples, forms, model_text

HOLDERS = {
    "point": "thing: {{kind: feature, at: {0}}}",
    "outline": "thing: {{kind: lawn, outline: {0}}}",
    "line": "thing: {{kind: edging, line: {0}}}",
}

EXAMPLES = [(vocabulary, cls, example) for vocabulary, classes in forms().items() for cls in classes
            for example in form_examples(cls, vocabulary)]


def text_with(vocabulary: str, form: str) -> str:
    return model_text(HOLDERS[vocabulary].format(form))


def thing(vocabulary: str, form: str) -> Placed:
    garden = loads(text_with(vocabulary, form), "form.yaml")
    assert not [p for p in garden.advice if p.weight is Weight.ERROR]
    return garden.element("thing")


@cache
def whole_schema() -> dict[str, object]:
    return schema()


@pytest.mark.parametrize(("vocabulary", "cls"), [(v, c) for v, classes in forms().items() for c in classes])
def test_every_form_has_an_example(vocabulary: str, cls: type) -> None:
    assert form_examples(cls, vocabulary)


@pytest.mark.parametrize(("vocabulary", "cls", "example"), EXAMPLES, ids=[e for *_, e in EXAMPLES])
def test_an_example_resolves_and_meets_the_schema(vocabulary: str, cls: type, example: str) -> None:
    del cls
    placed = thing(vocabulary, example)
    if isinstance(placed.shape, tuple):
        assert placed.area > 0
    elif isinstance(placed.shape, Path):
        assert placed.shape.length > 0
    jsonschema.Draft202012Validator(whole_schema()).validate(data_of(text_with(vocabulary, example)))


ROOT = math.sqrt
PLACES = [
    ("[3.4, 5.2]", (3.4, 5.2)),
    ("[3400 mm, 17 ft 0.75 in]", None),
    ("B", (9, 0)),
    ("terrace.corner 1", (1.5, 0)),
    ("terrace.corner 3", (7.5, 3)),
    ("terrace.centre", (4.5, 1.5)),
    ("round lawn.centre", (4.5, 7.4)),
    ("long walk.start", (9.5, 1)),
    ("long walk.end", (9.5, 14)),
    ("long walk.middle", (9.5, 7.5)),
    ("boundary.corner 3", (11, 18)),
    ("{from: B, along: 1.2, out: 0.6}", (10.2, 0.6)),
    ("{from: B, out: -0.6}", (9, -0.6)),
    ("{from: A, toward: [3, 4], by: 2.5}", (1.5, 2.0)),
    ("{from: A, toward: [3, 4], by: -5}", (-3, -4)),
    ("{from: A, heading: 30, by: 2}", (ROOT(3), 1)),
    ("{from: B, heading: 90°, by: 3}", (9, 3)),
    ("{between: [A, B]}", (4.5, 0)),
    ("{between: [A, B], share: 1/3}", (3, 0)),
    ("{between: [A, B], share: 120 %}", (10.8, 0)),
    ("{on: long walk, at: 4}", (9.5, 5)),
    ("{on: long walk, at: 4, offset: 0.9}", (8.6, 5)),
    ("{on: terrace, at: 7, offset: 0.5}", (7.0, 1.0)),
    ("{ties: {A: 5, B: 7.211102550927978}, side: left}", (3, 4)),
    ("{ties: {A: 5, B: 7.211102550927978}, side: right}", (3, -4)),
    ("{ties: {B: 7.211102550927978, A: 5}, side: right}", (3, 4)),
    (f"{{ties: {{A: 5, B: {ROOT(52):.9f}, C: {ROOT(64 + 196):.9f}}}}}", (3, 4)),
    ("{offset: 3.2, at: 5.5, from: [A, B]}", (5.5, 3.2)),
    ("{offset: 1, at: 2, from: [B, C]}", (9 + (2 * 2 - 18) / ROOT(328), (2 * 18 + 2) / ROOT(328))),
]


@pytest.mark.parametrize(("form", "place"), PLACES, ids=[form for form, _ in PLACES])
def test_a_point_lies_where_it_is_written(form: str, place: tuple[float, float] | None) -> None:
    shape = thing("point", form).shape
    assert isinstance(shape, Point)
    if place is None:
        place = (3.4, (17 * 12 + 0.75) * 0.0254)
    assert (shape.x, shape.y) == pytest.approx(place, abs=2e-9)


def lens(r: float, s: float, d: float) -> float:
    """Return the area common to two circles of radii r and s whose centres are d apart (two circle segments)."""
    a = math.acos((d * d + r * r - s * s) / (2 * d * r))
    b = math.acos((d * d + s * s - r * r) / (2 * d * s))
    return r * r * (a - math.sin(2 * a) / 2) + s * s * (b - math.sin(2 * b) / 2)


AREAS = [
    ("terrace", 18.0),
    ("boundary", 13 * 24.0),
    ("{circle: {centre: [3, 9], radius: 2}}", math.pi * 4),
    ("{circle: {centre: [3, 9], diameter: 2}}", math.pi),
    ("{circle: {through: [[5, 9], [3, 11], [1, 9]]}}", math.pi * 4),
    ("{rectangle: {corner: [1, 5], length: 4, width: 3, turn: 25}}", 12.0),
    ("{rectangle: {centre: [4, 8], length: 4, width: 3, corner_radius: 1}}", 12 - 4 + math.pi),
    ("{polygon: {corners: [[0, 5], [4, 5], [4, 8]]}}", 6.0),
    ("{polygon: {corners: [[0, 8], [4, 8], [4, 5]]}}", 6.0),
    ("{polygon: {corners: [[0, 5], [4, 5], {at: [4, 9], radius: 1}, [0, 9]]}}", 16 - 1 + math.pi / 4),
    ("{outline: {start: [0, 6], legs: [{to: [4, 6]}, {to: [0, 6], radius: 2, bend: left}]}}", math.pi * 2),
    ("{outline: {start: [0, 6], legs: [{to: [4, 6]}, {to: [4, 8], tangent: no}, {to: [0, 8]}]}}", 8.0),
    ("{outline: {start: [0, 6], legs: [{to: [4, 6]}, {to: [4, 10], tangent: true}, {to: [0, 10]}]}}", 16 + math.pi * 2),
    ("{joined: [{circle: {centre: [3, 8], radius: 2.5}}, {circle: {centre: [6, 8], radius: 2}}]}",
     math.pi * (6.25 + 4) - lens(2.5, 2, 3)),
    ("{shared: [{circle: {centre: [3, 8], radius: 2.5}}, {circle: {centre: [6, 8], radius: 2}}]}", lens(2.5, 2, 3)),
    ("{cut: {from: {circle: {centre: [3, 8], radius: 2.5}}, away: [{circle: {centre: [6, 8], radius: 2}}]}}",
     math.pi * 6.25 - lens(2.5, 2, 3)),
    ("{inset: {of: terrace, by: 0.5}}", 5 * 2.0),
    ("{grown: {of: terrace, by: 0.5}}", 7 * 4.0),
    ("{grown: {of: terrace, by: 0.5, corners: round}}", 18 + 9 + math.pi / 4),
    ("{inset: {of: round lawn, by: 0.4}}", math.pi * 9),
    ("{band: {line: {straight: [[0, 6], [4, 6]]}, width: 1.2}}", 4.8),
    ("{band: {line: {arc: {from: [6, 10], to: [2, 10], through: [4, 12]}}, width: 1}}", math.pi * 2),
    ("{band: {line: long walk, width: 2}}", 26.0),
    ("{remainder: {of: boundary, less: [house, round lawn]}}", 312 - 54 - math.pi * 3.4**2),
    ("{remainder: {of: terrace, less: [{rectangle: {corner: [2.5, -1], length: 1, width: 6}}], holding: [2, 1]}}", 3.0),
]


@pytest.mark.parametrize(("form", "area"), AREAS, ids=[form for form, _ in AREAS])
def test_an_outline_encloses_what_it_should(form: str, area: float) -> None:
    assert thing("outline", form).area == pytest.approx(area, rel=1e-9)


LENGTHS = [
    ("terrace", 18.0),
    ("long walk", 13.0),
    ("{straight: [[0, 6], [4, 6], [4, 9]]}", 7.0),
    ("{straight: [[0, 6], {at: [4, 6], radius: 2}, [4, 9]]}", 7 - 4 + math.pi),
    ("{arc: {from: [0, 6], to: [4, 6], radius: 2, bend: left}}", math.pi * 2),
    ("{arc: {from: [0, 6], to: [2, 8], radius: 2, bend: left, large: yes}}", math.pi * 3),
    ("{arc: {from: [0, 6], to: [4, 6], through: [2, 8]}}", math.pi * 2),
    ("{legs: {start: [0, 6], legs: [{to: [3, 6]}, {to: [5, 8], tangent: true}]}}", 3 + math.pi),
    ("{legs: {start: [1, 6], heading: 0, run: [ahead 3.0, left 90 radius 2, right 45 radius 4, ahead 2]}}",
     5 + math.pi + math.pi),
    ("{edge: {of: terrace, from: terrace.corner 1, to: [7.5, 1]}}", 7.0),
    ("{edge: {of: terrace, from: terrace.corner 1, to: [7.5, 1], way: long}}", 11.0),
    ("{edge: {of: round lawn, from: [4.5, 4], to: [4.5, 10.8]}}", math.pi * 3.4),
    ("{edge: {of: long walk, from: [9.5, 12], to: [9.5, 3]}}", 9.0),
    ("{offset: {of: {arc: {from: [6, 10], to: [2, 10], through: [4, 12]}}, by: 0.5}}", math.pi * 1.5),
    ("{offset: {of: long walk, by: -1}}", 13.0),
]


@pytest.mark.parametrize(("form", "length"), LENGTHS, ids=[form for form, _ in LENGTHS])
def test_a_line_is_as_long_as_it_should_be(form: str, length: float) -> None:
    shape = thing("line", form).shape
    assert isinstance(shape, Path)
    assert shape.length == pytest.approx(length, rel=1e-9)


def test_an_edge_walks_from_its_first_point_to_its_second() -> None:
    for start, end in (("terrace.corner 2", "terrace.corner 4"), ("terrace.corner 4", "terrace.corner 2"),
                       ("terrace.corner 4", "terrace.corner 1"), ("terrace.corner 1", "terrace.corner 4")):
        for way in ("short", "long"):
            shape = thing("line", f"{{edge: {{of: terrace, from: {start}, to: {end}, way: {way}}}}}").shape
            corners = {"1": (1.5, 0), "2": (7.5, 0), "4": (1.5, 3)}
            assert isinstance(shape, Path)
            assert (shape.start.x, shape.start.y) == pytest.approx(corners[start[-1]])
            assert (shape.end.x, shape.end.y) == pytest.approx(corners[end[-1]])


def test_an_edge_over_the_seam_of_a_circle_is_one_arc() -> None:
    """A circle begins at its right: a stretch over that place is no two arcs with a joint that nobody drew."""
    shape = thing("line", "{edge: {of: round lawn, from: [4.5, 4], to: [4.5, 10.8]}}").shape
    other = thing("line", "{edge: {of: round lawn, from: [4.5, 10.8], to: [4.5, 4]}}").shape
    for path in (shape, other):
        assert isinstance(path, Path)
        assert len(path.segments) == 1
        assert isinstance(path.segments[0], Arc)
        assert path.segments[0].radius == 3.4


def test_a_bed_cut_by_a_round_lawn_has_the_lawns_own_arc() -> None:
    ground = "{rectangle: {corner: [0, 4], length: 9, width: 8}}"
    placed = thing("outline", f"{{remainder: {{of: {ground}, less: [round lawn]}}}}")
    arcs = [s for loop in placed.loops() for s in loop.segments if isinstance(s, Arc)]
    assert arcs
    assert {(a.centre, a.radius) for a in arcs} == {(Point(4.5, 7.4), 3.4)}


def test_an_untouched_ellipse_stays_one_and_a_cut_one_does_not() -> None:
    form = "{ellipse: {centre: [5, 8], length: 6, width: 4, turn: 15}}"
    whole = thing("outline", form)
    ellipse = whole.loops()[0].ellipse
    assert ellipse is not None
    assert (ellipse.half_length, ellipse.half_width) == (3.0, 2.0)
    assert whole.area == pytest.approx(math.pi * 6, rel=2e-3)
    cut = thing("outline", f"{{cut: {{from: {form}, away: [{{circle: {{centre: [8, 9], radius: 1}}}}]}}}}")
    assert all(loop.ellipse is None for loop in cut.loops())
    foci = [whole.named_points()[f"focus {k}"].at for k in (1, 2)]
    assert foci[0].distance(foci[1]) / 2 == pytest.approx(ROOT(3**2 - 2**2))


def test_corners_are_counted_as_they_were_written_whichever_way_round() -> None:
    written = [(0.0, 5.0), (0.0, 9.0), (4.0, 9.0), (5.0, 5.0)]
    for corners in (written, written[::-1]):
        placed = thing("outline", f"{{polygon: {{corners: {[list(c) for c in corners]}}}}}")
        named = placed.named_points()
        assert [(named[f"corner {k}"].at.x, named[f"corner {k}"].at.y) for k in range(1, 5)] == corners


def test_a_flowing_line_keeps_its_points_and_headings() -> None:
    points = [(1, 6), (3, 7), (5, 6.5), (7, 9)]
    form = f"{{flowing: {{through: {[list(p) for p in points]}, start_heading: 10, end_heading: 80}}}}"
    path = thing("line", form).shape
    assert isinstance(path, Path)
    assert math.degrees(path.segments[0].heading(0)) % 360 == pytest.approx(10, abs=0.2)
    assert math.degrees(path.segments[-1].heading(1)) % 360 == pytest.approx(80, abs=0.2)
    for x, y in points:
        assert project(path, Point(x, y)).distance <= FIT


def test_feet_and_millimetres_mean_what_they_say() -> None:
    text = model_text("tub: {kind: feature, at: [7 ft 6 in, 500 mm]}").replace("units: m\n", "units: ft\n")
    shape = loads(text, "feet.yaml").element("tub").shape
    assert isinstance(shape, Point)
    assert (shape.x, shape.y) == pytest.approx((2.286, 0.5), abs=1e-12)
    terrace = loads(text, "feet.yaml").element("terrace")
    assert terrace.area == pytest.approx(18 * 0.3048**2)
    small = model_text().replace("units: m\n", "units: mm\n").replace("600 mm", "600").replace("10 mm", "10")
    with pytest.raises(ModelError):         # 9 mm between two marks is no baseline
        loads(small, "mm.yaml")


def test_a_mark_by_ties_is_adjusted_and_its_misclosure_told() -> None:
    head = model_text().replace("    C: {at: [11, 18],", "    C: {ties: {A: 21.095, B: 18.111, D: 13.0}, side: left,")
    garden = loads(head, "ties.yaml")
    assert garden.site.control["C"].distance(Point(11, 18)) < 0.003
    assert garden.site.marks[2].ties[0].reading == 21.095
