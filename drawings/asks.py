"""What is to be lettered on a plan: names of places, sizes, levels. Only what to say, never where.

Takes: features, their visible surfaces and a view. Gives: requests in paper millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.station import project
from .brief import Brief
from .draft import rectangle
from .lengths import area, length
from .lettering import broken
from .pens import SURFACES, drawn, pen_of
from .plan import Surface, in_window, inside, rooms, shown_at, shown_whole, wall_width, window_of
from .requests import AreaLabel, ColumnLabel, LineLabel, PointLabel, Request, Words
from .sheet import View
from .things import reach_of
from .wrapping import FIGURES, NAMES

LONGEST_NAME = 44.0
"""A name longer than this on paper breaks into lines."""

CORNER = 120.0
"""A corner of a thing smaller than this (mm²) is not named again on a part of a split plan."""

SMALL = 150.0
"""Areas under this (mm² on paper) are named in 2.5, beside them if need be."""

_NAMED = (*sorted(SURFACES, key=lambda r: r.value), Role.STEPS)
_NAMED_TO_GO = (*_NAMED, Role.EDGE_BAND)


def name_lines(
    words: str, style: str = "bold", capitals: float = NAMES, longest: float = LONGEST_NAME
) -> tuple[Words, ...]:
    """Return a name in lines."""
    return tuple(Words(line, style, capitals) for line in broken(words, longest, style, capitals))


def small_lines(words: str, longest: float = 34.0, style: str = "regular") -> tuple[Words, ...]:
    """Return words of 2.5 in lines."""
    return tuple(Words(line, style, FIGURES) for line in broken(words, longest, style, FIGURES))


def names(sheet: str, brief: Brief, view: View, surfaces: Sequence[Surface], areas: bool = True) -> Iterator[Request]:
    """Yield the names of all things that a sheet draws, each element once; of many alike only one."""
    found = list(_names(sheet, brief, view, surfaces, areas))
    alike: dict[object, list[AreaLabel]] = {}
    for request in found:
        if isinstance(request, AreaLabel):
            alike.setdefault(request.lines, []).append(request)
    for request in found:
        same = alike[request.lines] if isinstance(request, AreaLabel) else []
        if not isinstance(request, AreaLabel) or len(same) < MANY:
            yield request
        elif request is same[0]:
            words = Words(f"one of {len(same)} alike")
            yield replace(request, regions=tuple(r for s in same for r in s.regions), lines=(*request.lines, words))


MANY = 4
"""So many things of one name and size are named once."""


def _names(sheet: str, brief: Brief, view: View, surfaces: Sequence[Surface], areas: bool) -> Iterator[Request]:
    done: set[str] = set()
    for surface in _largest_first(surfaces):
        feature = surface.feature
        if feature.role in _NAMED and feature.element not in done and surface.paper:
            own = tuple(s for s in surfaces if s.feature.element == feature.element and s.feature.role is feature.role)
            done.add(feature.element)
            if brief.window is None or sum(r.area for s in own for r in s.paper) > CORNER:
                yield _area(brief, feature, own, areas)
    for feature in brief.features:
        if feature.element and feature.element not in done and feature.role in _OTHERS and drawn_there(sheet, feature):
            done.add(feature.element)
            yield from _OTHERS[feature.role](brief, feature, view)
    yield from _to_go(sheet, brief, view, done)


def _to_go(sheet: str, brief: Brief, view: View, done: set[str]) -> Iterator[AreaLabel]:
    """Yield the names of areas that are to go: they are no surfaces, for they hide nothing."""
    for feature in brief.features:
        if feature.status is Status.REMOVE and feature.role in _NAMED_TO_GO and feature.element not in done:
            own = [f for f in brief.features if f.element == feature.element and f.role is feature.role]
            shown = [Surface(feature=f, ground=g, paper=tuple(view.region(r) for r in g)) for f in own
                     if isinstance(f.shape, Region) for g in (in_window((f.shape,), window_of(f, brief)),) if g]
            if shown and drawn_there(sheet, feature):
                done.add(feature.element)
                yield _area(brief, feature, shown, areas=True)


def drawn_there(sheet: str, feature: Feature) -> bool:
    """Say whether a sheet shows a feature, so that it may be named."""
    if feature.role is Role.CROWN:
        return sheet in {"layout", "presentation"}
    return drawn(sheet, feature.role) and bool(pen_of(sheet, feature.role, feature.status))


def _fate(feature: Feature) -> tuple[Words, ...]:
    """Return what is said of a thing that is to go; nothing of another."""
    return (Words("to go"),) if feature.status is Status.REMOVE else ()


def _largest_first(surfaces: Sequence[Surface]) -> list[Surface]:
    return sorted(surfaces, key=lambda s: -sum(r.area for r in s.ground))


def _area(brief: Brief, feature: Feature, own: Sequence[Surface], areas: bool) -> AreaLabel:
    regions = tuple(r for s in own for r in s.paper)
    ground = sum(s.feature.shape.area for s in own if isinstance(s.feature.shape, Region))
    planted = feature.role is Role.PLANTING
    large = sum(r.area for r in regions) >= SMALL
    style = "italic" if planted and large else "bold"
    lines = name_lines(brief.label(feature.element), style, NAMES if large else FIGURES)
    more: tuple[Words, ...] = ()
    if feature.status is Status.REMOVE:
        more = (Words("to go"),)
    elif feature.role is Role.STEPS:
        more = small_lines(feature.note) if areas and feature.note else ()
    elif areas:
        more = (*_size(feature, brief), Words(area(ground, brief.unit)))
    return AreaLabel(name=f"name {feature.element}", regions=regions, lines=(*lines, *more))


def _size(feature: Feature, brief: Brief) -> tuple[Words, ...]:
    """Return the size of a plain rectangle or circle, to go above the area."""
    shape = feature.shape
    if not isinstance(shape, Region) or shape.holes:
        return ()
    if shape.outer.is_circle:
        return ()
    box = shape.box
    if len(shape.outer.segments) == 4 and abs(box.width * box.height - shape.area) < 1e-6 * max(1.0, shape.area):
        return (Words(f"{length(box.width, brief.unit)} × {length(box.height, brief.unit)}"),)
    return ()


def _crown(brief: Brief, feature: Feature, view: View) -> Iterator[Request]:
    if not isinstance(feature.shape, Point) or not shown_whole(feature, brief):
        return
    at = view.point(feature.shape)
    radius = max(feature.size * view.factor / 2, 1.5)
    word = {"existing": "stays", "remove": "to go"}.get(feature.status.value, "new")
    lines = (*small_lines(brief.label(feature.element), style="bold"), Words(word))
    free = 2.6  # the planting point or stem stays clear
    holes = (Loop.circle(at, free),) if radius > free + 0.5 else ()
    yield AreaLabel(name=f"name {feature.element}", regions=(Region(Loop.circle(at, radius), holes),), lines=lines)


def _line_thing(brief: Brief, feature: Feature, view: View) -> Iterator[Request]:
    lines = (*small_lines(brief.label(feature.element), style="bold"), *_said(brief, feature))
    if isinstance(feature.shape, Path):
        for path in _longest(feature.shape, brief):
            yield LineLabel(
                name=f"name {feature.element}", path=view.path(path), lines=lines, width=feature.width * view.factor
            )
    elif isinstance(feature.shape, Region):
        own = [f.shape for f in brief.features if f.element == feature.element and f.role is feature.role]
        shown = tuple(view.region(r) for s in own if isinstance(s, Region) for r in in_window((s,), brief.window))
        if shown:
            yield AreaLabel(name=f"name {feature.element}", lines=lines, regions=shown)


def _longest(path: Path, brief: Brief) -> tuple[Path, ...]:
    """Return the longest piece of a path that the sheet shows, if any."""
    pieces = [p for p in inside(path, brief.window) if isinstance(p, Path)]
    return (max(pieces, key=lambda p: (p.length, p.start.x, p.start.y)),) if pieces else ()


def _said(brief: Brief, feature: Feature) -> tuple[Words, ...]:
    """Return the second line of a wall, hedge or fence: the model's note, or its size."""
    size = [f"{length(feature.width, brief.unit)} wide"] if feature.width and feature.role is Role.HEDGE else []
    size += [f"{length(feature.height, brief.unit)} high"] if feature.height and feature.role is not Role.HEDGE else []
    words = brief.notes.get(feature.element, "") or ", ".join(filter(None, (feature.note, *size)))
    return _fate(feature) or (small_lines(words) if words else ())


