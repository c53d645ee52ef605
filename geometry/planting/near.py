"""Which points of a crowd are near each other.

Takes places in the plane. Points are sorted into square fields, so that each is held against those of a few fields.
"""

from __future__ import annotations

import numpy as np

from .cells import Floats, Ints


def near_pairs(at: Floats, crowd: Ints, reach: float) -> tuple[Ints, Ints]:
    """Return the pairs of points (rows x, y) of one crowd that lie within `reach` of each other, in order.

    `crowd` numbers the crowd that each point belongs to. The first of a pair has the lower number.
    """
    square = np.floor((at - at.min(axis=0)) / reach).astype(np.int64)
    wide, high = (square.max(axis=0) + 2).tolist()
    fields = (crowd * high + square[:, 1]) * wide + square[:, 0]        # an empty row and column part the crowds
    order = np.argsort(fields, kind="stable")
    sorted_fields = fields[order]
    count = len(at)
    place = np.arange(count)
    after = np.searchsorted(sorted_fields, [sorted_fields + 1, sorted_fields + wide + 1], side="right").ravel()
    first = np.concatenate([place + 1, np.searchsorted(sorted_fields, sorted_fields + wide - 1)])
    many = after - first
    one = order[np.repeat(np.concatenate([place, place]), many)]
    other = order[np.arange(len(one)) + np.repeat(first - (np.cumsum(many) - many), many)]
    way = at[one] - at[other]
    near = way[:, 0] ** 2 + way[:, 1] ** 2 <= reach * reach
    pairs = np.sort(np.minimum(one, other)[near] * count + np.maximum(one, other)[near])
    return pairs // count, pairs % count
