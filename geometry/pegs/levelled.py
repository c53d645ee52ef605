"""Levels again from their printed readings alone, beside the levels printed and the heights of the design.

Takes: rows of pegs.csv and checks.csv. Gives: how many are levelled, the largest difference, the first fault in words.
Metres. A level reading is how much higher (negative: lower) a peg stands than what it is levelled from.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ..errors import ReadingsError, at, refuse
from ..kernel.point import Point
from .peg import CheckKind, Rise
from .tables import AS_ISSUED, CHECKS, spot
from .tables import Row as Written
from .tape import read_length

LEVELLED = 0.0045
"""A printed level is what its readings give, but for half of the coarsest step (1/4 in) and two millimetres' halves."""

Row = Mapping[str, str]
Found = tuple[int, float, str]
"""How many, the largest difference (m), the first fault in words or ''."""


def relevelled(rows: Sequence[Row], *, feet: bool) -> Found:
    """Return how many pegs have a level reading, the largest difference (m), and what is wrong first, '' if nothing.

    Pegs that are levelled to each other alone, from one without a level, have nothing printed to be compared with but
    count. ReadingsError for a reading from what is not there, or without one of its halves.
    """
    stands = {row["peg"]: float(row["level"]) for row in rows if row["level"] and not row["level_from"]}
    names = {row["peg"] for row in rows}
    count, largest, fault = 0, 0.0, ""
    for row in _levelled(rows):
        if row["level_from"] not in names or not row["level_reading"]:
            raise refuse(ReadingsError, f"{row['peg']} is levelled from '{row['level_from']}' by "
                         f"'{row['level_reading']}'", AS_ISSUED, "bad-level")
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


def _levelled(rows: Sequence[Row]) -> Iterator[Row]:
    return (row for row in sorted(rows, key=lambda r: int(r["order"])) if row["level_from"] or row["level_reading"])


def heights_again(rows: Sequence[Row], checks: Sequence[Written], rises: Mapping[str, Rise] | None, *,
                  feet: bool) -> Found:
    """Return how many heights of built things are printed, how far they are from the design, and the first fault.

    Tops of pegs that are levelled from each other are compared with the design too. Without a design (`rises` None)
    each height must only hang on a peg of its element. ReadingsError for a height from a peg that is none.
    """
    own = {row["peg"]: row for row in rows}
    printed: dict[tuple[str, str], tuple[str, float]] = {}
    for row in checks:
        if row["kind"] == CheckKind.LEVEL:
            with at(spot(row, CHECKS)):
                if row["from"] not in own or own[row["from"]]["element"] != row["element"]:
                    raise refuse(ReadingsError, f"{row['to']} of {row['element']} hangs on '{row['from']}', which is "
                                 "no peg of it", AS_ISSUED, "bad-level")
                printed[row["element"], row["to"]] = row["from"], read_length(row["distance"], feet=feet)
    if rises is None:
        return len(printed), 0.0, ""
    offs = [*_tops(rows, rises, feet), *_built(own, printed, rises)]
    fault = next((words for _, words in offs if words), "")
    return len(printed), max((off for off, _ in offs), default=0.0), fault or _too_many(printed, rises)


def _at(row: Row) -> Point:
    return Point(float(row["x"]), float(row["y"]))


def _tops(rows: Sequence[Row], rises: Mapping[str, Rise], feet: bool) -> Iterator[tuple[float, str]]:
    """Yield how far the top of each peg without a level is from the design beside the peg that it is levelled from."""
    own = {row["peg"]: row for row in rows}
    for row in _levelled(rows):
        start, rise = own[row["level_from"]], rises.get(row["element"])
        if rise is not None and not row["level"]:
            step = read_length(row["level_reading"], feet=feet)
            off = abs(step - (rise.drop(_at(start)) - rise.drop(_at(row))))
            yield off, "" if off <= LEVELLED else (f"{row['peg']} is {row['level_reading']} higher than "
                                                   f"{row['level_from']}: {off * 1000:.1f} mm beside the design")


def _built(own: Mapping[str, Row], printed: Mapping[tuple[str, str], tuple[str, float]],
           rises: Mapping[str, Rise]) -> Iterator[tuple[float, str]]:
    """Yield how far each printed height is from the design, from the lowest corner through its peg."""
    for element, rise in rises.items():
        for what, metres, _ in rise.built:
            peg, reading = printed.get((element, what), ("", 0.0))
            if not peg:
                yield 0.0, f"{what} of {element} has no height in checks.csv"
                continue
            high = reading - (rise.drop(_at(own[peg])))
            off = abs(high - metres)
            yield off, "" if off <= LEVELLED else (f"{what} of {element} comes out {high:.3f} m above the lowest "
                                                   f"corner, {off * 1000:.1f} mm beside the design, {metres:.3f}")


def _too_many(printed: Mapping[tuple[str, str], object], rises: Mapping[str, Rise]) -> str:
    known = {(element, what) for element, rise in rises.items() for what, _, _ in rise.built}
    return next((f"{what} of {element} is a height that the design does not have"
                 for element, what in printed if (element, what) not in known), "")


__all__ = ["heights_again", "relevelled"]
