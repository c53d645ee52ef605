"""Wall: masonry along a line, with piers, openings, coping and footing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, ClassVar

from ..errors import ModelError, Problem, Weight, refuse
from ..features import Caution, Cut, Dig, Feature, Item, Purpose, Role, SectionDetail, Status, Tolerance, Wanted
from ..kernel.path import Loop, Path
from ..kernel.point import Point, Vec
from ..kernel.station import heading_at, point_at, project, stretch
from ..reading.values import Depth, Size, YesNo
from .base import FITTED, Element, GardenView, Line, Placed, Regions, Resolver, feature
from .base_cuts import REACH, line_cuts
from .base_drain import DrainGiven, Side, length_beside
from .base_masonry import BrickGiven, CopingGiven, FootingGiven, MasonryBond, OpeningGiven, PiersGiven
from .base_shapes import plan_area
from .base_units import square_at

if TYPE_CHECKING:
    from ..quantities.bricks import Brick
    from ..quantities.walls import WallPlan

LOW = 0.3
"""Tapes pass over a wall up to this height, metres (the model's rule)."""

CLEAR = 0.2
"""A typical section is cut so far from piers and openings, metres."""


class Face(StrEnum):
    """Which face of the wall the line is: its middle, or the wall stands to the left or right of it."""

    CENTRE = "centre"
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall(Element):
    """A wall along a line. One that `retains` ground: `higher` says on which side, walking along the line.

    seat wall:
      kind: wall
      line: {straight: [[0, 0], [4, 0]]}
      face: left
      thickness: 215 mm
      height: 0.45
      unit: {length: 215 mm, width: 102.5 mm, height: 65 mm, joint: 10 mm}
      bond: English
      coping: {unit: 215 mm, overhang: 0}
      footing: {width: 0.45, depth: 0.25}
    """

    section: ClassVar[str] = "walls"

    line: Line
    face: Face = Face.CENTRE
    thickness: Size
    height: Size
    unit: BrickGiven | None = None
    bond: MasonryBond = MasonryBond.STRETCHER
    openings: tuple[OpeningGiven, ...] = ()
    coping: CopingGiven | None = None
    piers: PiersGiven | None = None
    damp_proof: YesNo = False
    footing: FootingGiven | None = None
    retains: Depth = 0.0
    higher: Side | None = None
    drain: DrainGiven | None = None

    def __post_init__(self) -> None:
        if not self.retains and (self.drain is not None or self.higher is not None):
            raise refuse(ModelError, "a wall with higher ground or a drain behind it holds something back",
                         "give `retains`, how much higher the ground behind it is", "retains-nothing")

    # -- geometry --------------------------------------------------------------------------------------------

    def centre(self, line: Path) -> Path:
        """Return the wall's middle line."""
        from ..kernel.offset import Corners, parallel

        by = {Face.CENTRE: 0.0, Face.LEFT: self.thickness / 2, Face.RIGHT: -self.thickness / 2}[self.face]
        found = parallel(line, by, Corners.SQUARE) if by else (line,)
        if len(found) != 1:
            raise refuse(ModelError, f"a wall {self.thickness * 1000:g} mm thick does not fit beside its line",
                         "use a thinner wall, a wider curve, or `face: centre`", "wall-too-thick")
        return found[0]

    def pier_places(self, line: Path, centre: Path) -> tuple[float, ...]:
        """Return the stations of the piers along the middle line; those that the model gives are along its line."""
        if self.piers is None:
            return ()
        if self.piers.at:
            return tuple(across(line, centre, station) for station in self.piers.at)
        length = centre.length
        count = max(1, math.ceil(length / (self.piers.spacing or length) - 1e-9))
        return tuple(length * k / count for k in range(count + 1))

    def pier_bodies(self, line: Path, centre: Path) -> Regions:
        """Return the squares of the piers."""
        if self.piers is None:
            return ()
        length = centre.length
        return tuple(square_at(point_at(centre, min(max(s, 0.0), length)), self.piers.size,
                               heading_at(centre, min(max(s, 0.0), length))) for s in self.pier_places(line, centre))

    def body(self, shape: Regions | Path | Point, resolver: Resolver) -> Regions:
        """Return the plan of the masonry, openings to the ground left out."""
        from ..kernel.combine import difference, union
        from ..kernel.offset import Corners, band

        assert isinstance(shape, Path)
        centre = self.centre(shape)
        whole = union((*band(centre, self.thickness, corners=Corners.SQUARE), *self.pier_bodies(shape, centre)))
        gaps = [gap for opening in self.openings for gap in self._opening(shape, centre, opening, 0.02)
                if not opening.sill]
        return difference(whole, gaps) if gaps else whole

    def jambs(self, line: Path, opening: OpeningGiven) -> tuple[float, float]:
        """Return the stations of an opening's sides along the line; ModelError for one outside the wall."""
        start, end = opening.at - opening.width / 2, opening.at + opening.width / 2
        if not (start >= -1e-9 and end <= line.length + 1e-9):
            raise refuse(ModelError, f"an opening from {start:.3f} to {end:.3f} m in a wall {line.length:.3f} m long",
                         "move it along, or make it narrower", "opening-outside")
        return max(start, 0.0), min(end, line.length)

    def _opening(self, line: Path, centre: Path, opening: OpeningGiven, over: float = 0.0) -> Regions:
        """Return the plan of an opening, `over` wider than the wall."""
        from ..kernel.offset import Corners, band

        start, end = (across(line, centre, station) for station in self.jambs(line, opening))
        return band(stretch(centre, start, end), self.thickness + over, corners=Corners.SQUARE)

    def plan(self, placed: Placed) -> WallPlan:
        """Return the wall as quantities count it."""
        from ..quantities.walls import Opening, WallPlan

        assert placed.line is not None
        centre = self.centre(placed.line)
        openings = tuple(Opening(width=o.width, height=o.height or self.height - o.sill, sill=o.sill)
                         for o in self.openings)
        from ..kernel.combine import union
        from ..kernel.offset import Corners, band

        piers = self.pier_bodies(placed.line, centre)
        whole = union((*band(centre, self.thickness, corners=Corners.SQUARE), *piers))
        return WallPlan(element=placed.name, centre=centre, plan=whole, thickness=self.thickness, height=self.height,
                        below=self.footing.cover if self.footing else 0.0, openings=openings, piers=piers)

    def brick(self) -> Brick | None:
        """Return the brick, None where none is named."""
        from ..quantities.bricks import Brick

        unit = self.unit
        return None if unit is None else Brick(length=unit.length, width=unit.width, height=unit.height,
                                               joint=unit.joint, material=unit.material, voids=unit.voids)

    def footing_plan(self, placed: Placed) -> Regions:
        """Return the footing's plan; empty without one."""
        if self.footing is None:
            return ()
        from ..quantities.footings import footing_outline

        plan = self.plan(placed)
        return footing_outline(plan.centre, self.footing.width, plan.closed, self.thickness, plan.piers)

    # -- what it says of itself ------------------------------------------------------------------------------

    def features(self, placed: Placed, garden: GardenView) -> Iterator[Feature]:
        """Yield the masonry, openings over a sill, and a coping that stands over its faces."""
        from ..kernel.combine import difference
        from ..kernel.offset import Corners, band

        assert placed.line is not None
        centre = self.centre(placed.line)
        words = placed.note or (self.unit.material if self.unit else "wall")
        surface = "brick" if self.unit is None or "brick" in self.unit.material else "stone"
        for region in placed.regions:
            yield feature(placed, Role.WALL, region, surface=surface, width=self.thickness, height=self.height,
                          note=words)
        for number, opening in enumerate(self.openings, 1):
            for region in self._opening(placed.line, centre, opening) if opening.sill else ():
                yield feature(placed, Role.WALL_OPENING, region, width=opening.width, part=f"opening {number}",
                              note=f"sill {opening.sill:.2f}")
        if self.coping is not None and self.coping.overhang:
            over = self.thickness + 2 * self.coping.overhang
            gaps = [gap for opening in self.openings if not opening.sill
                    for gap in self._opening(placed.line, centre, opening, 2 * over)]
            for region in difference(band(centre, over, corners=Corners.SQUARE), gaps):
                yield feature(placed, Role.COPING, region, part="coping", note="")

    def wanted(self, placed: Placed, garden: GardenView) -> tuple[Wanted, ...]:
        """Return the sides of openings to the ground, on the line."""
        line = placed.line
        assert line is not None
        return tuple(Wanted(part=f"opening {number} {side}", at=point_at(line, station), purpose=Purpose.LINE,
                            along=line)
                     for number, opening in enumerate(self.openings, 1) if not opening.sill
                     for side, station in zip(("start", "end"), self.jambs(line, opening), strict=True)
                     if 1e-3 < station < line.length - 1e-3)

    def peg_lines(self, placed: Placed, garden: GardenView) -> tuple[Loop | Path, ...]:
        """Return the line that the model gives: the face or the middle."""
        assert placed.line is not None
        return (placed.line,)

    def falling(self, placed: Placed) -> Vec:
        """Return no fall: courses are level."""
        return Vec(0.0, 0.0)

    def heights(self, placed: Placed) -> tuple[tuple[str, float], ...]:
        """Return the bottom of the trench, the top of the footing, and the tops of masonry and coping."""
        found = [("top of the masonry", self.height)]
        if self.coping:
            found.append(("top of the coping", self.height + self.coping.height))
        if self.footing:
            low = self.footing.cover
            found = [("bottom of the trench", -low - self.footing.depth), ("top of the footing", -low), *found]
        return tuple(found)

    def usual_tolerance(self, placed: Placed) -> Tolerance:
        """Return the tolerance of fitted work."""
        return FITTED

    def blocks_usually(self, placed: Placed) -> bool:
        """Say yes for a wall that tapes cannot pass over."""
        return self.height > LOW

    def dug_outline(self, body: Regions, resolver: Resolver) -> Regions:
        """Return the footing's trench, or the masonry grown by 100 mm where no footing is given."""
        from ..kernel.offset import Corners, grown

        by = (self.footing.width - self.thickness) / 2 if self.footing else 0.10
        return grown(body, max(by, 0.0), Corners.SQUARE)

    def items(self, placed: Placed, garden: GardenView) -> Iterator[Item]:
        """Yield bricks, mortar, coping, damp-proof course and footing."""
        yield from plan_area(placed, self.section)
        if not placed.built:
            return
        from ..quantities.footings import footing_items
        from ..quantities.walls import coping_items, damp_proof_item, wall_items

        plan, brick = self.plan(placed), self.brick()
        if brick is not None:
            yield from wall_items(plan, brick, self.bond.value, garden.ordering)
        else:
            yield Item(section=self.section, element=placed.name, item="masonry", unit="m3",
                       net=placed.area * self.height,
                       basis=f"{placed.area:.3f} m2 × {self.height:g} m; no unit is named")
        if self.coping is not None:
            yield from coping_items(plan, self.coping.unit, self.coping.joint, self.coping.overhang, garden.ordering,
                                    garden.ordering.ease)
        if self.damp_proof:
            yield damp_proof_item(plan, garden.ordering.factors)
        if self.drain is not None:
            beside = length_beside(plan.centre, self.higher, (self.thickness + self.drain.stone) / 2)
            yield from self.drain.items(placed.name, beside, self.drain.held(self.retains, plan.below))
        if self.footing is not None:
            yield from footing_items(placed.name, self.footing_plan(placed), self.footing.depth)

    def digs(self, placed: Placed, garden: GardenView) -> Iterator[Dig]:
        """Yield the trench."""
        if self.footing is not None and placed.built:
            from ..quantities.footings import footing_dig

            yield footing_dig(placed.name, self.footing_plan(placed), self.footing.depth, self.footing.cover)

    def cautions(self, placed: Placed, garden: GardenView) -> Iterator[Caution]:
        """Yield walls, dust and the trench."""
        yield Caution.WALLS
        if placed.status is Status.REMOVE:
            yield Caution.CLEARANCE
        if placed.built:
            yield Caution.DUST
            yield Caution.EXCAVATION

    def sections(self, placed: Placed, garden: GardenView) -> Iterator[SectionDetail]:
        """Yield the section through the wall."""
        if not placed.built:
            return
        sizes = {"thickness": self.thickness, "height": self.height, "retained": self.retains}
        words: dict[str, str] = {}
        if self.unit is not None:
            words |= {"unit": self.unit.material, "bond": f"{self.bond.value} bond"}
            sizes |= {"unit height": self.unit.height, "unit width": self.unit.width, "joint": self.unit.joint}
        if self.footing is not None:
            sizes |= {"below": self.footing.cover, "footing width": self.footing.width,
                      "footing depth": self.footing.depth}
        if self.coping is not None:
            sizes |= {"coping width": self.thickness + 2 * self.coping.overhang, "coping height": self.coping.height}
            words |= {"coping": f"{self.coping.material} coping", **({"drip": "yes"} if self.coping.drip else {})}
        if self.piers is not None:
            sizes["pier"] = self.piers.size
        if self.damp_proof:
            sizes["damp course"] = 1.0
        if self.drain is not None:
            sizes |= self.drain.sizes()
            words |= {"fabric": "yes"} if self.drain.fabric else {}
        yield SectionDetail(form="wall", title=placed.label, sizes=sizes, words=words, elements=(placed.name,),
                            cuts=self._cuts(placed))

    def _cuts(self, placed: Placed) -> tuple[Cut, ...]:
        """Return cuts across the wall, clear of its piers and openings where any part is."""
        assert placed.line is not None
        line, centre = placed.line, self.centre(placed.line)
        wide = max(self.thickness, self.footing.width if self.footing else 0.0)
        looked = centre.reversed() if self.higher is Side.RIGHT else centre     # the higher ground is drawn at the left
        cuts = line_cuts(looked, wide / 2 + REACH / 2)
        half = self.piers.size / 2 if self.piers else 0.0
        taken = [(at - half, at + half) for at in self.pier_places(line, centre)]
        for opening in self.openings:
            first, last = self.jambs(line, opening)
            taken.append((across(line, centre, first), across(line, centre, last)))
        at = {cut: project(centre, cut.at).station for cut in cuts}
        clear = tuple(cut for cut in cuts if not any(a - CLEAR < at[cut] < b + CLEAR for a, b in taken))
        return clear or cuts

    def advice(self, placed: Placed, garden: GardenView) -> Iterator[Problem]:
        """Yield height, lengths that need cut bricks, curves too tight; ground that is held and not drained."""
        if placed.built:
            from ..quantities.walls import wall_advice

            yield from wall_advice(self.plan(placed), self.brick())
            if self.retains and self.drain is None:
                yield Problem(f"{placed.name}: holds back {self.retains:.2f} m of ground and names no drain",
                              "give `drain: {stone: 300 mm, pipe: 100 mm}`; an engineer decides", "no-drain",
                              weight=Weight.ADVICE)


def across(line: Path, centre: Path, station: float) -> float:
    """Return the station of the middle line that lies across the wall from a station of its given line."""
    return project(centre, point_at(line, station)).station
