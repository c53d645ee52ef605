"""Things on a plan that have a sign of their own: trees, posts, seats, arrows, falls, levels, services.

Takes: features and a view. Gives: symbols in paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.enclosure import inside_region
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Point, Vec
from . import symbols
from .brief import Brief
from .draft import disc
from .falls import fall_place
from .pens import CLEARED
from .pens import drawn as drawn_thing
from .plan import ground_of, inside, shown_whole
from .sheet import Group, Mark, View
from .signs import peg_sign

FULL = frozenset({"layout", "presentation"})
"""Sheets that show the garden as it will be, with all its furniture."""


def things(sheet: str, brief: Brief, view: View) -> tuple[Mark, ...]:
    """Return the signs of all features that a sheet shows."""
    marks: list[Mark] = []
    for feature in brief.features:
        maker = _MAKERS.get(feature.role)
        if maker and (feature.role is Role.SERVICE or shown_whole(feature, brief)):
            marks += [_grounded(mark, feature, brief) for mark in maker(sheet, feature, brief, view)]
    return tuple(marks)


def _grounded(mark: Group, feature: Feature, brief: Brief) -> Group:
    return Group(
        layer=mark.layer, classes=mark.classes, marks=mark.marks, title=mark.title, ground=ground_of(feature, brief)
    )


def stem_of(feature: Feature, brief: Brief) -> float:
    """Return the stem's diameter (m) of the tree whose crown this is, 0 if unknown."""
    return next((f.size for f in brief.features if f.role is Role.STEM and f.element == feature.element), 0.0)


def _crown(sheet: str, feature: Feature, brief: Brief, view: View) -> Iterator[Group]:
    assert isinstance(feature.shape, Point)
    at, radius = view.point(feature.shape), max(feature.size * view.factor / 2, 1.5)
    stem = stem_of(feature, brief) * view.factor
    status = feature.status.value
    if sheet in FULL:
        yield symbols.shrub(at, radius) if feature.symbol == "shrub" else symbols.tree(at, radius, status, stem)
    elif sheet == "setting out" and feature.status is Status.EXISTING:
        marks = (*symbols.crown("existing", at, radius, "thin", "removed"), disc("existing", at, max(0.7, stem / 2)))
        yield Group(layer="existing", classes=("symbol", "tree-existing"), marks=marks, title="Tree that stays")
    elif sheet == "planting" and feature.status is not Status.REMOVE:
        yield symbols.tree(at, radius, status, stem, pen="thin", shaded=False)
    elif sheet == "levels" and feature.status is Status.EXISTING:
        yield symbols.tree(at, radius, status, stem)


def _post(sheet: str, feature: Feature, brief: Brief, view: View) -> Iterator[Group]:
    if feature.status is Status.REMOVE and sheet not in CLEARED:
        return
    if sheet == "planting" and isinstance(feature.shape, Point):     # open squares there are plants
        sign = peg_sign("post", view.point(feature.shape), layer="built")
        yield Group(layer="built", classes=("symbol", "post"), marks=sign, title="Post")
    elif drawn_thing(sheet, feature.role) and isinstance(feature.shape, Point):
        yield symbols.post(view.point(feature.shape), feature.size * view.factor, feature.turn,
                           status=feature.status.value)


def _furniture(sheet: str, feature: Feature, brief: Brief, view: View) -> Iterator[Group]:
    if sheet not in FULL or not isinstance(feature.shape, Point):
        return
    at, (long, deep) = view.point(feature.shape), sides_of(feature, view.factor)
    if feature.symbol == "seat":
        sign = symbols.seat(at, long, deep, feature.turn)
    elif feature.symbol == "sundial":
        sign = symbols.sundial(at, long / 2, feature.turn)
    elif feature.symbol == "pot":
        sign = symbols.pot(at, long / 2)
    elif feature.symbol == "gate":
        leaf = Vec.polar(feature.turn, long / 2)
        sign = symbols.gate(at + -leaf, at + leaf, left=True)
    else:
        sign = symbols.table(at, long, deep, feature.turn)
    yield symbols.of_status(sign, at, feature.status.value)


ROUND = frozenset({"sundial", "pot"})
"""Symbols that are as deep as they are long."""


