"""Who gets which pen: the table of sheets and kinds of thing. Weight says what a sheet is about.

A pen of '' means that the thing is not drawn on that sheet.
"""

from __future__ import annotations

from collections.abc import Mapping

from ..geometry.features import Role, Status

WEIGHTS = {"texture": 0, "thin": 1, "mark": 2, "edge": 3, "cut": 4}

SURFACES = frozenset({Role.TURF, Role.PLANTING, Role.PAVING, Role.LOOSE, Role.DECK, Role.WATER, Role.CONCRETE})
"""Roles that cover the ground."""

THINGS = ("wall", "opening", "building", "surface", "edging", "boundary", "overhead", "steps", "fence", "hedge",
          "service", "post")

THING = {
    Role.WALL: "wall",
    Role.WALL_OPENING: "opening",
    Role.COPING: "edging",
    Role.BUILDING: "building",
    Role.EDGE_BAND: "edging",
    Role.BOUNDARY: "boundary",
    Role.BEAM: "overhead",
    Role.RAFTER: "overhead",
    Role.STEPS: "steps",
    Role.RISER: "steps",
    Role.FENCE: "fence",
    Role.HEDGE: "hedge",
    Role.SERVICE: "service",
    Role.POST: "post",
    **dict.fromkeys(SURFACES, "surface"),
}
"""What a role counts as in the table below."""

_TABLE = """
                wall     opening  building surface  edging   boundary overhead steps    fence    hedge    service  post
layout          cut      thin     cut      edge     thin     edge     thin     edge     edge     mark     mark     mark
presentation    edge     texture  edge     mark     texture  edge     thin     mark     mark     mark     -        mark
setting out     thin     thin     mark     thin     -        thin     -        thin     thin     thin     mark     -
hardscape       cut      mark     cut      edge     mark     thin     thin      edge     edge     thin     mark     mark
planting        thin     thin     edge     thin     thin     mark     -        thin     thin     mark     -        mark
levels          edge     thin     edge     thin     thin     mark     -        edge     thin     thin     -        mark
key plan        thin     -        thin     thin     -        edge     -        -        thin     -        -        -
"""


def _read(table: str) -> dict[str, dict[str, str]]:
    lines = [line for line in table.splitlines() if line.strip()]
    heads = lines[0].split()
    out = {}
    for line in lines[1:]:
        name, cells = line[:16].strip(), line[16:].split()
        out[name] = {head: "" if cell == "-" else cell for head, cell in zip(heads, cells, strict=True)}
    return out


PENS: Mapping[str, Mapping[str, str]] = _read(_TABLE)

UNIT_JOINTS = {"layout": "texture", "presentation": "texture", "hardscape": "thin"}
"""Pen of unit joints; sheets that are not named leave them out."""

CLEARED = frozenset({"layout", "presentation", "hardscape"})
"""Sheets that still show what is to go; the others are for when it has gone."""

TEXTURED = frozenset({"layout", "presentation", "hardscape"})
"""Sheets on which surfaces carry a texture."""


SOFT = frozenset({Role.TURF, Role.PLANTING, Role.HEDGE})
"""What grows is cleared by the layout; the hardscape plan shows only what is broken out or taken down."""


def pen_of(sheet: str, role: Role, status: Status, pegged: bool = False) -> str:
    """Return the pen of a role on a sheet, '' if it is not drawn there.

    On the setting-out sheet what is pegged is an edge, all else thinner. Existing things are thin on every sheet,
    but for the boundary, buildings and services; things to go are thin, and gone from the sheets of later work.
    """
    thing = THING.get(role, "")
    pen = PENS[sheet].get(thing, "")
    if not pen:
        return ""
    if sheet == "setting out" and pegged:
        return "edge"
    if status is Status.REMOVE:
        return "" if sheet == "hardscape" and role in SOFT else _to_go(sheet, thing)
    if thing == "service":
        return "edge" if status is Status.PROPOSED else pen
    stays = status is Status.EXISTING and thing not in {"boundary", "building"}
    return "thin" if stays and WEIGHTS[pen] > WEIGHTS["thin"] else pen


def _to_go(sheet: str, thing: str) -> str:
    """Return the pen of a thing to go: a buried service is a danger until it is out, so every sheet keeps it."""
    return "thin" if sheet in CLEARED or thing in {"service", "boundary"} else ""


def drawn(sheet: str, role: Role) -> bool:
    """Say whether a sheet draws a role at all."""
    return bool(PENS[sheet].get(THING.get(role, ""), ""))
