"""Elevation strips show each bed's plants to scale, hide what stands behind, and part between strips."""

import pytest

from pegbook.drawings.planting_elevation import HEADING, elevations_of
from pegbook.drawings.sheet import Stroke, flat
from pegbook.geometry.planting.plan import plant_bed
from pegbook.geometry.planting.planted import BedPlanting
from support.beds import mixed_border


@pytest.fixture(scope="module")
def border() -> BedPlanting:
    return plant_bed(mixed_border())


def test_the_tallest_crown_is_as_high_as_its_plant(border: BedPlanting) -> None:
    strips = elevations_of([border])
    assert strips is not None
    tops = [m.path.box.height for m in flat(strips.drawn().marks) if isinstance(m, Stroke) and m.pen == "texture"]
    tallest = max(g.plant.height for g in border.groups)
    assert max(tops) == pytest.approx(tallest * 1000 / strips.scale, rel=0.01)


def test_every_part_fits_and_nothing_is_lost(border: BedPlanting) -> None:
    strips = elevations_of([border, border])
    assert strips is not None
    part, rest = strips.parted(strips.height - 1)
    assert rest is not None
    assert part.height <= strips.height - 1
    assert part.strips + rest.strips == strips.strips
    assert strips.parted(strips.height + 0.1)[1] is None
    one, _ = strips.parted(HEADING)
    assert len(one.strips) == 1
