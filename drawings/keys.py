"""The key: built from what is on the sheet and from nothing else.

Surfaces come first, then edges and walls; lines and marks in a column of their own. Millimetres on paper.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from . import symbols
from .crosses import crosses
from .draft import Nib, filled, rectangle
from .lengths import bare_area, in_feet, in_inches
from .lettering import width
from .panel import LAYER, KeyEntry
from .pens import SOFT, SURFACES, drawn, pen_of
from .plan import CROSSED, boundary_shows
from .planned import Stage
from .sheet import Mark
from .surfaces import WALL_SWATCH, new_walls, surface_of, swatch
from .wrapping import FIGURES

ORDER = (
    *(Role.TURF, Role.PAVING, Role.LOOSE, Role.CONCRETE, Role.DECK, Role.WATER, Role.PLANTING),
    Role.EDGE_BAND,
    Role.HEDGE,
    Role.WALL,
)

HARD_ORDER = tuple(r for r in ORDER if r not in {Role.TURF, Role.PLANTING, Role.HEDGE})

WORDS = {
    "turf": "Turf",
    "planting": "Planting",
    "slabs": "Slabs",
    "setts": "Setts",
    "blocks": "Blocks",
    "gravel": "Gravel",
    "water": "Water",
    "boards": "Timber boards",
    "brick-edge": "Brick on edge",
    "hedge": "Hedge",
    "brick": "Brick wall",
    "concrete": "Concrete",
    "stone": "Stone",
    "timber": "Timber",
}


def surface_entries(kind: str, on: Stage) -> tuple[KeyEntry, ...]:
    """Return an entry for each surface of the sheet: swatch, name, where, net area in m²."""
    groups: dict[str, list[Feature]] = {}
    for surface in on.surfaces:
        feature = surface.feature
        wanted = HARD_ORDER if kind == "hardscape" else ORDER
        if feature.role in wanted and drawn(kind, feature.role) and feature.status is not Status.REMOVE:
            groups.setdefault(_group(feature), []).append(feature)
    found = sorted(groups.values(), key=lambda features: ORDER.index(features[0].role))
    return tuple(_surface(kind, features[0].role, surface_of(features[0]), features, on) for features in found)


def _group(feature: Feature) -> str:
    """Return what features must share to have one entry: the surface, and walls apart from what lies flat."""
    flat = "" if feature.role is not Role.WALL else "wall "
    return flat + surface_of(feature)


def _surface(kind: str, role: Role, name: str, features: list[Feature], on: Stage) -> KeyEntry:
    area = sum(f.shape.area for f in features if isinstance(f.shape, Region))
    where = [on.brief.labels.get(e) or e for e in dict.fromkeys(f.element for f in features) if e]
    words = _named(where)
    unit = next((f.units.name for f in features if f.units and f.units.name), "")
    if in_feet(on.brief.unit):
        unit = in_inches(unit)
    remark = unit or words
    title = WORDS.get(name, name[:1].upper() + name[1:])
    if role is Role.WALL:
        title = title.removesuffix(" wall") + " wall, cut"
    elif name == "brick":
        title = "Bricks"
    feature = next((f for f in features if f.units), features[0])
    return KeyEntry(title, remark, bare_area(area, on.brief.unit), lambda box: _framed(kind, feature, box, on))


ROOM = 48.0
"""Names of elements stand in a key as far as they fit on one line so long, mm."""


def _named(labels: list[str]) -> str:
    """Return the names of elements in a row, or the first of them and how many more there are."""
    for count in range(len(labels), 0, -1):
        words = ", ".join(labels[:count]) + (f" and {len(labels) - count} more" if count < len(labels) else "")
        if count == 1 or width(words, "regular", FIGURES) <= ROOM:
            return words
    return ""


def _framed(kind: str, feature: Feature, box: Box, on: Stage) -> tuple[Mark, ...]:
    """Return a swatch: a piece of the surface as the sheet draws it, outlined; cut walls heavily."""
    pen = "cut" if feature.role is Role.WALL and kind in {"layout", "hardscape"} else "thin"
    return (*swatch(kind, feature, Region(rectangle(box)), on, LAYER), Nib(LAYER, pen).box(box))


def line_entries(kind: str, on: Stage, furniture: bool = False) -> tuple[KeyEntry, ...]:
    """Return an entry for each kind of line, tree and mark on the sheet; `furniture` if it is not named on the plan."""
    entries = tuple(_lines(kind, on))
    return (*entries, *_furniture(on)) if furniture else entries


def _furniture(on: Stage) -> Iterator[KeyEntry]:
    """Yield an entry for each symbol of furniture, with the names of all that it stands for."""
    found: dict[str, list[str]] = {}
    for feature in on.brief.of(Role.FURNITURE):
        names = found.setdefault(feature.symbol, [])
        name = on.brief.label(feature.element)
        names += [name] if name not in names else []
    for symbol, names in found.items():
        yield KeyEntry(", ".join(names), "", "", _symbol(symbol))


def _symbol(name: str) -> Callable[[Box], tuple[Mark, ...]]:
    def draw(box: Box) -> tuple[Mark, ...]:
        at = box.centre
        if name == "seat":
            return (symbols.seat(at, 11.0, 4.4, 0.0, LAYER),)
        if name == "gate":
            half = Vec(4.0, -1.5)
            return (symbols.gate(at + Vec(-half.dx, half.dy), at + half, True, LAYER),)
        if name == "sundial":
            return (symbols.sundial(at, 2.4, 0.0, LAYER),)
        return (symbols.pot(at, 2.2, LAYER),) if name == "pot" else (symbols.table(at, 6.0, 4.0, 0.0, LAYER),)

    return draw


def _lines(kind: str, on: Stage) -> Iterator[KeyEntry]:
    features = on.brief.features
    crowns = {f.status for f in features if f.role is Role.CROWN}
    for status, name, remark in (
        (Status.EXISTING, "Tree that stays", "crown as surveyed"),
        (Status.PROPOSED, "New tree", "crown at full growth"),
        (Status.REMOVE, "Tree to go", "with its stump"),
    ):
        if status in crowns and kind in {"layout", "presentation"}:
            yield KeyEntry(name, remark, "", _tree(status))
    for status, name, remark in ((Status.EXISTING, "Building", "as it stands"), (Status.PROPOSED, "New building", "")):
        pen = pen_of(kind, Role.BUILDING, status)
        if pen and any(f.role is Role.BUILDING and f.status is status for f in features):
            yield KeyEntry(name, remark, "", _building(kind, status, pen))
    yield from _edges(kind, features)
    for role, name, remark in (
        (Role.BEAM, "Overhead", "beams and rafters"),
        (Role.FENCE, "Fence", ""),
        (Role.BOUNDARY, "Boundary", ""),
    ):
        found = _shown(kind, role, features)
        if found is not None and (role is not Role.BOUNDARY or boundary_shows(on.brief, on.view)):
            yield KeyEntry(name, remark, "", _line(pen_of(kind, role, found.status), role))
    service = next((f for f in features if f.role is Role.SERVICE), None)
    if service is not None and drawn(kind, Role.SERVICE):
        yield KeyEntry("Buried service", "arrow with the flow", "", _service)
    if any(f.status is Status.REMOVE and f.role in CROSSED and pen_of(kind, f.role, f.status) for f in features):
        yield KeyEntry("To go", "dashed and crossed", "", _to_go)
    yield from _signs(kind, on)


def _edges(kind: str, features: tuple[Feature, ...]) -> Iterator[KeyEntry]:
    """Yield what the edge of a new surface is and that of one that stays, where a sheet has both."""
    if kind in {"layout", "presentation", "hardscape"}:
        found = {f.status for f in features if f.role in SURFACES and not (kind == "hardscape" and f.role in SOFT)}
        if {Status.EXISTING, Status.PROPOSED} <= found:
            yield KeyEntry("New edge", "", "", _line(pen_of(kind, Role.PAVING, Status.PROPOSED), Role.PAVING))
            yield KeyEntry("Edge that stays", "", "", _line(pen_of(kind, Role.PAVING, Status.EXISTING), Role.PAVING))


def _shown(kind: str, role: Role, features: tuple[Feature, ...]) -> Feature | None:
    """Return a feature of a role that a sheet shows, one that stays or is new; None if there is none."""
    if not drawn(kind, role):
        return None
    return next((f for f in features if f.role is role and f.status is not Status.REMOVE), None)


def _to_go(box: Box) -> tuple[Mark, ...]:
    line = Path.through((Point(box.x0, box.centre.y), Point(box.x1, box.centre.y)))
    return (Nib(LAYER, "thin", "removed").path(line), *crosses(line, LAYER, every=7.0))


def _signs(kind: str, on: Stage) -> Iterator[KeyEntry]:
    levels = [f for f in on.brief.of(Role.LEVEL) if kind in {"layout", "levels"}]
    if any(f.status is Status.PROPOSED for f in levels):
        yield KeyEntry("New level", "", "", lambda box: _level(box, underlined=True))
    if any(f.status is Status.EXISTING for f in levels):
        yield KeyEntry("Level that stays", "", "", lambda box: _level(box, underlined=False))
    if on.brief.of(Role.FALL) and kind in {"layout", "hardscape", "levels"}:
        yield KeyEntry("Fall", "arrow points down", "", _fall)
    if on.brief.of(Role.STEP_ARROW) and kind != "planting":
        yield KeyEntry("Steps", "arrow points up", "", _steps)
    if kind == "hardscape" and on.brief.of(Role.LAY_FROM):
        from .things import lay_from_sign

        yield KeyEntry("Lay from here", "corner of the first unit", "", lambda box: (lay_from_sign(box.centre, 0.0),))
    if kind == "hardscape" and on.brief.section_marks:
        yield KeyEntry("Section", "seen the way that it points", "", _section)


def _section(box: Box) -> tuple[Mark, ...]:
    start = Point(box.x0 + 0.5, box.centre.y - symbols.NIB / 2)
    return (symbols.section_mark(start, 0.0, math.pi / 2, "A", LAYER),)


def _tree(status: Status) -> Callable[[Box], tuple[Mark, ...]]:
    def draw(box: Box) -> tuple[Mark, ...]:
        return (symbols.tree(box.centre, 3.0, status.value),)

    return draw


def _building(kind: str, status: Status, pen: str) -> Callable[[Box], tuple[Mark, ...]]:
    """Return what a building looks like on a sheet: cut, filled, or its outline alone; new ones apart."""
    if kind == "presentation":
        return _filled(pen, WALL_SWATCH / 2 if status is Status.PROPOSED else 0.0)
    new = status is Status.PROPOSED and kind in {"layout", "hardscape"}
    return _new_wall(pen) if new else _line(pen, Role.BUILDING)


def _filled(pen: str, wall: float) -> Callable[[Box], tuple[Mark, ...]]:
    def draw(box: Box) -> tuple[Mark, ...]:
        room = (filled(LAYER, rectangle(box.grown(-wall)), "white"),) if wall else ()
        return (filled(LAYER, rectangle(box), "building"), *room, Nib(LAYER, pen).box(box))

    return draw


def _new_wall(pen: str) -> Callable[[Box], tuple[Mark, ...]]:
    def draw(box: Box) -> tuple[Mark, ...]:
        y = box.centre.y
        wall = Box(box.x0, y - WALL_SWATCH / 2, box.x1, y + WALL_SWATCH / 2)
        return (*new_walls(Region(rectangle(wall)), LAYER), Nib(LAYER, pen).across(wall.x0, wall.x1, wall.y0),
                Nib(LAYER, "thin").across(wall.x0, wall.x1, wall.y1))

    return draw


def _line(pen: str, role: Role, dash: str = "") -> Callable[[Box], tuple[Mark, ...]]:
    dashes = {Role.BEAM: "overhead", Role.BOUNDARY: "boundary"}

    def draw(box: Box) -> tuple[Mark, ...]:
        line = Nib(LAYER, pen, dash or dashes.get(role, "")).across(box.x0, box.x1, box.centre.y)
        posts = [box.x0 + share * box.width for share in (0.1, 0.5, 0.9)] if role is Role.FENCE else []
        return (line, *(symbols.post(Point(x, box.centre.y), 1.3, layer=LAYER) for x in posts))

    return draw


def _service(box: Box) -> tuple[Mark, ...]:
    line = Path.through((Point(box.x0, box.centre.y), Point(box.x1, box.centre.y)))
    return (Nib(LAYER, "mark", "service").path(line), *symbols.flow_chevrons(line, layer=LAYER))


def _level(box: Box, underlined: bool) -> tuple[Mark, ...]:
    from .panel import text

    at = Point(box.x0 + 2, box.centre.y)
    marks: list[Mark] = [symbols.level_cross(at, LAYER), text(at.x + 1.7, -(at.y - 1.25), "9.94")]
    if underlined:
        marks.append(Nib(LAYER, "thin").across(at.x + 1.7, at.x + 8.8, at.y - 2.0))
    return tuple(marks)


def _fall(box: Box) -> tuple[Mark, ...]:
    return (symbols.fall(Point(box.centre.x, box.centre.y - 1.4), 0.0, "1:60", layer=LAYER),)


def _steps(box: Box) -> tuple[Mark, ...]:
    path = Path.through((Point(box.x0 + 1, box.centre.y), Point(box.x1 - 0.5, box.centre.y)))
    return (symbols.steps_arrow(path, LAYER),)


def turned(degrees: float) -> float:
    """Return degrees as radians."""
    return math.radians(degrees)
