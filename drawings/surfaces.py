"""Textures, tints and shadows of a plan's surfaces, and the hatches of cut materials.

Takes: a stage and the lettering that stands on it. Gives: hatches and fills in paper millimetres. Textures keep
clear of lettering; ground textures stop under crowns, joints run on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from .draft import Nib, moved, rectangle
from .obstacles import lettered, text_region
from .once import Drawn
from .pens import UNIT_JOINTS
from .plan import ground_of, in_window, inside, rooms, wall_width, window_of
from .planned import Stage
from .sheet import Fill, Ground, Group, Hatch, Mark, Stroke, Text, flat
from .textures import UNIT_LAID, texture
from .yielding import clear_of, room_of

SURFACE = {
    Role.TURF: "turf",
    Role.PLANTING: "planting",
    Role.PAVING: "slabs",
    Role.LOOSE: "gravel",
    Role.DECK: "boards",
    Role.WATER: "water",
    Role.CONCRETE: "concrete",
    Role.EDGE_BAND: "brick-edge",
    Role.HEDGE: "hedge",
    Role.WALL: "brick",
    Role.BUILDING: "building",
    Role.STEPS: "slabs",
}
"""The surface of a role that names none."""

TEXTURE = {
    "loose": "gravel",
    "deck": "boards",
    "timber": "boards",
    "stone": "slabs",
    "pond stone": "setts",
    "brick": "blocks",
    "beds": "planting",
}
"""Surfaces that share another's texture on plan."""

GROUND_TEXTURES = frozenset({"turf", "planting", "gravel", "water"})
"""Textures that stop under crowns."""

SETT, BRICK, BOARD = 0.1, 0.075, 0.145
"""Metres: a sett and a brick on edge with their joints, a board."""

LEAST = 1.0
"""Pieces of a surface smaller than this (mm²) carry no texture."""

INK = {"turf": 0.013, "planting": 0.028, "gravel": 0.06, "water": 0.04, "concrete": 0.07, "hedge": 0.08}
UNIT_INK, CUT_INK, BAND_INK = 0.07, 0.11, 0.12
"""The share of a surface that its texture covers with ink, of surfaces laid in units, cut walls and obstacle bands."""

CLOSE_JOINTS, LEAST_JOINTS = 4.0, 2.5
"""Units narrower than this on paper have fine joints; how close joints lie at the closest, about, mm."""

OBSTACLE_BAND = 4.0
NOT_YET = frozenset({Status.PROPOSED, Status.REMOVE})
"""A building that is not built yet, or has gone, stops no tape."""

ALONG = 0.4
"""A joint so near to a leader, mm, looks like a part of it."""

NARROW = 2.5
"""A band of loose or cast material narrower than this on paper carries no texture: it would be a few stray dots."""


def surface_of(feature: Feature) -> str:
    """Return the key of a feature's surface, for its texture and tint."""
    return feature.surface or SURFACE.get(feature.role, "")


def texture_of(feature: Feature) -> str:
    """Return the texture of a feature: cut for walls, else that of its surface; '' if it has none."""
    name = surface_of(feature)
    if feature.role is Role.WALL:
        return "stone-cut" if "stone" in name else "brick-cut"
    if feature.role in {Role.BUILDING, Role.STEPS}:
        return ""
    return TEXTURE.get(name, name)


def text_boxes(marks: Sequence[Mark]) -> tuple[Region, ...]:
    """Return the ink boxes of all lettering among marks."""
    return tuple(text_region(lettered(m)) for m in flat(tuple(marks)) if isinstance(m, Text))


def _level_points(marks: Sequence[Mark]) -> Iterator[Region]:
    """Yield the boxes of the crosses of spot levels: they are read, so textures keep clear of them as of lettering."""
    for mark in marks:
        if isinstance(mark, Group) and "level-point" in mark.classes:
            yield Region(rectangle(Box.around(m.path.box for m in mark.marks if isinstance(m, Stroke))))


