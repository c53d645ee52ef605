"""Pegs on curves: swung edges in line with marks or by a second tape, others from their chord, ellipses by their foci.

Only the part square to a curve matters: a peg may slide along it. So a swung edge needs four to six pegs on a
circle, its ends and what lies between on an arc; others as many as keep a string between two pegs within the
chord gap. Lengths in metres, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..features import Purpose
from ..kernel.path import Ellipse
from ..kernel.point import Point, Vec
from ..kernel.segment import Arc, Segment
from .choose import SECONDARY_LIMIT
from .ground import AUXILIARY, SECONDARY, Ground, Setting
from .linear import CHORD, LINE, LONGEST_OUT, NEAREST, OFFSET, RADIUS, SHARPEST, TIES
from .plan import Curve, Target
from .sight import Sight

Floats = NDArray[np.float64]

SPREAD = math.radians(50)
WIDEST = math.radians(135)
MOST_ON_CIRCLE = 6
SIGHT_LEAST = 1.0
"""A mark nearer than this to the centre gives no good direction (m)."""
NEAREST_SOURCES = 8
"""Marks, and pegs, that are considered for the direction of a peg on a swung edge."""
BETWEEN = math.radians(60)
BARELY = 0.8
"""An arc shorter than this needs no peg between its ends (m)."""
STATIONS = (3.0, 2.0, 1.5, 1.0, 0.5)

Make = Callable[..., Setting]


@dataclass(frozen=True, slots=True)
class Rim:
    """A peg that could stand on a swung edge: its angle from the centre, and how."""

    angle: float
    at: tuple[float, float]
    method: int
    source: int
    reading: float
    sine: float


class Curves:
    """Chooses the curve pegs of one element; what it cannot do simply is left as targets for the general choice."""

    def __init__(self, ground: Ground, sight: Sight, sources: Sequence[int], element: int, stage: int,
                 gap: float) -> None:
        self.ground, self.sight, self.element, self.stage, self.gap = ground, sight, element, stage, gap
        self.sources = [s for s in sources if ground.settings[s].level < SECONDARY_LIMIT]
        self._held = np.array(self.sources, dtype=np.intp)
        self._marks = np.array([ground.settings[s].standing <= AUXILIARY for s in self.sources], dtype=bool)
        self.settings: list[Setting] = []
        self.left: list[Target] = []
        self.count = 0

    def name(self) -> str:
        """Return the name of the next peg on an edge."""
        self.count += 1
        return f"edge {self.count}"

    def _put(self, method: int, sources: tuple[int, ...], at: tuple[float, float], normal: Vec | None, *,
             stated: float | None = None, part: str = "") -> None:
        level = 1 + max(self.ground.settings[s].level for s in sources)
        chain = 1 + max(self.ground.settings[s].chain for s in sources)
        target = Target(part=part or self.name(), purpose=Purpose.CURVE, at=Point(*at), normal=normal)
        self.settings.append(Setting(standing=SECONDARY, method=method, sources=sources, at=at, level=level,
                                     chain=chain, element=self.element, target=target, stage=self.stage,
                                     stated=stated))

    def _leave(self, at: Point, normal: Vec, part: str = "") -> None:
        self.left.append(Target(part=part or self.name(), purpose=Purpose.CURVE, at=at, normal=normal))

    # edges swung from a centre

    def circle(self, arc: Arc, centre: int, shut: bool = False) -> None:
        """Put four to six pegs on a whole circle; as many as there are where others stand in parts that are `shut`."""
        lines = spread_rims(self._in_line(arc, centre))
        rims = lines
        if not _enough(lines):
            rims = spread_rims([*lines, *self.by_radius(arc, centre, [k * math.pi / 12 for k in range(24)])], lines)
        if not (_enough(rims) or shut):
            for k in range(4):
                at = arc.centre + Vec.polar(k * math.pi / 2, arc.radius)
                self._leave(at, Vec.polar(k * math.pi / 2))
            return
        for rim in sorted(rims, key=lambda r: r.angle):
            self._put_rim(rim, centre)

    def arc(self, arc: Arc, centre: int, shut: Sequence[tuple[float, float]] = ()) -> None:
        """Put the pegs between the two ends of a swung arc: each 60 degrees, one at least unless it is short.

        None stand in parts that are `shut` (shares of the arc).
        """
        if arc.length < BARELY:
            return
        parts = max(math.ceil(abs(arc.sweep) / BETWEEN - 1e-6), 2)
        lines = self._in_line(arc, centre)
        for k in range(1, parts):
            share = k / parts
            if any(a <= share <= b for a, b in shut):
                continue
            angle = arc.begin + arc.sweep * share
            slack = 0.3 * abs(arc.sweep) / parts
            near = [r for r in lines if abs(math.remainder(r.angle - angle, 2 * math.pi)) <= slack]
            near = sorted(near, key=lambda r: (round(abs(math.remainder(r.angle - angle, 2 * math.pi)), 6), r.source))
            rims = near or self.by_radius(arc, centre, [angle])
            if rims:
                self._put_rim(rims[0], centre)
            else:
                self._leave(arc.point(share), Vec.polar(angle))

    def _put_rim(self, rim: Rim, centre: int) -> None:
        self._put(rim.method, (centre, rim.source), rim.at, Vec.polar(rim.angle), stated=rim.reading)

    def _near(self, centre: int, least: float) -> list[int]:
        """Return the nearest marks and the nearest pegs within a tape of a centre, `least` metres away or more."""
        ground = self.ground
        away = ground.places[self._held] - ground.places[centre]
        reach = np.hypot(away[:, 0], away[:, 1])
        order = reach.round(6).argsort(kind="stable")
        order = order[((reach >= least) & (reach <= ground.tape.length) & (self._held != centre))[order]]
        mark = self._marks[order]
        near = np.concatenate([order[mark][:NEAREST_SOURCES], order[~mark][:NEAREST_SOURCES]])
        return [int(n) for n in self._held[near]]

    def _in_line(self, arc: Arc, centre: int) -> list[Rim]:
        """Return the pegs of the rim that lie in line with what is seen from the centre, toward it or away."""
        ground, c = self.ground, self.ground.places[centre]
        marks = self._near(centre, max(SIGHT_LEAST, arc.radius / 2))
        if not marks or ground.settings[centre].level >= SECONDARY_LIMIT:
            return []
        far = ground.places[marks]
        unit = (far - c) / np.hypot(*(far - c).T)[:, None]
        found = []
        rims = {sign: c + sign * arc.radius * unit for sign in (1.0, -1.0)}
        starts = np.concatenate([far, *rims.values()])
        seen, *clear = self.sight.free(starts, np.broadcast_to(c, starts.shape)).reshape(3, -1)
        for (sign, rim), free in zip(rims.items(), clear, strict=True):
            for k in (seen & free).nonzero()[0].tolist():
                angle = math.atan2(sign * unit[k, 1], sign * unit[k, 0])
                found.append(Rim(angle, (float(rim[k, 0]), float(rim[k, 1])), LINE, marks[k], sign * arc.radius, 1.0))
        return found

    def by_radius(self, arc: Arc, centre: int, angles: Sequence[float]) -> list[Rim]:
        """Return pegs of the rim at some angles, by the radius and the second tape that crosses it best."""
        ground, c = self.ground, self.ground.places[centre]
        marks = self._near(centre, 0.0)
        if not marks or ground.settings[centre].level >= SECONDARY_LIMIT:
            return []
        places = ground.places[marks]
        rim = c + arc.radius * np.column_stack([np.cos(angles), np.sin(angles)])
        away = rim[:, None, :] - places[None, :, :]
        reach = np.hypot(away[..., 0], away[..., 1])
        out = np.column_stack([np.cos(angles), np.sin(angles)])
        sine = np.abs(out[:, None, 0] * away[..., 1] - out[:, None, 1] * away[..., 0]) / np.maximum(reach, 1e-9)
        ok = (sine >= SHARPEST) & (reach >= NEAREST) & (reach <= ground.tape.length)
        a, m = np.nonzero(ok)
        ok[a, m] = self.sight.free(places[m], rim[a])
        clear = self.sight.free(rim, np.broadcast_to(c, rim.shape))
        found = []
        for k, angle in enumerate(angles):
            if clear[k] and ok[k].any():
                cost = np.where(ok[k], reach[k] / 30 + 1 / np.maximum(sine[k], 0.1), np.inf)
                m_best = int(np.argmin(np.round(cost, 6)))
                found.append(Rim(angle, (float(rim[k, 0]), float(rim[k, 1])), RADIUS, marks[m_best], arc.radius,
                                 float(sine[k, m_best])))
        return found

    # edges from their chord

    def chord(self, curve: Curve, start: int, end: int) -> None:
        """Put the pegs of a curve that is not swung: out from the string between its two ends."""
        points = list(points_between(curve.segments, self.gap))
        if not points:
            return
        a, b = start, end
        places = self.ground.places
        outs = [_along(places[a], places[b], p)[1] for p, _ in points]
        if sum(outs) < 0:
            a, b = b, a
            points.reverse()
        low = max(self.ground.settings[s].level for s in (a, b)) < SECONDARY_LIMIT
        for p, normal in points:
            if low and self._chord_ok(places[a], places[b], p):
                self._put(CHORD, (a, b), (p.x, p.y), normal)
            else:
                self._leave(p, normal)

    def _chord_ok(self, a: Floats, b: Floats, p: Point) -> bool:
        t, o = _along(a, b, p)
        length = float(np.hypot(*(b - a)))
        if length > self.ground.tape.length or not -1e-9 <= t <= length + 1e-9 or abs(o) > LONGEST_OUT:
            return False
        foot = a + (b - a) * (t / length)
        at = np.array([p.x, p.y])
        return bool(self.sight.free(np.vstack([a, foot]), np.vstack([b, at])).all())

    # ellipses

    def ellipse(self, ellipse: Ellipse, first: int, second: int) -> None:
        """Put the four ends of the axes: in line with the foci, and by two tapes (or square out) from them."""
        f = math.sqrt(ellipse.half_length**2 - ellipse.half_width**2)
        along = Vec.polar(ellipse.turn)
        for part, sign, pair in (("end 1", -1.0, (second, first)), ("end 3", 1.0, (first, second))):
            at = ellipse.centre + along * (sign * ellipse.half_length)
            self._axis_end(at, along * sign, part, LINE, pair, ellipse.half_length + f)
        sine = 2 * f * ellipse.half_width / ellipse.half_length**2
        for part, sign in (("end 2", -1.0), ("end 4", 1.0)):
            at = ellipse.centre + along.left() * (sign * ellipse.half_width)
            method = TIES if sine >= SHARPEST else OFFSET
            pair = (first, second) if sign > 0 else (second, first)
            if method == OFFSET and ellipse.half_width > LONGEST_OUT:
                self._leave(at, along.left() * sign, part)
            else:
                self._axis_end(at, along.left() * sign, part, method, pair, None)

    def _axis_end(self, at: Point, normal: Vec, part: str, method: int, pair: tuple[int, int],
                  stated: float | None) -> None:
        places = self.ground.places
        spot = np.array([at.x, at.y])
        starts = np.vstack([places[pair[0]], places[pair[1]]])
        free = bool(self.sight.free(starts, np.vstack([spot, spot])).all())
        level = max(self.ground.settings[s].level for s in pair)
        if free and level < SECONDARY_LIMIT:
            self._put(method, pair, (at.x, at.y), normal, stated=stated, part=part)
        else:
            self._leave(at, normal, part)


def _along(a: Floats, b: Floats, p: Point) -> tuple[float, float]:
    u = (b - a) / np.hypot(*(b - a))
    d = np.array([p.x, p.y]) - a
    return float(d @ u), float(u[0] * d[1] - u[1] * d[0])


def spread_rims(rims: Sequence[Rim], first: Sequence[Rim] = ()) -> list[Rim]:
    """Return up to six pegs of the rim at least 50 degrees apart, spread as evenly as the choice allows.

    `first` are kept if they are that far apart.
    """
    if not rims:
        return []
    angles = np.array([r.angle for r in rims])
    apart = np.round(np.abs((angles[:, None] - angles[None, :] + math.pi) % (2 * math.pi) - math.pi), 6)
    preferred = np.array(sorted(range(len(rims)), key=lambda k: (rims[k].source, -rims[k].reading)), dtype=np.intp)
    begun = [k for k, r in enumerate(rims) if r in first]
    best: list[Rim] = []
    score = (-1.0, -1.0)
    for start in [begun] if begun else [[k] for k in range(len(rims))]:
        chosen = list(start)
        nearest = apart[chosen].min(axis=0)
        while len(chosen) < MOST_ON_CIRCLE:
            k = int(preferred[nearest[preferred].argmax()])
            if nearest[k] < SPREAD:
                break
            chosen.append(k)
            nearest = np.minimum(nearest, apart[k])
        found = (float(len(chosen)), -_widest([rims[k] for k in chosen]))
        if found > score:
            best, score = [rims[k] for k in chosen], found
    return best


def _widest(rims: Sequence[Rim]) -> float:
    angles = sorted(r.angle % (2 * math.pi) for r in rims)
    if not angles:
        return 2 * math.pi
    return round(max((b - a) % (2 * math.pi) or 2 * math.pi
                     for a, b in zip(angles, [*angles[1:], angles[0]], strict=True)), 6)


def _enough(rims: Sequence[Rim]) -> bool:
    return len(rims) >= 3 and _widest(rims) <= WIDEST


def points_between(segments: Sequence[Segment], gap: float) -> Iterator[tuple[Point, Vec]]:
    """Yield the points to be pegged on a curve, ends left out, and the direction square to it.

    Chosen so that the string between two neighbours strays by `gap` (m) at most: s^2 = 8 R gap. A single flat arc
    gets whole stations along its chord.
    """
    only = segments[0]
    if len(segments) == 1 and isinstance(only, Arc) and abs(only.sweep) <= math.radians(70):
        whole = _whole_stations(only, gap)
        if whole is not None:
            yield from whole
            return
    shares = [math.sqrt(8 * s.radius * gap) if isinstance(s, Arc) else math.inf for s in segments]
    needs = [s.length / share for s, share in zip(segments, shares, strict=True)]
    count = math.ceil(sum(needs) - 1e-9)
    for k in range(1, count):
        want = sum(needs) * k / count
        for s, need in zip(segments, needs, strict=True):
            if want <= need + 1e-12 and need > 0:
                share = min(want / need, 1.0)
                yield s.point(share), Vec.polar(s.heading(share)).left()
                break
            want -= need


def _whole_stations(arc: Arc, gap: float) -> list[tuple[Point, Vec]] | None:
    """Return points at whole stations along the chord of a flat arc; None if the steps would be too short."""
    half = abs(arc.sweep) / 2
    length = 2 * arc.radius * math.sin(half)
    rise = arc.radius * (1 - math.cos(half))
    if rise <= gap:
        return []
    most = math.sqrt(8 * arc.radius * gap) * math.cos(half)
    step = next((s for s in STATIONS if s <= most), None)
    if step is None:
        return None
    u = (arc.end - arc.start).unit()
    middle = arc.start.toward(arc.end, 0.5)
    out = u.left() if (arc.centre - middle).dot(u.left()) < 0 else -u.left()
    found = []
    for k in range(1, math.ceil(length / step - 0.25)):
        x = k * step - length / 2
        y = math.sqrt(arc.radius**2 - x * x) - (arc.radius - rise)
        at = middle + u * x + out * y
        found.append((at, (at - arc.centre).unit()))
    return found


def halving_error(radius: float, chord: float) -> float:
    """Return how wrong "a quarter of the rise" is for the next mid-ordinate of an arc, metres.

    Exact rise h = R - sqrt(R^2 - c^2/4); the half arc's own rise against h/4.
    """
    half = math.asin(min(chord / (2 * radius), 1.0))
    return radius * (1 - math.cos(half / 2)) - radius * (1 - math.cos(half)) / 4
