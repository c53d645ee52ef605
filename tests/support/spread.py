"""Generated gardens spread over the sizes people draw, from 30 pegs to 500, and the plan fields of their sheets."""

from __future__ import annotations

from pegbook.drawings.sheet import Sheet

GENERATED = tuple(f"seed {k}" for k in range(1, 21))
PLANS = ("layout", "hardscape", "planting", "levels", "setting out")


def plan_window(sheet: Sheet) -> tuple[tuple[float, float, float, float], ...]:
    """Return the plan field of a sheet (x0, y0, x1, y1 in mm from the top left); nothing if it is no plan."""
    if len(sheet.views) != 1 or sheet.name not in PLANS:
        return ()
    window = sheet.views[0].window
    return ((window.x0, sheet.height - window.y1, window.x1, sheet.height - window.y0),)
