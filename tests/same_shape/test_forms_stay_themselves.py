"""Each written form, moved, turned, mirrored or walked the other way, is the same shape somewhere else.

Guards against forms that lean on the frame: headings read from the axes, sides taken from coordinates, lost figures
far from the start of the baseline.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest

from pegbook.geometry.kernel.path import Path
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.model.garden import loads
from support.models import form_examples, forms, model_text

PAIR = re.compile(r"\[(-?[\d.]+), (-?[\d.]+)\]")

NAMED = re.compile(r"terrace|round lawn|long walk|boundary|\bA\b|\bB\b")
"""Forms that lean on other elements move with those, not with their own figures."""

HOLDERS = {"outline": "thing: {{kind: lawn, outline: {0}}}", "line": "thing: {{kind: edging, line: {0}}}"}

EXAMPLES = [(vocabulary, example) for vocabulary in HOLDERS for cls in forms()[vocabulary]
            for example in form_examples(cls, vocabulary) if not NAMED.search(example)]


def with_points(form: str, change: Callable[[float, float], tuple[float, float]]) -> str:
    def changed(match: re.Match[str]) -> str:
        x, y = change(float(match[1]), float(match[2]))
        return f"[{x:.12f}, {y:.12f}]"
    return PAIR.sub(changed, form)


def moved(form: str, dx: float, dy: float) -> str:
    return with_points(form, lambda x, y: (x + dx, y + dy))


def turned(form: str, degrees: float) -> str:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    form = re.sub(r"(rectangle: \{)(?![^{}]*turn)", r"\1turn: 0, ", form)
    form = re.sub(r"((?:turn|heading|start_heading): )(-?[\d.]+)", lambda m: f"{m[1]}{float(m[2]) + degrees}", form)
    return with_points(form, lambda x, y: (c * x - s * y, s * x + c * y))


def mirrored(form: str) -> str:
    """Return the form seen in a mirror along the baseline: left is right, headings run the other way."""
    swap = {"left": "right", "right": "left"}
    form = re.sub(r"\b(left|right)\b", lambda m: swap[m[1]], form)
    form = re.sub(r"((?:turn|heading|start_heading|by): )(-?[\d.]+)",
                  lambda m: m[0] if m[1] == "by: " and "offset" not in form else f"{m[1]}{-float(m[2])}", form)
    return with_points(form, lambda x, y: (x, -y))


def figures(vocabulary: str, form: str) -> tuple[list[float], list[int]]:
    placed = loads(model_text(HOLDERS[vocabulary].format(form)), "form.yaml").element("thing")
    shape = placed.shape
    if isinstance(shape, Path):
        return [shape.length, shape.start.distance(shape.end)], [len(shape.segments)]
    assert not isinstance(shape, Point)
    sizes = [placed.area, sum(loop.length for loop in placed.loops())]
    return sizes, [len(shape), sum(len(loop.segments) for loop in placed.loops())]


REPLAYS: dict[str, Callable[[str], str]] = {
    "moved": lambda form: moved(form, 3.217, -1.904),
    "moved far": lambda form: moved(form, 7000.5, 4000.25),
    "turned a little": lambda form: turned(form, 17.3),
    "turned a quarter": lambda form: turned(form, 90),
    "turned about": lambda form: turned(form, 180),
}


@pytest.mark.parametrize("replay", REPLAYS)
@pytest.mark.parametrize(("vocabulary", "form"), EXAMPLES, ids=[form for _, form in EXAMPLES])
def test_a_form_stays_itself(vocabulary: str, form: str, replay: str) -> None:
    sizes, counts = figures(vocabulary, form)
    other, other_counts = figures(vocabulary, REPLAYS[replay](form))
    assert other == pytest.approx(sizes, rel=1e-8)
    assert other_counts == counts


@pytest.mark.parametrize(("vocabulary", "form"), [e for e in EXAMPLES if "rectangle: {corner" not in e[1]],
                         ids=[form for _, form in EXAMPLES if "rectangle: {corner" not in form])
def test_a_form_in_a_mirror_is_as_large(vocabulary: str, form: str) -> None:
    sizes, counts = figures(vocabulary, form)
    other, other_counts = figures(vocabulary, mirrored(form))
    assert other == pytest.approx(sizes, rel=1e-8)
    assert other_counts == counts


@pytest.mark.parametrize("form", [
    "{{polygon: {{corners: {0}}}}}",
    "{{flowing: {{through: {0}}}}}",
])
def test_a_ring_of_points_may_be_written_either_way_and_from_any_start(form: str) -> None:
    points = [[1.0, 6.0], [4.0, 5.0], [7.0, 7.0], [6.0, 11.0], [2.0, 10.0]]
    sizes, _ = figures("outline", form.format(points))
    for k in range(len(points)):
        ring = points[k:] + points[:k]
        for one in (ring, ring[::-1]):
            other, _ = figures("outline", form.format(one))
            assert other == pytest.approx(sizes, rel=2e-4 if "flowing" in form else 1e-12)
