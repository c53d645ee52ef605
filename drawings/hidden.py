"""What hides what on a plan, seen from above: which areas lie over a thing, and what they leave of it.

Metres on the ground.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box
from .brief import shape_box
from .pens import SURFACES

COVERS = {**dict.fromkeys(SURFACES, 0), Role.EDGE_BAND: 0, Role.STEPS: 1, Role.HEDGE: 2, Role.WALL: 3, Role.BUILDING: 4}
"""Roles that hide what lies under them; higher ones lie on lower ones, equals in the order of the model."""

REMEMBERED = 512
"""So many areas and lines are remembered with what hides them: the sheets of a set ask for the same ones."""


def rank(feature: Feature) -> int:
    """Return the level on which a feature lies, -1 if it hides nothing."""
    return COVERS.get(feature.role, -1) if feature.status is not Status.REMOVE else -1


@dataclass(frozen=True, slots=True)
class Cover:
    """An area that hides what is below it: its place in the order from the ground up, and its box, metres."""

    order: tuple[int, int]
    region: Region
    box: Box


def covers(features: Sequence[Feature]) -> tuple[Cover, ...]:
    """Return all that can hide something, in the order of the features."""
    return tuple(
        Cover((rank(f), i), f.shape, f.shape.box)
        for i, f in enumerate(features)
        if rank(f) >= 0 and isinstance(f.shape, Region)
    )


def covers_of(feature: Feature, index: int, among: Sequence[Cover]) -> tuple[Cover, ...]:
    """Return what may hide parts of feature `index`."""
    own, box = (rank(feature), index), shape_box(feature)
    return tuple(c for c in among if c.order > own and c.box.meets(box))


def seen(line: Path | Loop, above: Sequence[Cover]) -> Iterator[Path | Loop]:
    """Yield the parts of a feature's line that nothing later hides."""
    box = line.box if above else None
    hidden_by = tuple(c.region for c in above if box is not None and c.box.meets(box))
    if hidden_by:
        yield from _uncovered(line, hidden_by)
    else:
        yield line


@lru_cache(maxsize=REMEMBERED)
def _uncovered(line: Path | Loop, covers: tuple[Region, ...]) -> tuple[Path, ...]:
    """Return the stretches of a line that covers leave."""
    from ..geometry.kernel.combine import clip

    pieces: list[Path] = [line.as_path() if isinstance(line, Loop) else line]
    for cover in covers:
        parts = [clip(piece, (cover,)) for piece in pieces]
        pieces = [p for part in parts for p in (*part.outside, *part.along)]
    return tuple(pieces)


@lru_cache(maxsize=REMEMBERED)
def bared(regions: tuple[Region, ...], covers: tuple[Region, ...]) -> tuple[Region, ...]:
    """Return what covers leave of areas."""
    from ..geometry.kernel.combine import difference

    return difference(regions, covers)
