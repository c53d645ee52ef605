"""The details: each way of building once, layers at their true thickness, sizes as the model has them."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from pegbook.drawings.brief import read
from pegbook.drawings.compose import compose
from pegbook.drawings.details_parts import millimetres
from pegbook.drawings.details_sheet import details
from pegbook.drawings.details_views import SCALES, at_scale
from pegbook.drawings.sheet import Sheet, Text, flat
from pegbook.drawings.surfaces import cut_texture
from support.issued import DEMO, worked


def test_sections_that_differ_by_their_fall_alone_are_one_detail() -> None:
    brief = read(worked("tannery-row"))
    surface = next(s for s in brief.sections if s.form == "surface" and s.sizes.get("fall"))
    level = replace(surface, elements=("elsewhere",), sizes={k: v for k, v in surface.sizes.items() if k != "fall"})
    steep = replace(surface, elements=("third",), sizes={**surface.sizes, "fall": 40.0})
    one = details(replace(brief, sections=(surface,)))
    many = details(replace(brief, sections=(level, surface, steep)))
    assert len(one) == len(many) == 1
    assert one[0].fall == "1:60"
    assert many[0].fall == "1:40 or 1:60 or level"
    assert set(many[0].elements) == {*surface.elements, "elsewhere", "third"}


@pytest.mark.parametrize("name", DEMO)
def test_layers_are_drawn_as_thick_as_they_are(name: str) -> None:
    for section in (s for s in read(worked(name)).sections if s.form == "surface"):
        (detail,) = details(replace(read(worked(name)), sections=(section,)))
        thick = [round(layer.thickness, 6) for layer in section.layers if layer.thickness > 0.004]
        drawn = {round(piece.outline.box.height, 6) for piece in detail.pieces}
        assert set(thick) <= drawn
        for scale in SCALES:
            assert at_scale(detail, scale, cut_texture).view.factor == pytest.approx(1000 / scale)


@pytest.mark.parametrize("name", DEMO)
def test_every_layer_and_its_thickness_is_written_beside_it(name: str) -> None:
    brief = read(worked(name))
    words = " ".join(m.words for s in sheets(name) for m in flat(s.marks) if isinstance(m, Text))
    for section in brief.sections:
        for layer in section.layers:
            assert layer.material[:1].upper() + layer.material[1:] in words
            assert layer.thickness <= 0.004 or millimetres(layer.thickness) in words


@pytest.mark.parametrize("name", DEMO)
def test_details_warn_of_services_and_send_walls_to_an_engineer(name: str) -> None:
    for sheet in sheets(name):
        words = " ".join(m.words for m in flat(sheet.marks) if isinstance(m, Text))
        assert "Buried services" in words
        if any(s.form == "wall" for s in read(worked(name)).sections):
            assert "licensed engineer" in words


def test_half_millimetres_are_not_lost() -> None:
    # Brickwork sizes of common practice: a brick is 102.5 mm wide and 65 mm high.
    assert [millimetres(v) for v in (0.1025, 0.065, 0.04, 0.215)] == ["102.5", "65", "40", "215"]


@cache
def sheets(name: str) -> list[Sheet]:
    return [s for s in compose(worked(name), style="line").sheets if s.name.startswith("details")]
