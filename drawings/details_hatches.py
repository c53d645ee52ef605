"""How the materials of a detail are hatched where they are cut. Millimetres on paper."""

from __future__ import annotations

from collections.abc import Sequence

from ..geometry.kernel.path import Region
from ..geometry.kernel.point import Box
from .sheet import Mark
from .textures import texture

DRAINAGE = 14.0
"""Area of paper to each piece of drainage stone, mm2; compacted stone takes less than half."""


def cut_texture(name: str, region: Region, turn: int = 0, clear: Sequence[Box] = ()) -> tuple[Mark, ...]:
    """Return the hatch of a cut material; `turn` 1, 3 … leans cut brick the other way.

    Ground keeps clear of the boxes `clear`; beside a deep thing it is hatched all the way down. Drainage stone is
    compacted stone of larger pieces; upright timber has its grain upright.
    """
    if name == "drainage-stone":
        return (texture("compacted-stone", region, pitch=DRAINAGE),)
    if name == "timber-upright":
        return (texture("timber-along", region, turn=90.0),)
    if name == "ground":
        deep = region.box.height if region.box.height > region.box.width else 0.0
        return (texture("ground", region, width=deep, clear=clear),)
    return (texture(name, region, turn=90.0 if name == "brick-cut" and turn % 2 else 0.0),)
