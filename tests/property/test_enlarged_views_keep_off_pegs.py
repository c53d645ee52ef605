"""The rim of an enlarged view keeps off every peg, and what it was asked to show stays inside."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from pegbook.drawings.enlarged import clear_of_pegs
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
