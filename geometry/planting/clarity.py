"""How clear a bed's planting is: ten measures with their limits. Advice, never an error; each can be switched off.

Takes a planted bed. Gives findings: what was measured, the limits, whether it lies within them, and on whose word the
limit stands. Sources are named as their kinds, since most are columns and leaflets; figures marked ours are untested.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import Problem, Weight
from ..kernel.flatten import line as flat_line
from ..kernel.flatten import polygon
from ..kernel.path import Region
from .messages import LEAST_PLANTS
from .mix import Measure
from .months import month_chart, month_words, planted_areas
from .planted import BedPlanting, Group

DRIFTS = "scale with the bed, about eight of a kind beat ones and twos: newspaper column on drifts, 2010; figures ours"
HEIGHTS = "tallest at most half the depth, each layer about half: garden guides on plant height"
THIRDS = "thirds: gardening notes on evergreen share; band ours"
LONG = "long drifts: G. Jekyll, Colour Schemes for the Flower Garden, ch. 3; figures ours"
COMMON = "common practice, no source"

CHORD = 5e-3
TOUCH = 0.02
WANTED_PLANTS = 5
BIG_BED = 20.0
MEAN_GROUP = 1.2
MANY = 12
REPEATED = 0.6
SUMMER = (5, 6, 7, 8, 9)


@dataclass(frozen=True, slots=True)
class Finding:
    """One measure: its name, what it is, the figure (None: cannot be measured here), limits, ground.

    `low` and `high` bound the figure (infinite where there is no bound); `detail` names the worst and why.
    """

    rule: Measure
    what: str
    figure: float | None
    low: float
    high: float
    source: str
    detail: str = ""
    also: bool = True

    @property
    def fine(self) -> bool:
        """Whether the figure lies within its limits and nothing else is amiss."""
        return self.also and (self.figure is None or self.low - 1e-9 <= self.figure <= self.high + 1e-9)

    def as_problem(self, bed: str) -> Problem:
        """Return the finding as advice."""
        return Problem(f"{bed}: {self.what}: {self.detail or self.figure}",
                       f"a matter of taste ({self.source}); to leave it out: clarity: {{off: [{self.rule.value}]}}",
                       f"clarity-{self.rule.value.replace(' ', '-')}", weight=Weight.ADVICE)

    def limits_words(self) -> str:
        """Return the limits in words: '2.5 to 4', 'at most 0.5', 'at least 0.7', or '' where there are none."""
        if self.low == self.high:
            return f"{self.low:g}"
        if math.isinf(self.high):
            return f"at least {self.low:g}" if self.low > 0 else ""
        return f"{self.low:g} to {self.high:g}" if self.low > 0 else f"at most {self.high:g}"


def clarity(planted: BedPlanting) -> tuple[Finding, ...]:
    """Return the findings for a bed, rules switched off left out, limits as the bed's rules say.

    Where the designer sets the limits of a measure nothing else is asked of it.
    """
    rules = planted.bed.rules
    found = []
    for rule, measure in _MEASURES.items():
        if rule in rules.off or not planted.groups:
            continue
        finding = measure(planted)
        if rule in rules.limits:
            low, high = rules.limits[rule]
            finding = Finding(finding.rule, finding.what, finding.figure, low, high, "limit set by the designer",
                              finding.detail)
        found.append(finding)
    return tuple(found)


def clarity_advice(planted: BedPlanting) -> tuple[Problem, ...]:
    """Return the findings that lie outside their limits, as advice."""
    return tuple(f.as_problem(planted.name) for f in clarity(planted) if not f.fine)


def _drifts(planted: BedPlanting) -> list[Group]:
    return [g for g in planted.groups if not g.by_hand] or list(planted.groups)


def _sizes(planted: BedPlanting) -> Finding:
    groups = _drifts(planted)
    shares = [g.area / planted.area for g in groups]
    outside = [g for g, s in zip(groups, shares, strict=True) if not 0.02 <= s <= 0.12]
    few = [g for g in groups if len(g.points) < LEAST_PLANTS]
    short = [g for g in groups if LEAST_PLANTS <= len(g.points) < WANTED_PLANTS]
    mean = planted.area / len(groups)
    words = [f"groups hold {min(shares) * 100:.0f} to {max(shares) * 100:.0f} % of the bed"]
    words += [f"{len(few)} under {LEAST_PLANTS} plants"] if few else []
    words += [f"{len(short)} under {WANTED_PLANTS} plants"] if short else []
    words += [f"mean group {mean:.1f} m2"] if planted.area > BIG_BED else []
    also = not few and not (planted.area > BIG_BED and mean < MEAN_GROUP)
    return Finding(Measure.SIZES, "part of the groups outside 2 to 12 % of the bed", len(outside) / len(groups),
                   0.0, 0.25, DRIFTS, ", ".join(words), also)


def _kinds(planted: BedPlanting) -> Finding:
    kinds = len({g.plant.name for g in planted.groups})
    high = max(1.0, min(1.5 + 0.9 * math.sqrt(planted.area), max(planted.length, 3.0)))
    return Finding(Measure.KINDS, "kinds in groups", float(kinds), 1.0, math.floor(high),
                   "fewer kinds, repeated: newspaper column on drifts, 2010; formula ours",
                   f"{kinds} kinds in {planted.area:.0f} m2 and {planted.length:.1f} m")


def _repeats(planted: BedPlanting) -> Finding:
    best: tuple[float, float, str] | None = None
    kinds: dict[str, list[Group]] = {}
    for group in planted.groups:
        if group.plant.height > REPEATED or group.plant.evergreen:
            kinds.setdefault(group.plant.name, []).append(group)
    for name, groups in kinds.items():
        gaps = np.diff(sorted(g.middle for g in groups))
        if len(gaps):
            mean = float(gaps.mean())
            key = (abs(mean - 3.25), float(gaps.std() / mean) if mean > 0 else 0.0, name)
            best = min(best, (*key[:2], name)) if best else key
            if best[2] == name:
                figure = mean
    what = "interval (m) at which a structural kind is repeated"
    if best is None:
        short = planted.length < 5
        return Finding(Measure.REPEATS, what, None, 2.5, 4.0, COMMON, "no tall or evergreen kind is repeated", short)
    return Finding(Measure.REPEATS, what, figure, 2.5, 4.0, COMMON,
                   f"{best[2]} every {figure:.1f} m, uneven by {best[1] * 100:.0f} %", best[1] <= 0.35)


def elongation(region: Region) -> float:
    """Return length over width of a region: the root of the ratio of its two principal second moments of area."""
    at = np.asarray(polygon(region, CHORD).exterior.coords)
    at = at - at.mean(axis=0)
    x, y = at[:-1].T
    u, v = at[1:].T
    cross = x * v - u * y
    area = cross.sum() / 2
    cx, cy = ((x + u) * cross).sum() / (6 * area), ((y + v) * cross).sum() / (6 * area)
    xx = ((x * x + x * u + u * u) * cross).sum() / 12 / area - cx * cx
    yy = ((y * y + y * v + v * v) * cross).sum() / 12 / area - cy * cy
    xy = ((x * v + 2 * x * y + 2 * u * v + u * y) * cross).sum() / 24 / area - cx * cy
    low, high = np.linalg.eigvalsh(np.array([[xx, xy], [xy, yy]]))
    return float(math.sqrt(high / max(low, 1e-12)))


def _lengths(planted: BedPlanting) -> Finding:
    long = [elongation(g.region) for g in _drifts(planted) if len(g.points) > MANY]
    what = f"part of the groups of over {MANY} plants that are 2 to 5 times as long as wide"
    if not long:
        return Finding(Measure.LENGTHS, what, None, 0.7, 1.0, LONG, f"no group of over {MANY} plants")
    good = sum(2 <= e <= 5 for e in long) / len(long)
    return Finding(Measure.LENGTHS, what, good, 0.7, 1.0, LONG, f"{good * 100:.0f} % of {len(long)} groups")


def _heights(planted: BedPlanting) -> Finding:
    groups = [g for g in planted.groups if g.plant.height > 0]
    what = "tallest plant as a part of the bed's depth"
    if not groups:
        return Finding(Measure.HEIGHTS, what, None, 0.0, 0.5, HEIGHTS, "no heights are given")
    tallest = max(groups, key=lambda g: (g.plant.height, -g.number))
    rows: list[float] = []
    for low in (0.0, 1 / 3, 2 / 3):
        here = [g for g in groups if low <= g.across < low + 1 / 3 + 1e-9 and not g.plant.see_through]
        area = sum(g.area for g in here)
        if area > 0:
            rows.append(sum(g.plant.height * g.area for g in here) / area)
    rises = all(a <= b + 1e-9 <= 2 * a + 2e-9 for a, b in pairwise(rows))
    words = " to ".join(f"{h:.2f}" for h in rows)
    return Finding(Measure.HEIGHTS, what, tallest.plant.height / max(planted.depth, 1e-6), 0.0, 0.5, HEIGHTS,
                   f"mean heights from front to back {words} m; {tallest.plant.name} {tallest.plant.height:.2f} m in a "
                   f"bed {planted.depth:.2f} m deep", rises)


def _evergreens(planted: BedPlanting) -> Finding:
    areas = planted_areas([planted])
    total = sum(a for _, a in areas.values()) or 1.0
    share = sum(a for p, a in areas.values() if p.evergreen) / total
    most = 0.67 if planted.bed.rules.formal else 0.40
    return Finding(Measure.EVERGREENS, "evergreen part of the planted ground", share, 0.25, most, THIRDS,
                   f"{share * 100:.0f} % evergreen")


def _months(planted: BedPlanting) -> Finding:
    chart = month_chart(planted.name, [planted])
    thin = [m for m in SUMMER if chart.flowering[m - 1] < 0.2]
    words = [f"nothing on in {month_words(chart.gaps)}"] if chart.gaps else []
    words += [f"under 20 % in flower in {month_words(thin)}"] if thin else []
    return Finding(Measure.MONTHS, "months with nothing on", float(len(chart.gaps)), 0.0, 0.0,
                   "month test common practice; 20 % in flower in May to September ours",
                   "; ".join(words) or "something on in every month", not thin)


def touching(groups: Sequence[Group]) -> list[tuple[Group, Group]]:
    """Return the pairs of groups that share a border."""
    shapes = [polygon(g.region, CHORD) for g in groups]
    return [(groups[b], groups[a]) for a in range(len(groups)) for b in range(a)
            if shapes[a].distance(shapes[b]) < TOUCH]


def _colours(planted: BedPlanting) -> Finding:
    what = "neighbours in flower together whose colours the scheme does not pair"
    partners = {tuple(sorted(p)) for p in planted.bed.rules.partners}
    if not partners:
        return Finding(Measure.COLOURS, what, None, 0.0, 0.0, COMMON + "; taste", "the scheme names no partners")
    clashes = []
    for a, b in touching(planted.groups):
        one, two = a.plant, b.plant
        together = set(one.interest.flower) & set(two.interest.flower)
        if one.colour and two.colour and one.colour != two.colour and together \
                and tuple(sorted((one.colour, two.colour))) not in partners:
            clashes.append(f"{one.name} by {two.name} (groups {a.number} and {b.number})")
    return Finding(Measure.COLOURS, what, float(len(clashes)), 0.0, 0.0, COMMON + "; taste", ", ".join(clashes))


def _reach(planted: BedPlanting) -> Finding:
    from shapely import contains_xy, distance, points, union_all

    shapes = [polygon(r, CHORD) for r in planted.bed.regions]
    edges = union_all([s.boundary for s in shapes])
    behind = [polygon(n, CHORD) if isinstance(n, Region) else flat_line(n, CHORD) for n in planted.bed.neighbours]
    if behind:
        free = edges.difference(union_all(behind).buffer(0.05))
        edges = edges if free.is_empty else free
    step = 0.1
    far = 0.0
    for shape in shapes:
        x0, y0, x1, y1 = shape.bounds
        xs, ys = np.meshgrid(np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step))
        at = np.column_stack([xs.ravel(), ys.ravel()])
        at = at[contains_xy(shape, at[:, 0], at[:, 1])]
        away = np.asarray(distance(points(at), edges))
        for stone in planted.bed.steps:
            away = np.minimum(away, np.hypot(at[:, 0] - stone.x, at[:, 1] - stone.y))
        far = max(far, float(away.max(initial=0.0)))
    return Finding(Measure.REACH, "farthest (m) from an edge or a stepping place", far, 0.0, 1.5, COMMON,
                   f"{far:.1f} m from where one can stand")


def _ones(planted: BedPlanting) -> Finding:
    ones = {g.plant.name for g in planted.groups if len(g.points) <= 2 and not g.by_hand}
    return Finding(Measure.ONES, "kinds that stand in ones and twos", float(len(ones)), 0.0, max(1.0,
                   planted.length // 4),
                   DRIFTS, ", ".join(sorted(ones)) or "none")


_MEASURES: dict[Measure, Callable[[BedPlanting], Finding]] = {
    Measure.SIZES: _sizes,
    Measure.KINDS: _kinds,
    Measure.REPEATS: _repeats,
    Measure.LENGTHS: _lengths,
    Measure.HEIGHTS: _heights,
    Measure.EVERGREENS: _evergreens,
    Measure.MONTHS: _months,
    Measure.COLOURS: _colours,
    Measure.REACH: _reach,
    Measure.ONES: _ones,
}
