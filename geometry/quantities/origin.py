"""Where to start laying: origins and turns that spare units and avoid slivers, offered and never imposed.

Takes: a layout as given. Gives: two to four named offers with their figures. Counts are piecewise constant in
the origin and repeat with the lattice; they change only where a unit's edge meets a corner, an edge parallel
to it or the extreme of an arc, so these offsets are tried, a coarse grid between them, and a halving search
round the best. Free angles are never tried: they save units and make dozens of slivers. Metres, radians.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ..kernel.inside import areas, marked_buckets, stretches
from ..kernel.path import Region
from ..kernel.runs import Floats, Runs
from ..kernel.segment import Line
from .cuts import SLIVER, cut_units
from .laying import AREA, Layout, lay
from .pairing import KERF, Reuse, pair
from .patterns import Bond, Lattice, Unit

MOST_EVENTS = 20
MANY_UNITS = 3000
GRID = 6
LEAST_STEP = 0.004
SAME_TURN = 1e-3
TURN_EVALUATIONS = 150
SAME_OFFSET = 1e-4


@dataclass(frozen=True, slots=True, order=True)
class Score:
    """What a layout costs, in the order in which it is judged; each figure is shown, none blended."""

    straight_slivers: int
    units: int
    curved_slivers: int
    under_half: int
    cuts: int


@dataclass(frozen=True, slots=True)
class Offer:
    """A layout that could be chosen: its name, the layout, and its figures by the real test of offcuts."""

    name: str
    layout: Layout
    score: Score

    @property
    def words(self) -> str:
        """The offer in a line."""
        s, at = self.score, self.layout.lay_from
        return (
            f"{self.name}: lay from ({at.x:.3f}, {at.y:.3f}), turn "
            f"{math.degrees(self.layout.frame.turn):g}: {s.units} units, "
            f"{s.cuts} cuts, {s.straight_slivers} straight and {s.curved_slivers} curved slivers"
        )


class Search:
    """Scores origins of one unit on one region by looking at its boundary alone."""

    def __init__(self, runs: Runs, area: float, unit: Unit, grid: Lattice, ease: float) -> None:
        self.runs, self.area, self.unit, self.grid, self.ease = runs, area, unit, grid, ease
        self.arcs = runs.part(runs.r > 0)
        corners = marked_buckets(runs, min(unit.length, unit.width) / 2)
        self.corners = corners
        self.cell = sum((p.across + self._joint(p)[0]) * (p.up + self._joint(p)[1]) for p in grid.places) / len(
            grid.places
        )
        self.seen: dict[tuple[int, int], Score] = {}

    def _joint(self, place: object) -> tuple[float, float]:
        g = self.grid
        along = place.across >= place.up  # type: ignore[attr-defined]
        return (g.end_joint, g.side_joint) if along else (g.side_joint, g.end_joint)

    def _boxes(self, ox: float, oy: float) -> tuple[Floats, Floats]:
        """Return the units (and their cells) that touch a bucket of the boundary."""
        boxes, cells = [], []
        for place in self.grid.places:
            jx, jy = self._joint(place)
            x, y = self.corners[:, 0] - ox - place.x + jx / 2, self.corners[:, 1] - oy - place.y + jy / 2
            j = np.floor(y / self.grid.step[1])
            left = x - j * self.grid.step[0]
            i = np.floor(left / self.grid.period)
            hit = (left - i * self.grid.period <= place.across + jx) & (y - j * self.grid.step[1] <= place.up + jy)
            keys = np.unique(i[hit] + 1j * j[hit])
            x0 = ox + place.x + keys.real * self.grid.period + keys.imag * self.grid.step[0]
            y0 = oy + place.y + keys.imag * self.grid.step[1]
            boxes.append(np.stack([x0, y0, x0 + place.across, y0 + place.up], axis=1))
            cells.append(boxes[-1] + np.array([-jx / 2, -jy / 2, jx / 2, jy / 2]))
        return np.concatenate(boxes), np.concatenate(cells)

    def score(self, ox: float, oy: float) -> Score:
        """Return the score of the origin moved by (ox, oy), with pairs estimated by their areas."""
        key = (round(ox / SAME_OFFSET), round(oy / SAME_OFFSET))
        if key not in self.seen:
            self.seen[key] = self._score(ox, oy)
        return self.seen[key]

    def _score(self, ox: float, oy: float) -> Score:
        boxes, cells = self._boxes(ox, oy)
        interior = round((self.area - math.fsum(areas(self.runs, cells))) / self.cell)
        full = self.unit.area
        covered = areas(self.runs, boxes)
        rest = np.nonzero((covered > AREA) & (covered < full - AREA))[0]
        inner = areas(self.runs, boxes[rest] + self.ease * np.array([1, 1, -1, -1]))
        room = (self.unit.length - 2 * self.ease) * (self.unit.width - 2 * self.ease)
        cut = rest[(inner > AREA) & (inner < room - AREA)]
        whole = interior + int((covered >= full - AREA).sum()) + int((inner >= room - AREA).sum())
        curved = np.zeros(len(cut), dtype=bool)
        if len(self.arcs.xl):
            curved[np.unique(stretches(self.arcs, boxes[cut]).rectangle)] = True
        share = covered[cut] / full
        straight = np.sort(share[~curved])
        return Score(
            int((share[~curved] < SLIVER).sum()),
            whole + len(cut) - _pairs_by_area(straight),
            int((share[curved] < SLIVER).sum()),
            int((straight < 0.5).sum()),
            len(cut),
        )


def _pairs_by_area(shares: Floats) -> int:
    """Return how many pairs two-pointer packing finds among straight pieces by area: a quick stand-in."""
    low, high, pairs = 0, len(shares) - 1, 0
    while low < high:
        if shares[low] + shares[high] <= 1:
            pairs += 1
            low += 1
        high -= 1
    return pairs


def _extents(grid: Lattice) -> tuple[set[tuple[float, float]], set[tuple[float, float]]]:
    across = {(p.x, p.across) for p in grid.places}
    return across, {(p.y, p.up) for p in grid.places}


def _events(runs: Runs, extents: Iterable[tuple[float, float]], period: float, joint: float) -> list[float]:
    """Return the offsets along x at which a unit's edge meets something, thinned to MOST_EVENTS."""
    edges = {round(v, 6) for v in (*runs.xl.tolist(), *runs.xu.tolist())}
    upright = sorted({round(v, 6) for v in runs.xl[(runs.xl == runs.xu)].tolist()})
    middles = [(a + b) / 2 for k, a in enumerate(upright) for b in upright[k + 1 :]]
    offsets = set()
    for at, size in extents:
        offsets |= {e - at for e in edges} | {e - at - size for e in edges}
        offsets |= {e - at - size / 2 for e in middles} | {e - at + joint / 2 for e in middles}
    wrapped = sorted({round(v % period / SAME_OFFSET) * SAME_OFFSET for v in offsets})
    if len(wrapped) <= MOST_EVENTS:
        return wrapped
    return [wrapped[round(k * (len(wrapped) - 1) / (MOST_EVENTS - 1))] for k in range(MOST_EVENTS)]


