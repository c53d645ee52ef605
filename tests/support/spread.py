"""Generated gardens spread over the sizes people draw, from 30 pegs to 500, and the plan fields of their sheets."""

from __future__ import annotations

from pegbook.drawings.sheet import Sheet

SIZED = {22: 0, 20: 0, 3: 0.1, 1: 0.05, 7: 0.2, 23: 0.25, 11: 0.3, 12: 0.35, 13: 0.4, 17: 0.7, 18: 0.8, 31: 1.3,
         24: 1.2, 32: 1.8, 25: 1.6, 26: 2.2, 33: 2.6, 27: 3, 28: 4, 29: 5}
"""Seeds, and the size of each garden."""

GENERATED = tuple(f"seed {seed} size {size}" for seed, size in SIZED.items())
SPARE = tuple(f"seed {seed} size {size}" for seed, size in ((40, 0.15), (41, 0.2), (42, 0.3), (43, 0.05), (44, 1.5)))
"""Gardens that stand in for those that are refused before there is anything to draw."""

PLANS = ("layout", "hardscape", "planting", "levels", "setting out", "recovery", "sand lines")
MOST_LABELS = 250
"""Plans with more labels than this may be fuller."""


def plan_window(sheet: Sheet) -> tuple[tuple[float, float, float, float], ...]:
    """Return the plan field of a sheet (x0, y0, x1, y1 in mm from the top left); nothing if it is no plan."""
    if len(sheet.views) != 1 or sheet.name not in PLANS:
        return ()
    window = sheet.views[0].window
    return ((window.x0, sheet.height - window.y1, window.x1, sheet.height - window.y0),)
