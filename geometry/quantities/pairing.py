"""Which offcuts are used: two pieces from one unit, face up, factory edges to the joints.

Takes: the cut units of a layout. Gives: the pairs, so that units needed = cuts - pairs. Two pieces come from
one unit when both, placed where they were cut and one of them turned, are a saw cut apart: no sliding, for a
factory edge must stay on a joint. Largest first, largest partner that fits; that is within one unit of the
best matching in all cases tried. Lengths in metres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from ..kernel.pieces import SIDE, Ring
from ..kernel.segment import Arc, Segment
from .cuts import SLIVER, CutUnit
from .laying import Layout

if TYPE_CHECKING:
    from numpy.typing import NDArray

KERF = 0.003
"""A saw cut in stone or timber (common practice, no source)."""

FLAT = 2e-4
"""Pieces are flattened at this gap for the test of fit (m), a fifteenth of the saw cut."""

BATCH = 64


class Reuse(StrEnum):
    """Which offcuts are used again."""

    NONE = "none"
    STRAIGHT = "straight"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Pairing:
    """Pairs of cut units (numbers into the list of cuts: first the larger) that come from one unit each."""

    reuse: Reuse
    cuts: int
    pairs: tuple[tuple[int, int], ...]

    @property
    def units(self) -> int:
        """Units cut into."""
        return self.cuts - len(self.pairs)


def _flat(ring: Ring, segments: Sequence[Segment]) -> list[tuple[float, float]]:
    """Return the ring with its arcs as chords that stray by at most FLAT."""
    points: list[tuple[float, float]] = []
    for k, source in enumerate(ring.sources):
        a, b = ring.corners[k], ring.corners[(k + 1) % len(ring.corners)]
        points.append(a)
        segment = segments[source] if source != SIDE else None
        if isinstance(segment, Arc):
            points += _along_arc(a, b, segment)
    return points


def _along_arc(a: tuple[float, float], b: tuple[float, float], arc: Arc) -> list[tuple[float, float]]:
    dx, dy = b[0] - a[0], b[1] - a[1]
    chord = float(np.hypot(dx, dy))
    if not chord > 0:
        return []
    half = float(np.arcsin(min(1.0, chord / (2 * arc.radius))))
    steps = int(np.ceil(half / np.arccos(max(0.0, 1 - FLAT / arc.radius)))) if arc.radius > FLAT else 4
    side = 1.0 if arc.sweep > 0 else -1.0
    far = float(np.sqrt(max(arc.radius**2 - chord**2 / 4, 0.0))) * side
    cx, cy = (a[0] + b[0]) / 2 - dy / chord * far, (a[1] + b[1]) / 2 + dx / chord * far
    begin = float(np.arctan2(a[1] - cy, a[0] - cx))
    angles = [begin + side * 2 * half * k / steps for k in range(1, steps)]
    return [(cx + arc.radius * float(np.cos(t)), cy + arc.radius * float(np.sin(t))) for t in angles]


@dataclass(frozen=True, slots=True, eq=False)
class _Blank:
    """A piece in its unit's own frame (length along x, centre at the origin), as a shapely polygon, and turned."""

    area: float
    here: Any
    turned: tuple[Any, ...]


def _own_frame(points: list[tuple[float, float]], box: Sequence[float]) -> NDArray[np.float64]:
    cx, cy = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    own = np.array(points) - (cx, cy)
    upright = box[3] - box[1] > box[2] - box[0]
    return np.stack([own[:, 1], -own[:, 0]], axis=1) if upright else own


def _blank(cut: CutUnit, layout: Layout, square: bool) -> _Blank:
    import shapely

    piece = cut.pieces[0]
    box = layout.boxes[cut.number].tolist()
    outer, *holes = (_own_frame(_flat(r, layout.runs.segments), box) for r in (piece.outer, *piece.holes))
    here = shapely.Polygon(outer, holes)
    turns = (1, 2, 3) if square else (2,)
    matrices = {1: ((0.0, 1.0), (-1.0, 0.0)), 2: ((-1.0, 0.0), (0.0, -1.0)), 3: ((0.0, -1.0), (1.0, 0.0))}
    turned = tuple(shapely.transform(here, partial(_turned, np.array(matrices[t]))) for t in turns)
    return _Blank(cut.area, here, (here, *turned))


def _turned(matrix: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.float64]:
    return points @ matrix


def _usable(cuts: Sequence[CutUnit], reuse: Reuse) -> list[int]:
    """Return the numbers of the cuts that may share a unit: of one piece, and straight if so asked."""
    single = [k for k, cut in enumerate(cuts) if len(cut.pieces) == 1]
    return single if reuse is Reuse.ALL else [k for k in single if cuts[k].straight]


def _first_fit(blank: _Blank, others: Sequence[_Blank], kerf: float) -> int | None:
    """Return the number of the first of `others` that fits beside `blank` in one unit."""
    import shapely

    for first in range(0, len(others), BATCH):
        batch = others[first : first + BATCH]
        fits = np.zeros(len(batch), dtype=bool)
        for turn in range(len(blank.turned)):
            turned = np.array([b.turned[turn] for b in batch], dtype=object)
            fits |= shapely.distance(blank.here, turned) >= kerf - 1e-9
        hits = np.nonzero(fits)[0]
        if len(hits):
            return first + int(hits[0])
    return None


def pair(cuts: Sequence[CutUnit], layout: Layout, reuse: Reuse = Reuse.STRAIGHT, kerf: float = KERF) -> Pairing:
    """Pair the pieces of `cuts` so that two come from one unit.

    Offcuts under a quarter of the unit are thrown away, so a piece of over three quarters has no partner. A
    unit that holds two pieces already takes no third.
    """
    if reuse is Reuse.NONE:
        return Pairing(reuse, len(cuts), ())
    full = layout.unit.area
    square = abs(layout.unit.length - layout.unit.width) < 1e-9
    numbers = [k for k in _usable(cuts, reuse) if cuts[k].area <= (1 - SLIVER) * full]
    numbers.sort(key=lambda k: (-round(cuts[k].area, 9), k))
    blanks = {k: _blank(cuts[k], layout, square) for k in numbers}
    left = dict.fromkeys(numbers)
    pairs = []
    for k in numbers:
        if k not in left:
            continue
        del left[k]
        partners = [j for j in left if cuts[j].area + cuts[k].area <= full]
        hit = _first_fit(blanks[k], [blanks[j] for j in partners], kerf)
        if hit is not None:
            pairs.append((k, partners[hit]))
            del left[partners[hit]]
    return Pairing(reuse, len(cuts), tuple(pairs))
