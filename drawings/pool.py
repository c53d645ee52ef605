"""A pool of places offered to labels, and which of them cannot stand side by side. Paper millimetres.

What bars what is worked out when it is first asked for, and kept.
"""

from __future__ import annotations

import numpy as np

from .candidates import Options
from .clearance import fat, reach
from .oblong import Flags, Floats, Indices, apart, grown, leader_distance, strikes
from .obstacles import LEADER_CLEAR


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
        a, b = np.broadcast_to(a, meet.shape), np.broadcast_to(b, meet.shape)
        simple = ~(self._led[a] | self._led[b]) & self._upright[a] & self._upright[b]
        hard = meet & ~simple
        if hard.any():
            meet = meet.copy()
            meet[hard] = self._clash_exactly(a[hard], b[hard])
        return meet

    def _clash_exactly(self, a: Indices, b: Indices) -> Flags:
        """Test pairs (flat arrays) of which at least one is turned or stands on a leader."""
        leaders = self.pool.leaders
        p, q = self._fat[a], self._fat[b]
        gap = np.maximum(np.abs(p[:, 0] - q[:, 0]) - p[:, 2] - q[:, 2], np.abs(p[:, 1] - q[:, 1]) - p[:, 3] - q[:, 3])
        found = gap < 0
        turned = np.flatnonzero(~(self._upright[a] & self._upright[b]))
        if len(turned):
            found[turned] = apart(p[turned], q[turned]) < 0
        for one, other in ((a, b), (b, a)):
            which = np.flatnonzero(self._led[other] & ~found)
            if len(which):
                found[which] = strikes(self._wide[one[which]], leaders[other[which]])
        both = np.flatnonzero(self._led[a] & self._led[b] & ~found)
        if len(both):
            found[both] = leader_distance(leaders[a[both]], leaders[b[both]]) < LEADER_CLEAR
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
        which, option = np.nonzero(over)
        which = near[which]
        hits = self.clash(standing[which], of[option])
        return which[hits], option[hits]

    def neighbours(self, area: Floats, but: int) -> Indices:
        """Options of all labels (but one) that could reach into `area`."""
        box = self.label_area
        near = (box[:, 0] < area[2]) & (area[0] < box[:, 2]) & (box[:, 1] < area[3]) & (area[1] < box[:, 3])
        near[but] = False
        lots = [self.of[label] for label in np.flatnonzero(near).tolist()]
        return np.concatenate(lots) if lots else np.zeros(0, dtype=np.int64)

    def struck(self, option: int, among: Indices) -> Indices:
        """Options `among` these, of other labels, that cannot stand beside `option`."""
        p, q = self.area[option], self.area[among]
        among = among[(p[0] < q[:, 2]) & (q[:, 0] < p[2]) & (p[1] < q[:, 3]) & (q[:, 1] < p[3])
                      & (self.pool.owner[among] != self.pool.owner[option])]
        return among[self.clash(np.full(len(among), option), among)] if len(among) else among

    def barred(self, option: int) -> Indices:
        """Return the options of other labels that cannot stand beside `option`, worked out once and for what is new."""
        found, upto = self._known.get(option, (self.of[0][:0], 0))
        if upto < len(self.pool):
            among = self.neighbours(self.area[option], int(self.pool.owner[option]))
            found = np.concatenate((found, self.struck(option, among[among >= upto])))
            self._known[option] = found, len(self.pool)
        return found

    def clear_of(self, options: Indices, option: int) -> Flags:
        """Say which options (of one other label) can stand beside `option`."""
        barred = self.barred(option)
        self._mark[barred] = True
        clear = ~self._mark[options]
        self._mark[barred] = False
        return clear
