"""Written tables beside the pegs that they rebuild and beside the design: nothing missing, nothing else, none off.

Takes: rows of the tables, where the pegs come to stand, the design's pegs. Gives: the first fault in words, '' if there
is none. Metres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain

from ..errors import ReadingsError, at, refuse
from ..kernel.point import Point
from .peg import CheckKind, PegSet
from .tables import AS_ISSUED, CHECKS, PEGS, RECOVERY, Row, spot
from .tape import read_length

RETAPED = 0.005
"""A printed check is what the rebuilt pegs give, but for its rounding to the coarsest step (1/4 in), metres."""

AS_PRINTED = 0.0008
"""What x and y with three decimals may be off both ways, metres (0.71 mm rounded up)."""


def retaped(checks: Sequence[Row], found: Mapping[str, Point], *, feet: bool) -> str:
    """Return the first check measure that the rebuilt pegs do not give.

    ReadingsError for one from a peg that is none, or without a distance.
    """
    for row in checks:
        if row["kind"] == CheckKind.LEVEL:
            continue
        with at(spot(row, CHECKS)):
            unknown = next((row[key] for key in ("from", "to") if row[key] not in found), None)
            if unknown is not None:
                raise refuse(ReadingsError, f"a check of '{unknown}', which is no mark or peg", AS_ISSUED,
                             "unknown-mark")
            said = read_length(row["distance"], feet=feet)
        off = abs(found[row["from"]].distance(found[row["to"]]) - said)
        if not off <= RETAPED:
            return (f"the check from {row['from']} to {row['to']} says {row['distance']}, {off * 1000:.1f} mm beside "
                    "what the readings give")
    return ""


def unlike(design: PegSet, rows: Sequence[Row], recovery: Sequence[Row], checks: Sequence[Row] | None) -> str:
    """Return the first thing that tables and design do not both have, or have elsewhere; checks None: not compared."""
    places = {peg.name: peg.at for peg in design.pegs}
    pairs: list[tuple[str, Iterable[str], Iterable[str]]] = [
        (PEGS, places, (row["peg"] for row in rows)),
        (RECOVERY, (way.peg for way in design.recovery), (row["peg"] for row in recovery))]
    if checks is not None:
        pairs.append((CHECKS, (f"{c.start} to {c.end}" for c in design.checks),
                      (f"{row['from']} to {row['to']}" for row in checks if row["kind"] != CheckKind.LEVEL)))
    return next(chain((words for pair in pairs for words in _missing(*pair)), _moved(rows, places)), "")


def _missing(file: str, wanted: Iterable[str], written: Iterable[str]) -> Iterator[str]:
    want, has = dict.fromkeys(wanted), dict.fromkeys(written)
    yield from (f"{name} is in the design and has no row in {file}" for name in want if name not in has)
    yield from (f"{name} has a row in {file} and is not in the design" for name in has if name not in want)


def _moved(rows: Sequence[Row], places: Mapping[str, Point]) -> Iterator[str]:
    for row in rows:
        here, should = Point(float(row["x"]), float(row["y"])), places.get(row["peg"])
        if should is not None and not here.distance(should) <= AS_PRINTED:
            yield (f"{row['peg']} is at ({row['x']}, {row['y']}) in {PEGS}, {here.distance(should) * 1000:.1f} mm from "
                   f"its place in the design, ({should.x:.3f}, {should.y:.3f})")


__all__ = ["retaped", "unlike"]
