"""How much clear space a label wants round it, and how far it and its leader reach. Millimetres on paper."""

from __future__ import annotations

import numpy as np

from .candidates import Options
from .oblong import Floats, bounds
from .obstacles import LEADER_CLEAR

TEXT_CLEAR = 0.6
"""Clear space between two labels, mm."""

NAME_CLEAR = 2.0
"""Clear space between two names of areas or lines, mm: nearer, their lines would read as one block."""

NAMES = ("inside", "strip", "along", "beside", "inside small", "strip small", "along small", "beside small",
         "leader dot")
"""Ways of names of areas and lines."""


def fat(found: Options) -> Floats:
    """Return the boxes grown by half the clear space that each wants."""
    out = found.boxes.copy()
    half = np.where(np.isin(found.way, NAMES), NAME_CLEAR, TEXT_CLEAR) / 2
    out[:, 2:4] += half[:, None]
    return out


def reach(found: Options, thick: Floats) -> Floats:
    """Upright bounds of each option, its leader and half the clear space included; `thick` are its `fat` boxes."""
    area = bounds(thick)
    ends = found.leaders
    with_leader = ~np.isnan(ends[:, 0])
    low, high = np.minimum(ends[:, :2], ends[:, 2:]) - LEADER_CLEAR, np.maximum(ends[:, :2], ends[:, 2:]) + LEADER_CLEAR
    area[with_leader, :2] = np.minimum(area[with_leader, :2], low[with_leader])
    area[with_leader, 2:] = np.maximum(area[with_leader, 2:], high[with_leader])
    return area
