"""Elevation strips show each bed's plants to scale, hide what stands behind, and part between strips."""

import pytest

from pegbook.drawings.planting_elevation import CHOICES, DOT, HEADING, LEFT, WIDTH, elevations_of, ways_to_show
from pegbook.drawings.sheet import Fill, Stroke, flat
from pegbook.geometry.planting.plan import plant_bed
from pegbook.geometry.planting.planted import BedPlanting
from pegbook.geometry.planting.plants import Habit
from pegbook.geometry.planting.profile import SEASONS
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


def test_a_strip_in_lengths_keeps_every_plant_and_every_metre(border: BedPlanting) -> None:
    whole = elevations_of([border], ("summer",))
    assert whole is not None
    larger = elevations_of([border], ("summer",), whole.scale // 4)
    assert larger is not None
    assert len(larger.strips) > 1
    assert sum(s.length for s in larger.strips) == pytest.approx(whole.strips[0].length)
    assert sum(len(s.plants) for s in larger.strips) == len(whole.strips[0].plants)
    room = WIDTH - LEFT
    for strip in larger.strips:
        assert strip.length * 1000 / larger.scale <= room
        assert all(-1e-9 <= p.station <= strip.length + 1e-9 for p in strip.plants)


def test_ways_to_show_begin_large_and_with_all_seasons(border: BedPlanting) -> None:
    ways = list(ways_to_show([border]))
    assert [w.scale for w in ways] == sorted(w.scale for w in ways)
    assert {s.season for s in ways[0].strips} == set(CHOICES[0])
    assert {s.season for s in ways[-1].strips} == set(CHOICES[-1])


def test_grasses_in_flower_carry_dots_and_others_none(border: BedPlanting) -> None:
    def dots(season: str) -> int:
        strips = elevations_of([border], (season,))
        if strips is None:
            return 0
        small = (m for m in flat(strips.drawn().marks) if isinstance(m, Fill) and m.tone == "black")
        return sum(1 for m in small if m.region.box.width == pytest.approx(2 * DOT))

    for season, months in SEASONS:
        grasses = [g for g in border.groups if g.plant.habit is Habit.GRASS and g.plant.height > 0]
        flowering = any(m in g.plant.interest.flower for g in grasses for m in months)
        assert (dots(season) > 0) == flowering, season


def test_a_choice_of_seasons_shows_those_and_no_others(border: BedPlanting) -> None:
    for seasons in CHOICES:
        strips = elevations_of([border], seasons)
        assert strips is not None
        assert tuple(s.season for s in strips.strips) == seasons
