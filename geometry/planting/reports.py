"""The clarity report and the months of beds as plain rows, for other programs.

Takes planted beds. Gives lists of rows with the same keys; figures as numbers, None where there is none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from .clarity import clarity
from .months import month_charts
from .planted import BedPlanting
from .plants import MONTHS

Row = dict[str, str | float | None]

IN_FLOWER = "in flower"
"""The name of the row that sums up a chart: the part of the ground in flower."""


def clarity_rows(beds: Sequence[BedPlanting]) -> list[Row]:
    """Return one row for each measure of each bed; `fine` is yes or look, `least` and `most` are its limits."""
    return [{"bed": bed.name, "measure": f.rule.value, "fine": "yes" if f.fine else "look", "what": f.what,
             "figure": _figure(f.figure), "least": _figure(f.low), "most": _figure(f.high), "found": f.detail,
             "source": f.source} for bed in beds for f in clarity(bed)]


def month_rows(beds: Sequence[BedPlanting]) -> list[Row]:
    """Return the chart of each bed and view: a row for each kind, then one with the part of the ground in flower.

    Months are 1 to 12; F flower, L leaf, W winter heads or stems, - nothing.
    """
    rows: list[Row] = []
    for chart in month_charts(beds):
        rows += [{"chart": chart.name, "plant": row.plant.name, "share": round(row.share, 4),
                  **{str(m): row.signs[m - 1] for m in MONTHS}} for row in chart.rows]
        rows.append({"chart": chart.name, "plant": IN_FLOWER, "share": None,
                     **{str(m): round(chart.flowering[m - 1], 4) for m in MONTHS}})
    return rows


def _figure(value: float | None) -> float | None:
    return None if value is None or math.isinf(value) else round(value, 4)
