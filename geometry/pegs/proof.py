"""The proof: the garden pegged again from the written tables alone, and compared with the design.

Takes: the text of pegs.csv and recovery.csv. Gives: how far each peg comes out from where it should be. It knows the
columns and nothing else: no plan, no method's reasons, no number that is not printed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ..errors import ReadingsError, at, refuse
from ..kernel.point import Point
from .levelled import heights_again, relevelled
from .outlines import MOST_ASIDE, Outline, Stray, strays
from .peg import Method, PegSet
from .rebuild import across, along_line, three_tapes
from .retaped import AS_PRINTED, RETAPED, retaped, unlike
from .tables import AS_ISSUED, PEGS, RECOVERY, Row, check_rows, peg_rows, recovery_rows, spot
from .tape import read_length

PRINTED = AS_PRINTED
SLACK = 1.02
MOST_SHIFT = 0.015
"""A peg that rebuilds further than this from its design is wrong whatever its bound, metres."""

LEAST_MEET = 0.020
"""Tapes that meet with less to spare do not meet on the ground, metres."""

RECOVERED = 0.005
"""A peg found again by its strings lies within this of the peg that was dug away, metres."""

CHECKED = RETAPED


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the rebuild came to: pegs, largest and mean shift (mm), by element, and the first fault in words."""

    pegs: int
    largest: float
    mean: float
    elements: Mapping[str, tuple[int, float, float]] = field(default_factory=dict)  # name: pegs, largest, mean
    recovered: int = 0
    levels: int = 0
    heights: int = 0                         # of what is built above or below a peg
    level: float = 0.0                       # largest difference between a level or height and its readings, mm
    outlines: Mapping[str, Stray] = field(default_factory=dict)
    fault: str = ""

    @property
    def good(self) -> bool:
        """Whether the set may be issued."""
        return not self.fault

    def as_record(self) -> dict[str, object]:
        """Return the result for issue.json."""
        return {
            "pegs": self.pegs,
            "largest_shift_mm": round(self.largest, 2),
            "mean_shift_mm": round(self.mean, 2),
            "recovered": self.recovered,
            "levels": self.levels,
            "heights": self.heights,
            "largest_level_mm": round(self.level, 2),
            "outlines": {name: stray.as_record() for name, stray in self.outlines.items()},
            "good": self.good,
        }


def rows_of(text: str) -> list[Row]:
    """Return the rows of pegs.csv; ReadingsError where it is none."""
    return peg_rows(text)


def is_feet(rows: list[Row]) -> bool:
    """Say whether the readings are in feet and inches."""
    return any("'" in row["reading_1"] for row in rows)


def rebuilt(rows: list[Row]) -> dict[str, Point]:
    """Return every peg's place from its row's readings. ReadingsError names the peg whose readings cannot be."""
    feet = is_feet(rows)
    found: dict[str, Point] = {}
    for row in sorted(rows, key=lambda r: int(r["order"])):
        if row["method"] == "fixed":
            found[row["peg"]] = Point(float(row["x"]), float(row["y"]))
        else:
            with at(spot(row, PEGS)):
                found[row["peg"]] = _place(row, found, feet)
    return found


def _of(name: str, found: Mapping[str, Point], row: Mapping[str, str]) -> Point:
    if name not in found:
        raise refuse(
            ReadingsError,
            f"{row['peg']} hangs on '{name}', which does not stand before it",
            AS_ISSUED,
            "unknown-mark",
        )
    return found[name]


def _line(row: Mapping[str, str], column: str, found: Mapping[str, Point]) -> tuple[Point, Point]:
    """Return the two ends of a line named by them with a hyphen."""
    first, _, second = row[column].partition("-")
    a, b = _of(first, found, row), _of(second, found, row)
    if not a.distance(b) > 0:
        raise refuse(ReadingsError, f"{row['peg']} hangs on the line {row[column]}, which has no length", AS_ISSUED,
                     "no-line")
    return a, b


def _reading(row: Mapping[str, str], column: str, feet: bool) -> float:
    if not row[column]:
        raise refuse(
            ReadingsError, f"{row['peg']} has no {column}", AS_ISSUED, "no-reading"
        )
    return read_length(row[column], feet=feet)


