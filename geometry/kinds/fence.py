"""Fence: panels and posts along a line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from ..features import Cut, Dig, Feature, Item, Role, SectionDetail, Status, Tolerance, Wanted
from ..kernel.path import Loop, Path
from ..reading.values import Depth, Size
from .base import FITTED, Element, GardenView, Line, Placed, Regions, feature
from .base_posts import PitGiven, Stand, panel_stands, row, stands
from .base_units import square_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Fence(Element):
    """A fence: posts at the ends, at corners, and no further apart than a panel and a post.

    left fence:
      kind: fence
      line: {straight: [[0, 0], [0, 9]]}
      panel: 1.83
      post: 100 mm
      height: 1.8
    """

    section: ClassVar[str] = "fences"

    line: Line
    panel: Size | None = None
    post: Size = 0.1
    height: Depth = 1.8
    footing: PitGiven | None = None
    spacing: Size = 2.4
    stock: tuple[Size, ...] = ()

    def posts(self, placed: Placed) -> tuple[Stand, ...]:
        """Return the posts."""
        assert placed.line is not None
        if self.panel is not None:
            return panel_stands(placed.line, self.panel, self.post)
        return stands(placed.line, self.spacing)

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the line and its posts."""
        assert placed.line is not None
        yield feature(placed, Role.FENCE, placed.line, height=self.height)
        for stand in self.posts(placed):
            yield feature(placed, Role.POST, stand.at, size=self.post, turn=stand.heading, part="post", note="")

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return none: posts are pegged."""
        return ()

    def wanted(self, placed: Placed, garden: GardenView) -> tuple[Wanted, ...]:
        """Return the posts."""
        return row(self.posts(placed), 0.0, placed.line)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of fitted work."""
        return FITTED

    def blocks_usually(self, placed: Placed) -> bool:
        """Say yes for a fence that stands."""
        return placed.status is Status.EXISTING

    def obstacle_body(self, placed: Placed) -> Regions:
        """Return the thin band of the fence."""
        from ..kernel.offset import Corners, band

        assert placed.line is not None
        return band(placed.line, self.post, corners=Corners.SQUARE)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield panels, posts and concrete."""
        if not placed.built or placed.line is None:
            return
        from ..quantities.framing import fence_items, plain_fence_items, post_pit_items
        from ..quantities.ordering import own_stock
        from ..quantities.rows import panels_between

        ordering = own_stock(garden.ordering, self.stock, "fence post")
        length, posts = placed.line.length, len(self.posts(placed))
        pit = self.footing or PitGiven()
        if self.panel is None:
            yield from plain_fence_items(placed.name, length, posts, self.height, pit.depth, ordering)
        else:
            at = [stand.at for stand in self.posts(placed)]
            closed = placed.line.start.distance(placed.line.end) < 1e-6
            spans = [a.distance(b) for a, b in pairwise([*at, at[0]] if closed else at)]
            yield from fence_items(placed.name, length, panels_between(spans, self.panel, self.post), posts, self.panel,
                                   self.height, pit.depth, ordering)
        yield from post_pit_items(placed.name, posts, pit.width, pit.depth, self.post, self.section)

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield the post holes."""
        if placed.built:
            pit = self.footing or PitGiven()
            pits = tuple(square_at(stand.at, pit.width, stand.heading) for stand in self.posts(placed))
            yield Dig(element=placed.name, outline=pits, depth=pit.depth)

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the elevation of a bay."""
        if placed.built:
            pit = self.footing or PitGiven()
            spans = [(a.at, b.at) for a, b in pairwise(self.posts(placed)) if a.at.distance(b.at) > self.post]
            clear = max((a.distance(b) for a, b in spans), default=self.spacing) - self.post
            sizes = {"height": self.height, "panel": self.panel or round(clear, 3), "post": self.post,
                     "footing width": pit.width, "footing depth": pit.depth}
            cuts = tuple(Cut(a.toward(b, 0.5), (b - a).unit(), a.distance(b) / 2) for a, b in spans)
            yield SectionDetail(form="fence", title="Fence", sizes=sizes, elements=(placed.name,), cuts=cuts)