def sides_of(feature: Feature, factor: float) -> tuple[float, float]:
    """Return how long and how deep a piece of furniture is on paper, mm; a seat of no depth is 0.4 of its length."""
    deep = feature.width or feature.size * (0.4 if feature.symbol == "seat" else 1.0)
    return feature.size * factor, (feature.size if feature.symbol in ROUND else deep) * factor


def reach_of(feature: Feature, factor: float) -> tuple[float, float]:
    """Return how far a piece of furniture reaches from its point, across and up the sheet, mm; 1.4 at the least."""
    long, deep = sides_of(feature, factor)
    if feature.symbol in ROUND:
        return max(long / 2, 1.4), max(long / 2, 1.4)
    cos, sin = abs(math.cos(feature.turn)), abs(math.sin(feature.turn))
    return max((long * cos + deep * sin) / 2, 1.4), max((long * sin + deep * cos) / 2, 1.4)


def _step_arrow(sheet: str, feature: Feature, brief: Brief, view: View) -> Iterator[Group]:
    stays = feature.status is not Status.REMOVE
    if stays and sheet in FULL | {"hardscape", "levels"} and isinstance(feature.shape, Path):
        yield symbols.steps_arrow(view.path(feature.shape))


def _fall(sheet: str, feature: Feature, brief: Brief, view: View) -> Iterator[Group]:
    shown = sheet in {"layout", "hardscape", "levels"} and feature.status is not Status.REMOVE
    if shown and isinstance(feature.shape, Path):
        path = view.path(feature.shape)
        yield symbols.fall(fall_place(feature, brief, view), (path.end - path.start).heading, feature.note)


def _level(sheet: str, feature: Feature, brief: Brief, view: View) -> Iterator[Group]:
    if sheet in {"layout", "levels"} and isinstance(feature.shape, Point):
        yield symbols.level_cross(view.point(feature.shape))


def _lay_from(sheet: str, feature: Feature, brief: Brief, view: View) -> Iterator[Group]:
    if sheet == "hardscape" and isinstance(feature.shape, Point):
        yield lay_from_sign(view.point(feature.shape), _into(feature, feature.shape, brief, view))


def _into(feature: Feature, at: Point, brief: Brief, view: View) -> float:
    """Return the turn, by quarters, at which the corner of the first unit lies on its surface."""
    own = [f.shape for f in brief.features
           if f.element == feature.element and f.units is not None and isinstance(f.shape, Region)]
    for reach in PROBES:
        for quarter in range(4):
            turn = feature.turn + quarter * math.pi / 2
            probe = at + Vec.polar(turn + math.pi / 4, reach / view.factor)
            if any(inside_region(region, probe) for region in own):
                return turn
    return feature.turn


PROBES = (1.5, 4.0)
"""How far into its surface the sign of the first unit reaches, mm: farther where an edging lies between."""


def lay_from_sign(at: Point, turn: float) -> Group:
    """Return the sign of the point that units are laid from: a filled quarter in the corner of the first unit."""
    from .draft import Nib, blot, group

    a, b = at + Vec.polar(turn, 3.2), at + Vec.polar(turn + math.pi / 2, 3.2)
    nib = Nib("marks", "mark")
    return group(
        "marks",
        "symbol lay-from",
        (
            blot("marks", at, at + Vec.polar(turn, 2.0), at + Vec.polar(turn + math.pi / 2, 2.0)),
            nib.line(at, a),
            nib.line(at, b),
        ),
        "Units are laid from here",
    )


def _service(sheet: str, feature: Feature, brief: Brief, view: View) -> Iterator[Group]:
    stays = feature.status is not Status.REMOVE
    if stays and drawn_thing(sheet, feature.role) and isinstance(feature.shape, Path):
        marks = [
            mark
            for piece in inside(feature.shape, brief.window)
            if isinstance(piece, Path)
            for mark in symbols.flow_chevrons(view.path(piece))
        ]
        yield Group(layer="existing", classes=("symbol", "service"), title="Buried service", marks=tuple(marks))


_MAKERS: dict[Role, Callable[[str, Feature, Brief, View], Iterator[Group]]] = {
    Role.CROWN: _crown,
    Role.POST: _post,
    Role.FURNITURE: _furniture,
    Role.STEP_ARROW: _step_arrow,
    Role.FALL: _fall,
    Role.LEVEL: _level,
    Role.LAY_FROM: _lay_from,
    Role.SERVICE: _service,
}
