"""Arcs of which a part cannot be reached from their centre: something stands between, or on the arc itself.

There the tape cannot be swung, so pegs stand as close as on an arc without a centre. They are set by what errs least:
tapes, the string between two pegs of the arc on either side, or a string between two pegs of a concentric arc outside
it, which passes what stands in the way; from that string they lie square out, along the radius (common practice, no
source). Where a body covers the arc, a peg of a concentric arc inside it stands in its stead.

Takes: the arc, its centre's peg, what stands. Gives: which parts are shut, and settings. Metres and radians.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..features import Purpose
from ..kernel.point import Point, Vec
from ..kernel.segment import Arc
from .choose import NEVER_BELOW, SECONDARY_LIMIT
from .curves import Rim
from .ground import MARK, PEG, SECONDARY, Ground, Setting
from .linear import CHORD, LONGEST_OUT
from .peg import Method, Weighed
from .plan import Target
from .sight import Sight
from .standing import Site
from .weighing import GOOD

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LOOK_EACH = 0.15
"""Rays from the centre are looked along this far from each other on the rim."""
SHORTEST = 0.6
"""Shut parts shorter than this are drawn past by eye (judgement)."""
OUTS = (0.0, 0.3, 0.45, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0, 2.5, 3.0)
"""How far outside the arc the concentric one may lie; with 0 its pegs stand on the arc itself."""
INSIDE = (0.3, 0.45, 0.6, 0.8, 1.0, 1.5, 2.0)
BESIDES = (3, 7, 12, 18, 25, 32)
"""How many degrees to the side of the shut part pegs of the concentric arc may stand."""
WORTH = 0.8
"""Two more pegs are driven only where the error falls below this share of what it would be."""
CONCENTRIC = "concentric arc"
"""What the way is called where ways are listed."""
DEEPEST = 2
"""Pegs of the concentric arc are hooks themselves, so they hang no deeper than this."""


@dataclass(frozen=True, slots=True)
class Shut:
    """Part of an arc that its centre does not reach: shares of its sweep, those at its ends free or the arc's own."""

    arc: Arc
    centre: int
    begin: float
    end: float

    def angle(self, share: float) -> float:
        """Return the direction from the centre at a share of the arc, radians."""
        return self.arc.begin + self.arc.sweep * share


Rims = Callable[[Arc, int, float], Rim | None]
"""Gives the peg of a (concentric) arc at an angle, hooked on its centre and on what hangs on no more than one peg."""
Usual = Callable[[Sequence[Target], int], list[Setting | None]]
"""Gives the usual choice for targets with a limit on depth; None for one that nothing reaches."""


def shut_parts(arc: Arc, centre: int, ground: Ground, sight: Sight) -> list[Shut]:
    """Return the parts of an arc, of some length, that the tape does not reach from the centre's peg."""
    if not sight.grown:
        return []
    count = max(math.ceil(arc.length / LOOK_EACH), 2)
    shares = np.arange(count + 1) / count
    angles = arc.begin + arc.sweep * shares
    rim = ground.places[centre] + arc.radius * np.column_stack([np.cos(angles), np.sin(angles)])
    free = sight.free(np.broadcast_to(ground.places[centre], rim.shape), rim)
    if free.all():
        return []
    runs = _runs(~free, round_=arc.is_circle)
    parts = [Shut(arc, centre, (a - 1) / count, (b + 1) / count) for a, b in runs]
    if not arc.is_circle:
        parts = [Shut(arc, centre, max(p.begin, 0.0), min(p.end, 1.0)) for p in parts]
    return [p for p in parts if (p.end - p.begin) * arc.length >= SHORTEST]


