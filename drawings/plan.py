"""The plan under the lettering: every edge once in its pen, and what later things hide taken away.

Takes: features and a view. Gives: strokes, and the visible part of each surface for tints and textures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point
from .brief import Brief, shape_box
from .once import Drawn
from .pens import SURFACES, THING, WEIGHTS, pen_of
from .sheet import Ground, Group, Mark, Stroke, View

COVERS = {**dict.fromkeys(SURFACES, 0), Role.EDGE_BAND: 0, Role.STEPS: 1, Role.HEDGE: 2, Role.WALL: 3, Role.BUILDING: 4}
"""Roles that hide what lies under them; higher ones lie on lower ones, equals in the order of the model."""

LAYER = {"wall": "built", "building": "built", "steps": "built", "fence": "built", "hedge": "built", "post": "built",
         "overhead": "built", "boundary": "existing", "service": "existing", "edging": "thin"}

RAFTERS_APART = 4.0
"""Rafters nearer than this on paper are thinned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The visible part of a covering feature: on the ground and on paper, and whether it still is as the model has it."""

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
    for weight, feature, pen in _in_order(sheet, brief):
        if insert is not None and weight < insert.weight:
            marks += insert.draw(drawn)
            insert = None
        marks += _edges(sheet, feature, pen, brief, view, drawn)
    if insert is not None:
        marks += insert.draw(drawn)
    return Base(marks=tuple(marks), surfaces=tuple(visible))


def _rank(feature: Feature) -> int:
    return COVERS.get(feature.role, -1) if feature.status is not Status.REMOVE else -1


def covers_of(features: Sequence[Feature], index: int) -> tuple[Region, ...]:
    """Return the regions of features that hide parts of feature `index`."""
    own, box = (_rank(features[index]), index), shape_box(features[index])
    return tuple(f.shape for i, f in enumerate(features)
                 if (_rank(f), i) > own and _rank(f) >= 0 and isinstance(f.shape, Region) and f.shape.box.meets(box))


def visible_surfaces(brief: Brief, view: View) -> tuple[Surface, ...]:
    """Return what of each covering feature can be seen from above."""
    from ..geometry.kernel.combine import difference
    found = []
    order = sorted((i for i, f in enumerate(brief.features) if _rank(f) >= 0), key=lambda i: (_rank(brief.features[i]), i))
    for i in order:
        feature = brief.features[i]
        if isinstance(feature.shape, Region):
            covers = covers_of(brief.features, i)
            ground = difference((feature.shape,), covers) if covers else (feature.shape,)
            found.append(Surface(feature=feature, ground=ground, paper=tuple(view.region(r) for r in ground)))
    return tuple(found)


def _in_order(sheet: str, brief: Brief) -> Iterator[tuple[float, Feature, str]]:
    """Yield weight, feature and pen of all that a sheet draws: the heaviest first, the boundary before its equals."""
    pegged = brief.pegged
    kept = []
    for index, feature in enumerate(brief.features):
        pen = pen_of(sheet, feature.role, feature.status, feature.element in pegged)
        if pen and feature.role is not Role.POST:
            first = 3.5 if feature.role is Role.BOUNDARY else WEIGHTS[pen]
            kept.append((-first, index, feature, pen))
    for weight, _, feature, pen in sorted(kept, key=lambda item: item[:2]):
        yield -weight, feature, pen


def dash_of(feature: Feature) -> str:
    """Return the name of the dash that a feature's edges have."""
    if feature.role is Role.BOUNDARY:
        return "boundary"
    if feature.role is Role.SERVICE:
        return "service"
    if feature.status is Status.REMOVE:
        return "removed"
    return "overhead" if feature.role in {Role.BEAM, Role.RAFTER} else ""


def _lines(feature: Feature) -> tuple[Path | Loop, ...]:
    """Return the lines that a feature's edges are made of, metres."""
    shape = feature.shape
    if isinstance(shape, Region):
        return (shape.outer, *shape.holes)
    return (shape,) if isinstance(shape, Path) else ()


def ground_of(feature: Feature, brief: Brief) -> Ground:
    """Return what a feature is on the ground, for formats that hold the garden at 1:1."""
    return Ground(shape=feature.shape, role=feature.role.value, element=feature.element, part=feature.part,
                  kind=brief.kinds.get(feature.element, ""), build_up=brief.build_ups.get(feature.element, ""),
                  status=feature.status.value)


def _edges(sheet: str, feature: Feature, pen: str, brief: Brief, view: View, drawn: Drawn) -> Iterator[Mark]:
    """Yield a feature's edges as far as they are seen and not drawn yet, as one group that knows its ground."""
    thing = THING[feature.role]
    layer = LAYER.get(thing, "edges" if WEIGHTS[pen] >= WEIGHTS["edge"] else "thin")
    lines: list[Path | Loop] = list(_lines(feature))
    if not (sheet == "setting out" and feature.element in brief.pegged):
        lines = [piece for line in lines for piece in seen(line, feature, brief.features)]
    if feature.role is Role.RAFTER and not _kept_rafter(feature, brief, view):
        lines = []
    classes = tuple(dict.fromkeys((feature.role.value.replace(" ", "-"), feature.status.value)))
    strokes = [Stroke(layer=layer, path=piece, pen=pen, dash=dash_of(feature), classes=classes)
               for line in lines for piece in drawn.once(view.path(line) if isinstance(line, Path) else view.loop(line))]
    yield Group(layer=layer, classes=classes, marks=tuple(strokes), title=feature.element, ground=ground_of(feature, brief))


def seen(line: Path | Loop, feature: Feature, features: Sequence[Feature]) -> Iterator[Path | Loop]:
    """Yield the parts of a feature's line that nothing later hides."""
    if _rank(feature) < 0 or feature.role is Role.BUILDING:
        yield line
        return
    covers = [c for c in covers_of(features, features.index(feature)) if c.box.meets(line.box)]
    if not covers:
        yield line
        return
    from ..geometry.kernel.combine import clip
    pieces: list[Path] = [line.as_path() if isinstance(line, Loop) else line]
    for cover in covers:
        parts = [clip(piece, (cover,)) for piece in pieces]
        pieces = [p for part in parts for p in (*part.outside, *part.along)]
    yield from pieces


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

