"""Beds in which not all groups can be laid out are planted with fewer, and say so; gardens are not refused."""

from pathlib import Path

import pytest

from pegbook.geometry.model.beds import planted
from pegbook.geometry.model.garden import load
from pegbook.geometry.planting.order import Drift
from pegbook.geometry.planting.shareout import Dealt, one_fewer
from support.gardens import garden_text
from support.planting_laws import broken_laws


@pytest.mark.deep
@pytest.mark.parametrize("seed", [2, 8])
def test_a_generated_garden_is_planted(seed: int, tmp_path: Path) -> None:
    file = tmp_path / "garden.yaml"
    file.write_text(garden_text(seed, 0.3), encoding="utf-8")
    garden = load(file)
    for placed in garden.elements:
        bed = planted(placed, garden)
        if bed is not None:
            assert broken_laws(bed) == []


def _drift(kind: int) -> Drift:
    return Drift(kind, 0, 1, None, 0.5, "", False)


def test_the_kind_with_most_groups_gives_one_up_and_keeps_its_ground() -> None:
    dealt = Dealt(tuple(map(_drift, (0, 1, 1, 1, 2))), (2.0, 1.0, 1.0, 2.0, 3.0))
    found = one_fewer(dealt)
    assert found is not None
    fewer, lost = found
    assert lost.kind == 1
    assert [d.kind for d in fewer.drifts] == [0, 1, 1, 2]
    assert fewer.areas == pytest.approx((2.0, 2.0, 2.0, 3.0))
    assert one_fewer(Dealt(tuple(map(_drift, (0, 1))), (1.0, 1.0))) is None