def _place(row: Mapping[str, str], found: Mapping[str, Point], feet: bool) -> Point:
    method = row["method"]
    if method == Method.OFFSET:
        a, b = _line(row, "from_1", found)
        return along_line(a, b, _reading(row, "reading_1", feet), _reading(row, "reading_2", feet))
    a, b = _of(row["from_1"], found, row), _of(row["from_2"], found, row)
    one = _reading(row, "reading_1", feet)
    if method in (Method.LINE, Method.CHORD) and not a.distance(b) > 0:
        raise refuse(ReadingsError, f"{row['peg']} hangs on a line from {row['from_1']} to {row['from_2']}, which has "
                     "no length", AS_ISSUED, "no-line")
    if method == Method.LINE:
        return along_line(a, b, one, 0.0)
    two = _reading(row, "reading_2", feet)
    if method == Method.CHORD:
        return along_line(a, b, one, two)
    return _taped(row, found, feet, (a, b), (one, two))


def _taped(
    row: Mapping[str, str],
    found: Mapping[str, Point],
    feet: bool,
    marks: tuple[Point, Point],
    readings: tuple[float, float],
) -> Point:
    if row["side"] not in ("left", "right"):
        raise refuse(
            ReadingsError, f"{row['peg']} has no side", "say left or right of the line of its two marks", "no-side"
        )
    left, d = row["side"] == "left", marks[0].distance(marks[1])
    if not (readings[0] + readings[1] - d >= LEAST_MEET and d - abs(readings[0] - readings[1]) >= LEAST_MEET):
        raise refuse(
            ReadingsError,
            f"the tapes of {row['peg']} do not meet: {readings[0]:.3f} and {readings[1]:.3f} m over {d:.3f} m",
            "read both again",
            "tapes-do-not-meet",
        )
    if row["from_3"]:
        third = _of(row["from_3"], found, row)
        at = three_tapes((*marks, third), (*readings, _reading(row, "reading_3", feet)), left)
    else:
        at = across(*marks, *readings, left)
    if at is None:
        raise refuse(ReadingsError, f"the tapes of {row['peg']} do not meet", "read them again", "tapes-do-not-meet")
    return at


def prove(pegs_text: str, recovery_text: str = "", bounds: Mapping[str, float] | None = None,
          outlines: Mapping[str, Sequence[Outline]] | None = None, *, checks_text: str | None = None,
          design: PegSet | None = None) -> Proof:
    """Return the proof of a written set.

    `bounds` (mm): how far rounding may move each peg, else MOST_SHIFT; `outlines`: the design's, by element, to compare
    what the pegs rebuild with; `design`: the set that the tables must hold whole, peg by peg, height by height. Check
    measures and heights are left out where `checks_text` is None. ReadingsError for tables that cannot be read.
    """
    rows = rows_of(pegs_text)
    found = rebuilt(rows)
    shifts: dict[str, float] = {}
    fault = ""
    for row in rows:
        name = row["peg"]
        shift = found[name].distance(Point(float(row["x"]), float(row["y"])))
        shifts[name] = shift
        bound = (bounds[name] / 1000 * SLACK + PRINTED) if bounds and name in bounds else MOST_SHIFT
        if not shift <= min(bound, MOST_SHIFT) and not fault:
            fault = f"{name} comes out {shift * 1000:.1f} mm from its place (at most {bound * 1000:.1f} mm)"
    recovered, lost = _recovered(recovery_text, found, is_feet(rows))
    levels, level, unlevel = relevelled(rows, feet=is_feet(rows))
    checks = check_rows(checks_text or "")
    rises = design.rises if design is not None and checks_text is not None else None
    heights, height, unbuilt = heights_again(rows, checks, rises, feet=is_feet(rows))
    edges = strays(rows, found, outlines or {}, feet=is_feet(rows))
    aside = next((f"the edge of {name} comes out {stray.largest:.1f} mm beside the design"
                  for name, stray in edges.items() if not stray.largest <= MOST_ASIDE * 1000), "")
    driven = [s for row in rows if row["method"] != "fixed" for s in [shifts[row["peg"]]]]
    return Proof(
        pegs=len(driven),
        largest=max(driven, default=0.0) * 1000,
        mean=math.fsum(driven) / max(len(driven), 1) * 1000,
        elements=_by_element(rows, shifts),
        recovered=recovered,
        levels=levels,
        heights=heights,
        level=max(level, height) * 1000,
        outlines=edges,
        fault=fault or _unchecked(rows, found) or lost or unlevel or unbuilt or aside
        or retaped(checks, found, feet=is_feet(rows))
        or (unlike(design, rows, recovery_rows(recovery_text), None if checks_text is None else checks)
            if design else ""),
    )


