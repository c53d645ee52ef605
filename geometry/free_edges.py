"""Which edges of a shape need pegs of their own: not those that lie on something that stands, or on a harder shape.

Takes: a pegging and the regions of what stands and of what is pegged more sharply. Gives: the pegging with the
stretches left to it. A bed that is what the others leave is marked out by the others' pegs, not twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from .features import Pegging
from .kernel.combine import clip
from .kernel.path import Loop, Path, Region
from .kernel.point import near
from .kernel.tolerance import NODE

SHORTEST = 0.05
"""Stretches shorter than this (m) are left to the shapes on both sides."""

SOFT = 0.045
"""Shapes whose tolerance of position is wider than this (m) leave shared edges to harder ones."""


def with_free_edges(pegging: Pegging, standing: Sequence[Region], harder: Sequence[Region]) -> Pegging:
    """Return the pegging without the edges that `standing` and, for a soft shape, `harder` regions give already."""
    others = (*standing, *harder) if pegging.tolerance.position > SOFT else tuple(standing)
    outlines = tuple(piece for outline in pegging.outlines for piece in free(outline, others))
    return replace(pegging, outlines=outlines)


def free(outline: Loop | Path, others: Sequence[Region]) -> tuple[Loop | Path, ...]:
    """Return the stretches of an outline that run along no edge of the others; the outline itself if all of it."""
    box = outline.box.grown(NODE)
    close = [region for region in others if region.box.grown(NODE).meets(box)]
    whole = outline.as_path() if isinstance(outline, Loop) else outline
    pieces, touched = [whole], False
    for region in close:
        kept: list[Path] = []
        for piece in pieces:
            parts = clip(piece, (region,))
            if parts.along:
                touched = True
                kept += [*parts.inside, *parts.outside]
            else:
                kept.append(piece)
        pieces = kept
    if not touched:
        return (outline,)
    return tuple(piece for piece in _joined(pieces) if piece.length > SHORTEST)


def _joined(pieces: list[Path]) -> list[Path]:
    """Join the pieces that follow each other, round the start of a ring as well."""
    left = list(pieces)
    found: list[Path] = []
    while left:
        path = left.pop(0)
        grew = True
        while grew:
            grew = False
            for k, other in enumerate(left):
                if near(path.end, other.start, NODE * 10):
                    path, grew = Path((*path.segments, *other.segments)), True
                elif near(other.end, path.start, NODE * 10):
                    path, grew = Path((*other.segments, *path.segments)), True
                if grew:
                    del left[k]
                    break
        found.append(path)
    return found
