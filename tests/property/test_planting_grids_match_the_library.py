"""What planting does on grids of cells and crowds of points is what a library of numerics does.

Source of every expected value: scipy (ndimage, sparse, spatial) on the same grids and points.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage, sparse, spatial

from pegbook.geometry.planting.cells import Cells, Floats, Ints
from pegbook.geometry.planting.masks import Blur, filled_from_nearest, largest_piece, pieces_of_mask, thick
from pegbook.geometry.planting.near import near_pairs
from pegbook.geometry.planting.relax import smoothed
from pegbook.geometry.planting.steady import inverse_of, steady, ways_from
from pegbook.geometry.planting.trace import EDGE, Chain, Network

SEEDS = st.integers(0, 10**6)
SHARES = st.sampled_from([0.0, 0.02, 0.1, 0.3, 0.5, 0.6, 0.8, 0.95, 1.0])


def mask_of(seed: int, share: float, most: int = 30) -> Any:
    dice = np.random.default_rng(seed)
    return dice.random(dice.integers(3, most, 2)) < share


def graph(mask: Any, size: float, corners: bool) -> Any:
    """The cells that touch, by their sides or also by their corners, as a sparse matrix of distances."""
    number = np.full(mask.shape, -1)
    number[mask] = np.arange(mask.sum())
    weights: list[tuple[int, int, float]] = []
    for (row, column), here in np.ndenumerate(number):
        for down, right in ((0, 1), (1, 0), (1, 1), (1, -1))[: 4 if corners else 2]:
            r, c = row + down, column + right
            if here >= 0 and r < mask.shape[0] and 0 <= c < mask.shape[1] and number[r, c] >= 0:
                weights.append((int(here), int(number[r, c]), float(np.hypot(down, right)) * size))
    a, b, w = zip(*weights, strict=True) if weights else ((), (), ())
    half = sparse.coo_array((w, (a, b)), shape=(mask.sum(), mask.sum())).tocsr()
    return half + half.T


@given(SEEDS, SHARES)
def test_pieces_are_numbered_in_reading_order(seed: int, share: float) -> None:
    mask = mask_of(seed, share)
    labels, count = ndimage.label(mask)
    assert np.array_equal(pieces_of_mask(mask), labels[mask] - 1)
    if count:
        sizes = np.bincount(labels[mask])
        assert np.array_equal(largest_piece(mask), labels == sizes.argmax())


@given(SEEDS, SHARES)
def test_what_is_three_cells_thick_is_the_opening(seed: int, share: float) -> None:
    mask = mask_of(seed, share)
    assert np.array_equal(thick(mask), ndimage.binary_opening(mask, np.ones((3, 3))))


@given(SEEDS, st.sampled_from([0.005, 0.02, 0.1, 0.5]))
def test_cells_take_the_value_of_the_nearest(seed: int, share: float) -> None:
    dice = np.random.default_rng(seed)
    shape = tuple(dice.integers(3, 30, 2))
    values, wanted, known = dice.integers(0, 9, shape), dice.random(shape) < 0.7, dice.random(shape) < share
    known[tuple(dice.integers(0, shape))] = True
    where: Any = ndimage.distance_transform_edt(~known, return_distances=False, return_indices=True)
    assert np.array_equal(filled_from_nearest(values, known, wanted),
                          np.where(wanted, values[tuple(where)], values))


@given(SEEDS, st.floats(1.0, 9.0))
def test_a_blur_is_the_gaussian_filter(seed: int, sigma: float) -> None:
    grid = np.random.default_rng(seed).random(np.random.default_rng(seed).integers(3, 90, 2))
    expected = ndimage.gaussian_filter(grid, sigma, mode="constant", truncate=3.0)
    assert Blur(sigma, 90).of(grid) == pytest.approx(expected, abs=1e-13)


@settings(max_examples=40)
@given(SEEDS, st.sampled_from([0.6, 0.8, 1.0]))
def test_ways_are_dijkstras(seed: int, share: float) -> None:
    mask = mask_of(seed, share, 20)
    mask[1, 1] = True
    start = int(mask[0].sum() + mask[1, :1].sum())
    expected = sparse.csgraph.dijkstra(graph(mask, 0.037, corners=True), indices=start)
    assert np.array_equal(ways_from(mask, 1, 1, 0.037)[mask], expected)


@settings(max_examples=40)
@given(SEEDS, st.sampled_from([0.7, 0.9, 1.0]))
def test_a_steady_flow_solves_laplaces_equation(seed: int, share: float) -> None:
    mask = largest_piece(mask_of(seed, share, 24))
    count = int(mask.sum())
    held = np.full(count, np.nan)
    held[0], held[-1] = 0.0, 1.0
    links = graph(mask, 1.0, corners=False)
    laplace = sparse.csr_array(sparse.diags_array(links.sum(axis=1)) - links)
    free, known = np.flatnonzero(np.isnan(held)), np.flatnonzero(np.isfinite(held))
    spread = np.full(mask.shape, np.nan)
    spread[mask] = held
    if len(free):
        held[free] = sparse.linalg.spsolve(laplace[free][:, free].tocsc(), -laplace[free][:, known] @ held[known])
    assert steady(mask, spread)[mask] == pytest.approx(held, abs=1e-10)


@pytest.mark.parametrize("size", [1, 2, 64, 65, 129, 260])
def test_matrices_are_inverted_by_quarters(size: int) -> None:
    """The inverse gives back what the matrix was given, without a library's solver."""
    dice = np.random.default_rng(size)
    some, given_it = dice.random((size, 5)) - 0.5, dice.random(size)
    matrix = some @ some.T + np.diag(1 + dice.random(size))
    assert inverse_of(matrix) @ (matrix @ given_it) == pytest.approx(given_it, abs=1e-12)


