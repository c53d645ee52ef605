"""Entities written as text at once are, byte for byte, those that the DXF library writes."""

from __future__ import annotations

import io
import math

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.drawings.dxf import dxf_bytes
from pegbook.drawings.dxf_shapes import Plotter
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc, Line
from support.sheets import sheet_set

FIGURES = st.floats(-1e5, 1e5, allow_nan=False)
SIZES = st.floats(1e-3, 1e4)
SPOTS = st.builds(Point, FIGURES, FIGURES)
WORDS = st.text(st.characters(min_codepoint=32, max_codepoint=0x24F, blacklist_categories=("Cc", "Cs")), max_size=20)
LOOKS = st.fixed_dictionaries({"layer": st.just("L-9000--E-N")}, optional={
    "linetype": st.sampled_from(["BYLAYER", "Continuous"]), "color": st.sampled_from([7, 256]),
    "lineweight": st.sampled_from([-1, 13, 18, 25, 100]), "true_color": st.integers(0, 0xFFFFFF)})


@pytest.mark.parametrize("units", ["m", "mm"])
@pytest.mark.parametrize("version", ["R2000", "R2010", "R2018"])
def test_a_whole_set_has_the_same_bytes(version: str, units: str) -> None:
    sheets = sheet_set()
    assert dxf_bytes(sheets, version, units) == dxf_bytes(sheets, version, units, text=False)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_every_plain_entity_has_the_same_text(data: st.DataObject) -> None:
    at, radius = data.draw(SPOTS), data.draw(SIZES)
    arc = Arc.swung(at, radius, data.draw(st.floats(-7, 7)), data.draw(st.floats(0.01, 6.2)))
    ring = Loop.of((arc, Line(arc.end, arc.start)))
    box = Loop.polygon([at, Point(at.x + radius, at.y), Point(at.x, at.y + radius)])
    corners = Path.through([at, Point(at.x + radius, at.y), Point(at.x + radius, at.y - 2 * radius)])
    words, turn = data.draw(WORDS), data.draw(st.floats(-7, 7))
    anchor, look = data.draw(st.sampled_from(["start", "middle", "end"])), data.draw(LOOKS)
    factor, paper = data.draw(st.sampled_from([1.0, 1000.0, 0.05])), data.draw(st.booleans())

    def written(text: bool) -> str:
        doc = ezdxf.new("R2010")
        doc.appids.add("PEGBOOK")
        doc.styles.add("PEGBOOK-BOLD", font="arial.ttf")
        layout = doc.layout("Layout1") if paper else doc.modelspace()
        plot = Plotter.on(layout, factor, text=text)
        made = [plot.path(Path((arc,)), look), plot.path(Path((Line(at, arc.start),)), look), plot.path(corners, look),
                plot.loop(ring, look), plot.loop(Loop.circle(at, radius), look), plot.disc(at, radius, look),
                plot.point(at, look), plot.solid(Region(box), look), plot.solid(Region(ring, (box,)), look),
                plot.lettering(words, at, radius, turn, anchor, "PEGBOOK-BOLD", look)]
        for entity in made:
            entity.set_xdata("PEGBOOK", [(1000, "element:lawn"), (1000, "part:edge")])
        stream = io.StringIO()
        doc.write(stream)
        whole = stream.getvalue()
        return whole[whole.index("\nENTITIES\n"):whole.index("\nOBJECTS\n")]

    assert written(text=True) == written(text=False)


def test_a_look_without_a_group_is_a_fault() -> None:
    plot = Plotter.on(ezdxf.new("R2010").modelspace(), 1.0)
    with pytest.raises(AssertionError, match="thickness"):
        plot.path(Path.through([Point(0, 0), Point(1, math.pi)]), {"layer": "0", "thickness": 1.0})
