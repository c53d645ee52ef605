"""The same bed gives the same planting: again, in another process, moved, turned, with other names."""

import hashlib
import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path as File

import pytest

from pegbook.geometry.kernel.point import Vec
from pegbook.geometry.planting.plan import plant_bed
from pegbook.geometry.planting.planted import BedPlanting
from support.beds import mixed_border, moved, random_bed

PRINT = """
import sys
sys.path.insert(0, sys.argv[1])
from property.test_planting_repeats import written
from pegbook.geometry.planting.plan import plant_bed
from support.beds import random_bed
print(written(plant_bed(random_bed(int(sys.argv[2])))))
"""


def written(planted: BedPlanting) -> str:
    """All figures of a planting to the last bit, as a hash."""
    text = repr([(g.number, g.plant.name, g.region, g.points) for g in planted.groups]) + repr(planted.labels)
    return hashlib.sha256(text.encode()).hexdigest()


@pytest.mark.parametrize("number", [4, 9])
def test_twice_and_in_another_process(number: int) -> None:
    first, second = plant_bed(random_bed(number)), plant_bed(random_bed(number))
    assert written(first) == written(second)
    tests = str(File(__file__).parents[1])
    for hashing, processor in (("1", "Prescott"), ("77", "Haswell")):       # other last bits in linear algebra
        said = subprocess.run([sys.executable, "-c", PRINT, tests, str(number)], capture_output=True, text=True,
                              check=True, env={"PYTHONHASHSEED": hashing, "OPENBLAS_CORETYPE": processor, "PATH": ""})
        assert said.stdout.strip() == written(first)


@pytest.mark.parametrize("number", [0, 1, 3, 11])
def test_a_moved_bed_has_the_same_groups(number: int) -> None:
    bed = random_bed(number)
    here, there = plant_bed(bed), plant_bed(moved(bed, Vec(40.0, -25.0)))
    assert [g.plant.name for g in here.groups] == [g.plant.name for g in there.groups]
    for a, b in zip(here.groups, there.groups, strict=True):
        assert b.area == pytest.approx(a.area, rel=0.01)


@pytest.mark.parametrize("number", [0, 6, 11])
def test_a_turned_bed_has_the_same_shares(number: int) -> None:
    bed = random_bed(number)
    here, there = plant_bed(bed), plant_bed(moved(bed, Vec(3.0, 2.0), math.pi / 2))
    areas = [sorted(g.area for g in planted.groups) for planted in (here, there)]
    assert len(areas[0]) == len(areas[1])
    assert areas[0] == pytest.approx(areas[1], rel=0.01)


def test_renaming_a_plant_moves_none() -> None:
    bed = mixed_border()
    plants = dict(bed.plants)
    plants["violet sage"] = replace(plants.pop("sage"), name="violet sage")
    mix = tuple(replace(e, plant="violet sage") if e.plant == "sage" else e for e in bed.mix)
    first, second = plant_bed(bed), plant_bed(replace(bed, plants=plants, mix=mix))
    assert [g.points for g in first.groups] == [g.points for g in second.groups]


def test_another_seed_asks_for_another_arrangement() -> None:
    bed = mixed_border()
    assert written(plant_bed(bed)) != written(plant_bed(replace(bed, seed=1)))


def test_a_kept_arrangement_outlasts_a_change_of_shares() -> None:
    """One point more for one kind: the order stays, and each group keeps most of its ground."""
    from pegbook.geometry.kernel.flatten import polygon

    bed = mixed_border()
    first = plant_bed(bed)
    mix = tuple(replace(e, share=(e.share or 0) + {"sage": 0.01, "yarrow": -0.01}.get(e.plant, 0.0)) for e in bed.mix)
    second = plant_bed(replace(bed, mix=mix, arrangement=first.arrangement))
    assert second.arrangement == first.arrangement
    for name in bed.plants:
        for a in (g for g in first.groups if g.plant.name == name):
            mine = polygon(a.region, 1e-3)
            others = [polygon(g.region, 1e-3) for g in second.groups if g.plant.name == name]
            assert max(mine.intersection(o).area / mine.union(o).area for o in others) >= 0.6, name
