"""Deck: boards on joists inside an outline."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, ClassVar

from ..features import Caution, Cut, Feature, Item, Role, SectionDetail, Tolerance
from ..kernel.point import Vec
from ..reading.fields import Written
from ..reading.values import Angle, Depth, Size, Small, Text
from .base import FITTED, Element, GardenView, Outline, Placed, Position, feature
from .base_cuts import REACH
from .base_shapes import plan_area

if TYPE_CHECKING:
    from ..quantities.decking import Decking
    from ..quantities.ordering import OrderingLike

HIGH = 0.30
"""A deck higher than this needs care against falls, metres. Common practice, no source; local codes come first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardGiven(Written):
    """A deck board: width, gap between boards, thickness."""

    called: ClassVar[str] = "a board"

    width: Size
    gap: Small = 0.005
    thickness: Depth = 0.028
    material: Text = "deck board"


@dataclass(frozen=True, slots=True, kw_only=True)
class JoistsGiven(Written):
    """Joists: largest spacing, size (thickness) and depth; and how far apart noggins stand between them at most."""

    called: ClassVar[str] = "joists"

    spacing: Size = 0.40
    size: Depth = 0.047
    depth: Depth = 0.15
    noggins: Size = 1.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Deck(Element):
    """A timber deck. `turn` is the direction of the boards.

    sun deck:
      kind: deck
      outline: {rectangle: {corner: [0, 0], length: 3.6, width: 2.4}}
      board: {width: 145 mm, gap: 5 mm, thickness: 28 mm}
      joists: {spacing: 0.4, size: 47 mm}
    """

    section: ClassVar[str] = "timber"

    outline: Outline
    board: BoardGiven
    turn: Angle = 0.0
    joists: JoistsGiven = field(default_factory=JoistsGiven)
    lay_from: Position | None = None
    height: Depth = 0.0
    stock: tuple[Size, ...] = ()

    def ordering(self, garden: GardenView) -> OrderingLike:
        """Return how timber is ordered, by the deck's own stock lengths where it names some."""
        from ..quantities.ordering import own_stock

        return own_stock(garden.ordering, self.stock, "deck board", "joist")

    def rows(self, placed: Placed) -> Decking:
        """Return the boards as laid."""
        from ..quantities.decking import deck_rows

        start = placed.point(self.lay_from) or placed.regions[0].outer.segments[0].start
        return deck_rows(placed.regions, self.board.width, self.board.gap, self.joists.spacing, start, self.turn)

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the boards."""
        from ..quantities.decking import deck_pattern, planned

        words = f"{self.board.material} {self.board.width * 1000:g} × {self.board.thickness * 1000:g}"
        deck = self.rows(placed) if placed.built else None
        pattern = replace(deck_pattern(deck, planned(deck, self.ordering(garden))), name=words) if deck else None
        for k, region in enumerate(placed.regions):
            yield feature(placed, Role.DECK, region, surface="boards", units=pattern if k == 0 else None,
                          note=placed.note or words)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of fitted work."""
        return FITTED

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield boards, joists and screws."""
        yield from plan_area(placed, self.section)
        if placed.built:
            from ..quantities.decking import deck_items

            size = f"{self.joists.size * 1000:g} × {self.joists.depth * 1000:g} mm" if self.joists.size else ""
            yield from deck_items(placed.name, self.rows(placed), self.ordering(garden), size,
                                  self.joists.noggins)

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield heights for a deck that people can fall from."""
        if placed.built and self.height > HIGH:
            yield Caution.HEIGHTS

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the section of boards and joists."""
        if placed.built:
            board, joists = self.board, self.joists
            sizes = {"board width": board.width, "board gap": board.gap, "board thickness": board.thickness,
                     "joist depth": joists.depth, "joist width": joists.size, "joist spacing": joists.spacing}
            clear = self.height - board.thickness - joists.depth
            sizes |= {"clear": clear} if self.height and clear >= 0 else {}
            yield SectionDetail(form="deck", title="Timber deck", sizes=sizes, words={"board": board.material},
                                elements=(placed.name,),
                                cuts=self._cuts(placed))

    def _cuts(self, placed: Placed) -> tuple[Cut, ...]:
        """Return the cut across the boards, in the middle of each part of the deck."""
        from ..kernel.measure import centroid

        along = Vec.polar(self.turn + math.pi / 2)
        return tuple(Cut(centroid(region), along, REACH) for region in placed.regions)
