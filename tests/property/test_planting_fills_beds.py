"""Groups fill a bed by the asked shares, each in one piece, and plants keep their distances."""

import pytest

from pegbook.geometry.planting.plan import plant_bed
from support.beds import random_bed
from support.planting_laws import broken_laws, share_error


@pytest.mark.parametrize("number", range(24))
def test_random_beds_keep_all_laws(number: int) -> None:
    planted = plant_bed(random_bed(number))
    assert broken_laws(planted) == []
    assert share_error(planted) <= 0.02


@pytest.mark.deep
def test_five_hundred_beds() -> None:
    errors, broken = [], {}
    for number in range(1000, 1500):
        planted = plant_bed(random_bed(number))
        errors.append(share_error(planted))
        laws = broken_laws(planted)
        if laws:
            broken[number] = laws
    errors.sort()
    assert broken == {}
    assert errors[-1] <= 0.07
    assert errors[int(0.98 * len(errors))] <= 0.05
    assert errors[int(0.90 * len(errors))] <= 0.02
