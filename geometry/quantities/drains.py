"""What drains the ground behind a wall: stone, fabric, pipe, weep pipes.

Takes: sizes in metres. Gives: items. The dig and the filling behind the wall are not counted here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ..errors import GeometryError, refuse
from ..features import Item
from .materials import material, volume_item
from .walls import WALLS

FABRIC_LAPS = 10.0
"""Per cent of fabric for laps. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """The drain behind a wall, metres: how long, how wide and high its stone is, the diameters of its pipes (0: none).

    `spacing` is the most that weep pipes stand apart.
    """

    element: str
    length: float
    width: float
    height: float
    pipe: float = 0.0
    fabric: bool = True
    weep: float = 0.0
    spacing: float = 0.0

    def __post_init__(self) -> None:
        if not (self.length > 0 and self.width > 0 and self.height > 0):
            raise refuse(
                GeometryError,
                f"{self.element}: drainage stone of no size",
                "give its width; the ground held is higher than the soil over the stone",
                "no-thickness",
            )
        if self.weep > 0 and not self.spacing > 0:
            raise refuse(
                GeometryError,
                f"{self.element}: weep pipes of no spacing",
                "give how far apart they stand",
                "bad-spacing",
            )

    @property
    def weeps(self) -> int:
        """How many weep pipes there are: one in the middle of each equal part of the wall."""
        return math.ceil(self.length / self.spacing - 1e-9) if self.weep > 0 else 0


def drain_items(drain: Drain) -> Iterator[Item]:
    """Yield stone, fabric round it, pipe and weep pipes."""
    length, mm = drain.length, f"{drain.width * 1000:g} mm wide, {drain.height * 1000:g} mm high"
    yield volume_item(
        section=WALLS,
        element=drain.element,
        item="drainage stone behind the wall",
        volume=length * drain.width * drain.height,
        stuff=material("drainage stone"),
        allowance=5.0,
        where=f"{length:.3f} m, {mm}",
    )
    if drain.fabric:
        girth = drain.height + drain.width
        yield _row(drain, "ground fabric round the drainage stone", "m2", length * girth, FABRIC_LAPS,
                   f"{length:.3f} m × {girth:.3f} m: behind the stone and over it")
    if drain.pipe > 0:
        yield _row(drain, f"drain pipe Ø {drain.pipe * 1000:g} mm", "m", length, 0.0,
                   "length of the wall; to an outlet besides")
    if drain.weeps:
        yield _row(drain, f"weep pipes Ø {drain.weep * 1000:g} mm through the wall", "number", float(drain.weeps), 0.0,
                   f"{length:.3f} m, at most {drain.spacing:g} m apart")


def _row(drain: Drain, item: str, unit: str, net: float, allowance: float, basis: str) -> Item:
    gross = net * (1 + allowance / 100)
    return Item(section=WALLS, element=drain.element, item=item, unit=unit, net=net, allowance=allowance,
                order=float(math.ceil(gross - 1e-9)), order_unit=unit, basis=basis)
