"""Levels again from their printed readings alone, beside the levels printed.

Takes: rows of pegs.csv. Gives: how many pegs are levelled, the largest difference, the first fault in words. Metres. A
level reading is how much higher (negative: lower) a peg stands than what it is levelled from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..errors import ReadingsError, refuse
from .tape import read_length

LEVELLED = 0.0045
"""A printed level is what its readings give, but for half of the coarsest step (1/4 in) and two millimetres' halves."""

Row = Mapping[str, str]


def relevelled(rows: Sequence[Row], *, feet: bool) -> tuple[int, float, str]:
    """Return how many pegs have a level reading, the largest difference (m), and what is wrong first, '' if nothing.

    Pegs that are levelled to each other alone, from one without a level, have nothing to be compared with but count.
    ReadingsError for a reading from what is not there, or without one of its halves.
    """
    stands = {row["peg"]: float(row["level"]) for row in rows if row["level"] and not row["level_from"]}
    names = {row["peg"] for row in rows}
    count, largest, fault = 0, 0.0, ""
    for row in sorted(rows, key=lambda r: int(r["order"])):
        if not (row["level_from"] or row["level_reading"]):
            continue
        if row["level_from"] not in names or not row["level_reading"]:
            raise refuse(ReadingsError, f"{row['peg']} is levelled from '{row['level_from']}' by "
                         f"'{row['level_reading']}'", "give the tables as they were issued", "bad-level")
        count += 1
        rise = read_length(row["level_reading"], feet=feet)
        if row["level_from"] not in stands:
            if row["level"]:
                fault = fault or (f"{row['peg']} has a level, {row['level']}, but is levelled from "
                                  f"{row['level_from']}, which has none before it")
            continue
        stands[row["peg"]] = stands[row["level_from"]] + rise
        if row["level"]:
            off = abs(stands[row["peg"]] - float(row["level"]))
            largest = max(largest, off)
            if not off <= LEVELLED:
                fault = fault or (f"{row['peg']} comes out at level {stands[row['peg']]:.3f}, {off * 1000:.1f} mm "
                                  f"beside {row['level']}")
    return count, largest, fault


__all__ = ["relevelled"]
