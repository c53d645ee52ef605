"""The drain behind a wall that holds ground, as the model gives it: stone, fabric, pipe, weep pipes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from ..errors import ModelError, refuse
from ..features import Item
from ..kernel.path import Path
from ..reading.fields import Written
from ..reading.values import Depth, Size, YesNo


class Side(StrEnum):
    """A side of a line, walking along it."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class WeepsGiven(Written):
    """Weep pipes through a wall: their diameter, and the most that they stand apart."""

    called: ClassVar[str] = "weep pipes"

    size: Size
    spacing: Size


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainGiven(Written):
    """A drain behind a wall: width of its stone, diameter of the pipe in its foot, fabric round it, weep pipes.

    `cover` is the soil over the stone.
    """

    called: ClassVar[str] = "a drain behind a wall"

    stone: Size
    pipe: Depth = 0.0
    fabric: YesNo = True
    weeps: WeepsGiven | None = None
    cover: Depth = 0.15

    def __post_init__(self) -> None:
        if not self.pipe < self.stone:
            sizes = f"{self.pipe * 1000:g} mm in drainage stone {self.stone * 1000:g} mm wide"
            raise refuse(ModelError, f"a pipe of {sizes}",
                         "give wider stone or a thinner pipe", "pipe-too-wide")

    def held(self, retains: float, below: float) -> float:
        """Return the height of the stone: from the footing up to its cover of soil; ModelError for none."""
        height = retains - self.cover + below
        if not height > 0:
            raise refuse(ModelError, f"{self.cover * 1000:g} mm of soil over the stone leaves none of it",
                         "give less `cover`, or see what the wall `retains`", "drain-too-low")
        return height

    def sizes(self) -> dict[str, float]:
        """Return the figures of the typical section."""
        found = {"drain stone": self.stone, "drain cover": self.cover, "drain pipe": self.pipe}
        if self.weeps is not None:
            found |= {"weep": self.weeps.size, "weep spacing": self.weeps.spacing}
        return found

    def items(self, element: str, length: float, height: float) -> Iterator[Item]:
        """Yield what is to be ordered for a length of wall."""
        from ..quantities.drains import Drain, drain_items

        weeps = self.weeps
        yield from drain_items(Drain(element=element, length=length, width=self.stone, height=height, pipe=self.pipe,
                                     fabric=self.fabric, weep=weeps.size if weeps else 0.0,
                                     spacing=weeps.spacing if weeps else 0.0))


def length_beside(line: Path, side: Side | None, by: float) -> float:
    """Return the length of a band's middle `by` metres to a side of a path; of the path itself where none is told."""
    from ..kernel.offset import Corners, parallel

    if side is None:
        return line.length
    return sum(path.length for path in parallel(line, by if side is Side.LEFT else -by, Corners.SQUARE))


__all__ = ["DrainGiven", "Side", "WeepsGiven", "length_beside"]
