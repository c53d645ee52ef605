"""The paper and its frame: ISO 5457 sizes, filing edge, frame, fields, centring and trimming marks.

Sources: ISO 216 for the sizes; ISO 5457:1999 as restated in drafting textbooks (sizes, margins 20 and 10, frame
0.7, fields of 50 counted from the centring marks, letters without I and O). Lengths in millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.point import Box, Point
from .draft import Nib, blot
from .sheet import Mark, Stroke, Text
from .titleblock import WIDTH

SIZES = {"A0": (1189.0, 841.0), "A1": (841.0, 594.0), "A2": (594.0, 420.0), "A3": (420.0, 297.0), "A4": (297.0, 210.0)}
"""Trimmed sizes, long side first (ISO 216)."""

UNTRIMMED = {
    "A0": (1230.0, 880.0),
    "A1": (880.0, 625.0),
    "A2": (625.0, 450.0),
    "A3": (450.0, 330.0),
    "A4": (330.0, 240.0),
}
"""Untrimmed stock, long side first (ISO 5457)."""

FIELDS = {"A0": (24, 16), "A1": (16, 12), "A2": (12, 8), "A3": (8, 6), "A4": (6, 4)}
"""Number of reference fields along the long and the short side (ISO 5457)."""

FILING, MARGIN, STRIP, FIELD = 20.0, 10.0, 5.0, 50.0
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class Paper:
    """A trimmed sheet: its ISO size and whether it stands upright."""

    size: str
    upright: bool = False

    def __post_init__(self) -> None:
        if self.size not in SIZES:
            raise refuse(DrawingError, f"a sheet of size {self.size}", "choose A4, A3, A2, A1 or A0", "sheet-size")

    @property
    def width(self) -> float:
        """Width of the trimmed sheet."""
        return SIZES[self.size][1 if self.upright else 0]

    @property
    def height(self) -> float:
        """Height of the trimmed sheet."""
        return SIZES[self.size][0 if self.upright else 1]

    @property
    def frame(self) -> Box:
        """The frame: 20 from the left edge for filing, 10 from the others."""
        return Box(FILING, MARGIN, self.width - MARGIN, self.height - MARGIN)

    @property
    def counts(self) -> tuple[int, int]:
        """Number of reference fields across and up."""
        long, short = FIELDS[self.size]
        return (short, long) if self.upright else (long, short)


def paper(size: str, orientation: str = "") -> Paper:
    """Return the paper of `size`; without a word A4 stands upright and the others lie (ISO 5457)."""
    if orientation not in {"", "auto", "landscape", "portrait"}:
        raise refuse(DrawingError, f"a sheet that lies '{orientation}'", "write landscape or portrait", "orientation")
    return Paper(size, orientation == "portrait" or (size == "A4" and orientation != "landscape"))


def frame(paper: Paper, trimmed: bool = True) -> tuple[Mark, ...]:
    """Return frame, field ticks and characters, centring marks and the size; trimming marks on untrimmed stock."""
    nib = Nib("border", "cut", classes=("frame",))
    marks: list[Mark] = [nib.box(paper.frame), *_centring(paper), *_fields(paper), _size(paper)]
    return tuple(marks if trimmed else marks + list(_trimming(paper)))


def _centring(paper: Paper) -> tuple[Stroke, ...]:
    """Four strokes 10 long on the axes of the trimmed sheet, half of each inside the frame, but for the title block.

    Where the block reaches over the middle of the foot, that mark ends at the frame: it would run through its fields.
    """
    nib, box = Nib("border", "cut", classes=("border", "centring")), paper.frame
    x, y = paper.width / 2, paper.height / 2
    inside = STRIP if x < box.x1 - WIDTH else 0.0
    return (
        nib.across(box.x0 - STRIP, box.x0 + STRIP, y),
        nib.across(box.x1 - STRIP, box.x1 + STRIP, y),
        nib.upright(x, box.y0 - STRIP, box.y0 + inside),
        nib.upright(x, box.y1 - STRIP, box.y1 + STRIP),
    )


def centring_rooms(paper: Paper) -> tuple[Box, ...]:
    """Return the rooms that the centring marks take inside the frame."""
    return tuple(line.path.box.grown(0.5) for line in _centring(paper))


def stations(length: float, count: int, start: float, end: float) -> tuple[float, ...]:
    """Return the borders of `count` fields from `start` to `end`: every 50 from the middle of `length`."""
    half = count // 2
    inner = [length / 2 + FIELD * i for i in range(1 - half, half)]
    return (start, *inner, end)


def _fields(paper: Paper) -> tuple[Mark, ...]:
    """Ticks and characters in the strip; on A4 only along the top and the right (from memory of ISO 5457)."""
    box, nib = paper.frame, Nib("border", "edge", classes=("border",))
    across = stations(paper.width, paper.counts[0], box.x0, box.x1)
    up = stations(paper.height, paper.counts[1], box.y0, box.y1)
    whole = paper.size != "A4"
    rows = (box.y1, box.y0 - STRIP) if whole else (box.y1,)
    columns = (box.x1, box.x0 - STRIP) if whole else (box.x1,)
    marks: list[Mark] = []
    for y in rows:
        marks += [nib.upright(x, y, y + STRIP) for x in across[1:-1] if abs(x - paper.width / 2) > 1]
        marks += [
            _character(str(i + 1), (a + b) / 2, y + STRIP / 2)
            for i, (a, b) in enumerate(pairwise(across))
        ]
    for x in columns:
        marks += [nib.across(x, x + STRIP, y) for y in up[1:-1] if abs(y - paper.height / 2) > 1]
        marks += [
            _character(LETTERS[len(up) - 2 - i], x + STRIP / 2 + (OFF if x >= box.x1 else -OFF), (a + b) / 2)
            for i, (a, b) in enumerate(pairwise(up))
        ]
    return tuple(marks)


OFF = 0.3
"""Letters at the sides stand this far out of the middle of the strip: the widest is clear of a frame 1.0 thick."""


def _character(words: str, x: float, y: float) -> Text:
    return Text(layer="border", at=Point(x, y - 1.75), words=words, capitals=3.5, anchor="middle", classes=("zone",))


def _size(paper: Paper) -> Text:
    return Text(
        layer="border", at=Point(paper.frame.x1 - 0.5, 1.6), words=paper.size, anchor="end", classes=("sheet-size",)
    )


def _trimming(paper: Paper) -> tuple[Mark, ...]:
    """Two filled bars of 10 by 5 at each corner of the trimmed sheet (ISO 5457, from memory)."""
    marks: list[Mark] = []
    for x, right in ((0.0, 1), (paper.width, -1)):
        for y, up in ((0.0, 1), (paper.height, -1)):
            corner = [(0, 0), (10, 0), (10, 5), (5, 5), (5, 10), (0, 10)]
            marks.append(blot("border", *(Point(x + right * a, y + up * b) for a, b in corner)))
    return tuple(marks)
