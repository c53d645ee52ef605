"""Outlines as their rebuilt pegs give them: straight edges, swung arcs, ellipses by their string, against the design.

Takes: rows of pegs.csv, where their pegs rebuild, and the design's outlines. Gives: for each element how far its edge
strays square to itself, and what that adds to the area. Lengths in metres unless a name says otherwise.

The area that an edge sweeps is the integral of its stray over its length, exact but for the square of the stray
(with 6 mm on 10 m less than 0.001 m2).
"""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from ..errors import ReadingsError, refuse
from ..kernel.path import Ellipse, Loop, Path
from ..kernel.point import Point, Vec
from ..kernel.segment import Arc, Segment
from ..kernel.station import project
from .tape import read_length

Row = Mapping[str, str]
Outline = Loop | Path

AT = 0.0015
"""A peg within this of a point of the outline stands on it: places are printed to the millimetre."""
RADIUS = 0.02
"""A peg that the design has within this of an arc, set by a reading from its centre, gives the radius that is swung."""
SAMPLE = 0.25
FEWEST = 12
MOST_ASIDE = 0.015
"""An edge that strays further than this from the design is wrong, whatever rounding does."""


@dataclass(frozen=True, slots=True)
class Stray:
    """How far an element's rebuilt edge strays square to the design (mm), and the area it adds (m2, signed)."""

    largest: float
    mean: float
    area: float

    def as_record(self) -> dict[str, float]:
        """Return the figures for issue.json."""
        return {"largest_mm": round(self.largest, 2), "mean_mm": round(self.mean, 2),
                "area_m2": round(self.area, 4) + 0.0}


class _Stand:
    """Pegs by place: design and rebuilt."""

    def __init__(self, rows: Sequence[Row], found: Mapping[str, Point], feet: bool) -> None:
        self.found, self.feet = found, feet
        self.rows = [r for r in rows if r["purpose"] != "recovery"]
        self.design = {r["peg"]: Point(float(r["x"]), float(r["y"])) for r in rows}
        self.cells: dict[tuple[int, int], list[Row]] = {}
        self.hooked: dict[str, list[Row]] = {}
        self.of: dict[str, list[Row]] = {}
        for row in self.rows:
            at = self.design[row["peg"]]
            self.cells.setdefault((round(at.x * 100), round(at.y * 100)), []).append(row)
            self.hooked.setdefault(row["from_1"], []).append(row)
            self.of.setdefault(row["element"], []).append(row)

    def at(self, p: Point, *, centre: bool = False) -> Row | None:
        """Return the peg that stands at a point: a centre, or anything else."""
        kx, ky = round(p.x * 100), round(p.y * 100)
        near = [row for dx in (-1, 0, 1) for dy in (-1, 0, 1) for row in self.cells.get((kx + dx, ky + dy), ())
                if self.design[row["peg"]].distance(p) <= AT and (row["purpose"] == "centre") == centre]
        return near[0] if near else None

    def shift(self, row: Row, should: Point) -> Vec:
        """Return where a peg rebuilds less where the outline wants it (exact, where x and y are printed to the mm)."""
        return self.found[row["peg"]] - should

    def loop(self, row: Row) -> float | None:
        """Return the length of the string's loop that a focus's remark gives."""
        said = re.search(r"loop ([^;]+)", row["remark"])
        return read_length(said.group(1), feet=self.feet) if said else None

    def radius(self, centre: Row, radius: float, ends: Sequence[Point]) -> float:
        """Return the radius that is swung: as printed for a peg of the rim, else to the pegs at the arc's ends.

        Without either it is the printed one nearest to the design's, else the design's own, which the sheets give.
        """
        hub, middle = self.found[centre["peg"]], self.design[centre["peg"]]
        swung = [(abs(self.design[row["peg"]].distance(middle) - radius), abs(read_length(row["reading_1"],
                                                                                         feet=self.feet)))
                 for row in self.hooked.get(centre["peg"], ())
                 if row["method"] in ("radius", "line") and row["reading_1"] and row["element"] == centre["element"]]
        off, printed = min(swung, default=(math.inf, radius))
        held = [self.found[end["peg"]].distance(hub) for p in ends if (end := self.at(p)) is not None]
        if held and not off <= RADIUS:
            return math.fsum(held) / len(held)
        return printed


def strays(rows: Sequence[Row], found: Mapping[str, Point], outlines: Mapping[str, Sequence[Outline]], *,
           feet: bool = False) -> dict[str, Stray]:
    """Return for each element with an outline how its rebuilt edge compares with the design."""
    stand = _Stand(rows, found, feet)
    out: dict[str, Stray] = {}
    for element, own in outlines.items():
        parts = [piece for outline in own for piece in _outline(stand, element, outline)]
        length = math.fsum(step for _, step in parts)
        if length > 0:
            out[element] = Stray(max(abs(v) for v, _ in parts) * 1000,
                                 math.fsum(abs(v) * step for v, step in parts) / length * 1000,
                                 math.fsum(v * step for v, step in parts))
    return out


