"""Every way to set some pegs from what they see, many at once: two tapes, offsets, chords, pegs in line.

Takes: points, places of sources, which sees which. Gives: ways with their linear form (see `linear`). Metres and m2.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .linear import (
    BEYOND,
    BEYOND_LINE,
    CHORD,
    EFFORT,
    EFFORT_PER_HOOKED_PEG,
    EFFORT_PER_METRE,
    EYE,
    IN_LINE,
    LINE,
    LONGEST_OUT,
    NEAREST,
    OFFSET,
    RADIUS,
    SHARPEST,
    SHORTEST_LINE,
    TIES,
    reading_variance,
)
from .tape import SQUARE, STRING, Tape

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Ways:
    """Many ways to set pegs, each from sources a, b: whose, kind, noise (k x 2 x 2), S of a and b, tape, sine."""

    owner: Ints
    kind: Ints
    a: Ints
    b: Ints
    noise: Floats
    sa: Floats
    sb: Floats
    tape: Floats
    sine: Floats

    def __len__(self) -> int:
        return len(self.kind)

    def pick(self, keep: Flags | Ints | slice) -> Ways:
        """Return the ways under `keep`."""
        return Ways(self.owner[keep], self.kind[keep], self.a[keep], self.b[keep], self.noise[keep], self.sa[keep],
                    self.sb[keep], self.tape[keep], self.sine[keep])

    def in_order(self, sources: int) -> Ways:
        """Return the ways target by target, within each by kind and sources (so many there are)."""
        key = ((self.owner * len(EFFORT) + self.kind) * sources + self.a) * sources + self.b
        return self.pick(np.argsort(key, kind="stable"))


def join(one: Ways, two: Ways) -> Ways:
    """Return all ways of both."""
    return Ways(*(np.concatenate([getattr(one, name), getattr(two, name)]) for name in Ways.__slots__))


def pairs_of(seen: Flags) -> tuple[Ints, Ints, Ints]:
    """Return all pairs of sources that each target sees (targets x sources): whose, first and second."""
    owner, source = np.nonzero(seen)
    here = np.arange(len(owner))
    later = np.cumsum(seen.sum(axis=1))[owner] - here - 1
    first = np.repeat(here, later)
    second = first + 1 + np.arange(len(first)) - np.repeat(np.cumsum(later) - later, later)
    return owner[first], source[first], source[second]


def _outer(a: Floats, b: Floats) -> Floats:
    outer: Floats = a[:, :, None] * b[:, None, :]
    return outer


def tie_ways(points: Floats, places: Floats, seen: Flags, tape: Tape, rims: Sequence[Sequence[int]] = (),
             sharpest: float = SHARPEST) -> Ways:
    """Return all pairs of tapes that cut sharply enough; with a centre of a target's `rims` a radius."""
    away = points[:, None, :] - places[None, :, :]
    reach = np.hypot(away[..., 0], away[..., 1])
    near = seen & (reach >= NEAREST) & (reach <= tape.length)
    unit = away / np.maximum(reach, NEAREST)[..., None]
    owner, a, b = pairs_of(near)
    ui, uj = unit[owner, a], unit[owner, b]
    det = ui[:, 0] * uj[:, 1] - ui[:, 1] * uj[:, 0]
    keep = np.flatnonzero(np.abs(det) >= sharpest - 1e-12)
    owner, a, b = owner[keep], a[keep], b[keep]
    ui, uj, det = ui[keep], uj[keep], det[keep]
    gi = np.column_stack([uj[:, 1], -uj[:, 0]]) / det[:, None]
    gj = np.column_stack([-ui[:, 1], ui[:, 0]]) / det[:, None]
    ri, rj = reach[owner, a], reach[owner, b]
    noise = (reading_variance(ri, tape)[:, None, None] * _outer(gi, gi)
             + reading_variance(rj, tape)[:, None, None] * _outer(gj, gj))
    swung = np.zeros(seen.shape, dtype=bool)
    for k, centres in enumerate(rims):
        swung[k, list(centres)] = True
    kind = np.where(swung[owner, a] | swung[owner, b], RADIUS, TIES)
    return Ways(owner, kind, a, b, noise, _outer(gi, ui), _outer(gj, uj), ri + rj, np.abs(det))


def line_ways(points: Floats, places: Floats, seen: Flags, own: Flags, tape: Tape) -> Ways:
    """Return offsets, chords (both ends own) and pegs in line from pairs of sources, were their strings free.

    Each is measured from the nearer end of its line.
    """
    owner, a, b = pairs_of(seen)
    span = places[b] - places[a]
    length = np.hypot(span[:, 0], span[:, 1])
    u = span / np.maximum(length, 1e-9)[:, None]
    t = np.einsum("kj,kj->k", points[owner] - places[a], u)
    flip = t > length / 2
    a, b = np.where(flip, b, a), np.where(flip, a, b)
    u = np.where(flip[:, None], -u, u)
    t = np.where(flip, length - t, t)
    n = np.column_stack([-u[:, 1], u[:, 0]])
    o = np.einsum("kj,kj->k", points[owner] - places[a], n)
    line = np.abs(o) < IN_LINE
    keep = np.flatnonzero(
        (length >= SHORTEST_LINE) & (np.abs(t) <= tape.length) & (length <= tape.length)
        & (np.abs(t) >= np.where(line, NEAREST, 0.0))
        & np.where(line, t >= -BEYOND_LINE * length, (t >= -BEYOND * length) & (np.abs(o) <= LONGEST_OUT)))
    owner, a, b, line = owner[keep], a[keep], b[keep], line[keep]
    u, n, t, o, length = u[keep], n[keep], t[keep], o[keep], length[keep]
    o = np.where(line, 0.0, o)
    along = reading_variance(t, tape) + (o * SQUARE) ** 2
    across = STRING**2 + np.where(line, 0.0, reading_variance(o, tape))
    noise = along[:, None, None] * _outer(u, u) + across[:, None, None] * _outer(n, n)
    sb = _outer(t[:, None] * n - o[:, None] * u, n) / length[:, None, None]
    kind = np.where(line, LINE, np.where(own[a] & own[b], CHORD, OFFSET))
    return Ways(owner, kind, a, b, noise, EYE - sb, sb, np.abs(t) + np.abs(o), np.ones(len(a)))


def feet(points: Floats, places: Floats, ways: Ways) -> Floats:
    """Return where the offset of each way leaves its line."""
    a, b = places[ways.a], places[ways.b]
    u = (b - a) / np.maximum(np.hypot(*(b - a).T), 1e-9)[:, None]
    found: Floats = a + u * np.einsum("kj,kj->k", points[ways.owner] - a, u)[:, None]
    return found


def feet_beyond(foot: Floats, a: Floats, b: Floats) -> Flags:
    """Say which feet lie beyond a, seen from b, so that the string must reach that far."""
    beyond: Flags = np.einsum("kj,kj->k", foot - a, b - a) < 0
    return beyond


def effort(ways: Ways, pegs: Floats) -> Floats:
    """Return person-minutes of each way; `pegs` is 1 for sources that are pegs, 0 for marks."""
    minutes: Floats = (EFFORT[ways.kind] + EFFORT_PER_METRE * ways.tape
                       + EFFORT_PER_HOOKED_PEG * (pegs[ways.a] + pegs[ways.b]))
    return minutes
