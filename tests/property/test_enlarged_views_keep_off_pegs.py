"""The rim of an enlarged view keeps off every peg and shows all it was asked for; views share sheets, none overlaps."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from pegbook.drawings.enlarged import GAP, clear_of_pegs, fewest_sheets
from pegbook.geometry.kernel.point import Box, Point

ROOM = 0.25
place = st.builds(Point, st.floats(-3.0, 9.0), st.floats(-3.0, 9.0))


@given(st.lists(place, max_size=40), st.floats(0.5, 6.0), st.floats(0.5, 6.0))
def test_no_peg_stands_on_the_rim(pegs: list[Point], wide: float, high: float) -> None:
    asked = Box(0.0, 0.0, wide, high)
    shown = clear_of_pegs(asked, pegs, ROOM)
    assert asked.x0 >= shown.x0
    assert asked.y0 >= shown.y0
    assert asked.x1 <= shown.x1
    assert asked.y1 <= shown.y1
    for p in pegs:
        beside = min(abs(p.x - shown.x0), abs(p.x - shown.x1), abs(p.y - shown.y0), abs(p.y - shown.y1))
        outside = p.x < shown.x0 - ROOM or p.x > shown.x1 + ROOM or p.y < shown.y0 - ROOM or p.y > shown.y1 + ROOM
        assert outside or beside >= ROOM


def test_ground_clear_of_pegs_stays_as_it_is() -> None:
    asked = Box(0.0, 0.0, 4.0, 3.0)
    assert clear_of_pegs(asked, [Point(2.0, 1.5), Point(5.0, 5.0)], ROOM) == asked


FIELD = Box(20.0, 10.0, 230.0, 287.0)       # of an A3
view = st.tuples(st.floats(64.0, 190.0), st.floats(30.0, 260.0))


@given(st.lists(view, max_size=8))
def test_views_stand_apart_on_no_more_sheets_than_views(sizes: list[tuple[float, float]]) -> None:
    spots, places = fewest_sheets(sizes, FIELD)
    boxes = [(sheet, Box(at.x, at.y, at.x + w, at.y + h)) for (sheet, at), (w, h) in zip(spots, sizes, strict=True)]
    assert len(places) <= len(sizes)
    assert {sheet for sheet, _ in boxes} == set(range(len(places)))
    for i, (sheet, box) in enumerate(boxes):
        assert box.x0 >= FIELD.x0
        assert box.x1 <= FIELD.x1
        assert box.y0 >= FIELD.y0
        assert box.y1 <= FIELD.y1
        assert not any(box.meets(other.grown(GAP - 0.02)) for on, other in boxes[:i] if on == sheet)


def test_four_views_stand_on_one_sheet_where_an_order_lets_them() -> None:
    sizes = [(133.0, 113.0), (64.0, 46.0), (88.0, 85.0), (68.0, 56.0)]
    _, places = fewest_sheets(sizes, FIELD)
    assert len(places) == 1