def textures(kind: str, on: Stage, marks: Sequence[Mark]) -> Iterator[Mark]:
    """Yield the texture of every surface that a kind of plan shows, clear of the lettering among `marks`."""
    boxes = (*text_boxes(marks), *_level_points(marks))
    leaders = [m.path for m in flat(tuple(marks)) if isinstance(m, Stroke) and "leader" in m.classes]
    crowns = _crowns(on)
    for surface in on.surfaces:
        feature, name = surface.feature, texture_of(surface.feature)
        if feature.status is Status.REMOVE or not name or (kind == "hardscape" and _soft(feature)):
            continue
        for paper, ground in zip(surface.paper, surface.ground, strict=True):
            if paper.area < LEAST or _narrow(name, feature, on):
                continue
            clear = tuple(b for b in boxes if b.box.meets(paper.box))
            if name in GROUND_TEXTURES:
                clear += tuple(c for c in crowns if c.box.meets(paper.box))
            mark = _texture(kind, name, feature, paper, ground, clear, on)
            yield _off_leaders(mark, [p for p in leaders if p.box.meets(paper.box)]) if name in UNIT_LAID else mark
    yield from house_walls(kind, on, boxes)


def _off_leaders(mark: Mark, leaders: Sequence[Path | Loop]) -> Mark:
    """Return a texture without the stretches of joints that a leader runs along: a leader must be told from a joint."""
    if not leaders or not isinstance(mark, Hatch):
        return mark
    drawn = Drawn()
    for leader in leaders:
        drawn.add(leader)
    return replace(mark, strokes=tuple(rest for joint in mark.strokes for rest in drawn.rest(joint, ALONG)))


def _narrow(name: str, feature: Feature, on: Stage) -> bool:
    return feature.role is Role.EDGE_BAND and name in INK and feature.width * on.view.factor < NARROW


def shades(kind: str, on: Stage) -> list[tuple[Region, float]]:
    """Return the areas that a kind of plan will cover with a texture, and how much of each will be ink."""
    found: list[tuple[Region, float]] = []
    thin, fine = on.pens["thin"] / 0.18, on.pens["texture"] / 0.13      # the shares are those of the pens of A3
    if kind == "setting out":
        return [(region, BAND_INK * thin) for _, band, _ in _bands(on, OBSTACLE_BAND, NOT_YET) for region in band]
    for surface in on.surfaces:
        name, bare = texture_of(surface.feature), kind == "hardscape" and _soft(surface.feature)
        if name and not bare and surface.feature.status is not Status.REMOVE:
            share = CUT_INK * thin if name.endswith("-cut") else INK.get(name, 0.0) * fine
            share = share or _joint_ink(kind, surface.feature, on)
            found += [(region, share) for region in surface.paper]
    return found + [(region, CUT_INK * thin) for _, band, _ in _bands(on, wall_width(on.view)) for region in band]


def _soft(feature: Feature) -> bool:
    return feature.role in {Role.TURF, Role.PLANTING, Role.HEDGE}


def _crowns(on: Stage) -> tuple[Region, ...]:
    """Return the crowns that are new or stay, on paper."""
    return tuple(
        Region(Loop.circle(on.view.point(f.shape), f.size * on.view.factor / 2))
        for f in on.brief.of(Role.CROWN)
        if isinstance(f.shape, Point) and f.status is not Status.REMOVE and f.size > 0
    )


def _joint_pen(kind: str, feature: Feature, factor: float) -> str:
    """Return the pen of the joints of a surface: the sheet's, but the finest where they lie close."""
    close = feature.units is not None and feature.units.width * factor < CLOSE_JOINTS
    return "texture" if close or feature.status is Status.EXISTING else UNIT_JOINTS.get(kind, "")


def _joint_ink(kind: str, feature: Feature, on: Stage) -> float:
    """Return the share of a surface that its joints cover with ink."""
    if feature.units is None:
        return UNIT_INK * on.pens["texture"] / 0.13
    wide = on.pens[_joint_pen(kind, feature, on.view.factor) or "texture"]
    sides = (feature.units.length, feature.units.width)
    return sum(wide / max(side * on.view.factor, LEAST_JOINTS) for side in sides if side > 0)