def _unchecked(rows: list[Row], found: Mapping[str, Point]) -> str:
    """Return the first check measure that the rebuilt pegs do not give, in words; '' where all are right."""
    feet = is_feet(rows)
    for row in rows:
        if row["check_from"]:
            with at(spot(row, PEGS)):
                has = _of(row["check_from"], found, row).distance(found[row["peg"]])
                said = _reading(row, "check_reading", feet)
            if not abs(has - said) <= CHECKED:
                return (f"the check of {row['peg']} from {row['check_from']} says {row['check_reading']}, "
                        f"{abs(has - said) * 1000:.1f} mm beside what its readings give")
    return ""


def _by_element(rows: list[Row], shifts: Mapping[str, float]) -> dict[str, tuple[int, float, float]]:
    held: dict[str, list[float]] = {}
    for row in rows:
        if row["element"] and row["purpose"] != "recovery":
            held.setdefault(row["element"], []).append(shifts[row["peg"]] * 1000)
    return {name: (len(own), max(own), math.fsum(own) / len(own)) for name, own in held.items()}


def _recovered(text: str, found: Mapping[str, Point], feet: bool) -> tuple[int, str]:
    """Return how many pegs the strings give back, and the first that they do not."""
    count = 0
    for row in recovery_rows(text):
        with at(spot(row, RECOVERY)):
            again, stood = _again(row, found, feet), _of(row["peg"], found, row)
        shift = again.distance(stood)
        if not shift <= RECOVERED:
            return count, f"{row['peg']} is found again {shift * 1000:.1f} mm from where it stood"
        off = abs(_of(row["check_from"], found, row).distance(again) - _reading(row, "check_reading", feet)) \
            if row["check_from"] else 0.0
        if not off <= CHECKED + RECOVERED:
            return count, (f"the check of {row['peg']}, found again, says {row['check_reading']} from "
                           f"{row['check_from']}: {off * 1000:.1f} mm beside what its strings give")
        count += 1
    return count, ""


def _again(row: Mapping[str, str], found: Mapping[str, Point], feet: bool) -> Point:
    if row["method"] == "crossing":
        (a, b), (c, d) = (_line(row, key, found) for key in ("from_1", "from_2"))
        u, v = b - a, d - c
        cross = u.cross(v)
        if not abs(cross) > 1e-9:
            raise refuse(ReadingsError, f"the strings of {row['peg']} do not cross", "", "strings-parallel")
        return a + u * ((c - a).cross(v) / cross)
    a, b = _of(row["from_1"], found, row), _of(row["from_2"], found, row)
    one = _reading(row, "reading_1", feet)
    if row["method"] == "line":
        return along_line(a, b, one, 0.0)
    at = across(a, b, one, _reading(row, "reading_2", feet), row["side"] == "left")
    if at is None:
        raise refuse(ReadingsError, f"the ties of {row['peg']} do not meet", "read them again", "tapes-do-not-meet")
    return at


def prove_set(pegs: PegSet, pegs_text: str, recovery_text: str, checks_text: str | None = None) -> Proof:
    """Return the proof of a set about to be issued: each peg within the bound of its rounding, each edge near.

    Without `checks_text` check measures and heights of what is built are left out.
    """
    bounds = {p.name: p.bound for p in pegs.pegs if p.method is not Method.FIXED}
    return prove(pegs_text, recovery_text, bounds, pegs.outlines, checks_text=checks_text, design=pegs)


__all__ = ["Proof", "prove", "prove_set", "rebuilt", "rows_of"]
