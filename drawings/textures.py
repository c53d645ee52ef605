"""Textures: every surface on plan and every material cut, as plain strokes and dots in millimetres.

Takes: a name, the visible regions on paper, boxes of lettering to keep clear of, and for laid units their
pattern. Gives: one Hatch. Marks are whole or absent; the middle of lawns and ponds stays white.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from ..geometry.errors import DrawingError, refuse
from ..geometry.features import UnitPattern
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point
from . import rowed, scattered, united
from .field import Clear, Field, Ink
from .sheet import Ground, Hatch, View

SHORTEST = 1e-6
"""Pieces of a stroke shorter than this (mm) are rounding, and no line on the ground."""

BROAD_BED = 6000.0
"""A bed of more mm2 on paper than this has fewer leaves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Laying:
    """What a texture may need to know of its surface, all on paper: mm, degrees."""

    regions: tuple[Region, ...]
    light: bool = False             # the presentation copy
    width: float = 0.0              # of a band or hedge, of a board
    pitch: float = 0.0              # of units along a band or in rings
    turn: float = 0.0               # of boards, grain, cut lines
    centre: Point | None = None     # of units laid in rings
    middle: Path | None = None      # of a hedge
    units: UnitPattern | None = None
    view: View | None = None


def texture(name: str, regions: Region | Sequence[Region], *, clear: Sequence[Clear] = (), layer: str = "textures",
            pen: str = "", light: bool = False, width: float = 0.0, pitch: float = 0.0, turn: float = 0.0,
            centre: Point | None = None, middle: Path | None = None, units: UnitPattern | None = None,
            view: View | None = None, ground: Ground | None = None) -> Hatch:
    """Return the texture of a surface or cut material over regions (mm); DrawingError for a name that has none.

    `clear` holds the ink boxes of lettering (bare: the room round them is added here). `units` with `view` are true
    units as laid (metres). `width` and `pitch` (mm on paper) serve bands, hedges, boards and rings; `turn` is in
    degrees. `pen` replaces the usual pen. Sizes and rules: the house's drawing style; the cut materials follow
    common practice, their figures are our own.
    """
    if name not in _MAKERS:
        raise refuse(DrawingError, f"there is no texture '{name}'", f"use one of {', '.join(_MAKERS)}", "no-texture")
    made = (regions,) if isinstance(regions, Region) else tuple(regions)
    usual, maker = _MAKERS[name]
    laid = Laying(regions=made, light=light, width=width, pitch=pitch, turn=turn, centre=centre, middle=middle,
                  units=units, view=view)
    ink = maker(Field.of(made, clear), laid) if made else Ink()
    true_units = name in UNIT_LAID
    return Hatch(layer=layer, name=name, strokes=ink.strokes, dots=ink.dots, solid=ink.solid, pen=pen or usual,
                 ground=ground, units=true_units, ground_lines=_ground_lines(name, ink, laid))


UNIT_LAID = frozenset({"slabs", "setts", "blocks", "brick-edge", "boards", "hedge"})
"""Surfaces that formats at 1:1 write as lines, not as a pattern."""


def _ground_lines(name: str, ink: Ink, laid: Laying) -> tuple[Path, ...]:
    """Return the lines of units on the ground, metres: the joints as laid, else the drawn ones brought back."""
    if laid.units is not None and laid.units.joints:
        return laid.units.joints
    view = laid.view
    if view is None or name not in UNIT_LAID:
        return ()
    return tuple(view.ground_path(s if isinstance(s, Path) else s.as_path()) for s in ink.strokes
                 if all(piece.length > SHORTEST for piece in s.segments))


# ---------------------------------------------------------------- surfaces on plan

def _turf(field: Field, laid: Laying) -> Ink:
    return rowed.turf(field, 3 if laid.light else len(rowed.TURF_ROWS))


def _planting(field: Field, laid: Laying) -> Ink:
    broad = math.fsum(r.area for r in laid.regions) > BROAD_BED
    return scattered.leaves(field, 14.0 if laid.light else 12.0 if broad else 8.5)


def _units(name: str) -> Callable[[Field, Laying], Ink]:
    def make(field: Field, laid: Laying) -> Ink:
        if laid.units is not None and laid.view is not None:
            return united.units(field, name, laid.units, laid.view)
        if laid.centre is not None and laid.pitch > 0:
            far = max(laid.centre.distance(p) for p in _corners(field.box))
            return rowed.rings_of(laid.centre, far, max(laid.pitch, united.least(name)), field)
        return _drawn_units(field, laid, name)
    return make


def _corners(box: Box) -> tuple[Point, ...]:
    return tuple(Point(x, y) for x in (box.x0, box.x1) for y in (box.y0, box.y1))