def _halved(
    search: Search, start: tuple[float, float], periods: tuple[float, float], key: object
) -> tuple[float, float]:
    """Return the best offset found by a pattern search from `start`, its step halved down to LEAST_STEP."""
    best, step = start, max(periods) / 12
    while step >= LEAST_STEP:
        near = [(best[0] + dx * step, best[1] + dy * step) for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))]
        better = min(near, key=lambda o: key(search.score(*o)))  # type: ignore[operator]
        if key(search.score(*better)) < key(search.score(*best)):  # type: ignore[operator]
            best = better
        else:
            step /= 2
    return best


def _neat(score: Score) -> tuple[int, ...]:
    return (score.straight_slivers, score.units, score.curved_slivers, score.under_half, score.cuts)


def _thrifty(score: Score) -> tuple[int, ...]:
    return (score.units, score.straight_slivers, score.curved_slivers, score.under_half, score.cuts)


def _trials(search: Search, grid: Lattice) -> list[tuple[float, float]]:
    """Return the offsets to try: events along both axes and a coarse grid between."""
    across, up = _extents(grid)
    mirrored = search.runs.mirrored()
    xs = _events(search.runs, across, grid.period, grid.end_joint)
    ys = _events(mirrored, up, grid.step[1], grid.side_joint)
    xs += [k * grid.period / GRID for k in range(GRID)]
    ys += [k * grid.step[1] / GRID for k in range(GRID)]
    return [(x, y) for x in dict.fromkeys(xs) for y in dict.fromkeys(ys)]


def measured(layout: Layout, reuse: Reuse = Reuse.STRAIGHT, kerf: float = KERF) -> Score:
    """Return the score of a layout by its real pieces and pairs."""
    cuts = cut_units(layout)
    straight = [c for c in cuts if c.straight]
    return Score(
        sum(c.sliver for c in straight),
        layout.wholes + pair(cuts, layout, reuse, kerf).units,
        sum(c.sliver for c in cuts if not c.straight),
        sum(c.area < layout.unit.area / 2 for c in straight),
        len(cuts),
    )


def _laid(layout: Layout, offset: tuple[float, float]) -> Layout:
    at = layout.frame.outward(*offset)
    return lay(layout.regions, layout.unit, layout.bond, at, layout.frame.turn, layout.ease)


