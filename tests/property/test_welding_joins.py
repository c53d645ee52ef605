"""Welding makes one edge of two that nearly meet, keeps circles, and tells what it moved."""

import random

import pytest

from pegbook.geometry.kernel.combine import partition, shared_edges
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.weld import weld
from support.shapes import area, box, circle, moved, sector


def test_a_corner_a_quarter_of_a_millimetre_off() -> None:
    terrace = [box(0, 0, 4, 3)]
    bed = [Region(Loop.polygon([Point(4.00025, 0.0), Point(6, 0), Point(6, 3), Point(3.9998, 3.0001)]))]
    before = partition({"terrace": terrace, "bed": bed})
    done = weld({"terrace": terrace, "bed": bed})
    after = partition(done.regions)
    assert any(face.labels == ("terrace", "bed") for face in before)
    assert [face.labels for face in after] == [("terrace",), ("bed",)]
    assert done.regions["terrace"] == tuple(terrace)
    assert [(m.name, m.after) for m in done.moves] == [("bed", Point(4, 0)), ("bed", Point(4, 3))]
    assert max(m.distance for m in done.moves) < 5e-4


@pytest.mark.parametrize("seed", range(12))
def test_a_bed_on_a_lawn_takes_its_circle(seed: int) -> None:
    rng = random.Random(seed)
    lawn = [circle(3, 4, 2.5)]
    near = moved(sector(3, 4, 2.5, 3.4, rng.uniform(0, 6), rng.uniform(0.4, 2)), 0.0,
                 Vec(rng.uniform(-2e-4, 2e-4), rng.uniform(-2e-4, 2e-4)))
    done = weld({"lawn": lawn, "bed": [near]})
    faces = partition(done.regions)
    assert sorted(face.labels for face in faces) == [("bed",), ("lawn",)]
    assert sum(f.region.area for f in faces) == pytest.approx(area(tuple(lawn)) + near.area, abs=2e-3)
    shared = [e for e in shared_edges(done.regions) if e.sources == ("lawn", "bed")]
    assert sum(e.segment.length for e in shared) > 0.9


def test_what_does_not_nearly_meet_stays_itself() -> None:
    shapes = {"a": [box(0, 0, 2, 2, 0.2, 0.4)], "b": [circle(6, 0, 1)], "c": [box(3, 3, 1, 1)]}
    done = weld(shapes)
    assert done.moves == ()
    assert done.regions == {name: tuple(regions) for name, regions in shapes.items()}
