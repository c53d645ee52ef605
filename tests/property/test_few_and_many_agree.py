"""The plain way for few rows and numpy's for many give the same bits: nodes, edges, faces and finished regions."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.geometry.kernel import arrange, few, few_faces, noding, planar, winding
from pegbook.geometry.kernel.combine import Regions, common, difference, partition, union
from pegbook.geometry.kernel.offset import grown, inset
from pegbook.geometry.kernel.path import Path, Region
from pegbook.geometry.kernel.table import Source, sources_of, table_of
from support.shapes import NASTY, arrangement_of, random_path

ALL = 1 << 60


def bits(value: object) -> object:
    """Everything of a value down to the bits of its numbers."""
    if isinstance(value, np.ndarray):
        return (value.dtype.kind, value.shape, value.tobytes())
    if dataclasses.is_dataclass(value):
        return [bits(getattr(value, field.name)) for field in dataclasses.fields(value)]
    if isinstance(value, (tuple, list)):
        return [bits(part) for part in value]
    return value.hex() if isinstance(value, float) else value


def differ(sources: list[Source], eps: float) -> list[str]:
    """Return the stages at which the two ways part."""
    table = table_of(sources, eps)
    plain, quick = few.edges_of(table, eps), noding.edges_of(table, eps)
    found = [f.name for f in dataclasses.fields(plain) if bits(getattr(plain, f.name)) != bits(getattr(quick, f.name))]
    one, other = few_faces.planar_map(plain, table, eps), planar.planar_map(plain, table, eps)
    found += [f.name for f in dataclasses.fields(one) if bits(getattr(one, f.name)) != bits(getattr(other, f.name))]
    spots = sorted(set(one.origin))
    by_hand = sorted(few_faces.turns_about(plain, table, spots, [-1] * len(plain.a)))
    if spots:
        at_once = winding.turns_about(plain, table, plain.nodes[np.array(spots)])
        if by_hand != sorted(zip(*(part.tolist() for part in at_once), strict=True)):
            found.append("turns")
    return found


def sources(kind: str, seed: int) -> list[Source]:
    import random
    shapes = arrangement_of(kind, seed)
    half = len(shapes) // 2
    line: list[Path] = [random_path(random.Random(seed))] if seed % 2 else []
    return sources_of([shapes[:half], shapes[half:]], line)


@pytest.mark.parametrize("kind", NASTY)
def test_edges_and_faces_are_the_same_bits(kind: str) -> None:
    assert {seed: bad for seed in range(12) if (bad := differ(sources(kind, seed), 1e-7))} == {}


@settings(max_examples=80, deadline=None, derandomize=True, database=None)
@given(st.sampled_from(sorted(NASTY)), st.integers(10_000, 10_000_000), st.sampled_from((1e-7, 3e-8, 1e-6)))
def test_the_same_bits_anywhere(kind: str, seed: int, eps: float) -> None:
    assert differ(sources(kind, seed), eps) == []


@pytest.mark.deep
@pytest.mark.parametrize("kind", NASTY)
def test_the_same_bits_at_length(kind: str) -> None:
    assert {seed: bad for seed in range(70_000, 70_400) if (bad := differ(sources(kind, seed), 1e-7))} == {}


def results(shapes: list[Region]) -> list[Regions]:
    half = len(shapes) // 2
    faces = partition({str(k): [shape] for k, shape in enumerate(shapes)})
    return [union(shapes), difference(shapes[:half], shapes[half:]), common(shapes[:half], shapes[half:]),
            tuple(f.region for f in faces), grown(shapes[:2], 0.07), inset(shapes[:2], 0.05)]


@pytest.mark.parametrize("kind", NASTY)
def test_results_are_the_same_bits(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for seed in range(3):
        made = []
        for rows, pairs in ((0, 0), (ALL, ALL)):
            monkeypatch.setattr(arrange, "FEW_ROWS", rows)
            monkeypatch.setattr(winding, "FEW_PAIRS", pairs)
            made.append(bits(results(arrangement_of(kind, seed))))
        assert made[0] == made[1], seed
