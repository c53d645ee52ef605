"""Auxiliary control: marks driven for setting out alone, where the given ones do not reach.

House corners alone reach about half of a real garden's pegs. Candidates stand on a grid, along the
boundary, round obstacles and on the extensions of the baseline, clear of digs; each is worth what it
takes off the pegs' errors. Deepening: marks set from control first, from those only while some peg is not
reached. Lengths in metres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .ground import AUXILIARY, Ground, Setting
from .linear import LINE, NEAREST, SHARPEST, TIES, line_form
from .reach import Least, Pairs, in_reach, variances
from .sight import Sight
from .standing import Site
from .whole import whole_ties

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.intp]

UNSERVED = 6.0
WORTH = 1.0
WORTH_WHEN_URGENT = 4.0
CARE = 0.7
"""Pegs whose error is below this share of their tolerance gain nothing from more marks."""
OWN_ERROR = 0.030
DEEPEST = 4
MOST = 12
EXTENSION = 8


BESIDE = 0.75
"""No auxiliary mark is driven nearer to another mark than this, metres (judgement)."""


@dataclass(slots=True)
class _Search:
    """Targets (with tolerance, m), known marks and candidates, with what each sees of the other."""

    ground: Ground
    sight: Sight
    site: Site
    targets: Floats
    tolerance: Floats
    spots: Floats
    known: list[int]
    depth: dict[int, int]
    on_line: dict[int, tuple[int, int, float]] = field(default_factory=dict)
    lined: set[int] = field(default_factory=set)
    paired: Floats | None = None
    counted: int = 0
    limit: int = 0
    seen_tk: list[Flags] = field(default_factory=list)
    seen_xk: list[Flags] = field(default_factory=list)
    pairs: Pairs | None = None
    least: Least = field(init=False)
    own: tuple[int, Least] | None = None
    beside: Flags = field(init=False)
    passed: int = 0                              # known marks that `beside` has been told of

    def __post_init__(self) -> None:
        self.beside = np.zeros(len(self.spots), dtype=bool)
        self.least = Least(self.targets, self.ground.tape)

    def look(self, points: Floats, others: Floats) -> tuple[Ints, Ints]:
        """Return the pairs of `points` and `others` that see each other within a tape, in order of the points."""
        a, b = in_reach(points, others, np.full(len(points), self.ground.tape.length))
        free = self.sight.free(others[b], points[a])
        return a[free], b[free]

    def look_at(self, points: Floats, place: Floats) -> Flags:
        """Say which of `points` see one place within a tape."""
        apart = np.hypot(points[:, 0] - place[0], points[:, 1] - place[1])
        seen: Flags = (apart <= self.ground.tape.length) & (apart >= NEAREST)
        near = seen.nonzero()[0]
        seen[near] = self.sight.free(np.broadcast_to(place, (len(near), 2)), points[near])
        return seen

    def know(self, number: int, depth: int) -> None:
        """Take up a mark that stands."""
        self.known.append(number)
        self.depth[number] = depth
        place = self.ground.places[number]
        self.seen_tk.append(self.look_at(self.targets, place))
        self.least.add(place, self.ground.block(number, number), self.seen_tk[-1])

    def seen_spots(self) -> list[Flags]:
        """Return which candidates each known mark sees."""
        for number in self.known[len(self.seen_xk):]:
            self.seen_xk.append(self.look_at(self.spots, self.ground.places[number]))
        return self.seen_xk

    def own_of(self, limit: int) -> tuple[Least, list[int]]:
        """Return the candidates' least errors from marks less deep than `limit`, and these marks."""
        if self.own is None or self.own[0] != limit:
            self.own = limit, Least(self.spots, self.ground.tape)
        least = self.own[1]
        use = [i for i, k in enumerate(self.known) if self.depth[k] < limit]
        seen = self.seen_spots()
        for i in use[least.count:]:
            k = self.known[i]
            least.add(self.ground.places[k], self.ground.block(k, k), seen[i])
        return least, [self.known[i] for i in use]


def extra_marks(ground: Ground, sight: Sight, site: Site, targets: Floats, tolerance: Floats, *,
                urgent: bool = False, baseline: tuple[int, int] = (0, 1)) -> list[int]:
    """Add the auxiliary marks worth adding for `targets` (n x 2, tolerance in m); return their numbers.

    `urgent` asks only for targets that nothing reaches.
    """
    search = _search(ground, sight, site, targets, tolerance, baseline)
    added: list[int] = []
    if not len(search.targets):
        return added
    for limit in range(1, DEEPEST + 1):
        while len(added) < MOST:
            number = _step(search, limit, WORTH_WHEN_URGENT if urgent else WORTH)
            if number is None:
                break
            added.append(number)
        if not np.any(_costs(search) >= UNSERVED):
            break
    return added


