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
        return Ways(*(getattr(self, name)[keep] for name in Ways.__slots__))

    def in_order(self, sources: int) -> Ways:
        """Return the ways target by target, within each by kind and sources (so many there are)."""
        key = ((self.owner * len(EFFORT) + self.kind) * sources + self.a) * sources + self.b
        order = key.argsort(kind="stable")
        return Ways(*(getattr(self, name).take(order, axis=0) for name in Ways.__slots__))


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


def _outer(ax: Floats, ay: Floats, bx: Floats, by: Floats) -> Floats:
    """Return the products of vectors a with b (k x 2 x 2), from their x and y."""
    outer = np.empty((len(ax), 2, 2))
    outer[:, 0, 0], outer[:, 0, 1], outer[:, 1, 0], outer[:, 1, 1] = ax * bx, ax * by, ay * bx, ay * by
    return outer


Pairs = tuple[Ints, Ints, Ints]


def tie_ways(points: Floats, places: Floats, pairs: Pairs, tape: Tape, rims: Sequence[Sequence[int]] = (),
             sharpest: float = SHARPEST) -> Ways:
    """Return all pairs of tapes that cut sharply enough; with a centre of a target's `rims` a radius."""
    x, y = points[:, :1] - places[:, 0], points[:, 1:] - places[:, 1]
    reach = np.hypot(x, y)
    near = (reach >= NEAREST) & (reach <= tape.length)
    hook = np.maximum(reach, NEAREST)
    x, y = x / hook, y / hook
    owner, a, b = pairs
    at_a, at_b = owner * len(places) + a, owner * len(places) + b
    xa, ya, xb, yb = x.take(at_a), y.take(at_a), x.take(at_b), y.take(at_b)
    det = xa * yb - ya * xb
    keep = (near.take(at_a) & near.take(at_b) & (np.abs(det) >= sharpest - 1e-12)).nonzero()[0]
    owner, a, b, at_a, at_b = (v.take(keep) for v in (owner, a, b, at_a, at_b))
    xa, ya, xb, yb, det = (v.take(keep) for v in (xa, ya, xb, yb, det))
    gax, gay, gbx, gby = yb / det, -xb / det, -ya / det, xa / det
    ra, rb = reach.take(at_a), reach.take(at_b)
    va, vb = reading_variance(ra, tape), reading_variance(rb, tape)
    noise = _outer(va * gax, va * gay, gax, gay) + _outer(vb * gbx, vb * gby, gbx, gby)
    swung = np.zeros(reach.shape, dtype=bool)
    for k, centres in enumerate(rims):
        swung[k, list(centres)] = True
    kind = np.where(swung.take(at_a) | swung.take(at_b), RADIUS, TIES)
    return Ways(owner, kind, a, b, noise, _outer(gax, gay, xa, ya), _outer(gbx, gby, xb, yb), ra + rb, np.abs(det))


@dataclass(frozen=True, slots=True)
class Lines:
    """Pegs on lines between sources or square off them: whose, ends (a the nearer one), direction, length, along, out.

    `line` says which pegs are in line, `out` is 0 for these.
    """

    owner: Ints
    a: Ints
    b: Ints
    x: Floats
    y: Floats
    length: Floats
    t: Floats
    out: Floats
    line: Flags

    def pick(self, keep: Ints) -> Lines:
        """Return the lines numbered in `keep`."""
        return Lines(*(getattr(self, name).take(keep) for name in Lines.__slots__))

    def feet(self, places: Floats) -> tuple[Floats, Floats]:
        """Return where the offsets leave the lines, and where the strings from b end: at a, or at a foot beyond it."""
        start = places.take(self.a, axis=0)
        feet = start + np.stack([self.x * self.t, self.y * self.t], axis=1)
        ends = start.copy()
        beyond = (self.t < 0).nonzero()[0]
        ends[beyond] = feet[beyond]
        return feet, ends


def lines_of(points: Floats, places: Floats, pairs: Pairs, tape: Tape) -> Lines:
    """Return what could be set along lines between sources, were their strings free."""
    owner, a, b = pairs
    px, py, ax, ay = points[:, 0].take(owner), points[:, 1].take(owner), places[:, 0].take(a), places[:, 1].take(a)
    x, y = places[:, 0].take(b) - ax, places[:, 1].take(b) - ay
    length = np.hypot(x, y)
    span = np.maximum(length, 1e-9)
    x, y, px, py = x / span, y / span, px - ax, py - ay
    t, out = px * x + py * y, py * x - px * y
    flip = t > length / 2
    t = np.where(flip, length - t, t)
    far = np.abs(out)
    line = far < IN_LINE
    keep = ((length >= SHORTEST_LINE) & (np.abs(t) <= tape.length) & (length <= tape.length)
            & (np.abs(t) >= np.where(line, NEAREST, 0.0))
            & np.where(line, t >= -BEYOND_LINE * length, (t >= -BEYOND * length) & (far <= LONGEST_OUT))).nonzero()[0]
    owner, a, b = (v.take(keep) for v in (owner, a, b))
    x, y, length, t, out = (v.take(keep) for v in (x, y, length, t, out))
    line, flip = line.take(keep), flip.take(keep)
    sign = np.where(flip, -1.0, 1.0)
    return Lines(owner, np.where(flip, b, a), np.where(flip, a, b), x * sign, y * sign, length, t,
                 np.where(line, 0.0, out * sign), line)


def line_ways(lines: Lines, own: Flags, tape: Tape) -> Ways:
    """Return offsets, chords (both ends own) and pegs in line, each measured from the nearer end of its line."""
    a, b, x, y, t, o, line = lines.a, lines.b, lines.x, lines.y, lines.t, lines.out, lines.line
    along = reading_variance(t, tape) + (o * SQUARE) ** 2
    across = STRING**2 + np.where(line, 0.0, reading_variance(o, tape))
    noise = _outer(along * x, along * y, x, y) + _outer(across * -y, across * x, -y, x)
    sb = _outer((-t * y - o * x) / lines.length, (t * x - o * y) / lines.length, -y, x)
    kind = np.where(line, LINE, np.where(own.take(a) & own.take(b), CHORD, OFFSET))
    return Ways(lines.owner, kind, a, b, noise, EYE - sb, sb, np.abs(t) + np.abs(o), np.ones(len(a)))


def effort(ways: Ways, pegs: Floats) -> Floats:
    """Return person-minutes of each way; `pegs` is 1 for sources that are pegs, 0 for marks."""
    minutes: Floats = (EFFORT[ways.kind] + EFFORT_PER_METRE * ways.tape
                       + EFFORT_PER_HOOKED_PEG * (pegs[ways.a] + pegs[ways.b]))
    return minutes