@given(SEEDS, st.integers(1, 200), st.floats(0.1, 20.0))
def test_near_pairs_are_those_of_a_tree(seed: int, count: int, side: float) -> None:
    dice = np.random.default_rng(seed)
    at, crowd = dice.random((count, 2)) * side, np.sort(dice.integers(0, 4, count))
    apart = np.column_stack([at, crowd * 10.0])
    expected = spatial.cKDTree(apart).query_pairs(1.3)
    first, second = near_pairs(at, crowd, 1.3)
    assert list(zip(first.tolist(), second.tolist(), strict=True)) == sorted(expected)


def cells_like(mask: Any, size: float, turn: float) -> Cells:
    index: Ints = np.full(mask.shape, -1, dtype=np.int64)
    index[mask] = np.arange(mask.sum())
    rows, columns = np.nonzero(mask)
    return Cells(size, index, np.column_stack([(columns - 0.5) * size, (rows - 0.5) * size]), (3.0, -2.0), turn)


@given(SEEDS, st.sampled_from([0.3, 0.8, 1.0]), st.floats(-1.5, 1.5))
def test_cells_find_what_is_nearest(seed: int, share: float, turn: float) -> None:
    mask = mask_of(seed, share)
    mask[1, 1] = True
    cells = cells_like(mask, 0.07, turn)
    spots = np.random.default_rng(seed + 1).random((40, 2)) * 3 - 0.5
    assert cells.away(spots) == pytest.approx(spatial.cKDTree(spots).query(cells.local)[0], abs=1e-12)
    garden = cells.garden(spots)
    distance, number = spatial.cKDTree(cells.garden(cells.local)).query(garden)
    found, away = cells.nearest(garden)
    assert np.array_equal(found, number)
    assert away == pytest.approx(distance, abs=1e-12)


@given(SEEDS, st.sampled_from([0.5, 2.0, 8.0]))
def test_chains_are_smoothed_as_one_sparse_system(seed: int, strength: float) -> None:
    """Three chains from one junction to three others, and a closed one: every inner point is checked."""
    dice = np.random.default_rng(seed)
    spots = dice.random((5, 2)) * 4
    ends = [(0, 1), (0, 2), (3, 0), (4, 4)]
    chains = tuple(Chain(0, 1, a, b, dice.random((int(dice.integers(3, 90)), 2)) * 4) for a, b in ends)
    expected = _solved(spots, chains, strength)
    borders = smoothed(Network(chains, spots), [], strength)
    start = len(spots)
    for chain, border in zip(chains, borders, strict=True):
        inner = expected[start + 1: start + len(chain.points) - 1]
        assert border.points[1:-1] == pytest.approx(inner, abs=2e-7)
        assert border.points[0] == pytest.approx(expected[chain.start], abs=2e-7)
        start += len(chain.points)
    assert EDGE not in {chain.start for chain in chains}


def _solved(spots: Floats, chains: tuple[Chain, ...], strength: float) -> Any:
    places = np.concatenate([spots, *(chain.points for chain in chains)])
    links = sparse.lil_array((len(places), len(places)))
    start = len(spots)
    for chain in chains:
        line = [chain.start, *range(start, start + len(chain.points)), chain.end]
        start += len(chain.points)
        for a, b in pairwise(line):
            links[a, b] += 1
            links[b, a] += 1
    laplace = sparse.csr_array(sparse.diags_array(links.sum(axis=1)) - links)
    return sparse.linalg.spsolve((sparse.eye_array(len(places)) + strength * laplace).tocsc(), places)