def _drawn_units(field: Field, laid: Laying, name: str) -> Ink:
    """Return a half bond of `pitch` × `width` for a swatch of units that nobody has laid."""
    width = laid.width or {"slabs": 6.0, "setts": 2.0}.get(name, 2.0)
    length = laid.pitch or {"slabs": 9.0, "setts": 2.0}.get(name, 4.0)
    view = View(name="", scale=1000.0, window=field.box, origin=Point(field.box.x0, field.box.y0))
    pattern = UnitPattern(joints=_bond(field, length, width), length=length, width=width,
                          lay_from=Point(field.box.x0, field.box.y0))
    return united.units(field, name, pattern, view)


def _bond(field: Field, length: float, width: float) -> tuple[Path, ...]:
    box = field.box
    out = []
    for j in range(math.ceil(box.height / width) + 1):
        y = box.y0 + j * width
        if j:
            out.append(Path.through([Point(box.x0, y), Point(box.x1, y)]))
        for i in range(math.ceil(box.width / length) + 2):
            x = box.x0 + (i + (j % 2) / 2) * length
            if x > box.x0:
                out.append(Path.through([Point(x, y), Point(x, y + width)]))
    return tuple(out)


def _brick_edge(field: Field, laid: Laying) -> Ink:
    if laid.units is not None and laid.view is not None:
        return united.units(field, "brick-edge", laid.units, laid.view)
    width = laid.width or min(field.box.width, field.box.height)
    pitch = laid.pitch or width / 3
    return rowed.joined([united.across(field, line, width, pitch, side=1)
                         for region in laid.regions for line in united.runs_of(region, width)])


def _boards(field: Field, laid: Laying) -> Ink:
    if laid.units is not None and laid.view is not None:
        return united.units(field, "boards", laid.units, laid.view)
    factor = laid.view.factor if laid.view else 20.0
    return united.boards(field, laid.width or 1.4, united.BOARD * factor, math.radians(laid.turn))


def _hedge(field: Field, laid: Laying) -> Ink:
    width = laid.width or min(field.box.width, field.box.height)
    lines = [laid.middle] if laid.middle else [united.middle_of(r, width) for r in laid.regions]
    inks = [rowed.hedge(field, line, width) for line in lines if line is not None]
    return rowed.joined(inks) if len(inks) == len(lines) else scattered.leaves(field, 2.9)


# ---------------------------------------------------------------- materials, cut

def _brick_cut(field: Field, laid: Laying) -> Ink:
    box = field.box
    thin = min(box.width, box.height, laid.width or math.inf) < 3.0
    return rowed.lines(field, 45 + laid.turn, 1.1 if thin else 1.7)


def _stone_cut(field: Field, laid: Laying) -> Ink:
    return rowed.lines(field, 45 + laid.turn, 1.5, (3.0, 1.0), 0.382)


_MAKERS: Mapping[str, tuple[str, Callable[[Field, Laying], Ink]]] = {
    "turf": ("texture", _turf),
    "planting": ("texture", _planting),
    "gravel": ("texture", lambda f, _: scattered.gravel(f, 2.1)),
    "water": ("texture", lambda f, _: rowed.water(f)),
    "slabs": ("texture", _units("slabs")),
    "setts": ("texture", _units("setts")),
    "blocks": ("texture", _units("blocks")),
    "brick-edge": ("texture", _brick_edge),
    "boards": ("texture", _boards),
    "hedge": ("thin", _hedge),
    "obstacle": ("thin", lambda f, _: rowed.obstacle(f)),
    "concrete": ("thin", lambda f, _: scattered.concrete(f)),
    "brick-cut": ("thin", _brick_cut),
    "stone-cut": ("thin", _stone_cut),
    "sand": ("thin", lambda f, _: scattered.sand(f)),
    "compacted-stone": ("texture", lambda f, laid: scattered.stones(f, laid.pitch or 6.5)),
    "gravel-layer": ("texture", lambda f, _: scattered.gravel(f, 1.6)),
    "ground": ("thin", lambda f, laid: rowed.ground(f, laid.width or 9.0)),
    "topsoil": ("thin", lambda f, _: scattered.topsoil(f)),
    "mulch": ("thin", lambda f, _: scattered.mulch(f)),
    "timber-along": ("texture", lambda f, laid: rowed.timber_along(f, laid.turn)),
    "timber-across": ("texture", lambda f, _: rowed.timber_across(f)),
    "steel": ("thin", lambda _, laid: Ink(solid=laid.regions)),
}

NAMES = tuple(_MAKERS)
"""All textures."""

__all__ = ["NAMES", "UNIT_LAID", "texture"]
