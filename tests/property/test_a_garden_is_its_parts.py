"""The parts of a partitioned garden sum to the plot within 1e-9 m2 and never overlap."""

import math
import random

import pytest

from pegbook.geometry.kernel.combine import Regions, common, difference, partition, shared_edges
from pegbook.geometry.kernel.fit import ellipse, flowing_path
from pegbook.geometry.kernel.offset import band, grown
from pegbook.geometry.kernel.path import Region
from pegbook.geometry.kernel.point import Point
from support.shapes import area, beds_on_a_lawn, box, bulged, circle, circles_of
from support.tally import Tally


def garden(seed: int) -> dict[str, Regions]:
    """A plot with a round or oval lawn and its mowing edge, beds that butt on it, a walk, a terrace, a pond."""
    rng = random.Random(f"garden {seed}")
    plot = (box(0, 0, 20, 14),) if seed % 3 else (bulged([Point(0, 0), Point(20, 1), Point(19, 14), Point(1, 13)],
                                                         [0.0, 0.05, 0.0, -0.03]),)
    cx, cy, r = rng.uniform(7, 13), rng.uniform(6, 8), rng.uniform(2, 4)
    lawn = (circle(cx, cy, r),) if seed % 2 else (Region(ellipse(Point(cx, cy), 2 * r, 1.3 * r, rng.uniform(0, 3))),)
    edging = difference(grown(lawn, 0.15), lawn)
    turns = [Point(x, rng.uniform(y, 14 - y)) for x, y in ((-1, 2), (6, 4), (13, 4), (21, 2))]
    walk = band(flowing_path(turns), rng.uniform(0.9, 1.6))
    beds = tuple(beds_on_a_lawn(rng)[1:])
    beds = tuple(_about(bed, cx, cy, r) for bed in beds) if seed % 2 else beds
    return {"plot": plot, "lawn": lawn, "edging": edging, "walk": walk, "beds": difference(beds, lawn),
            "terrace": (box(rng.randrange(0, 8) / 2, 0, 5, 3.5),), "pond": (circle(16, 11, rng.uniform(0.8, 2)),)}


def _about(bed: Region, x: float, y: float, r: float) -> Region:
    """A bed of the same angles on the lawn's own circle."""
    from support.shapes import sector
    arc = bed.outer.segments[0]
    return sector(x, y, r, r + 0.9, arc.begin, arc.sweep)  # type: ignore[union-attr]


def check(seed: int) -> None:
    named = garden(seed)
    faces = partition(named)
    inside = [f for f in faces if "plot" in f.labels]
    assert math.fsum(f.region.area for f in inside) == pytest.approx(area(named["plot"]), abs=1e-9), seed
    for name, regions in named.items():
        own = math.fsum(f.region.area for f in faces if name in f.labels)
        assert own == pytest.approx(area(regions), abs=1e-9 if name != "beds" else 2e-7), (seed, name)
    small = sorted(faces, key=lambda f: f.region.area)[-6:]
    for k, face in enumerate(small):
        assert area(common((face.region,), [other.region for other in small[:k]])) < 1e-9, seed


@pytest.mark.parametrize("seed", range(25))
def test_parts_sum_to_the_plot(seed: int) -> None:
    check(seed)


@pytest.mark.deep
def test_parts_of_a_thousand_gardens(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    tally = Tally("gardens parted into their faces, each the plot within 1e-9 m2")
    tally.counted(monkeypatch)

    def parts(seed: int) -> list[str]:
        check(seed)
        named = garden(seed)
        given = circles_of([region for regions in named.values() for region in regions])
        made = circles_of([face.region for face in partition(named)])
        return [] if made <= given else ["an arc that nobody gave"]

    tally.run(range(1000, 2000), parts)
    tally.tell(capsys)
    assert tally.refused == []


def test_who_shares_an_edge() -> None:
    lawn = (circle(8, 5, 3),)
    bed = difference((box(10, 3, 5, 4),), lawn)
    found = shared_edges({"lawn": lawn, "bed": bed})
    shared = [edge for edge in found if edge.sources == ("lawn", "bed")]
    assert sum(edge.segment.length for edge in shared) == pytest.approx(6 * math.asin(2 / 3), abs=1e-12)
    assert all((edge.left, edge.right) == (("lawn",), ("bed",)) for edge in shared)
    total = sum(e.segment.length * len(e.sources) for e in found)
    assert total == pytest.approx(lawn[0].length + bed[0].length, abs=1e-9)


def test_faces_name_what_covers_them_in_the_order_given() -> None:
    faces = partition({"b": (circle(0, 0, 2),), "a": (circle(1, 0, 2),)})
    assert sorted(f.labels for f in faces) == [("a",), ("b",), ("b", "a")]


def test_one_name_for_a_whole_of_touching_regions() -> None:
    """Regions of one name that abut make one face, not two."""
    faces = partition({"terrace": (box(0, 0, 2, 1), box(2, 0, 2, 1)), "seat": (circle(9, 0, 1),)})
    assert [len(f.region.outer.segments) for f in faces if f.labels == ("terrace",)] == [4]


def test_order_and_place_of_results_never_change() -> None:
    assert partition(garden(3)) == partition(garden(3))
