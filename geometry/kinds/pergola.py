"""Pergola: posts in pairs along a line, or at the corners of an outline, with beams and rafters over them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import ClassVar

from ..errors import ModelError, refuse
from ..features import Caution, Cut, Dig, Feature, Item, Purpose, Role, SectionDetail, Status, Tolerance, Wanted
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Point, Vec
from ..kernel.station import heading_at, point_at
from ..reading.fields import Written
from ..reading.values import Depth, Size
from .base import FITTED, Element, GardenView, Line, Outline, Placed, feature
from .base_posts import FootGiven, Stand, bays, beside, foot_section, row, stands, stretches
from .base_shapes import is_straight
from .base_units import square_at


@dataclass(frozen=True, slots=True, kw_only=True)
class RafterGiven(Written):
    """Rafters: depth, largest spacing (on the outer line of a curve), and how far they stand over the beams."""

    called: ClassVar[str] = "rafters"

    size: Size = 0.1
    width: Depth = 0.047
    spacing: Size = 0.5
    overhang: Depth = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Pergola(Element):
    """A pergola. Bays are equal and no longer than `bay`, on a curve along its outer side.

    rose pergola:
      kind: pergola
      line: {straight: [[0, 0], [0, 7]]}
      width: 2.0
      bay: 2.4
      height: 2.3
      post: 100 mm
      beam: 150 mm
      rafter: {size: 75 mm, spacing: 0.5, overhang: 0.3}
      footing: {width: 0.4, depth: 0.6}
    """

    section: ClassVar[str] = "timber"

    outline: Outline | None = None
    line: Line | None = None
    width: Size | None = None
    bay: Size = 2.4
    height: Size = 2.3
    post: Size = 0.1
    beam: Size = 0.15
    rafter: RafterGiven = field(default_factory=RafterGiven)
    footing: FootGiven = field(default_factory=FootGiven)
    stock: tuple[Size, ...] = ()

    def __post_init__(self) -> None:
        if (self.outline is None) == (self.line is None):
            raise refuse(ModelError, "a pergola needs either a line with a width, or an outline",
                         "give `line` and `width`, or `outline`", "missing-field")
        if self.line is not None and self.width is None:
            raise refuse(ModelError, "a pergola along a line needs 'width'", "add `width: 2.0`", "missing-field")

    # -- what stands where -----------------------------------------------------------------------------------

    def pairs(self, placed: Placed) -> tuple[Stand, ...]:
        """Return the middles between the posts of each pair; empty for an outline."""
        return stands(placed.line, self.bay, (self.width or 0.0) / 2) if placed.line is not None else ()

    def posts(self, placed: Placed) -> tuple[tuple[Point, float], ...]:
        """Return every post with the heading of its faces: left row, then right row; or round the outline."""
        half = (self.width or 0.0) / 2
        pairs = self.pairs(placed)
        if pairs:
            return tuple((beside(s, out), s.heading) for out in (half, -half) for s in pairs)
        return tuple(post for loop in placed.loops() for post in self._round(loop))

    def _round(self, loop: Loop) -> tuple[tuple[Point, float], ...]:
        """Return posts at the corners of an outline, and in equal bays along sides longer than `bay`."""
        return tuple((side.point(k / count), side.heading(k / count)) for side in loop.segments
                     for count in (bays(Path((side,)), self.bay),) for k in range(count))

    def beams(self, placed: Placed) -> tuple[Path, ...]:
        """Return the beams: straight from post to post along each row, or round the outline."""
        half = (self.width or 0.0) / 2
        pairs = self.pairs(placed)
        if not pairs:
            return tuple(Path.through((a, b)) for loop in placed.loops() for ring in (self._round(loop),)
                         if len(ring) > 1 for (a, _), (b, _) in pairwise([*ring, ring[0]]))
        return tuple(Path.through((beside(a, out), beside(b, out)))
                     for out in (half, -half) for a, b in pairwise(pairs))

    def rafters(self, placed: Placed) -> tuple[Path, ...]:
        """Return the rafters, square to the line (radial on a curve), overhangs included."""
        over = self.rafter.overhang
        if placed.line is None:
            return tuple(self._across(placed))
        half = (self.width or 0.0) / 2 + over
        found = []
        for k, stretch in enumerate(stretches(placed.line)):
            spaces = bays(stretch, self.rafter.spacing, half - over)
            for n in range(1 if k else 0, spaces + 1):
                station = stretch.length * n / spaces
                at = Stand(point_at(stretch, station), heading_at(stretch, station))
                found.append(Path.through((beside(at, -half), beside(at, half))))
        return tuple(found)

    def _across(self, placed: Placed) -> Iterator[Path]:
        """Yield rafters over an outline: four corners, from side to side; others, square to the longest side."""
        for region in placed.regions:
            corners = list(region.outer.vertices())
            if len(corners) == 4 and is_straight(placed):
                a, b, c, d = corners if corners[0].distance(corners[1]) >= corners[1].distance(corners[2]) else \
                    corners[1:] + corners[:1]
                spaces = bays(Path.through((a, b)), self.rafter.spacing)
                for n in range(spaces + 1):
                    yield self._over(a.toward(b, n / spaces), d.toward(c, n / spaces))
            else:
                yield from self._square_to(region)

    def _square_to(self, region: Region) -> Iterator[Path]:
        """Yield rafters in equal spaces square to the longest side, from edge to edge."""
        from ..kernel.combine import clip

        longest = max(region.outer.segments, key=lambda side: side.start.distance(side.end) or side.length)
        along = Vec.polar(longest.heading(0.5))
        box, middle = region.box, region.box.centre
        reach = along.left() * (box.width + box.height)
        edge = [(side.point(k / 8) - middle).dot(along) for side in region.outer.segments for k in range(8)]
        first, last = min(edge), max(edge)
        spaces = max(2, bays(Path.through((middle + along * first, middle + along * last)), self.rafter.spacing))
        for n in range(1, spaces):
            foot = middle + along * (first + (last - first) * n / spaces)
            for piece in clip(Path.through((foot + -reach, foot + reach)), (region,)).inside:
                yield self._over(piece.start, piece.end)

    def _over(self, near: Point, far: Point) -> Path:
        reach: Vec = (far - near).unit() * self.rafter.overhang
        return Path.through((near + -reach, far + reach))

    # -- what it says of itself ------------------------------------------------------------------------------

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield posts on the ground, beams and rafters overhead."""
        words = placed.note or f"{self.height:.2f} high"
        for at, turn in self.posts(placed):
            yield feature(placed, Role.POST, at, size=self.post, turn=turn, part="post", note=words)
        for beam in self.beams(placed):
            yield feature(placed, Role.BEAM, beam, width=self.post, part="beam", note="")
        for rafter in self.rafters(placed):
            yield feature(placed, Role.RAFTER, rafter, part="rafter", note="")

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return none: posts are pegged."""
        return ()

    def wanted(self, placed: Placed, garden: GardenView) -> tuple[Wanted, ...]:
        """Return the posts, row by row."""
        pairs = self.pairs(placed)
        if not pairs:
            return tuple(Wanted(part=f"post {k}", at=at, purpose=Purpose.POST)
                         for k, (at, _) in enumerate(self.posts(placed), 1))
        half = (self.width or 0.0) / 2
        left = row(pairs, half, self._side(placed, half))
        return (*left, *row(pairs, -half, self._side(placed, -half), len(left) + 1))

    def _side(self, placed: Placed, out: float) -> Path | None:
        from ..kernel.offset import Corners, parallel

        assert placed.line is not None
        found = parallel(placed.line, out, Corners.SQUARE)
        return found[0] if len(found) == 1 else None

    def heights(self, placed: Placed) -> tuple[tuple[str, float], ...]:
        """Return the tops of posts and beams, level all round, above the ground at the first post."""
        return (("top of every post", self.height - self.beam), ("top of the beams", self.height))

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of fitted work."""
        return FITTED

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield posts, beams and rafters by the piece, and the concrete round the posts."""
        if not placed.built:
            return
        from ..quantities.framing import Timbers, pergola_items, post_length, post_pit_items
        from ..quantities.ordering import own_stock

        posts = len(self.posts(placed))
        lap = self.post
        timbers = Timbers(
            posts=(post_length(self.height, self.footing.in_ground, self.beam),) * posts,
            beams=tuple(round(beam.length + lap, 4) for beam in self.beams(placed)),
            rafters=tuple(round(rafter.length, 4) for rafter in self.rafters(placed)),
            post_size=f"{self.post * 1000:g} × {self.post * 1000:g} mm", beam_size=f"{self.beam * 1000:g} mm deep",
            rafter_size=f"{self.rafter.size * 1000:g} mm deep")
        ordering = own_stock(garden.ordering, self.stock, "pergola post", "pergola beam", "pergola rafter")
        yield from pergola_items(placed.name, timbers, ordering)
        pit = self.footing
        yield from pit.shoes(placed.name, self.section, posts)
        yield from post_pit_items(placed.name, posts, pit.width, pit.depth, pit.filled(self.post), self.section)

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield the post holes."""
        if placed.built:
            pits = tuple(square_at(at, self.footing.width, turn) for at, turn in self.posts(placed))
            yield Dig(element=placed.name, outline=pits, depth=self.footing.depth)

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield what stands overhead, or is taken down."""
        if placed.status is Status.REMOVE:
            yield Caution.LOWERING
        if placed.built:
            yield Caution.HEIGHTS
            yield Caution.EXCAVATION

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the elevation of two bays, and the foot of a post."""
        if placed.built:
            bay, count, pitch = self._rhythm(placed)
            sizes = {"height": self.height, "bay": round(bay, 3), "bays": float(count), "post": self.post,
                     "beam depth": self.beam, "rafter depth": self.rafter.size, "rafter width": self.rafter.width,
                     "rafter spacing": pitch, "footing width": self.footing.width,
                     "footing depth": self.footing.depth, "off": self.footing.stand_off}
            yield SectionDetail(form="pergola", title="Pergola", sizes=sizes, elements=(placed.name,),
                                cuts=self._views(placed))
            posts = [Stand(at, turn) for at, turn in self.posts(placed)]
            yield foot_section(placed.name, self.post, self.footing, posts)

    def _rhythm(self, placed: Placed) -> tuple[float, int, float]:
        """Return the longest bay, the number of bays of the row or the longest side, and the rafters' spacing there."""
        pairs, half = self.pairs(placed), (self.width or 0.0) / 2
        if placed.line is None:
            side = max((s for loop in placed.loops() for s in loop.segments), key=lambda s: round(s.length, 6))
            path = Path((side,))
            count = bays(path, self.bay)
            return side.length / count, count, side.length / bays(path, self.rafter.spacing)
        spans = [beside(a, out).distance(beside(b, out)) for out in (half, -half) for a, b in pairwise(pairs)]
        pitches = [s.length / bays(s, self.rafter.spacing, half) for s in stretches(placed.line)]
        return max(spans), max(len(pairs) - 1, 1), max(pitches)

    def _views(self, placed: Placed) -> tuple[Cut, ...]:
        """Return where its long side is looked at from: along each side, from outside it."""
        half = (self.width or 0.0) / 2
        pairs = self.pairs(placed)
        rows = [[beside(s, -half) for s in pairs], [beside(s, half) for s in reversed(pairs)]] if pairs else \
            [[*ring, ring[0]] for loop in placed.loops() for ring in (list(loop.vertices()),)]
        sides = sorted((pair for one in rows for pair in pairwise(one)), key=lambda p: -round(p[0].distance(p[1]), 6))
        return tuple(Cut(a.toward(b, 0.5), (b - a).unit(), a.distance(b) / 2) for a, b in sides)