def _service(brief: Brief, feature: Feature, view: View) -> Iterator[Request]:
    if isinstance(feature.shape, Path):
        words = feature.note or brief.labels.get(feature.element) or feature.element
        if feature.height and not brief.notes.get(feature.element):
            words += f", {length(feature.height, brief.unit)} deep"
        lines = (Words(words), *(_fate(feature) or _new(feature)))
        for path in _longest(feature.shape, brief):
            yield LineLabel(name=f"name {feature.element}", path=view.path(path), lines=lines, gap=1.4, on_line=True)


def _building(brief: Brief, feature: Feature, view: View) -> Iterator[Request]:
    if isinstance(feature.shape, Region):
        inside_walls = rooms(feature.shape, wall_width(view) / view.factor) or (feature.shape,)
        shown = in_window(inside_walls, window_of(feature, brief))
        if shown:
            yield AreaLabel(
                name=f"name {feature.element}",
                regions=tuple(view.region(r) for r in shown),
                lines=(Words(brief.label(feature.element)), *(_fate(feature) or _new(feature))),
                alone=feature.status is not Status.REMOVE,
            )


def _new(feature: Feature) -> tuple[Words, ...]:
    return (Words("new"),) if feature.status is Status.PROPOSED else ()


def _overhead(brief: Brief, feature: Feature, view: View) -> Iterator[Request]:
    if isinstance(feature.shape, Path):
        own = [f.shape for f in brief.features if f.element == feature.element and f.role is Role.BEAM]
        path = max((p for p in own if isinstance(p, Path)), key=lambda p: (p.length, p.start.x))
        over = [
            project(path, end).distance
            for f in brief.of(Role.RAFTER)
            if f.element == feature.element and isinstance(f.shape, Path)
            for end in (f.shape.start, f.shape.end)
        ]
        beyond = min(over, default=0.0) * view.factor + 1.2
        for piece in _longest(path, brief):
            yield LineLabel(
                name=f"name {feature.element}",
                path=view.path(piece),
                gap=max(2.2, beyond),
                lines=(*name_lines(brief.label(feature.element)), *_fate(feature)),
            )


