"""Awkward arrangements walked backwards, begun elsewhere, turned, moved and mirrored give the same areas and pieces."""

import pytest

from pegbook.geometry.kernel.combine import partition, union
from pegbook.geometry.kernel.offset import grown
from support.kernel_laws import KINDS, MOVED, slack
from support.shapes import REPLAYS, Shapes, area, arrangement_of, count, girth
from support.tally import Tally

SEEDS = range(3)


def figures(shapes: Shapes) -> tuple[list[float], list[int]]:
    both = union(shapes)
    faces = partition({str(k): [shape] for k, shape in enumerate(shapes)})
    wider = grown(both, 0.13)
    areas = [area(both), girth(both), sum(f.region.area * len(f.labels) for f in faces), area(wider)]
    return areas, [len(both), count(both), len(faces)]


@pytest.mark.parametrize("replay", [name for name in REPLAYS if name != "as it is"])
@pytest.mark.parametrize("kind", KINDS)
def test_replayed(kind: str, replay: str) -> None:
    for seed in SEEDS:
        shapes = arrangement_of(kind, seed)
        areas, counts = figures(shapes)
        other, other_counts = figures([REPLAYS[replay](shape) for shape in shapes])
        # Where nodes are moved, slivers narrower than a node come and go with the frame.
        assert other == pytest.approx(areas, abs=10 * slack(kind, shapes) + 1e-9), (seed, "areas")
        if kind not in MOVED:
            assert other_counts == counts, (seed, "pieces")


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in MOVED])
def test_far_from_the_origin(kind: str) -> None:
    """At national-grid distances the figures of the shape itself are what they are at home, but for rounded input."""
    from pegbook.geometry.kernel.point import Vec
    from support.shapes import moved
    for seed in SEEDS:
        shapes = arrangement_of(kind, seed)
        far = [moved(shape, 0.0, Vec(432_100.0, 5_187_300.0)) for shape in shapes]
        assert area(union(far)) == pytest.approx(area(union(shapes)), abs=1e-8 * girth(shapes))


def differ(kind: str, seed: int, replay: str) -> list[str]:
    """Return what a replay changes that it must not."""
    shapes = arrangement_of(kind, seed)
    areas, _ = figures(shapes)
    other, _ = figures([REPLAYS[replay](shape) for shape in shapes])
    limit = 10 * slack(kind, shapes) + 1e-9
    return [f"{a} {b}" for a, b in zip(areas, other, strict=True) if not abs(a - b) <= limit]


@pytest.mark.deep
@pytest.mark.parametrize("kind", KINDS)
def test_replayed_at_length(kind: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    tally = Tally(f"replays compared, {kind}")
    tally.counted(monkeypatch)
    tally.run(((kind, seed, replay) for seed in range(1000, 1060) for replay in REPLAYS), differ)
    tally.tell(capsys)
