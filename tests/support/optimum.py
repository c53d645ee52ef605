"""The cheapest choice of label places, proved by integer programming: a yardstick for the search.

One 0-1 variable an option; each label takes exactly one; an option and all options of one other label that
clash with it share one constraint (sum over the other's <= count * (1 - x) in its star form).
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from pegbook.drawings.candidates import Options
from pegbook.drawings.placing import Search


def optimum(labels: int, pool: Options, time_limit: float = 60.0) -> float | None:
    """Return the least cost of placing all labels, or None if it cannot be done (or not within the time)."""
    search = Search(labels, pool)
    rows: list[int] = []
    cols: list[int] = []
    data: list[float] = []
    upper: list[float] = []
    owner = pool.owner
    for option in range(len(pool)):
        near = search.neighbours(search.area[option], int(owner[option]))
        struck = search.struck(option, near)
        for other in np.unique(owner[struck]).tolist():
            if other < owner[option] and len(struck[owner[struck] == other]) == 1:
                continue
            lot = struck[owner[struck] == other]
            row = len(upper)
            rows += [row] * (len(lot) + 1)
            cols += [*lot.tolist(), option]
            data += [1.0] * (len(lot) + 1)
            upper.append(1.0)
    first = len(upper)
    choose = coo_array((np.ones(len(pool)), (owner, np.arange(len(pool)))), shape=(labels, len(pool)))
    constraints = [LinearConstraint(choose.tocsr(), 1, 1)]
    if first:
        matrix = coo_array((data, (rows, cols)), shape=(first, len(pool))).tocsr()
        constraints.append(LinearConstraint(matrix, -np.inf, np.array(upper)))
    result = milp(pool.cost, constraints=constraints, integrality=np.ones(len(pool)), bounds=Bounds(0, 1),
                  options={"time_limit": time_limit})
    return float(result.fun) if result.success else None
