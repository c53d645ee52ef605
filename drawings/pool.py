"""A pool of places offered to labels, and which of them cannot stand side by side. Paper millimetres.

What bars what is worked out when it is first asked for, and kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .candidates import Options
from .clearance import fat, reach
from .oblong import Flags, Floats, Indices, apart, grown, leader_distance, strikes
from .obstacles import LEADER_CLEAR


def _some(of: NDArray[Any], which: Indices) -> NDArray[Any]:
    """Return some rows of an array; of one that has a single row, which stands for all, that row."""
    return of[which] if len(of) > 1 else of


class Pool:
    """Options of a number of labels: `of` holds those of each, `area` and `label_area` how far they reach."""

    def __init__(self, labels: int) -> None:
        self.labels = labels
        self.pool = Options.none()
        self.of: list[Indices] = [np.zeros(0, dtype=np.int64) for _ in range(labels)]
        self.area: Floats = np.zeros((0, 4))
        self._fat: Floats = np.zeros((0, 6))
        self._wide: Floats = np.zeros((0, 6))
        self.label_area: Floats = np.tile(np.array([np.inf, np.inf, -np.inf, -np.inf]), (labels, 1))
        self._known: dict[int, tuple[Indices, int]] = {}

    def add(self, more: Options) -> None:
        """Add options to the pool."""
        first = len(self.pool)
        self.pool = Options.joined((self.pool, more)) if first else more
        thick = fat(more)
        area = reach(more, thick)
        self.area = np.concatenate((self.area, area))
        self._fat = np.concatenate((self._fat, thick))
        self._wide = np.concatenate((self._wide, grown(more.boxes, LEADER_CLEAR)))
        self._upright = self.pool.boxes[:, 5] == 0.0
        self._led = ~np.isnan(self.pool.leaders[:, 0])
        self._plain = self._upright & ~self._led
        self._mark: Flags = np.zeros(len(self.pool), dtype=bool)
        order = np.argsort(more.owner, kind="stable")
        owners, starts = np.unique(more.owner[order], return_index=True)
        lots = np.split(order, starts[1:]) if len(owners) else []
        for owner, lot in zip(owners.tolist(), lots, strict=True):
            self.of[owner] = np.concatenate((self.of[owner], lot + first))
            box = self.label_area[owner]
            box[:2] = np.minimum(box[:2], area[lot, :2].min(axis=0))
            box[2:] = np.maximum(box[2:], area[lot, 2:].max(axis=0))

    def clash(self, a: Indices, b: Indices) -> Flags:
        """Say which pairs of options (index arrays that broadcast together) cannot both be taken."""
        p, q = self.area[a], self.area[b]
        meet = (p[..., 0] < q[..., 2]) & (q[..., 0] < p[..., 2]) & (p[..., 1] < q[..., 3]) & (q[..., 1] < p[..., 3])
        hard = meet & ~(self._plain[a] & self._plain[b])
        if hard.any():
            a, b = np.broadcast_arrays(a, b)
            meet[hard] = self._clash_exactly(a[hard], b[hard])
        return meet

    def _clash_exactly(self, a: Indices, b: Indices) -> Flags:
        """Test pairs (flat arrays that broadcast together) of which one at least is turned or stands on a leader."""
        leaders, led = self.pool.leaders, self._led
        p, q = self._fat[a], self._fat[b]
        gap = np.maximum(np.abs(p[:, 0] - q[:, 0]) - p[:, 2] - q[:, 2], np.abs(p[:, 1] - q[:, 1]) - p[:, 3] - q[:, 3])
        found = gap < 0
        turned = (~(self._upright[a] & self._upright[b])).nonzero()[0]
        if len(turned):
            found[turned] = apart(_some(p, turned), q[turned]) < 0
        for one, other in ((a, b), (b, a)):
            which = (led[other] & ~found).nonzero()[0]
            if len(which):
                found[which] = strikes(self._wide[_some(one, which)], leaders[_some(other, which)])
        both = (led[a] & led[b] & ~found).nonzero()[0]
        if len(both):
            found[both] = leader_distance(leaders[_some(a, both)], leaders[b[both]]) < LEADER_CLEAR
        return found

    def in_the_way(self, standing: Indices, of: Indices) -> tuple[Indices, Indices]:
        """Return pairs of options of different labels that cannot stand side by side: one `standing`, one `of` these.

        Given as places in the two arrays.
        """
        p, q = self.area[standing], self.area[of]
        box = np.concatenate((q[:, :2].min(axis=0), q[:, 2:].max(axis=0))) if len(of) else np.zeros(4)
        near = np.flatnonzero((p[:, 0] < box[2]) & (box[0] < p[:, 2]) & (p[:, 1] < box[3]) & (box[1] < p[:, 3]))
        p = p[near, None]
        over = (p[..., 0] < q[:, 2]) & (q[:, 0] < p[..., 2]) & (p[..., 1] < q[:, 3]) & (q[:, 1] < p[..., 3])
        over &= self.pool.owner[standing[near]][:, None] != self.pool.owner[of]
        which, option = over.nonzero()
        which = near[which]
        hits = self._hits(standing[which], of[option])
        return which[hits], option[hits]

    def _hits(self, a: Indices, b: Indices) -> Flags:
        """Say which pairs (flat arrays that broadcast together) clash, of options whose areas meet."""
        hits: Flags = np.ones(len(b), dtype=bool)
        hard = (~(self._plain[a] & self._plain[b])).nonzero()[0]
        if len(hard):
            hits[hard] = self._clash_exactly(_some(a, hard), b[hard])
        return hits

    def neighbours(self, area: Floats, but: int) -> Indices:
        """Options of all labels (but one) that could reach into `area`."""
        box = self.label_area
        near = (box[:, 0] < area[2]) & (area[0] < box[:, 2]) & (box[:, 1] < area[3]) & (area[1] < box[:, 3])
        near[but] = False
        lots = [self.of[label] for label in near.nonzero()[0].tolist()]
        return np.concatenate(lots) if lots else np.zeros(0, dtype=np.int64)

    def struck(self, option: int, among: Indices) -> Indices:
        """Options `among` these, of other labels, that cannot stand beside `option`."""
        p, q = self.area[option], self.area[among]
        among = among[(p[0] < q[:, 2]) & (q[:, 0] < p[2]) & (p[1] < q[:, 3]) & (q[:, 1] < p[3])
                      & (self.pool.owner[among] != self.pool.owner[option])]
        return among[self._hits(np.array([option]), among)] if len(among) else among

    def barred(self, option: int) -> Indices:
        """Return the options of other labels that cannot stand beside `option`, worked out once and for what is new."""
        found, upto = self._known.get(option, (self.of[0][:0], 0))
        if upto < len(self.pool):
            among = self.neighbours(self.area[option], int(self.pool.owner[option]))
            found = np.concatenate((found, self.struck(option, among[among >= upto])))
            self._known[option] = found, len(self.pool)
        return found

    def learn(self, options: Sequence[Indices]) -> None:
        """Work out what options bar before they are asked for, all together; each lot holds those of one label."""
        known = len(self.pool)
        lots = [lot[[self._known.get(k, (lot, 0))[1] < known for k in lot.tolist()]] for lot in options]
        lots = [lot for lot in lots if len(lot)]
        if not lots:
            return
        asked = np.concatenate(lots)
        met = [one for lot in lots for one in self._unknown(lot)]
        which, other = np.repeat(np.arange(len(asked)), [len(one) for one in met]), np.concatenate(met)
        hits = self._hits(asked[which], other)
        ends = np.bincount(which[hits], minlength=len(asked)).cumsum()
        for option, found in zip(asked.tolist(), np.split(other[hits], ends[:-1]), strict=True):
            before = self._known.get(option, (found[:0], 0))[0]
            self._known[option] = np.concatenate((before, found)), known

    def _unknown(self, lot: Indices) -> list[Indices]:
        """Return, for some options of one label, those of others that their areas meet and that are not yet tested."""
        p = self.area[lot]
        around = np.concatenate((p[:, :2].min(axis=0), p[:, 2:].max(axis=0)))
        among = self.neighbours(around, int(self.pool.owner[lot[0]]))
        upto = np.array([self._known.get(k, (lot, 0))[1] for k in lot.tolist()])
        p, q = p[:, None], self.area[among]
        meet = (p[..., 0] < q[:, 2]) & (q[:, 0] < p[..., 2]) & (p[..., 1] < q[:, 3]) & (q[:, 1] < p[..., 3])
        return [among[row] for row in meet & (among >= upto[:, None])]

    def clear_of(self, options: Indices, option: int) -> Flags:
        """Say which options (of one other label) can stand beside `option`."""
        barred = self.barred(option)
        self._mark[barred] = True
        clear = ~self._mark[options]
        self._mark[barred] = False
        return clear
