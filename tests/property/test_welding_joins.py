"""Welding makes one edge of two that nearly meet, keeps circles, and tells what it moved."""

import random

import pytest

from pegbook.geometry.kernel.combine import partition, shared_edges
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.station import nearest_share
from pegbook.geometry.kernel.tolerance import WELD
from pegbook.geometry.kernel.weld import weld
from support.shapes import area, arrangement_of, box, circle, girth, moved, sector
from support.tally import Tally

KINDS = ("general", "grid", "turned_grid", "concentric", "beds_on_a_lawn", "rosette", "through_one_point", "with_holes")


def apart(shapes: list[Region]) -> float:
    """How near, in metres, corners come to corners or edges that they do not lie on."""
    edges = [s for shape in shapes for ring in (shape.outer, *shape.holes) for s in ring.segments]
    near = [at.start.distance(q) for at in edges for edge in edges
            for q in (edge.start, edge.point(nearest_share(edge, at.start)))]
    return min(d for d in near if d > 1e-6)


def tiles(kind: str, seed: int) -> list[Region]:
    """What the shapes of an arrangement cut each other into, without crumbs: every edge inside is shared."""
    faces = [f.region for f in partition({str(k): [s] for k, s in enumerate(arrangement_of(kind, seed))})]
    return [f for f in faces if f.area > 5e-3 * f.length
            and min(s.length for ring in (f.outer, *f.holes) for s in ring.segments) > 0.01][:14]


def unwelded(kind: str, seed: int) -> list[str]:
    """Return what is wrong after tiles that were shaken by an eighth of the welding distance are welded."""
    rng, still = random.Random(f"{kind} {seed}"), tiles(kind, seed)
    found: list[str] = []
    if not still or apart(still) < 4 * WELD:        # then nobody could say what belongs together
        return found
    exact = weld({f"tile {k}": [tile] for k, tile in enumerate(still)})
    if exact.moves:
        found.append("tiles that meet were moved")
    size = WELD / 8
    shaken = {f"tile {k}": [moved(tile, 0.0, Vec(rng.uniform(-size, size), rng.uniform(-size, size)))]
              for k, tile in enumerate(still)}
    done = weld(shaken)
    first = next(iter(shaken), None)
    if first is not None and done.regions[first] != tuple(shaken[first]):
        found.append("the first was moved")
    if not all(move.distance <= WELD for move in done.moves):
        found.append(f"a corner was moved by {max(move.distance for move in done.moves)} m")
    faces, length = partition(done.regions), girth(still)
    over = sum(face.region.area * (len(face.labels) - 1) for face in faces)
    # Where circles touch, edges run side by side without meeting and may lie over each other by a hair.
    if not over <= (1e-5 if kind == "rosette" else 1e-7) * length:
        found.append(f"tiles lie over each other by {over} m2")
    if not abs(sum(tile.area for tile in still) - sum(area(r) for r in done.regions.values())) <= WELD / 2 * length:
        found.append("areas changed")
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_shaken_tiles_meet_again(kind: str) -> None:
    assert {seed: bad for seed in range(5) if (bad := unwelded(kind, seed))} == {}


@pytest.mark.deep
@pytest.mark.parametrize("kind", KINDS)
def test_shaken_tiles_meet_again_at_length(kind: str, monkeypatch: pytest.MonkeyPatch,
                                           capsys: pytest.CaptureFixture[str]) -> None:
    tally = Tally(f"tiles shaken and welded, {kind}")
    tally.counted(monkeypatch)
    tally.run(((kind, seed) for seed in range(2000, 2150)), unwelded)
    tally.tell(capsys)


def test_a_long_edge_is_drawn_through_a_settled_corner() -> None:
    """A wall beside a step: the wall's line is a fifth of a millimetre off and has no corner there."""
    step, wall = [box(2, 0.0002, 1, 1)], [Region(Loop.polygon([Point(0, -1), Point(6, -1), Point(6, 0), Point(0, 0)]))]
    done = weld({"step": step, "wall": wall})
    shared = [e for e in shared_edges(done.regions) if len(e.sources) == 2]
    assert sum(e.segment.length for e in shared) == pytest.approx(1.0, abs=1e-12)
    assert [face.labels for face in partition(done.regions)] == [("step",), ("wall",)]
    assert {m.after for m in done.moves} == {Point(2, 0.0002), Point(3, 0.0002)}


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