Aside = Callable[[Point, Vec], float]
"""How far the rebuilt edge lies out at a point of the design, along the normal there."""


def _outline(stand: _Stand, element: str, outline: Outline) -> list[tuple[float, float]]:
    """Return the stray (m, outward) at samples of an outline, each with the length that it stands for."""
    ellipse = _by_foci(stand, outline.ellipse) if isinstance(outline, Loop) and outline.ellipse else None
    carried = _Carried(stand, element, outline)
    found: list[tuple[float, float]] = []
    run = 0.0
    for segment in outline.segments:
        aside = ellipse or _swung(stand, segment)
        count = max(FEWEST, math.ceil(segment.length / SAMPLE))
        for k in range(count):
            share = (k + 0.5) / count
            out = -Vec.polar(segment.heading(share)).left()
            value = (aside(segment.point(share), out) if aside
                     else carried.at(run + share * segment.length).dot(out))
            found.append((value, segment.length / count))
        run += segment.length
    return found


def _swung(stand: _Stand, segment: Segment) -> Aside | None:
    """Return the stray of an arc that is swung from its centre's peg; None for what is not."""
    centre = stand.at(segment.centre, centre=True) if isinstance(segment, Arc) else None
    if centre is None or not isinstance(segment, Arc):
        return None
    hub = stand.found[centre["peg"]]
    radius = stand.radius(centre, segment.radius, (segment.start, segment.end))

    def aside(p: Point, out: Vec) -> float:
        way = p - hub
        return (radius - way.length) * math.copysign(1.0, way.dot(out))

    return aside


def _by_foci(stand: _Stand, ellipse: Ellipse) -> Aside | None:
    """Return the stray of an ellipse drawn by a loop of the printed length round its rebuilt foci."""
    f = math.sqrt(max(ellipse.half_length**2 - ellipse.half_width**2, 0.0))
    pegs = [stand.at(ellipse.centre + Vec.polar(ellipse.turn, way * f)) for way in (-1.0, 1.0)]
    if pegs[0] is None or pegs[1] is None:
        return None
    said = [stand.loop(pegs[0]), stand.loop(pegs[1])]
    if said[0] != said[1]:
        raise refuse(ReadingsError, f"{pegs[0]['peg']} and {pegs[1]['peg']} are foci of one string, with two loops: "
                     f"{said[0]} and {said[1]} m", "give the tables as they were issued", "two-loops")
    one, two = (stand.found[p["peg"]] for p in pegs if p is not None)
    both = (2 * (ellipse.half_length + f) if said[0] is None else said[0]) - one.distance(two)

    def aside(p: Point, out: Vec) -> float:
        a, b = p - one, p - two
        slope = (a * (1 / a.length) + b * (1 / b.length)).dot(out)
        return (both - a.length - b.length) / slope

    return aside


class _Carried:
    """Shifts of the pegs on an outline, carried evenly from one to the next, as a string or a lath carries them."""

    def __init__(self, stand: _Stand, element: str, outline: Outline) -> None:
        self.length, self.closed = outline.length, isinstance(outline, Loop)
        held: dict[float, Vec] = {}
        run = 0.0
        ends = []
        for segment in outline.segments:
            ends.append((run, segment.start))
            run += segment.length
        ends.append((run, outline.segments[-1].end))
        for station, p in ends:
            joint = stand.at(p)
            if joint is not None:
                held[station] = stand.shift(joint, p)
        for row in stand.of.get(element, ()):
            if row["purpose"] in ("curve", "line"):
                place = project(outline, stand.design[row["peg"]])
                if place.distance <= AT:
                    held[place.station] = stand.shift(row, place.foot)
        self.stations = sorted(held)
        self.shifts = [held[s] for s in self.stations]

    def at(self, station: float) -> Vec:
        """Return the shift at a station; nothing where no peg stands at all."""
        if not self.stations:
            return Vec(0.0, 0.0)
        k = bisect_right(self.stations, station)
        before, after = k - 1, k
        if before < 0 or after == len(self.stations):
            if not self.closed:
                return self.shifts[min(max(before, 0), len(self.shifts) - 1)]
            before, after = len(self.stations) - 1, 0
        gap = (self.stations[after] - self.stations[before]) % self.length
        share = (station - self.stations[before]) % self.length / gap if gap > 0 else 0.0
        one, two = self.shifts[before], self.shifts[after]
        return one + (two + -one) * share


__all__ = ["MOST_ASIDE", "Stray", "strays"]