def _runs(shut: Flags, *, round_: bool) -> list[tuple[int, int]]:
    """Return first and last of each run that is shut; on a circle (its last is its first) a run may pass the start."""
    found: list[tuple[int, int]] = []
    for k in np.flatnonzero(shut):
        if found and k == found[-1][1] + 1:
            found[-1] = found[-1][0], int(k)
        else:
            found.append((int(k), int(k)))
    if round_ and len(found) > 1 and found[0][0] == 0 and found[-1][1] == len(shut) - 1:
        first = found.pop(0)
        found[-1] = found[-1][0], len(shut) - 1 + first[1]
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """Sets the pegs of the shut parts of one element's arcs."""

    ground: Ground
    sight: Sight
    site: Site
    element: int
    stage: int
    gap: float
    tolerance: tuple[float, float | None]
    rims: Rims
    usual: Usual
    index_of: Callable[[int], tuple[int, ...]]   # the plan's target whose peg has a number
    place: Callable[[Setting], int]
    name: Callable[[], str]
    trued: bool                                  # the shape is trued up: no pegs beside it then

    def part(self, shut: Shut) -> tuple[list[Setting], list[Target]]:
        """Return the settings of a shut part's pegs, and the targets that are left to the usual choice."""
        edge, inner, under = self._points(shut)
        settings = [self._setting(rim, target, shut.centre) for rim, target in self._in_stead(shut, under)]
        rims = {t.at: rim for t in edge if (rim := self._rim(shut, t)) is not None}
        more = [t for t in edge if t.at not in rims]
        usual = self.usual([*inner, *more], SECONDARY_LIMIT) if inner or more else []
        shares = [self._share(shut, s) for s in usual]
        must = range(len(inner))
        pair: Sequence[Setting] = ()
        if inner and not self.trued and max(shares[k] for k in must) > GOOD:
            pair = self._pair(shut, edge, inner, shares[:len(inner)])
        hooks = [self.place(setting) for setting in pair]
        left: list[Target] = []
        for k, (target, other, share) in enumerate(zip([*inner, *more], usual, shares, strict=True)):
            mine = self._on_string(hooks, target) if hooks else None
            if mine is not None and self._share(shut, mine) < share:
                settings.append(self._why(shut, mine, other, share))
            elif other is not None or k in must:            # the ends of the part can be swung to as well
                left.append(target)
        taken = [s.target for s in pair]
        settings += [self._setting(rims[t.at], t, shut.centre) for t in edge if t.at in rims and t not in taken]
        return settings, [t for t in left if t not in taken]

    def _rim(self, shut: Shut, target: Target) -> Rim | None:
        return self.rims(shut.arc, shut.centre, (target.at - shut.arc.centre).heading)

    # where pegs stand

    def _points(self, shut: Shut) -> tuple[list[Target], list[Target], list[Target]]:
        """Return what is pegged: the ends of the shut part (not the arc's own), what lies between, what is covered."""
        arc = shut.arc
        length = (shut.end - shut.begin) * arc.length
        count = math.ceil(length / math.sqrt(8 * arc.radius * self.gap) - 1e-9)
        shares = [shut.begin + (shut.end - shut.begin) * k / count for k in range(count + 1)]
        if not arc.is_circle:
            shares = [s for s in shares if 1e-9 < s < 1 - 1e-9]
        targets = [self._target(shut, s, self.name()) for s in shares]
        covered = self.sight.blocked_body(np.array([(t.at.x, t.at.y) for t in targets]).reshape(-1, 2))
        ends = {k for k, s in enumerate(shares) if min(abs(s - shut.begin), abs(s - shut.end)) < 1e-9}
        return ([t for k, t in enumerate(targets) if k in ends and not covered[k]],
                [t for k, t in enumerate(targets) if k not in ends and not covered[k]],
                [t for k, t in enumerate(targets) if covered[k]])

    def _target(self, shut: Shut, share: float, part: str) -> Target:
        angle = shut.angle(share)
        return Target(part=part, purpose=Purpose.CURVE, at=shut.arc.centre + Vec.polar(angle, shut.arc.radius),
                      normal=Vec.polar(angle), centres=self.index_of(shut.centre))

    def _setting(self, rim: Rim, target: Target, centre: int) -> Setting:
        sources = (centre, rim.source)
        settings = self.ground.settings
        return Setting(standing=SECONDARY, method=rim.method, sources=sources, at=rim.at,
                       level=1 + max(settings[s].level for s in sources),
                       chain=1 + max(settings[s].chain for s in sources), element=self.element, target=target,
                       stage=self.stage, stated=rim.reading)

    # the concentric arc outside

    def _pair(self, shut: Shut, edge: Sequence[Target], inner: Sequence[Target], usual: Sequence[float]
              ) -> Sequence[Setting]:
        """Return the two pegs whose string sets the targets best; none where the usual ways are about as good."""
        best: tuple[float, Sequence[Setting]] = max(usual) * WORTH, ()
        for out in OUTS:
            for pair in self._at(shut, edge, out):
                error = self._tried(shut, inner, pair, usual)
                if error < best[0] - 1e-6:
                    best = error, pair
                if error <= GOOD:
                    return pair
        return best[1]

    def _tried(self, shut: Shut, inner: Sequence[Target], pair: Sequence[Setting], usual: Sequence[float]) -> float:
        """Return the worst share of tolerance with the string between two pegs."""
        hooks = [self.ground.add(setting) for setting in pair]
        try:
            return max(min(share, self._share(shut, self._on_string(hooks, target)))
                       for target, share in zip(inner, usual, strict=True))
        finally:
            self.ground.take_back(len(hooks))

    def _on_string(self, hooks: Sequence[int], target: Target) -> Setting | None:
        """Return the setting square out from the string between two pegs; None where string or foot is not free."""
        a, b = hooks
        p, places, settings = np.array([target.at.x, target.at.y]), self.ground.places, self.ground.settings
        u = (places[b] - places[a]) / np.hypot(*(places[b] - places[a]))
        d = p - places[a]
        if u[0] * d[1] - u[1] * d[0] < 0:                   # walked so that the peg lies to the left
            a, b, u, d = b, a, -u, p - places[b]
        along, out = float(d @ u), float(u[0] * d[1] - u[1] * d[0])
        length = float(np.hypot(*(places[b] - places[a])))
        if not (0 <= along <= length <= self.ground.tape.length and out <= LONGEST_OUT):
            return None
        foot = places[a] + u * along
        if not self.sight.free(np.vstack([places[a], foot]), np.vstack([places[b], p])).all():
            return None
        return Setting(standing=SECONDARY, method=CHORD, sources=(a, b), at=(target.at.x, target.at.y),
                       level=1 + max(settings[s].level for s in hooks), chain=1 + max(settings[s].chain for s in hooks),
                       element=self.element, target=target, stage=self.stage)

    def _share(self, shut: Shut, setting: Setting | None) -> float:
        """Return the larger of twice the error over tolerance, square to the arc: in the garden, and to its centre."""
        if setting is None or setting.target is None or setting.target.normal is None:
            return math.inf
        ground, c = self.ground, shut.centre
        n = ground.add(setting)
        own, mixed, hub = ground.block(n, n), ground.block(n, c), ground.block(c, c)
        ground.take_back(1)
        out = np.array([setting.target.normal.dx, setting.target.normal.dy])
        marks = [k for k, s in enumerate(ground.settings) if s.standing == MARK]
        apart = float(np.hypot(*(ground.places[marks] - setting.at).T).min())
        position = 2 * math.sqrt(out @ own @ out) / max(self.tolerance[0], NEVER_BELOW * math.sqrt(apart))
        if self.tolerance[1] is None:
            return position
        return max(position, 2 * math.sqrt(max(out @ (own + hub - mixed - mixed.T) @ out, 0.0)) / self.tolerance[1])

    def _why(self, shut: Shut, mine: Setting, other: Setting | None, share: float) -> Setting:
        """Return the setting with what was weighed: itself, and the usual choice that it is better than."""
        ground = self.ground
        n = ground.add(mine)
        error = math.sqrt(float(np.trace(ground.block(n, n)))) * 1000
        ground.take_back(1)
        a, b = (ground.places[s] for s in mine.sources)
        u, d = (b - a) / np.hypot(*(b - a)), np.array(mine.at) - a
        tape = abs(float(d @ u)) + abs(float(u[0] * d[1] - u[1] * d[0]))
        hook = ground.settings[mine.sources[0]].target
        word = CONCENTRIC if hook is not None and hook.purpose is Purpose.ASIDE else Method.CHORD.value
        first = Weighed(method=word, sources=tuple(f"#{s}" for s in mine.sources), q=round(self._share(shut, mine), 4),
                        angle=90.0, tape=tape, level=mine.level, error=error, chosen=True)
        beaten = [replace(w, q=round(share, 4), chosen=False) for w in (other.weighed if other else ()) if w.chosen]
        return replace(mine, weighed=(first, *beaten))

    def _at(self, shut: Shut, edge: Sequence[Target], out: float) -> list[tuple[Setting, Setting]]:
        """Return pegs on either side of the shut part, `out` from the arc: those that err least, and the nearest."""
        sides = [[t] for t in edge] if out <= 0 else [
            [self._aside(shut, shut.angle(share) + math.copysign(math.radians(beside), way * shut.arc.sweep), out, word)
             for beside in BESIDES] for share, way, word in ((shut.begin, -1, "first"), (shut.end, 1, "last"))]
        if out > 0:
            sides = [[t for t in side if self.site.holds(np.array([[t.at.x, t.at.y]]))[0]] for side in sides]
        every = [t for side in sides for t in side]
        found = dict(zip([t.at for t in every], self.usual(every, DEEPEST) if every else (), strict=True))
        settable = [[replace(s, standing=PEG) for t in side if (s := found[t.at]) is not None] for side in sides]
        if len(settable) < 2 or not all(settable):
            return []
        first, last = settable
        surest = tuple(min(side, key=lambda s: round(self._share(shut, s), 4)) for side in (first, last))
        nearest = first[0], last[0]
        return [(surest[0], surest[1])] if surest == nearest else [(surest[0], surest[1]), nearest]

    def _aside(self, shut: Shut, angle: float, out: float, word: str) -> Target:
        at = shut.arc.centre + Vec.polar(angle, shut.arc.radius + out)
        said = f"{self._length(out)} outside the edge, on an arc round the same centre; marks no edge"
        return Target(part=f"aside {word}", purpose=Purpose.ASIDE, at=at, normal=Vec.polar(angle), remark=said,
                      centres=self.index_of(shut.centre))

    def _length(self, metres: float) -> str:
        tape = self.ground.tape
        return tape.reading(metres).text + ("" if tape.feet else " m")

    # in the stead of pegs under something

    def _in_stead(self, shut: Shut, under: Sequence[Target]) -> list[tuple[Rim, Target]]:
        """Return a peg inside the arc for the middle one of those that a body covers; none where nothing reaches it."""
        if not under:
            return []
        middle = under[len(under) // 2]
        angle = (middle.at - shut.arc.centre).heading
        for back in INSIDE:
            if back > shut.arc.radius / 2:
                break
            nearer = Arc.swung(shut.arc.centre, shut.arc.radius - back, shut.arc.begin, shut.arc.sweep)
            rim = self.rims(nearer, shut.centre, angle)
            if rim is not None:
                said = f"{self._length(back)} inside the edge, which runs under what stands there; marks no edge"
                return [(rim, Target(part=middle.part, purpose=Purpose.ASIDE, at=Point(*rim.at),
                                      normal=Vec.polar(angle), remark=said))]
        return []