def offers(
    layout: Layout, reuse: Reuse = Reuse.STRAIGHT, kerf: float = KERF, evaluations: int | None = None
) -> tuple[Offer, ...]:
    """Return layouts to choose from: as given, without small cuts, with the fewest units; equal ones once.

    About `evaluations` origins are looked at (700, or 300 of a layout of many units), the last few by their
    real pieces.
    """
    evaluations = evaluations or (700 if layout.count < MANY_UNITS else 300)
    grid = layout.lattice
    search = Search(layout.runs, layout.region_area, layout.unit, grid, layout.ease)
    trials = _trials(search, grid)
    stride = max(1, math.ceil(len(trials) / evaluations))
    trials = [(0.0, 0.0), *trials[::stride]]
    found = [Offer("as given", layout, measured(layout, reuse, kerf))]
    periods = (grid.period, grid.step[1])
    real: dict[tuple[float, float], tuple[Layout, Score]] = {}
    for name, key in (("no small cuts", _neat), ("fewest units", _thrifty)):
        best = sorted(trials, key=lambda o, k=key: (*k(search.score(*o)), math.hypot(*o)))[:3]  # type: ignore[misc]
        best = list(dict.fromkeys([*(_halved(search, start, periods, key) for start in best), *best]))
        for offset in best:
            if offset not in real:
                laid = _laid(layout, offset)
                real[offset] = laid, measured(laid, reuse, kerf)
        offer = min((Offer(name, *real[o]) for o in best), key=lambda o, k=key: k(o.score))  # type: ignore[misc]
        if key(offer.score) < min(key(o.score) for o in found):
            found.append(offer)
    middle = min((_laid(layout, o) for o in _centred(layout)), key=lambda laid: _neat(measured(laid, reuse, kerf)))
    centred = Offer("centred", middle, measured(middle, reuse, kerf))
    if all(centred.score != o.score for o in found):
        found.append(centred)
    return tuple(found)


def _centred(layout: Layout) -> list[tuple[float, float]]:
    """Return the offsets that put a unit's middle, or a joint, on the middle of the outline across the courses."""
    place = layout.lattice.places[0]
    middle = (layout.runs.x_least.min() + layout.runs.x_most.max()) / 2
    shifts = (middle - place.x - place.across / 2, middle - place.x + layout.lattice.end_joint / 2)
    period = layout.lattice.period
    return [(float(shift - round(shift / period) * period), 0.0) for shift in shifts]


def turns(regions: Sequence[Region], bond: Bond) -> tuple[float, ...]:
    """Return turns worth trying, radians in 0..pi/2: edges longer than a fifth of the girth, and + 45 degrees woven."""
    girth = sum(region.length for region in regions)
    lines = [s for region in regions for ring in region.rings() for s in ring if isinstance(s, Line)]
    headings = {round(s.heading() % (math.pi / 2), 9) for s in lines if s.length > girth / 5}
    if bond.woven:
        headings |= {round((h + math.pi / 4) % (math.pi / 2), 9) for h in headings}
    return tuple(sorted(headings))


def turned_offers(layout: Layout, reuse: Reuse = Reuse.STRAIGHT, kerf: float = KERF) -> tuple[Offer, ...]:
    """Return the neatest layout for each other turn along a long edge (and across it) that beats the layout as given.

    Only such turns are looked at: free angles save units and make slivers.
    """
    given = measured(layout, reuse, kerf)
    period = math.pi / 2 if layout.bond.name == "stack" and layout.unit.length == layout.unit.width else math.pi
    tried = [t + quarter for t in turns(layout.regions, layout.bond) for quarter in (0.0, math.pi / 2)]
    found: list[Offer] = []
    for turn in dict.fromkeys(round(t % period, 9) for t in tried):
        apart = abs((turn - layout.frame.turn + period / 2) % period - period / 2)
        if apart < SAME_TURN:
            continue
        laid = lay(layout.regions, layout.unit, layout.bond, layout.lay_from, turn, layout.ease)
        best = min(offers(laid, reuse, kerf, TURN_EVALUATIONS), key=lambda o: _neat(o.score))
        if _neat(best.score) < _neat(given):
            found.append(Offer(f"turned, {best.name}", best.layout, best.score))
    return tuple(found)


def joint_that_fits(length: float, unit: float, allowed: tuple[float, float]) -> tuple[int, float] | None:
    """Return how many units fill `length` (m) without a cut, and the joint, if it lies in the allowed range.

    Units to the edge on both sides: joint = (length - n unit) / (n - 1).
    """
    for n in range(max(1, math.floor(length / (unit + allowed[1]))), math.ceil(length / unit) + 1):
        if n == 1:
            if abs(length - unit) < 1e-9:
                return 1, 0.0
            continue
        joint = (length - n * unit) / (n - 1)
        if allowed[0] - 1e-9 <= joint <= allowed[1] + 1e-9:
            return n, joint
    return None


def equal_ends(length: float, unit: float, joint: float) -> tuple[int, float]:
    """Return the whole units between two equal end pieces on `length` (m), and the size of these pieces.

    The most whole units that leave each end at least (unit - joint) / 2.
    """
    whole = math.floor((length - unit - joint) / (unit + joint) + 1e-9) if length > 2 * unit else 0
    for k in range(max(whole + 2, 0), -1, -1):
        end = (length - k * unit - (k + 1) * joint) / 2
        if end >= (unit - joint) / 2 - 1e-9:
            return k, end
    return 0, (length - joint) / 2
