"""What lies in the way of lettering: gathered from marks, then asked quickly for many places at once.

Heavy lines, lettering, filled symbols and signs keep lettering off; thin lines only make a place dearer.
Paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely

from ..geometry.kernel.flatten import coordinates, polygon
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from .blocks import advance, corner_box, drop, ink_corners, rise
from .oblong import Flags, Floats, Indices, Shapes, bounds, corners, crossing, grown, inner_length
from .raster import Raster, along
from .requests import Inked, Lettered, Obstacles, Sign, Words
from .sheet import Dimension, Fill, Group, Hatch, Mark, PegSign, Stroke, Text
from .signs_beside import Signs

HEAVY = 0.35
"""Lines of this width and wider are never touched by lettering (ISO line groups; the pen of edges)."""

THIN_CLEAR = 0.35
"""Lettering nearer to a thin line than this counts as lying on it, mm."""

HEAVY_CLEAR = 0.35
SOLID_CLEAR = 0.6
"""Clear space of lettering from heavy lines, and from other lettering and symbols, mm."""

LEADER_CLEAR = 0.5
"""Clear space of a leader from lettering, symbols and other leaders, mm."""

FLAT = 0.02
"""Arcs are tested as chords within this many mm; an order finer than any clear space asked for."""

ALONG, BESIDE = 1.5, 0.2
"""Two lines nearer than 0.2 mm over more than 1.5 mm look like one."""

SMALL_RING = 4.0
"""A ring no wider than this is read as a point; lettering beside it could be taken for its label."""

STRINGS = "recovery-line"
"""Class of lines that a reader follows across a plan; lettering keeps off them as far as it can."""

GAPPED, MOST_GAPPED = "service", 0.3
"""Class of lines that break round lettering, however heavy they are; the width that they count for at the most, mm."""

FEW = 100
"""Fewer boxes than this are tested one by one at first."""

WITHIN = 1.0
"""Points that stand for a filled area are this far apart, mm."""

LINE_LAYERS_FREE = frozenset({"tints", "shadows", "textures"})
"""Layers that lettering may lie on: their marks are left out where lettering stands."""


def lettered(text: Text) -> Lettered:
    """Return the ink box of a text mark."""
    words = Words(text.words, text.style, text.capitals)
    wide, below = advance(words), drop(words)
    back = wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
    cos, sin = math.cos(text.turn), math.sin(text.turn)
    corner = Point(text.at.x - back * cos + below * sin, text.at.y - back * sin - below * cos)
    return Lettered(corner=corner, width=wide, height=below + rise(words), turn=text.turn, name=text.words)


def _extent(marks: Iterable[Mark]) -> Box | None:
    boxes: list[Box] = []
    for mark in marks:
        if isinstance(mark, Stroke):
            boxes.append(mark.path.box)
        elif isinstance(mark, Fill):
            boxes.append(mark.region.box)
        elif isinstance(mark, Group | Dimension | PegSign):
            inner = _extent(mark.marks)
            boxes += [inner] if inner else []
    return Box.around(boxes) if boxes else None


def _stroke(stroke: Stroke, pens: Mapping[str, float]) -> Obstacles:
    if stroke.layer in LINE_LAYERS_FREE:
        return Obstacles()
    if "leader" in stroke.classes and isinstance(stroke.path, Path):
        return Obstacles(leaders=(stroke.path,))
    if GAPPED in stroke.classes and isinstance(stroke.path, Path):
        return Obstacles(lines=(Inked(stroke.path, min(pens[stroke.pen], MOST_GAPPED)),), strings=(stroke.path,))
    path, inked = stroke.path, (Inked(stroke.path, pens[stroke.pen]),)
    if isinstance(path, Loop) and path.is_circle and path.box.width <= SMALL_RING:
        return Obstacles(lines=inked, signs=(Sign(at=path.box.centre, radius=path.box.width / 2),))
    return Obstacles(lines=inked, strings=(path,) if STRINGS in stroke.classes and isinstance(path, Path) else ())


def _group(mark: Group, pens: Mapping[str, float]) -> Obstacles:
    if "leader" in mark.classes:
        runs = (m.path for m in mark.marks if isinstance(m, Stroke))
        return Obstacles(leaders=tuple(run for run in runs if isinstance(run, Path)))
    return gathered(mark.marks, pens)


def _one(mark: Mark, pens: Mapping[str, float]) -> Obstacles:
    if isinstance(mark, Text):
        return Obstacles(texts=(lettered(mark),))
    if isinstance(mark, Stroke):
        return _stroke(mark, pens)
    if isinstance(mark, Fill):
        solid = mark.layer not in LINE_LAYERS_FREE and mark.tone == "black"
        return Obstacles(bodies=(mark.region,) if solid else ())
    if isinstance(mark, PegSign):
        box = _extent(mark.marks)
        return Obstacles(signs=(Sign(at=box.centre, radius=max(box.width, box.height) / 2, owner=mark.number),)) \
            if box else Obstacles()
    if isinstance(mark, Dimension):
        found = gathered(mark.marks, pens)
        return replace(found, strings=tuple(ink.path for ink in found.lines if isinstance(ink.path, Path)))
    return Obstacles() if isinstance(mark, Hatch) else _group(mark, pens)


def gathered(marks: Iterable[Mark], pens: Mapping[str, float]) -> Obstacles:
    """Return what `marks` put in the way of lettering; `pens` gives the width of each pen in mm.

    Textures, tints and shadows are no obstacle: they give way to lettering. Pegs become signs owned by their number.
    """
    parts = [_one(mark, pens) for mark in marks]
    return Obstacles(
        lines=tuple(x for p in parts for x in p.lines), signs=tuple(x for p in parts for x in p.signs),
        texts=tuple(x for p in parts for x in p.texts), bodies=tuple(x for p in parts for x in p.bodies),
        closed=tuple(x for p in parts for x in p.closed), leaders=tuple(x for p in parts for x in p.leaders),
        strings=tuple(x for p in parts for x in p.strings), walls=tuple(x for p in parts for x in p.walls))


def text_region(text: Lettered) -> Region:
    """Return the ink box of standing lettering as a region."""
    return corner_box(text.corner, text.width, text.height, text.turn)


def text_box(text: Lettered) -> Box:
    """Return the upright box round the ink of standing lettering."""
    x, y = zip(*ink_corners(text.corner, text.width, text.height, text.turn), strict=True)
    return Box(min(x), min(y), max(x), max(y))


def _ends(paths: Sequence[Path | Loop]) -> Floats:
    """Return the straight pieces of paths, rows of x0, y0, x1, y1."""
    runs = [coordinates(path, FLAT) for path in paths]
    return np.array([(*a, *b) for run in runs for a, b in pairwise(run)], dtype=float).reshape(-1, 4)


def straight(rows: Floats) -> Shapes:
    """Return rows (x0, y0, x1, y1) as straight lines."""
    return np.asarray(shapely.linestrings(rows.reshape(-1, 2, 2)), dtype=object)


def polygons(boxes: Floats) -> Shapes:
    """Return boxes as polygons, for the index."""
    if len(boxes) and not boxes[:, 5].any():
        x, y, wide, high = boxes[:, :4].T
        return np.asarray(shapely.box(x - wide, y - high, x + wide, y + high), dtype=object)
    return np.asarray(shapely.polygons(corners(boxes)), dtype=object)


class _Lines:
    """Lines of one width, as segments in a tree."""

    def __init__(self, paths: Sequence[Path | Loop], width: float) -> None:
        self.width = width
        self.ends = _ends(paths)
        self.segments = straight(self.ends)
        self.tree = shapely.STRtree(self.segments)


def _filled(shapes: Sequence[shapely.Polygon]) -> Floats:
    """Return points all over areas, nearer to each other than any lettering is high."""
    found: list[Floats] = [np.zeros((0, 2))]
    for shape in shapes:
        ring = shapely.get_coordinates(shape.boundary)
        found.append(along(np.concatenate((ring[:-1], ring[1:]), axis=1)))
        x0, y0, x1, y1 = shape.bounds
        x, y = (g.ravel() for g in np.meshgrid(np.arange(x0, x1, WITHIN), np.arange(y0, y1, WITHIN)))
        held = shapely.contains_xy(shape, x, y)
        found.append(np.column_stack((x[held], y[held])))
    return np.concatenate(found)


class ObstacleIndex:
    """Obstacles ready to be asked: every answer is an array with one entry a box or leader asked about.

    Cells of ink answer for most boxes; the few between are tested exactly.
    """

    def __init__(self, obstacles: Obstacles, field: Box) -> None:
        self.field = field
        widths = sorted({round(ink.width, 4) for ink in obstacles.lines})
        runs = [_Lines([ink.path for ink in obstacles.lines if round(ink.width, 4) == w], w) for w in widths]
        self.heavy = [run for run in runs if run.width >= HEAVY - 1e-6]
        self.thin = [run for run in runs if run.width < HEAVY - 1e-6]
        inked = np.array([ink_corners(t.corner, t.width, t.height, t.turn) for t in obstacles.texts]).reshape(-1, 4, 2)
        self.bodies: list[shapely.Polygon] = np.asarray(shapely.polygons(inked), dtype=object).tolist()
        self.bodies += [polygon(body, FLAT) for body in obstacles.bodies]
        self.bodies += [shapely.box(box.x0, box.y0, box.x1, box.y1) for box in obstacles.closed]
        self.solid = shapely.STRtree(self.bodies)
        self.solids: Floats = np.array([(b.box.centre.x, b.box.centre.y, b.area) for b in obstacles.bodies],
                                       dtype=float).reshape(-1, 3)      # filled symbols: middle and area of each
        self.walls = [polygon(wall, FLAT) for wall in obstacles.walls]
        self.cut = shapely.STRtree(self.walls)
        self.standing = _ends(obstacles.leaders)
        self.leaders = shapely.STRtree(straight(self.standing))
        self.strings = shapely.STRtree(straight(_ends(obstacles.strings)))
        self.beside = Signs(obstacles.signs)
        self.signs, self.owners, self.sign_reach = self.beside.rows, self.beside.owners, self.beside.reach
        self.sign_tree = self.beside.tree
        self._rasters: dict[str, Raster] = {}
        self._everything: shapely.STRtree | None = None
        reaches = [run.width / 2 + HEAVY_CLEAR for run in self.heavy] + [SOLID_CLEAR, LEADER_CLEAR]
        self._near, self._far = min(reaches), max(reaches)

    def _raster(self, name: str) -> Raster:
        """Return the cells of some of the ink, worked out when they are first asked for."""
        if name not in self._rasters:
            parts: list[Floats] = [np.zeros((0, 2))]
            if name == "signs":
                parts.append(self.signs[:, :2])
            else:
                parts += [along(run.ends) for run in (self.thin if name == "thin" else self.heavy)]
            if name == "hard":
                parts += [along(self.standing), _filled([*self.bodies, *self.walls])]
            self._rasters[name] = Raster(np.concatenate(parts), self.field)
        return self._rasters[name]

    @property
    def everything(self) -> shapely.STRtree:
        """All that stands, to ask how far off the nearest of it is; laid out when it is first asked for."""
        if self._everything is None:
            trees = (*(run.tree for run in (*self.heavy, *self.thin)), self.solid, self.sign_tree, self.leaders)
            self._everything = shapely.STRtree(np.concatenate([tree.geometries for tree in trees]))
        return self._everything

    def _near_to(self, name: str, around: Floats) -> Indices:
        """Return which boxes (x0, y0, x1, y1) may hold some of the ink; of a few all, to lay out no cells for them."""
        if len(around) < FEW and name not in self._rasters:
            return np.arange(len(around))
        return (~self._raster(name).clear(around)).nonzero()[0]

    def outside(self, bounds: Floats) -> Flags:
        """Say which upright bounds leave the field."""
        f = self.field
        return (bounds[:, 0] < f.x0) | (bounds[:, 1] < f.y0) | (bounds[:, 2] > f.x1) | (bounds[:, 3] > f.y1)

    def struck(self, boxes: Floats) -> Flags:
        """Say which boxes lie on a heavy line, a cut wall, a standing leader, lettering, a body or a closed area."""
        bad: Flags = np.zeros(len(boxes), dtype=bool)
        if len(boxes) < FEW and "hard" not in self._rasters:
            return self._struck_exactly(boxes)
        cells, around = self._raster("hard"), bounds(boxes)
        level = boxes[:, 5] == 0.0
        for side in ((self._near, 0.0), (0.0, self._near)):
            bad |= level & cells.held(around + np.array([-side[0], -side[1], side[0], side[1]]))
        open_ = (~bad).nonzero()[0]
        wide = np.array([-self._far, -self._far, self._far, self._far])
        open_ = open_[~cells.clear(around[open_] + wide)]
        bad[open_[self._struck_exactly(boxes[open_])]] = True
        return bad

    def _struck_exactly(self, boxes: Floats) -> Flags:
        bad: Flags = np.zeros(len(boxes), dtype=bool)
        if not len(boxes):
            return bad
        shapes = polygons(boxes)
        for run in self.heavy:
            bad[run.tree.query(shapes, predicate="dwithin", distance=run.width / 2 + HEAVY_CLEAR)[0]] = True
        bad[self.solid.query(shapes, predicate="dwithin", distance=SOLID_CLEAR)[0]] = True
        bad[self.cut.query(shapes, predicate="dwithin", distance=HEAVY_CLEAR)[0]] = True
        bad[self.leaders.query(shapes, predicate="dwithin", distance=LEADER_CLEAR)[0]] = True
        return bad

    def on_signs(self, boxes: Floats) -> Flags:
        """Say which boxes lie on a sign, whoever owns it."""
        bad: Flags = np.zeros(len(boxes), dtype=bool)
        reach = self.sign_reach + SOLID_CLEAR
        near = self._near_to("signs", bounds(boxes) + np.array([-reach, -reach, reach, reach]))
        bad[near] = self.beside.under(boxes[near], SOLID_CLEAR)
        return bad

    def thin_length(self, boxes: Floats) -> Floats:
        """Return how many mm of thin line run under each box."""
        found: Floats = np.zeros(len(boxes))
        over = grown(boxes, THIN_CLEAR)
        near = self._near_to("thin", bounds(over))
        if not len(near):
            return found
        over = over[near]
        shapes = polygons(over)
        for run in self.thin:
            which, segment = run.tree.query(shapes)
            inside = inner_length(over[which], run.ends[segment])
            found += np.bincount(near[which], np.where(inside > 0, inside + 0.05, 0.0), len(found))
        return found

    def strings_under(self, boxes: Floats) -> Floats:
        """Return how many strings run under each box."""
        found: Floats = np.zeros(len(boxes))
        if len(boxes) and len(self.strings.geometries):
            np.add.at(found, self.strings.query(polygons(boxes), predicate="intersects")[0], 1.0)
        return found

    def off_lines(self, points: Floats, most: float) -> Floats:
        """Return how far each point (rows of x, y) is from the nearest drawn line, `most` at the most."""
        found: Floats = np.full(len(points), most)
        around = np.concatenate((points - most, points + most), axis=1)
        for name, runs in (("heavy", self.heavy), ("thin", self.thin)):
            near = self._near_to(name, around)
            spots = np.asarray(shapely.points(points[near]), dtype=object)
            for run in runs:
                (which, _), gap = run.tree.query_nearest(spots, max_distance=most, return_distance=True,
                                                         all_matches=False)
                found[near[which]] = np.minimum(found[near[which]], gap)
        return found

    def heavy_crossings(self, paths: Floats) -> Floats:
        """Return how many heavy segments each straight path (x0, y0, x1, y1) crosses."""
        found: Floats = np.zeros(len(paths))
        ends = paths[:, :2], paths[:, 2:]
        around = np.concatenate((np.minimum(*ends), np.maximum(*ends)), axis=1)
        near = self._near_to("heavy", around)
        if not len(near):
            return found
        lines = straight(paths[near])
        for run in self.heavy:
            which, segment = run.tree.query(lines)
            which = near[which]
            found += np.bincount(which[crossing(paths[which], run.ends[segment])], minlength=len(found))
        return found

    def run_along(self, paths: Floats) -> Flags:
        """Say which straight paths run along a drawn line for more than ALONG, so that the two would be one line."""
        lines = straight(paths)
        bad: Flags = np.zeros(len(paths), dtype=bool)
        for run in (*self.heavy, *self.thin):
            which, segment = run.tree.query(lines, predicate="dwithin", distance=BESIDE)
            if len(which):
                beside = shapely.buffer(lines[which], BESIDE, cap_style="flat")
                shared = shapely.intersection(beside, run.segments[segment])
                bad[which[shapely.length(shared) > ALONG]] = True
        return bad

    def blocked_leaders(self, paths: Floats, owned: Sequence[str]) -> Flags:
        """Say which leaders meet lettering, a body, a closed area, another leader or a sign that is not their own."""
        bad: Flags = np.zeros(len(paths), dtype=bool)
        if not len(paths):
            return bad
        lines = straight(paths)
        bad[self.solid.query(lines, predicate="dwithin", distance=LEADER_CLEAR)[0]] = True
        bad[self.leaders.query(lines, predicate="dwithin", distance=LEADER_CLEAR)[0]] = True
        return bad | self.beside.met(paths, owned, LEADER_CLEAR)
