"""The plan under the lettering: every edge once in its pen, and what later things hide taken away.

Takes: features and a view. Gives: strokes, and the visible part of each surface for tints and textures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.segment import Line
from .brief import Brief, shape_box
from .crosses import LONE, crosses
from .draft import rectangle
from .hidden import COVERS, Cover, bared, covers, covers_of, rank, seen
from .once import Drawn
from .pens import THING, WEIGHTS, pen_of
from .sheet import Ground, Group, Mark, Stroke, View
from .symbols import break_line

LAYER = {
    "wall": "built",
    "building": "built",
    "steps": "built",
    "fence": "built",
    "hedge": "built",
    "post": "built",
    "overhead": "built",
    "boundary": "edges",            # under the posts that stand on it
    "service": "existing",
    "edging": "thin",
}

CROSSED = frozenset({*COVERS, Role.FENCE, Role.BEAM, Role.SERVICE})
"""Roles whose outline carries crosses where the thing is to go."""

BESIDE = 0.8
"""A fence nearer to the boundary than this on paper has no line of its own, nor a coping so near to its wall's, mm."""

RAFTERS_APART = 4.0
"""Rafters nearer than this on paper are thinned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The visible part of a covering feature: on the ground and on paper."""

    feature: Feature
    ground: tuple[Region, ...]
    paper: tuple[Region, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """Strokes of a plan in their pens, and its visible surfaces in drawing order."""

    marks: tuple[Mark, ...]
    surfaces: tuple[Surface, ...]


@dataclass(frozen=True, slots=True)
class Insert:
    """Lines that a sheet adds among the edges: drawn after all that weigh more, subtracted from all that weigh less."""

    weight: float
    draw: Callable[[Drawn], Sequence[Mark]]


BEFORE_BOUNDARY, AMONG_EDGES = 3.6, 3.4
"""Weights of inserts: before the boundary, or after it and before other edges."""


def base(sheet: str, brief: Brief, view: View, visible: Sequence[Surface], insert: Insert | None = None) -> Base:
    """Draw the edges of all features for a sheet; `visible` are the surfaces as seen from above."""
    drawn = Drawn()
    marks: list[Mark] = []
    inserts = [insert] if insert is not None else []
    if sheet == "setting out":
        inserts.append(Insert(AMONG_EDGES, lambda once: _to_peg(brief, view, once)))
    hiding = covers(brief.features)
    for weight, index, pen in _in_order(sheet, brief):
        while inserts and weight < inserts[0].weight:
            marks += inserts.pop(0).draw(drawn)
        marks += _edges(sheet, index, pen, brief, view, drawn, hiding)
    for left in inserts:
        marks += left.draw(drawn)
    return Base(marks=(*marks, *broken_off(brief, view)), surfaces=tuple(visible))


def _to_peg(brief: Brief, view: View, drawn: Drawn) -> tuple[Group, ...]:
    """Return the very lines that were pegged, as edges: the outer edge of an edging, the face of a wall.

    Each knows its line on the ground, whole, whether or not a stretch of it is drawn by another edge already.
    """
    return tuple(
        Group(
            layer="edges",
            classes=("to-peg",),
            ground=Ground(shape=line, role="line to peg", element=element, kind=brief.kinds.get(element, "")),
            marks=tuple(
                Stroke(layer="edges", path=piece, pen="edge", classes=("to-peg",))
                for shown in inside(line, brief.window)
                for piece in drawn.once(view.path(shown) if isinstance(shown, Path) else view.loop(shown))
            ),
        )
        for element, lines in brief.outlines.items()
        for line in lines
    )


def visible_surfaces(brief: Brief, view: View) -> tuple[Surface, ...]:
    """Return what of each covering feature can be seen from above."""
    found = []
    order = sorted(
        (i for i, f in enumerate(brief.features) if rank(f) >= 0), key=lambda i: (rank(brief.features[i]), i)
    )
    hiding = covers(brief.features)
    for i in order:
        feature = brief.features[i]
        if isinstance(feature.shape, Region):
            above, own = covers_of(feature, i, hiding), solid(feature, brief.features)
            ground = bared(own, tuple(c.region for c in above)) if above else own
            ground = in_window(ground, window_of(feature, brief))
            found.append(Surface(feature=feature, ground=ground, paper=tuple(view.region(r) for r in ground)))
    return tuple(found)


def _in_order(sheet: str, brief: Brief) -> Iterator[tuple[float, int, str]]:
    """Yield weight, number of the feature and pen of all that is drawn: the heaviest first, the boundary first."""
    pegged = brief.pegged - brief.outlines.keys()
    kept = []
    for index, feature in enumerate(brief.features):
        pen = pen_of(sheet, feature.role, feature.status, feature.element in pegged)
        if pen and feature.role is not Role.POST:
            first = 3.5 if feature.role is Role.BOUNDARY else WEIGHTS[pen]
            kept.append((-first, index, pen))
    for weight, index, pen in sorted(kept):
        yield -weight, index, pen


def dash_of(feature: Feature) -> str:
    """Return the name of the dash that a feature's edges have."""
    if feature.role is Role.BOUNDARY:
        return "boundary"
    if feature.role is Role.SERVICE:
        return "service"
    if feature.status is Status.REMOVE:
        return "removed"
    return "overhead" if feature.role in {Role.BEAM, Role.RAFTER} else ""


def solid(feature: Feature, features: Sequence[Feature]) -> tuple[Region, ...]:
    """Return the region of a feature: of a wall what is cut, without its openings over a sill."""
    if not isinstance(feature.shape, Region):
        return ()
    gaps = [f.shape for f in features if f.role is Role.WALL_OPENING and f.element == feature.element]
    if feature.role is not Role.WALL or not gaps:
        return (feature.shape,)
    from ..geometry.kernel.combine import difference

    return difference((feature.shape,), [gap for gap in gaps if isinstance(gap, Region)])


def _lines(feature: Feature, features: Sequence[Feature]) -> tuple[Path | Loop, ...]:
    """Return the lines that a feature's edges are made of, metres."""
    shape = feature.shape
    if isinstance(shape, Region):
        return tuple(ring for region in solid(feature, features) for ring in (region.outer, *region.holes))
    return (shape,) if isinstance(shape, Path) else ()


def ground_of(feature: Feature, brief: Brief) -> Ground:
    """Return what a feature is on the ground, for formats that hold the garden at 1:1."""
    return Ground(
        shape=feature.shape,
        role=feature.role.value,
        element=feature.element,
        part=feature.part,
        kind=brief.kinds.get(feature.element, ""),
        build_up=brief.build_ups.get(feature.element, ""),
        status=feature.status.value,
    )


def _edges(sheet: str, index: int, pen: str, brief: Brief, view: View, drawn: Drawn, hiding: Sequence[Cover],
           ) -> Iterator[Mark]:
    """Yield a feature's edges as far as they are seen and not drawn yet, as one group that knows its ground."""
    feature = brief.features[index]
    thing = THING[feature.role]
    layer = LAYER.get(thing, "edges" if WEIGHTS[pen] >= WEIGHTS["edge"] else "thin")
    lines: list[Path | Loop] = list(_lines(feature, brief.features))
    if not (sheet == "setting out" and feature.element in brief.pegged):
        above = covers_of(feature, index, hiding) if rank(feature) >= 0 and feature.role is not Role.BUILDING else ()
        lines = [piece for line in lines for piece in seen(line, above)]
    lines = [piece for line in lines for piece in inside(line, window_of(feature, brief))]
    if feature.role is Role.RAFTER and not _kept_rafter(feature, brief, view):
        lines = []
    classes = tuple(dict.fromkeys((feature.role.value.replace(" ", "-"), feature.status.value)))
    paper = [view.path(line) if isinstance(line, Path) else view.loop(line) for line in lines]
    if feature.role is Role.FENCE:
        paper = [piece for line in paper for piece in _outlined(brief.of(Role.BOUNDARY), view).rest(line, BESIDE)]
    elif feature.role is Role.COPING:
        own = [f for f in brief.of(Role.WALL) if f.element == feature.element]
        rest = [piece for line in paper for piece in _outlined(own, view).rest(line, BESIDE)]
        paper = [piece for piece in rest if piece.length > 2 * BESIDE]
    elif feature.role is Role.BOUNDARY:
        paper = [piece for line in paper for piece in _outlined(_walls(brief), view).rest(line)]
    strokes = [
        Stroke(layer=layer, path=piece, pen=pen, dash=dash_of(feature), classes=classes)
        for line in paper
        for piece in drawn.once(line)
    ]
    if feature.status is Status.REMOVE and feature.role in CROSSED:
        strokes += _crossed(strokes, layer, drawn.crosses)
    yield Group(
        layer=layer, classes=classes, marks=tuple(strokes), title=feature.element, ground=ground_of(feature, brief)
    )


def _crossed(strokes: Sequence[Stroke], layer: str, done: list[Point]) -> list[Stroke]:
    """Return the crosses of a thing that is to go; short pieces beside longer ones have none of their own."""
    found: list[Stroke] = []
    for stroke in sorted(strokes, key=lambda s: -round(s.path.length, 6)):
        if stroke.path.length > LONE or not found:
            found += crosses(stroke.path, layer, done)
    return found


def _walls(brief: Brief) -> tuple[Feature, ...]:
    """Return the walls and buildings that stand or will: one that stands on the boundary is drawn in its place."""
    return tuple(f for f in brief.of(Role.WALL, Role.BUILDING) if f.status is not Status.REMOVE)


def boundary_shows(brief: Brief, view: View) -> bool:
    """Say whether any of the boundary has a line of its own: walls may stand all along it."""
    walls = _outlined(_walls(brief), view)
    lines = [line for feature in brief.of(Role.BOUNDARY) for line in _lines(feature, ())]
    return any(walls.rest(view.path(line) if isinstance(line, Path) else view.loop(line)) for line in lines)


def _outlined(features: Sequence[Feature], view: View) -> Drawn:
    """Return the outlines of features as drawn: two lines on each other would be a blot.

    A fence on the boundary is told by its posts.
    """
    found = Drawn()
    for feature in features:
        for line in _lines(feature, ()):
            found.add(view.path(line) if isinstance(line, Path) else view.loop(line))
    return found


def window_of(feature: Feature, brief: Brief) -> Box | None:
    """Return the ground that a feature is shown in: the sheet's own; for buildings what is not broken off."""
    if brief.window is not None:
        return brief.window
    return brief.extent if feature.role is Role.BUILDING else None


def inside(line: Path | Loop, window: Box | None) -> Iterator[Path | Loop]:
    """Yield the parts of a line inside a window."""
    if window is None or _holds(window, line.box):
        yield line
        return
    if not window.meets(line.box):
        return
    from ..geometry.kernel.combine import clip

    parts = clip(line.as_path() if isinstance(line, Loop) else line, (Region(rectangle(window)),))
    yield from (*parts.inside, *parts.along)


def _holds(box: Box, other: Box) -> bool:
    near = 1e-6
    return (
        box.x0 - near <= other.x0
        and box.y0 - near <= other.y0
        and other.x1 <= box.x1 + near
        and other.y1 <= box.y1 + near
    )


def shown_at(at: Point, brief: Brief) -> bool:
    """Say whether a point lies in the part of the ground that the sheet shows."""
    w = brief.window
    return w is None or (w.x0 <= at.x <= w.x1 and w.y0 <= at.y <= w.y1)


def shown_whole(feature: Feature, brief: Brief) -> bool:
    """Say whether a thing stands on the ground that the sheet shows; of a crown the stem is enough."""
    if brief.window is None:
        return True
    if feature.role is Role.CROWN and isinstance(feature.shape, Point) and not brief.close:
        return shown_at(feature.shape, brief)
    return _holds(brief.window, shape_box(feature))


def in_window(regions: tuple[Region, ...], window: Box | None) -> tuple[Region, ...]:
    """Return the parts of areas inside a window."""
    if window is None or all(_holds(window, r.box) for r in regions):
        return regions
    from ..geometry.kernel.combine import common

    near = tuple(r for r in regions if r.box.meets(window))
    return common(near, (Region(rectangle(window)),)) if near else ()


def broken_off(brief: Brief, view: View) -> tuple[Stroke, ...]:
    """Return the break lines of buildings that run on beyond what is shown."""
    strokes: list[Stroke] = []
    window = brief.window or brief.extent
    for feature in brief.of(Role.BUILDING):
        if isinstance(feature.shape, Region) and not _holds(window, feature.shape.box):
            for region in in_window((feature.shape,), window):
                strokes += [
                    break_line(view.point(s.start), view.point(s.end))
                    for s in region.outer.segments
                    if isinstance(s, Line) and _on_rim(s, window) and s.length * view.factor > 6
                ]
    return tuple(strokes)


def _on_rim(line: Line, box: Box) -> bool:
    near = 1e-4
    level = any(abs(line.start.y - y) < near and abs(line.end.y - y) < near for y in (box.y0, box.y1))
    return level or any(abs(line.start.x - x) < near and abs(line.end.x - x) < near for x in (box.x0, box.x1))


def _kept_rafter(feature: Feature, brief: Brief, view: View) -> bool:
    """Say whether a rafter is drawn: they are thinned so that they stand 4 mm apart or more."""
    own = [f for f in brief.features if f.role is Role.RAFTER and f.element == feature.element]
    middles = [_middle(f) for f in own]
    if len(own) < 2:
        return True
    pitch = middles[0].distance(middles[1]) * view.factor
    every = 1 if not pitch > 0 else max(1, -int(-RAFTERS_APART // pitch))
    return own.index(feature) % every == 0


def _middle(feature: Feature) -> Point:
    assert isinstance(feature.shape, Path)
    return feature.shape.start.toward(feature.shape.end, 0.5)


HOUSE_WALL, LEAST_WALL = 0.3, 1.8
"""The wall of a house whose thickness nobody gave, metres; what it is drawn at the least, mm."""


def wall_width(view: View) -> float:
    """Return the width at which the walls of buildings are drawn, mm."""
    return max(LEAST_WALL, HOUSE_WALL * view.factor)


def rooms(shape: Region, walls: float) -> tuple[Region, ...]:
    """Return what lies inside the walls of a building, `walls` metres thick; nothing if it is all wall."""
    from ..geometry.kernel.offset import Corners, grown

    return grown((shape,), -walls, Corners.SQUARE)
