"""Reads a finished SVG sheet and counts what a reader would stumble over. Knows nothing of how it was made.

Only the file is read: its paths (M, L, A, Z), its texts, classes and pens; letters are measured from the faces
that ship. Paper millimetres, y down as in the file. Limits: letters 2.5 high (ISO 3098), heavy lines from 0.35
(ISO line groups), texts 0.5 apart, figures centred 0 to 2.5 above their line (ISO 129-1), read from below or right.
Lettering is its ink, not its advance; where no line is named a leader, thin lines that end at a text are leaders.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import shapely
from fontTools.ttLib import TTFont

FONTS = Path(__file__).resolve().parents[2] / "templates" / "fonts"
HEAVY, APART, OWN, REACH = 0.35, 0.5, 0.5, 3.0
LEADS = 1.6
"""A leader ends this near to its text, mm."""
CELL = 20.0
SVG = "{http://www.w3.org/2000/svg}"
NUMERIC = re.compile(r"^\(?\s*\d+(?:[.,]\d+)*\s*m?\)?$")


@cache
def _face(style: str) -> tuple[dict[int, str], dict[str, tuple[int, int]], object, int, float]:
    font = TTFont(FONTS / f"sans-{style}.ttf")
    em = font["head"].unitsPerEm
    return font.getBestCmap(), font["hmtx"].metrics, font["glyf"], em, font["OS/2"].sCapHeight / em


@dataclass(frozen=True)
class Ink:
    """A line of lettering in em: its advance, where its ink starts and ends along it, ink above and below, capitals."""

    wide: float
    first: float
    last: float
    top: float
    foot: float
    capitals: float


@cache
def measured(words: str, style: str) -> Ink:
    """Return a line of lettering as the face draws it."""
    cmap, metrics, glyphs, em, capitals = _face(style)
    wide, top, foot = 0, 0, 0
    ends: list[int] = []
    for character in words:
        name = cmap[ord(character)]
        glyph = glyphs[name]
        if glyph.numberOfContours:
            top, foot = max(top, glyph.yMax), min(foot, glyph.yMin)
            ends += [wide + glyph.xMin, wide + glyph.xMax]
        wide += metrics[name][0]
    first, last = (min(ends), max(ends)) if ends else (0, wide)
    return Ink(wide / em, first / em, last / em, top / em, -foot / em, capitals)


@dataclass
class Lettering:
    """One text: words, box, turn in degrees (anticlockwise as read), capital height, classes, drawing order, group."""

    words: str
    box: shapely.Polygon
    start: tuple[float, float]
    turn: float
    capitals: float
    classes: frozenset[str]
    order: int
    group: int


@dataclass
class Stroke:
    """One drawn line: its points, width, classes of itself and all above it, drawing order, group."""

    points: list[tuple[float, float]]
    width: float
    classes: frozenset[str]
    order: int
    group: int
    closed: bool
    line: shapely.LineString = field(init=False)

    def __post_init__(self) -> None:
        self.line = shapely.LineString(self.points)


@dataclass
class Filled:
    """One filled shape: area, colour, opacity, drawing order."""

    area: shapely.Polygon
    colour: str
    opacity: float
    order: int


@dataclass
class SheetFile:
    """All that a file draws."""

    width: float
    height: float
    texts: list[Lettering]
    strokes: list[Stroke]
    fills: list[Filled]


Spot = tuple[float, float]
Note = tuple[str, str, float, float]
TOKENS = re.compile(r"[MLAZ]|-?\d+(?:\.\d+)?(?:e-?\d+)?")


def _arc(start: Spot, r: float, large: bool, sweep: bool, end: Spot) -> Iterator[Spot]:
    """Yield points of a circular arc after its start (SVG implementation notes, end point to centre form)."""
    (x1, y1), (x2, y2) = start, end
    dx, dy = (x1 - x2) / 2, (y1 - y2) / 2
    half = math.hypot(dx, dy)
    if half < 1e-9:
        return
    r = max(r, half)
    k = math.sqrt(max(r * r - half * half, 0.0)) / half * (-1 if large == sweep else 1)
    cx, cy = k * dy + (x1 + x2) / 2, -k * dx + (y1 + y2) / 2
    a, b = math.atan2(y1 - cy, x1 - cx), math.atan2(y2 - cy, x2 - cx)
    turn = (b - a) % (2 * math.pi)
    if not sweep:
        turn -= 2 * math.pi
    count = max(2, math.ceil(abs(turn) / (2 * math.acos(max(1 - 0.02 / r, 0.0)) or 1)))
    yield from ((cx + r * math.cos(a + turn * i / count), cy + r * math.sin(a + turn * i / count))
                for i in range(1, count))
    yield end


def outlines(d: str) -> list[tuple[list[tuple[float, float]], bool]]:
    """Return the sub-paths of path data as points, and whether each is closed."""
    found: list[tuple[list[tuple[float, float]], bool]] = []
    tokens = TOKENS.findall(d)
    k, command = 0, ""
    while k < len(tokens):
        if tokens[k].isalpha():
            command = tokens[k]
            k += 1
        if command == "Z":
            points, _ = found[-1]
            if points[0] != points[-1]:
                points.append(points[0])
            found[-1] = (points, True)
            continue
        if command == "A":
            r, _, _, large, sweep, x, y = (float(t) for t in tokens[k:k + 7])
            k += 7
            found[-1][0].extend(_arc(found[-1][0][-1], r, large > 0, sweep > 0, (x, y)))
            continue
        x, y = float(tokens[k]), float(tokens[k + 1])
        k += 2
        if command == "M":
            found.append(([(x, y)], False))
            command = "L"
        else:
            found[-1][0].append((x, y))
    return found


def _text(node: ET.Element, classes: frozenset[str], order: int, group: int) -> Lettering:
    size = float(node.get("font-size", "0"))
    bold, italic = node.get("font-weight") == "bold", node.get("font-style") == "italic"
    style = "bold" if bold else "italic" if italic else "regular"
    words = node.text or ""
    ink = measured(words, style)
    top, foot = ink.top * size, ink.foot * size
    x, y = float(node.get("x", "0")), float(node.get("y", "0"))
    turn = re.match(r"rotate\((-?[\d.]+)", node.get("transform", ""))
    angle = math.radians(float(turn.group(1))) if turn else 0.0
    back = ink.wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[node.get("text-anchor", "start")]
    left, right = (ink.first - back) * size, (ink.last - back) * size
    c, s = math.cos(angle), math.sin(angle)

    def at(u: float, v: float) -> tuple[float, float]:
        return x + u * c - v * s, y + u * s + v * c

    box = shapely.Polygon([at(left, foot), at(right, foot), at(right, -top), at(left, -top)])
    return Lettering(words, box, at(left, 0), -math.degrees(angle), ink.capitals * size, classes, order, group)


def read(svg: str) -> SheetFile:
    """Read a sheet."""
    root = ET.fromstring(svg)
    _, _, width, height = (float(v) for v in root.get("viewBox", "").split())
    sheet = SheetFile(width, height, [], [], [])
    order = 0

    def walk(node: ET.Element, classes: frozenset[str], group: int) -> None:
        nonlocal order
        order += 1
        tag = node.tag.removeprefix(SVG)
        own = classes | frozenset(node.get("class", "").split()) | frozenset([node.get("id", "")])
        if tag == "text":
            sheet.texts.append(_text(node, own, order, group))
        elif tag == "path":
            _path(node, own, order, group, sheet)
        here = order if tag == "g" else group
        for child in node:
            walk(child, own, here)

    walk(root, frozenset(), 0)
    return sheet


def _path(node: ET.Element, classes: frozenset[str], order: int, group: int, sheet: SheetFile) -> None:
    parts = outlines(node.get("d", ""))
    if node.get("stroke"):
        width = float(node.get("stroke-width", "0"))
        sheet.strokes += [Stroke(p, width, classes, order, group, closed) for p, closed in parts if len(p) > 1]
    if node.get("fill"):
        opacity = float(node.get("fill-opacity", "1"))
        for points, _ in parts:
            if len(points) > 3:
                with np.errstate(invalid="ignore"):
                    area = shapely.Polygon(points).buffer(0)
                sheet.fills.append(Filled(area, node.get("fill", ""), opacity, order))


def _dim(classes: frozenset[str]) -> bool:
    return any(word.startswith("dim") or word == "layer-dimensions" for word in classes)


def _leader(classes: frozenset[str]) -> bool:
    return "leader" in classes


def _peg(classes: frozenset[str]) -> bool:
    return any(word.startswith(("peg", "point")) or "station" in word for word in classes)


def _quiet(classes: frozenset[str]) -> bool:
    return bool(classes & {"hatch", "symbol", "plant", "texture", "layer-textures"}) or any(
        word.startswith(("hatch", "symbol", "plant")) for word in classes)


def _said(stroke: Stroke) -> str:
    return " ".join(sorted(stroke.classes - {""})) + f" {stroke.width:g}"


STEP = 0.5
"""Lines are compared at points this far apart, mm."""


def _sampled(points: Sequence[Spot]) -> Iterator[tuple[float, float, float]]:
    """Yield points (x, y) along a line from half a step on, and its direction there."""
    left = STEP / 2
    for (x0, y0), (x1, y1) in pairwise(points):
        size = math.dist((x0, y0), (x1, y1))
        while left < size:
            yield x0 + (x1 - x0) * left / size, y0 + (y1 - y0) * left / size, math.atan2(y1 - y0, x1 - x0)
            left += STEP
        left -= size


BORDER = frozenset({"zone", "border", "sheet-size"})


class Reader:
    """Counts the faults of one sheet."""

    def __init__(self, sheet: SheetFile, frame: tuple[float, float, float, float] | None = None) -> None:
        self.sheet = sheet
        self.counts: Counter[str] = Counter()
        self.notes: list[tuple[str, str, float, float]] = []
        self.frame = shapely.box(*frame) if frame else self._frame()
        self.boxes = [t.box for t in sheet.texts]
        self.tree = shapely.STRtree(self.boxes)
        self.leaders = [s for s in sheet.strokes if _leader(s.classes)] or [
            s for s in sheet.strokes if self._leads(s)]
        self.led = {id(s) for s in self.leaders}

    def _leads(self, stroke: Stroke) -> bool:
        """Say whether a reader takes a line for a leader where none is named so: thin, straight, ending at a text."""
        if stroke.closed or stroke.width >= HEAVY - 1e-4 or len(stroke.points) > 3 or stroke.line.length < 2.0 \
                or _quiet(stroke.classes) or _dim(stroke.classes):
            return False
        first, last = (set(self.tree.query(shapely.Point(p), predicate="dwithin", distance=LEADS).tolist())
                       for p in (stroke.points[0], stroke.points[-1]))
        if bool(first) == bool(last):
            return False
        text = self.sheet.texts[min(first or last)]
        (x0, y0), (x1, y1) = stroke.points[:2]
        off = abs((math.degrees(math.atan2(y1 - y0, x1 - x0)) + text.turn + 90) % 180 - 90)
        beside = stroke.line.distance(text.box.centroid) < 1.2 * text.capitals
        return not (len(stroke.points) == 2 and off < 4 and beside)     # a line under its figure

    def _frame(self) -> shapely.Polygon:
        s = self.sheet
        best = shapely.box(5, 5, s.width - 5, s.height - 5)
        size = 0.55 * s.width * s.height
        for stroke in s.strokes:
            if stroke.closed and len(stroke.points) == 5:
                area = shapely.Polygon(stroke.points)
                if area.area > size and abs(area.area - area.envelope.area) < 1 and area.bounds[0] > 1:
                    best, size = area, area.area
        return best

    def hit(self, kind: str, words: str, at: shapely.Geometry) -> None:
        """Count one fault."""
        self.counts[kind] += 1
        point = shapely.centroid(at)
        self.notes.append((kind, words, round(point.x, 1), round(point.y, 1)))

    def read(self) -> Counter[str]:
        """Return every count; kinds without a fault count nothing."""
        self._alone()
        self._pairs()
        self._lines()
        self._hidden()
        self._leaders()
        self._ambiguous()
        self._duplicates()
        self._dimensions()
        return self.counts

    def _alone(self) -> None:
        room = self.frame.buffer(0.05)
        for text in self.sheet.texts:
            if not text.classes & BORDER and not room.contains(text.box):
                self.hit("text_outside", text.words, text.box)
            if text.capitals < 2.5 * 0.97:
                self.hit("text_too_small", text.words, text.box)
            if not -89.0 < (text.turn + 180) % 360 - 180 <= 91.0:
                self.hit("wrong_way", text.words, text.box)

    def _pairs(self) -> None:
        first, second = self.tree.query(np.array(self.boxes, dtype=object), predicate="dwithin", distance=APART)
        for a, b in zip(first.tolist(), second.tolist(), strict=True):
            if a < b:
                self._pair(self.sheet.texts[a], self.sheet.texts[b])

    def _pair(self, one: Lettering, two: Lettering) -> None:
        shared = one.box.intersection(two.box)
        if shared.area > 0.03 and shared.buffer(-0.04).area > 0:
            self.hit("text_overlap", f"{one.words} | {two.words}", shared)
        elif shared.area <= 0.03 and not self._one_block(one, two):
            self.hit("tight_texts", f"{one.words} | {two.words}", one.box)

    @staticmethod
    def _one_block(one: Lettering, two: Lettering) -> bool:
        """Say whether two texts are lines of one paragraph or cells of one row."""
        if one.group != two.group or abs(one.turn - two.turn) > 0.5:
            return False
        a = math.radians(-one.turn)
        dx, dy = two.start[0] - one.start[0], two.start[1] - one.start[1]
        across, high = abs(-dx * math.sin(a) + dy * math.cos(a)), max(one.capitals, two.capitals)
        return across < 0.05 * high or 1.2 * high <= across <= 2.6 * high

    def _lines(self) -> None:
        strokes = [s for s in self.sheet.strokes if s.width > 0]
        tree = shapely.STRtree([s.line for s in strokes])
        with np.errstate(invalid="ignore"):     # a dash is hardly higher than this
            inner = [box.buffer(-0.08) for box in self.boxes]
        reach = max((s.width for s in strokes), default=0.0) / 2
        texts, lines = tree.query(np.array(inner, dtype=object), predicate="dwithin", distance=reach)
        for t, k in zip(texts.tolist(), lines.tolist(), strict=True):
            text, stroke = self.sheet.texts[t], strokes[k]
            part = stroke.line.intersection(inner[t].buffer(max(0.0, stroke.width / 2 - 0.02)))
            if part.length >= 0.15:
                self._struck(text, stroke, part)

    def _struck(self, text: Lettering, stroke: Stroke, part: shapely.Geometry) -> None:
        over = [f for f in self.sheet.fills if stroke.order < f.order < text.order and f.opacity > 0.9
                and f.area.buffer(0.02).covers(part)] if stroke.order < text.order else []
        heavy = stroke.width >= HEAVY - 1e-4
        if over:
            if heavy:
                self.hit("masked_heavy", text.words, part)
        elif id(stroke) in self.led:
            self.hit("leader_on_text", text.words, part)
        elif _quiet(stroke.classes):
            self.hit("text_on_hatch", text.words, part)
        else:
            self.hit("text_on_heavy" if heavy else "text_on_thin", text.words, part)

    def _hidden(self) -> None:
        for fill in self.sheet.fills:
            if fill.opacity <= 0.6:
                continue
            for k in self.tree.query(fill.area, predicate="intersects").tolist():
                text = self.sheet.texts[k]
                if fill.order > text.order and text.box.intersection(fill.area).area > 0.05 * text.box.area:
                    self.hit("text_hidden", text.words, text.box)

    def _leaders(self) -> None:
        leaders = [s.line for s in self.leaders if s.line.length > 0.5]
        tree = shapely.STRtree(leaders)
        if not leaders:
            return
        for a, b in zip(*(k.tolist() for k in tree.query(leaders, predicate="intersects")), strict=True):
            if a < b:
                meet = leaders[a].intersection(leaders[b])
                ends = [shapely.Point(p) for q in (leaders[a], leaders[b]) for p in (q.coords[0], q.coords[-1])]
                if min(meet.distance(p) for p in ends) >= 0.35 or meet.length >= 0.5:
                    self.hit("leader_crossings", "", meet)

    def _ambiguous(self) -> None:
        points = set()
        for s in self.sheet.strokes:
            if s.closed and not any(word.startswith("hatch") for word in s.classes):
                x0, y0, x1, y1 = s.line.bounds
                wide, high = x1 - x0, y1 - y0
                round_ = len(s.points) > 8 and 0.4 <= wide <= 4 and abs(wide - high) < 0.1 * wide
                if round_ or (_peg(s.classes) and wide < 6 and high < 6):
                    points.add((round((x0 + x1) / 2, 2), round((y0 + y1) / 2, 2)))
        spots = [shapely.Point(p) for p in sorted(points)]
        leaders = shapely.STRtree([s.line for s in self.leaders if s.line.length > 0.5])
        tree = shapely.STRtree(spots)
        for text in self.sheet.texts:
            near = tree.query(text.box, predicate="dwithin", distance=REACH).tolist() if spots else []
            if len(near) < 2 or len(leaders.query(text.box, predicate="dwithin", distance=LEADS)):
                continue
            gaps = sorted(text.box.distance(spots[k]) for k in near)
            if gaps[1] < gaps[0] + OWN:
                self.hit("ambiguous", text.words, text.box)

    def _duplicates(self) -> None:
        strokes = [s for s in self.sheet.strokes if not _quiet(s.classes) and id(s) not in self.led]
        pieces = [(k, a, b) for k, s in enumerate(strokes) for a, b in pairwise(s.points)]
        if not pieces:
            return
        tree = shapely.STRtree([shapely.LineString((a, b)) for _, a, b in pieces])
        samples = [(k, *spot) for k, s in enumerate(strokes) for spot in _sampled(s.points)]
        hits, found = tree.query(shapely.points([(x, y) for _, x, y, _ in samples]), predicate="dwithin", distance=0.03)
        seen: set[tuple[int, int]] = set()
        runs: Counter[tuple[int, int]] = Counter()
        for i, j in zip(hits.tolist(), found.tolist(), strict=True):
            one, _, _, way = samples[i]
            two, (x0, y0), (x1, y1) = pieces[j]
            off = abs((math.atan2(y1 - y0, x1 - x0) - way + math.pi / 2) % math.pi - math.pi / 2)
            if one < two and off < math.radians(8) and (i, two) not in seen:
                seen.add((i, two))
                runs[one, two] += 1
        for (one, two), count in sorted(runs.items()):
            if count * STEP >= 3.0:
                a, b = strokes[one], strokes[two]
                words = f"{_said(a)} | {_said(b)}, {count * STEP:.1f} mm"
                self.hit("duplicate_lines", words, a.line.intersection(b.line.buffer(0.03)))

    def _dimensions(self) -> None:
        thin = [s for s in self.sheet.strokes if _dim(s.classes) and len(s.points) == 2 and s.width < HEAVY
                and s.line.length > 1]
        figures = [t for t in self.sheet.texts if _dim(t.classes)]
        self.counts["dim_text_heights"] = len({round(t.capitals, 1) for t in figures})
        for text in figures:
            if NUMERIC.match(text.words):
                self._figure(text, thin)

    def _figure(self, text: Lettering, thin: list[Stroke]) -> None:
        a = math.radians(-text.turn)
        ux, uy = math.cos(a), math.sin(a)
        wide = text.box.exterior.length / 2 - min(shapely.Point(p).distance(shapely.Point(q)) for p, q in zip(
            text.box.exterior.coords, text.box.exterior.coords[1:], strict=False))
        mx, my = text.start[0] + ux * wide / 2, text.start[1] + uy * wide / 2
        best: tuple[tuple[bool, float, float], float, float, float] | None = None
        for s in thin:
            (x0, y0), (x1, y1) = s.points
            long = s.line.length
            if abs((x1 - x0) * uy - (y1 - y0) * ux) > 0.035 * long or s.line.distance(shapely.Point(mx, my)) > 3.5:
                continue
            down = -(x0 - mx) * uy + (y0 - my) * ux
            off = abs(((x0 + x1) / 2 - mx) * ux + ((y0 + y1) / 2 - my) * uy)
            key = (s.group != text.group, abs(down), off)
            if off <= long / 2 + 1 and (best is None or key < best[0]):
                best = key, down, off, long
        if best is None or best[3] < wide + 1.0:
            return
        _, down, off, long = best
        if off > max(1.0, 0.05 * long):
            self.hit("dim_off_centre", text.words, text.box)
        if down < 0.15 or down > 2.5:
            self.hit("dim_bad_gap", text.words, text.box)


def faults(svg: str, frame: tuple[float, float, float, float] | None = None) -> tuple[Counter[str], list[Note]]:
    """Return the counts of a sheet and where each fault lies (kind, words, x, y in mm from the top left)."""
    reader = Reader(read(svg), frame)
    return reader.read(), reader.notes


def labels_in(svg: str, window: tuple[float, float, float, float]) -> int:
    """Return how many texts stand in a window (mm from the top left)."""
    area = shapely.box(*window)
    return sum(1 for text in read(svg).texts if area.contains(text.box.centroid))


def clutter(svg: str, window: tuple[float, float, float, float]) -> float:
    """Return the fullest 20 mm square inside a window: lettering and ink as a share of its paper."""
    return fullest(svg, window)[0]


def fullest(svg: str, window: tuple[float, float, float, float]) -> tuple[float, float, float]:
    """Return the share of the fullest 20 mm square inside a window and its middle (x, y in mm from the top left)."""
    sheet = read(svg)
    x0, y0, x1, y1 = window
    step = CELL / 4
    nx, ny = max(4, int((x1 - x0) / step)), max(4, int((y1 - y0) / step))
    grid = np.zeros((ny, nx))

    def put(x: float, y: float, ink: float) -> None:
        i, j = int((x - x0) // step), int((y - y0) // step)
        if 0 <= i < nx and 0 <= j < ny:
            grid[j, i] += ink

    for text in sheet.texts:
        box = list(text.box.exterior.coords)
        count = max(1, int(math.dist(box[0], box[1])))
        for i in range(count):
            share = (i + 0.5) / count
            low = [box[0][k] + (box[1][k] - box[0][k]) * share for k in (0, 1)]
            top = [box[3][k] + (box[2][k] - box[3][k]) * share for k in (0, 1)]
            put((low[0] + top[0]) / 2, (low[1] + top[1]) / 2, text.box.area / count)
    for s in sheet.strokes:
        for a, b in pairwise(s.points):
            long = math.dist(a, b)
            count = max(1, int(long / step * 2))
            for i in range(count):
                share = (i + 0.5) / count
                put(a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, long / count * max(s.width, 0.13))
    sums = np.cumsum(np.cumsum(np.pad(grid, ((1, 0), (1, 0))), axis=0), axis=1)
    squares = sums[4:, 4:] - sums[:-4, 4:] - sums[4:, :-4] + sums[:-4, :-4]
    tried = squares[::2, ::2]
    j, i = np.unravel_index(int(tried.argmax()), tried.shape)
    return float(tried.max() / CELL**2), x0 + float(2 * i + 2) * step, y0 + float(2 * j + 2) * step