def _search(ground: Ground, sight: Sight, site: Site, targets: Floats, tolerance: Floats,
            baseline: tuple[int, int]) -> _Search:
    marks = [k for k, s in enumerate(ground.settings) if s.standing <= AUXILIARY]
    spots = site.candidates()
    extended, on_line = _extensions(ground, site, baseline)
    search = _Search(ground, sight, site, targets, tolerance, np.vstack([extended, spots]), [], {}, on_line)
    for k in marks:
        search.know(k, ground.settings[k].chain)
    cost = _costs(search)
    worse = cost > CARE
    search.targets, search.tolerance = targets[worse], tolerance[worse]
    search.seen_tk = [s[worse] for s in search.seen_tk]
    search.least.keep(worse)
    most = np.where(cost[worse] < UNSERVED, cost[worse] * search.tolerance / 2, np.inf)
    search.pairs = Pairs.of(search.targets, search.spots, most, ground.tape)
    return search


OnLine = dict[int, tuple[int, int, float]]


def _extensions(ground: Ground, site: Site, baseline: tuple[int, int]) -> tuple[Floats, OnLine]:
    """Return points each metre beyond both ends of the baseline: the only way to widen a narrow house's base."""
    points: list[Floats] = []
    how: list[tuple[int, int, float]] = []
    for near, far in (baseline, baseline[::-1]):
        a, b = ground.places[near], ground.places[far]
        u = (a - b) / np.hypot(*(a - b))
        for k in range(1, EXTENSION + 1):
            points.append(a + u * k)
            how.append((near, far, -float(k)))
    found = np.array(points)
    keep = np.flatnonzero(site.holds(found))
    return found[keep], {n: how[k] for n, k in enumerate(keep)}


def _costs(search: _Search) -> Floats:
    """Return what each target costs now: twice its error over its tolerance, 6 at most and when nothing reaches it."""
    error = np.sqrt(search.least.error**2 + 2 * search.ground.tape.peg_sd**2)
    cost: Floats = np.minimum(2 * error / search.tolerance, UNSERVED)
    return cost


def _step(search: _Search, limit: int, worth: float) -> int | None:
    """Add the one mark that gains most, or a stepping stone; None when nothing is worth it."""
    cost = _costs(search)
    own, pairs = _own_errors(search, limit)
    usable = (own < OWN_ERROR) & ~_beside_marks(search)
    if not len(cost) or not usable.any():
        return None
    best, gain = _best(search, usable, *_gained(search, cost, own, limit))
    unserved = bool(np.any(cost >= UNSERVED))
    if gain < worth:
        if not unserved or limit < 2:
            return None
        stone = _stone(search, usable, own, cost)
        if stone is None:
            return None
        best = stone
    return _drive(search, best, pairs[best])


def _beside_marks(search: _Search) -> Flags:
    """Say which candidates stand so near to a mark that a second one there would add nothing."""
    for place in search.ground.places[search.known[search.passed:]]:
        search.beside |= np.hypot(search.spots[:, 0] - place[0], search.spots[:, 1] - place[1]) < BESIDE
    search.passed = len(search.known)
    return search.beside


def _own_errors(search: _Search, limit: int) -> tuple[Floats, NDArray[np.intp]]:
    """Return each candidate's own error from marks less deep than `limit`, and the two marks."""
    ground = search.ground
    least, marks = search.own_of(limit)
    error, numbers = least.error.copy(), np.array(marks)[least.pair]
    search.lined = set()
    for spot, (near, far, _) in search.on_line.items():
        seen = search.seen_xk[search.known.index(near)][spot]
        form = line_form(search.spots[spot], ground.places[near], ground.places[far], ground.tape, out=False)
        block = (form.noise * form.sds**2) @ form.noise.T
        for shift, k in zip(form.shifts, (near, far), strict=True):
            block = block + shift @ ground.block(k, k) @ shift.T
        line = math.sqrt(float(np.trace(block)))
        if seen and line < error[spot]:
            error[spot], numbers[spot] = line, (near, far)
            search.lined.add(spot)
    return np.sqrt(error**2 + 2 * ground.tape.peg_sd**2), numbers


