"""Posts stand in equal bays that keep to the limit, on a curve along its outer side, in pairs on one radius.

Openings and piers of a wall lie where the distance along the given line says, whatever the face.
"""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kinds.fence import Fence
from pegbook.geometry.kinds.pergola import Pergola
from pegbook.geometry.kinds.wall import Wall
from pegbook.geometry.quantities.rows import TAKEN_UP
from support.models import small_garden


def rows(text: str) -> tuple[list[Point], list[Point]]:
    """Return the left and the right row of a pergola's posts."""
    garden = small_garden(f"arbour: {{kind: pergola, {text}}}")
    placed = garden.element("arbour")
    assert isinstance(placed.element, Pergola)
    posts = [at for at, _ in placed.element.posts(placed)]
    half = len(posts) // 2
    return posts[:half], posts[half:]


@given(radius=st.floats(2.5, 30), sweep=st.floats(0.3, 3.0), bay=st.floats(1.0, 3.5), width=st.floats(0.8, 3.0))
@settings(max_examples=40, deadline=None)
def test_on_a_curve(radius: float, sweep: float, bay: float, width: float) -> None:
    chord = 2 * radius * math.sin(sweep / 2)
    left, right = rows(f"line: {{arc: {{from: [0, 9], to: [{chord:.9f}, 9], radius: {radius:.9f}, bend: left}}}}, "
                       f"width: {width:.6f}, bay: {bay:.6f}")
    centre = Point(chord / 2, 9 + math.sqrt(max(radius**2 - chord**2 / 4, 0)))
    for row, out in ((left, radius - width / 2), (right, radius + width / 2)):
        assert [centre.distance(post) for post in row] == pytest.approx([out] * len(row), abs=1e-6)
        spans = [a.distance(b) for a, b in pairwise(row)]
        assert spans == pytest.approx([spans[0]] * len(spans), abs=1e-6)
        assert max(spans) <= bay + 1e-6
    for a, b in zip(left, right, strict=True):
        assert a.distance(b) == pytest.approx(width, abs=1e-6)
    fewer = len(left) - 2
    if fewer:       # one bay less would break the limit along the outer side
        assert (radius + width / 2) * sweep / fewer > bay - 1e-6


def test_the_outer_side_counts() -> None:
    """Centre line of radius 5, a quarter turn, 2.4 wide, bays of 2.4: four bays would be 2.419 outside (derived)."""
    left, right = rows("line: {arc: {from: [5, 4], to: [0, 9], radius: 5, bend: left}}, width: 2.4, bay: 2.4")
    assert len(left) == len(right) == 6
    assert 2 * 6.2 * math.sin(math.pi / 16) == pytest.approx(2.419, abs=5e-4)


@given(length=st.floats(1, 12), width=st.floats(1, 6), bay=st.floats(0.8, 4))
@settings(max_examples=30, deadline=None)
def test_round_an_outline(length: float, width: float, bay: float) -> None:
    garden = small_garden(f"arbour: {{kind: pergola, bay: {bay:.6f}, outline: {{rectangle: {{corner: [0, 8], "
                          f"length: {length:.6f}, width: {width:.6f}}}}}}}")
    placed = garden.element("arbour")
    assert isinstance(placed.element, Pergola)
    beams = placed.element.beams(placed)
    assert len(beams) == 2 * (math.ceil(length / bay - 1e-7) + math.ceil(width / bay - 1e-7))
    assert max(beam.length for beam in beams) <= bay + 1e-5
    assert sum(beam.length for beam in beams) == pytest.approx(2 * (length + width), abs=1e-4)


def test_a_round_pergola_has_posts_on_its_rim_and_rafters_across() -> None:
    garden = small_garden("arbour: {kind: pergola, bay: 2.0, outline: {circle: {centre: [5, 14], radius: 2}}}")
    placed = garden.element("arbour")
    assert isinstance(placed.element, Pergola)
    assert len(placed.element.posts(placed)) == math.ceil(2 * math.pi * 2 / 2.0)
    assert all(at.distance(Point(5, 14)) == pytest.approx(2) for at, _ in placed.element.posts(placed))
    rafters = placed.element.rafters(placed)
    assert max(rafter.length for rafter in rafters) == pytest.approx(4 + 2 * 0.3)


@given(length=st.floats(2, 20), panel=st.sampled_from([1.2, 1.83]))
@example(length=2.6015625, panel=1.2)      # the rest is so small that the bays share it
@settings(max_examples=30, deadline=None)
def test_a_fence_of_panels_cuts_one(length: float, panel: float) -> None:
    garden = small_garden(f"fence: {{kind: fence, line: {{straight: [[0, 4], [{length:.6f}, 4]]}}, panel: {panel}}}")
    placed = garden.element("fence")
    assert isinstance(placed.element, Fence)
    stands = [stand.at.x for stand in placed.element.posts(placed)]
    assert stands[0] == 0
    assert stands[-1] == pytest.approx(length, abs=1e-5)
    spans = [b - a for a, b in pairwise(stands)]
    assert all(span == pytest.approx(panel + 0.1, abs=TAKEN_UP + 1e-5) for span in spans[:-2])
    assert all(0 < span <= panel + 0.1 + TAKEN_UP + 1e-5 for span in spans)
    assert sum(spans) == pytest.approx(length, abs=1e-5)


@pytest.mark.parametrize("face", ["centre", "left", "right"])
def test_openings_lie_where_the_line_says(face: str) -> None:
    """Past a corner the middle line is shorter or longer than the face: distances are still those of the line."""
    garden = small_garden(f"wall: {{kind: wall, line: {{straight: [[0, 12], [4, 12], [4, 16]]}}, face: {face}, "
                          "thickness: 0.3, height: 1.2, openings: [{at: 6, width: 0.8}]}")
    placed = garden.element("wall")
    assert isinstance(placed.element, Wall)
    assert len(placed.regions) == 2
    ends = sorted(y for region in placed.regions for y in (region.box.y0, region.box.y1))
    assert pytest.approx(next(y for y in ends if 13 < y < 14)) == 13.6      # 6 along is (4, 14), 0.4 to each side
    assert pytest.approx(next(y for y in ends if 14 < y < 15)) == 14.4
    places = [(wanted.at.x, wanted.at.y) for wanted in placed.element.wanted(placed, garden)]
    assert places == [pytest.approx((4, 13.6)), pytest.approx((4, 14.4))]