def _texture(
    kind: str,
    name: str,
    feature: Feature,
    paper: Region,
    ground: Region,
    clear: Sequence[Region],
    on: Stage,
    layer: str = "textures",
) -> Mark:
    factor = on.view.factor
    pen = _joint_pen(kind, feature, factor) if name in UNIT_LAID and name != "hedge" else ""
    width, pitch, centre = feature.width * factor, 0.0, None
    if name == "brick-edge":
        pitch = BRICK * factor
    elif name == "boards":
        width = (feature.units.width if feature.units else 0.0) * factor or BOARD * factor
    elif name in {"setts", "blocks"} and feature.units is None and isinstance(feature.shape, Region):
        ring = feature.shape.outer
        if ring.is_circle and not feature.shape.holes:
            centre, pitch = on.view.point(ring.segments[0].centre), SETT * factor  # type: ignore[union-attr]
        else:
            width = pitch = SETT * factor
    return texture(
        name,
        paper,
        clear=clear,
        layer=layer,
        pen=pen,
        light=kind == "presentation",
        width=width,
        pitch=pitch,
        turn=math.degrees(feature.turn),
        centre=centre,
        units=feature.units,
        view=on.view,
        ground=replace(ground_of(feature, on.brief), shape=ground),
    )


NEW_WALLS = (0.0, 90.0)
"""Turns of the hatch of a building's walls: one that stands has the first, a new one both."""


def new_walls(area: Region, layer: str) -> tuple[Mark, ...]:
    """Return the hatch of a new building's walls, for the key."""
    return tuple(texture("brick-cut", area, width=WALL_SWATCH, layer=layer, turn=turn) for turn in NEW_WALLS)


WALL_SWATCH = 2.6
"""Thickness of the piece of wall in the key, mm."""


def house_walls(kind: str, on: Stage, boxes: Sequence[Region]) -> Iterator[Mark]:
    """Yield the cut walls of buildings: a band inside the outline; presentation copies fill the building instead."""
    if kind not in {"layout", "hardscape"}:
        return
    thick = wall_width(on.view)
    for feature, band, inner in _bands(on, thick):
        clear = tuple(b for b in boxes if b.box.meets(_around(band)))
        for turn in NEW_WALLS if feature.status is Status.PROPOSED else NEW_WALLS[:1]:
            yield texture("brick-cut", band, width=thick, clear=clear, turn=turn)
        for line in (Nib("built", "thin").path(ring) for ring in inner):
            yield from clear_of(line, [room_of(b) for b in boxes if b.box.meets(line.path.box)])


def _bands(
    on: Stage, wide: float, without: frozenset[Status] = frozenset({Status.REMOVE})
) -> Iterator[tuple[Feature, tuple[Region, ...], tuple[Path | Loop, ...]]]:
    """Yield each building, the band of `wide` mm inside its outline as far as shown, and its inner rings."""
    from ..geometry.kernel.combine import difference

    for feature in on.brief.of(Role.BUILDING):
        if not isinstance(feature.shape, Region) or feature.status in without:
            continue
        inner = rooms(feature.shape, wide / on.view.factor)
        band = difference((feature.shape,), inner) if inner else (feature.shape,)
        window = window_of(feature, on.brief)
        shown = in_window(band, window)
        rings = tuple(
            on.view.path(p) if isinstance(p, Path) else on.view.loop(p) for r in inner for p in inside(r.outer, window)
        )
        if shown:
            yield feature, tuple(on.view.region(r) for r in shown), rings


def cut_walls(on: Stage) -> tuple[Region, ...]:
    """Return what is cut on plan: the walls of buildings, and walls that stand or will; no lettering stands on them."""
    walls = [surface.paper for surface in on.surfaces
             if surface.feature.role is Role.WALL and surface.feature.status is not Status.REMOVE]
    bands = [band for _, band, _ in _bands(on, wall_width(on.view))]
    return tuple(region for lot in (*walls, *bands) for region in lot)


