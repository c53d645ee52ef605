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
    rows, owner = [], []
    for k, n in enumerate(normals):
        for axis in (np.eye(2) if n is None else [n]):
            rows.append(axis)
            owner.append(k)
    h = np.array(rows)
    own = np.array(owner)
    middle = points.mean(axis=0)
    d = points[own] - middle
    basis = np.column_stack([h[:, 0], h[:, 1], -h[:, 0] * d[:, 1] + h[:, 1] * d[:, 0]])
    left, sizes, _ = np.linalg.svd(basis, full_matrices=False)
    left = left[:, sizes > 1e-9 * sizes[0]]
    needed = np.einsum("ai,sabij,bj->sab", h, covariances[:, own[:, None], own], h)
    project = np.eye(len(h)) - left @ left.T
    residual = np.maximum(((project @ needed) * project).sum(axis=2), 0.0)
    out = np.zeros((len(covariances), len(points)))
    np.add.at(out.T, own, residual.T)
    return np.sqrt(out)