def furniture(brief: Brief, view: View, column: bool) -> Iterator[Request]:
    """Yield the names of seats, pots and the like: beside them, or (with `column`) in the column if need be."""
    done: set[str] = set()
    for feature in brief.of(Role.FURNITURE):
        if isinstance(feature.shape, Point) and feature.element not in done and shown_whole(feature, brief):
            done.add(feature.element)
            lines = (*small_lines(brief.label(feature.element)), *_fate(feature))
            yield _thing(f"name {feature.element}", feature, view, lines, column)


def _thing(name: str, feature: Feature, view: View, lines: tuple[Words, ...], column: bool) -> Request:
    """Return the name of a thing at a point; beside its longer sides if it is oblong."""
    assert isinstance(feature.shape, Point)
    at = view.point(feature.shape)
    across, up = reach_of(feature, view.factor)
    if column:
        room = Region(rectangle(Box(at.x - across, at.y - up, at.x + across, at.y + up)))
        return AreaLabel(name=name, regions=(room,), lines=lines)
    least = min(across, up)
    label = PointLabel(name=name, at=at, leader=40.0, radius=least, lines=lines, classes=("label",), at_home=True,
                       gaps=(least + 0.8, least + 1.7, least + 2.6))
    oblong = max(across, up) > OBLONG * least
    return replace(label, places=BESIDE_WIDE if across > up else BESIDE_TALL) if oblong else label


OBLONG = 1.5
"""A thing so many times as long as it is deep is oblong."""

BESIDE_WIDE = ("above", "below", "above-right", "above-left", "below-right", "below-left")
BESIDE_TALL = ("right", "left", "right-high", "right-low", "left-high", "left-low")
"""Where the name of an oblong thing may stand without a leader: beside its longer sides."""


_OTHERS = {
    Role.CROWN: _crown,
    Role.WALL: _line_thing,
    Role.HEDGE: _line_thing,
    Role.FENCE: _line_thing,
    Role.SERVICE: _service,
    Role.BUILDING: _building,
    Role.BEAM: _overhead,
}


def levels(brief: Brief, view: View) -> Iterator[PointLabel]:
    """Yield the figures of spot levels: new ones underlined, those no longer true in brackets."""
    for number, feature in enumerate(brief.of(Role.LEVEL)):
        if isinstance(feature.shape, Point) and shown_at(feature.shape, brief):
            figure = length(feature.height, brief.unit)
            words = f"({figure})" if feature.status is Status.REMOVE else figure
            yield PointLabel(
                name=f"level {number:04d}",
                at=view.point(feature.shape),
                lines=(Words(words),),
                radius=0.9,
                gaps=(1.7, 2.4),
                underlined=feature.status is Status.PROPOSED,
                classes=("label", "level"),
            )


def column_label(name: str, at: Point, lines: tuple[Words, ...], side: str = "", dot: bool = False) -> ColumnLabel:
    """Return a label for the column at a side of the plan."""
    return ColumnLabel(name=name, at=at, lines=lines, side=side, dot=dot)