def _gained(search: _Search, cost: Floats, own: Floats, limit: int) -> tuple[Ints, Floats]:
    """Return the pairs of a target and a candidate that, if they see each other, set it better, and what that gains.

    The candidate is paired with any known mark; the best of these is kept, and only new marks are looked at. A pair
    that sets its target no better than it was set at first gains nothing ever after.
    """
    ground, pairs = search.ground, search.pairs
    assert pairs is not None
    if search.paired is None or search.limit != limit:
        search.paired, search.counted, search.limit = np.full(len(pairs.target), np.inf), 0, limit
    added = np.minimum(own, 1.0) ** 2 / 2
    most = np.sqrt(np.maximum(pairs.most + ground.tape.peg_sd**2, 0.0))
    for m in range(search.counted, len(search.known)):
        rows = np.flatnonzero(search.seen_tk[m])
        if not len(rows):
            continue
        mark = search.known[m]
        unit, var = np.zeros((len(cost), 2)), np.zeros(len(cost))
        seen = variances(search.targets[rows], ground.places[mark][None], ground.block(mark, mark)[None], ground.tape)
        unit[rows], var[rows] = seen[0][:, 0], seen[1][:, 0]
        held = pairs.of_targets(rows, var[rows])
        t, reach = pairs.target.take(held), pairs.reach.take(held)
        sine = np.abs(unit[:, 0].take(t) * pairs.away_y.take(held)
                      - unit[:, 1].take(t) * pairs.away_x.take(held)) / reach
        both = var.take(t) + pairs.variance.take(held) + added.take(pairs.spot.take(held))
        error = np.sqrt(both) / np.maximum(sine, 1e-9)
        good = ((sine >= SHARPEST) & (error < most.take(t))).nonzero()[0]
        held = held.take(good)
        search.paired[held] = np.minimum(search.paired.take(held), error.take(good))
    search.counted = len(search.known)
    live = (search.paired < np.inf).nonzero()[0]
    live = live[~pairs.shut.take(live)]
    target = pairs.target.take(live)
    best = np.sqrt(search.paired.take(live) ** 2 + 2 * ground.tape.peg_sd**2)
    then = np.minimum(2 * best / search.tolerance.take(target), UNSERVED)
    return live, np.maximum(cost.take(target) - then, 0.0)


def _best(search: _Search, usable: Flags, live: Ints, gained: Floats) -> tuple[int, float]:
    """Return the candidate with the most gain, and that: the sum over the targets that it sees, of `live` pairs.

    A candidate is looked round from only when its gain, were nothing in the way, is the most of all.
    """
    pairs = search.pairs
    assert pairs is not None
    gains = np.bincount(pairs.spot.take(live), weights=gained, minlength=len(search.spots)).astype(np.float64)
    gains[~usable] = 0.0
    keys = np.round(gains, 6)
    while True:
        best = int(np.argmax(keys))
        if pairs.looked[best] or keys[best] <= 0.0:
            return best, float(gains[best])
        _look_round(search, np.arange(*pairs.first[best:best + 2]))
        pairs.looked[best] = True
        own = slice(*np.searchsorted(live, pairs.first[best:best + 2]))
        left = np.where(pairs.shut[live[own]], 0.0, gained[own])
        gains[best] = np.bincount(np.zeros(len(left), dtype=np.intp), weights=left, minlength=1)[0]
        keys[best] = np.round(gains[best], 6)


def _look_round(search: _Search, which: Ints) -> None:
    """See which pairs of a target and a candidate are shut."""
    pairs = search.pairs
    assert pairs is not None
    pairs.shut[which] = ~search.sight.free(search.spots[pairs.spot[which]], search.targets[pairs.target[which]])


def _stone(search: _Search, usable: Flags, own: Floats, cost: Floats) -> int | None:
    """Return the candidate that opens most candidates and unserved pegs not yet seen by two marks."""
    shut = np.flatnonzero(np.column_stack(search.seen_spots()).sum(axis=1) < 2)
    stones = np.flatnonzero(usable)
    far = cost >= UNSERVED
    if not len(stones):
        return None
    stones = stones[:200]
    pairs = search.pairs
    assert pairs is not None
    opened = np.bincount(search.look(search.spots[stones], search.spots[shut])[0], minlength=len(stones))
    _look_round(search, np.flatnonzero(far[pairs.target] & np.isin(pairs.spot, stones) & ~pairs.looked[pairs.spot]))
    unserved = far[pairs.target] & ~pairs.shut
    served = np.bincount(pairs.spot[unserved], minlength=len(search.spots))[stones]
    score: Floats = opened + 5.0 * served - 10 * own[stones]
    k = int(np.argmax(np.round(score, 6)))
    return int(stones[k]) if score[k] >= 3 else None


def _drive(search: _Search, spot: int, marks: NDArray[np.intp]) -> int:
    """Set the mark at whole readings near its candidate, so that it has no rounding shift, and look round from it."""
    ground = search.ground
    a, b = int(marks[0]), int(marks[1])
    level = 1 + max(search.depth[a], search.depth[b])
    whole: tuple[float, ...]
    if spot in search.lined:
        near, far, t = search.on_line[spot]
        place, method, sources, whole = search.spots[spot], LINE, (near, far), (t,)
        if search.ground.tape.feet:
            whole = ()
    else:
        place, whole = whole_ties(ground, search.sight, search.site, search.spots[spot], (a, b))
        method, sources = TIES, (a, b)
    number = ground.add(Setting(standing=AUXILIARY, method=method, sources=sources, whole=whole, stage=1,
                                at=(float(place[0]), float(place[1])), chain=level))
    search.know(number, level)
    return number