def _around(regions: Sequence[Region]) -> Box:
    return Box.around(r.box for r in regions)


def obstacle_bands(on: Stage, marks: Sequence[Mark]) -> Iterator[Mark]:
    """Yield the bands inside buildings that say no tape passes."""
    boxes = text_boxes(marks)
    for _, band, _ in _bands(on, OBSTACLE_BAND, NOT_YET):
        clear = tuple(b for b in boxes if b.box.meets(_around(band)))
        yield texture("obstacle", band, clear=clear)


def tints(on: Stage) -> Iterator[Fill]:
    """Yield the tint of every surface, each seen part once; of a new building its walls alone."""
    for feature, band, _ in _bands(on, wall_width(on.view), frozenset({Status.REMOVE, Status.EXISTING})):
        yield from (tinted(surface_of(feature), paper, None, feature, on) for paper in band)
    for surface in on.surfaces:
        tone = surface_of(surface.feature)
        if tone and surface.feature.status is not Status.REMOVE and not _new_building(surface.feature):
            yield from (
                tinted(tone, paper, ground, surface.feature, on)
                for paper, ground in zip(surface.paper, surface.ground, strict=True)
            )


def _new_building(feature: Feature) -> bool:
    return feature.role is Role.BUILDING and feature.status is Status.PROPOSED


def tinted(tone: str, paper: Region, ground: Region | None, feature: Feature, on: Stage, layer: str = "tints") -> Fill:
    """Return an area filled with the tint of a surface."""
    known: Ground | None = replace(ground_of(feature, on.brief), shape=ground) if ground is not None else None
    return Fill(layer=layer, region=paper, tone=tone, classes=("tint", tone), ground=known)


def swatch(kind: str, feature: Feature, area: Region, on: Stage, layer: str) -> tuple[Mark, ...]:
    """Return a piece of a surface as the sheet draws it, for the key."""
    marks: list[Mark] = []
    if kind == "presentation" and surface_of(feature):
        marks.append(tinted(surface_of(feature), area, None, feature, on, layer))
    name = texture_of(feature)
    if not name:
        return tuple(marks)
    sample = _sample(kind, name, feature, area, on, layer)
    if sample:
        return (*marks, *sample)
    units, factor = feature.units, on.view.factor
    width = (units.width * factor if units else 0.0) if name != "boards" else BOARD * factor
    pitch = units.length * factor if units else 0.0
    if name == "brick-edge":
        width, pitch = area.box.height, max(BRICK * factor, 1.0)
    marks.append(texture(name, area, layer=layer, width=width, pitch=pitch, light=kind == "presentation", view=on.view))
    return tuple(marks)


def _sample(kind: str, name: str, feature: Feature, area: Region, on: Stage, layer: str) -> tuple[Mark, ...]:
    """Return a piece of the units as they are laid, moved into the key; nothing if the surface is too small for it."""
    from ..geometry.kernel.enclosure import inside_region

    if feature.units is None or not feature.units.joints:
        return ()
    wide, high = area.box.width / 2, area.box.height / 2
    for paper in (p for s in on.surfaces if s.feature is feature for p in s.paper):
        middle = paper.box.centre
        corners = [Point(middle.x + i * wide, middle.y + j * high) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        if all(inside_region(paper, corner) for corner in corners):
            window = Region(rectangle(Box(middle.x - wide, middle.y - high, middle.x + wide, middle.y + high)))
            pen = _joint_pen(kind, feature, on.view.factor)
            grown = feature.units if feature.units.courses else replace(feature.units, lay_from=on.view.ground(middle))
            cut = texture(name, window, layer=layer, pen=pen, units=grown, view=on.view)
            return moved((replace(cut, ground_lines=()),), area.box.centre - middle)
    return ()
