"""How far pegs err in shape: what is left of their errors after the best rigid motion of the whole. Metres."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def shape_errors(points: Floats, normals: Sequence[Floats | None], covariance: Floats) -> Floats:
    """Return each peg's error (m) after the best rigid motion of the whole, in the components that it needs.

    `covariance` is n x n x 2 x 2. Rows of curve pegs are square to the curve only; the others both axes.
    """
    found: Floats = shapes_errors(points, normals, covariance[None])[0]
    return found


def shapes_errors(points: Floats, normals: Sequence[Floats | None], covariances: Floats) -> Floats:
    """Return the same for several covariances of the same pegs (s x n x n x 2 x 2) as s x n."""
    count = len(points)
    turned = points - points.mean(axis=0)
    basis = np.zeros((2 * count, 3))                    # shifts along x and y, and a turn, which has no part in them
    basis[::2, 0] = basis[1::2, 1] = 1.0
    basis[::2, 2], basis[1::2, 2] = -turned[:, 1], turned[:, 0]
    needed = covariances.transpose(0, 1, 3, 2, 4).reshape(-1, 2 * count, 2 * count)
    own = np.arange(count)
    if any(n is not None for n in normals):
        h, own = _components(normals)
        basis, needed = h @ basis, h @ needed @ h.T
        basis, sizes, _ = np.linalg.svd(basis, full_matrices=False)
    else:
        sizes = np.sqrt((basis * basis).sum(axis=0))
        basis = basis / np.maximum(sizes, 1e-300)
        own = own.repeat(2)
    basis = basis[:, sizes > 1e-9 * sizes.max()]
    project = np.eye(len(own)) - basis @ basis.T
    residual = np.maximum(((project @ needed) * project).sum(axis=2), 0.0)
    starts = np.concatenate([[0], (own[1:] != own[:-1]).nonzero()[0] + 1])
    found: Floats = np.sqrt(np.add.reduceat(residual, starts, axis=1))
    return found


def _components(normals: Sequence[Floats | None]) -> tuple[Floats, NDArray[np.intp]]:
    """Return the components that count as a matrix (rows x 2 pegs), and whose each is."""
    rows: list[Floats] = []
    owner = []
    for k, n in enumerate(normals):
        for axis in (np.eye(2) if n is None else [n]):
            row = np.zeros(2 * len(normals))
            row[2 * k:2 * k + 2] = axis
            rows.append(row)
            owner.append(k)
    return np.array(rows), np.array(owner, dtype=np.intp)
