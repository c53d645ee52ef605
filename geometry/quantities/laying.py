"""Units really laid: which are whole, which are cut, and what the joints take.

Takes: a region, a unit, a bond, where the first unit lies and how it is turned. Gives: a Layout, from which
counts, cutting lists and the drawing are all made, so that they cannot differ. Lengths in metres, areas in m2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import GeometryError, refuse
from ..kernel.inside import areas, near_and_in
from ..kernel.path import Region
from ..kernel.point import Point
from ..kernel.runs import Flags, Floats, Frame, Ints, Runs, area_of, runs_of
from .patterns import Bond, Lattice, Unit, lattice

EASE = 0.002
"""What a joint takes up: nobody saws 2 mm off a slab (common practice, no source)."""

AREA = 1e-9
"""Units that are covered to within this area (m2) are wholly in or wholly out."""

CERTIFICATE = 1e-6
"""The cells must sum to the region's area within this (m2), or the layout is refused."""

FAR = 1000.0
"""Further than this from the region, the origin is first moved by whole lattice steps."""

MOST_UNITS = 5_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Units laid on a region, in the frame of the laying.

    `boxes` are the rectangles of the units that are laid, `areas` what of each lies in the region, `whole`
    those that need no saw; `names` are lattice numbers (along, up, place in the motif), which stay when an
    edge moves elsewhere. `cells` are the rectangles grown by half a joint; `misfit` is by how much the cells of
    all units, laid or not, miss the area of the region (m2): the certificate.
    """

    regions: tuple[Region, ...]
    unit: Unit
    bond: Bond
    frame: Frame
    lattice: Lattice
    runs: Runs
    boxes: Floats
    cells: Floats
    areas: Floats
    whole: Flags
    near: Flags
    names: Ints
    ease: float
    region_area: float
    lay_from: Point
    misfit: float

    @property
    def count(self) -> int:
        """Units touched: whole and cut."""
        return len(self.boxes)

    @property
    def wholes(self) -> int:
        """Units that are laid whole."""
        return int(self.whole.sum())

    @property
    def cuts(self) -> int:
        """Units that are sawn."""
        return self.count - self.wholes

    @property
    def unit_area(self) -> float:
        """Area covered by units, m2, exact."""
        return math.fsum(self.areas)

    @property
    def joint_area(self) -> float:
        """Area of all joints, exact at curved edges too, m2."""
        return self.region_area - self.unit_area


def _frame(regions: Sequence[Region], lay_from: Point, turn: float, grid: Lattice) -> tuple[Frame, tuple[int, int]]:
    """Return the frame at `lay_from`, moved by whole lattice steps when that is far away, and the steps."""
    frame = Frame(lay_from, turn)
    box = regions[0].box
    x, y = frame.inward(box.centre)
    if math.hypot(x, y) < FAR:
        return frame, (0, 0)
    up = round(y / grid.step[1])
    along = round((x - up * grid.step[0]) / grid.period)
    moved = frame.outward(along * grid.period + up * grid.step[0], up * grid.step[1])
    return Frame(moved, turn), (along, up)


def _candidates(runs: Runs, grid: Lattice) -> tuple[Floats, Ints, Floats]:
    """Return all units whose cell meets the box of the region: rectangles, names, joints (x, y) of each."""
    half = max(grid.end_joint, grid.side_joint) / 2
    x0, x1 = runs.x_least.min() - half, runs.x_most.max() + half
    y0, y1 = runs.yl.min() - half, runs.yu.max() + half
    rough = (x1 - x0) * (y1 - y0) / (grid.places[0].across * grid.places[0].up)
    if rough > MOST_UNITS:
        raise refuse(
            GeometryError,
            f"about {rough:,.0f} units",
            "see whether the size of a unit is in millimetres",
            "too-many-units",
        )
    boxes, names, joints = [], [], []
    for m, place in enumerate(grid.places):
        j = np.arange(
            math.floor((y0 - place.y - place.up) / grid.step[1]), math.ceil((y1 - place.y) / grid.step[1]) + 1
        )
        left = place.x + j * grid.step[0]
        first = np.floor((x0 - left - place.across) / grid.period).astype(np.int64)
        count = math.ceil((x1 - x0 + place.across) / grid.period) + 2
        i = first[:, None] + np.arange(count)
        x = (place.x + j * grid.step[0])[:, None] + i * grid.period
        y = np.broadcast_to((place.y + j * grid.step[1])[:, None], x.shape)
        box = np.stack([x, y, x + place.across, y + place.up], axis=-1).reshape(-1, 4)
        name = np.stack([i, np.broadcast_to(j[:, None], i.shape), np.full(i.shape, m)], axis=-1).reshape(-1, 3)
        keep = (box[:, 2] >= x0) & (box[:, 0] <= x1) & (box[:, 3] >= y0) & (box[:, 1] <= y1)
        boxes.append(box[keep])
        names.append(name[keep])
        # a unit that lies along x has its ends left and right
        along = place.across >= place.up
        joint = (grid.end_joint, grid.side_joint) if along else (grid.side_joint, grid.end_joint)
        joints.append(np.tile(np.array(joint) / 2, (int(keep.sum()), 1)))
    return np.concatenate(boxes), np.concatenate(names).astype(np.int64), np.concatenate(joints)


def _classed(runs: Runs, boxes: Floats, covered: Floats, ease: float) -> tuple[Flags, Flags]:
    """Return which units near the boundary are whole, and which are absent, by the ease."""
    full = (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    whole, absent = covered >= full - AREA, covered <= AREA
    open_ = np.nonzero(~whole & ~absent)[0]
    if ease > 0 and len(open_):
        shrunk = boxes[open_] + np.array([ease, ease, -ease, -ease])
        rest = (shrunk[:, 2] - shrunk[:, 0]) * (shrunk[:, 3] - shrunk[:, 1])
        inner = areas(runs, shrunk)
        whole[open_] = inner >= rest - AREA
        absent[open_] = inner <= AREA
    return whole, absent


def lay(
    regions: Sequence[Region], unit: Unit, bond: Bond, lay_from: Point, turn: float = 0.0, ease: float = EASE
) -> Layout:
    """Lay `unit` in `bond` on regions that do not overlap, the first unit's lower left corner at `lay_from`.

    `turn` in radians; `ease` is what the joints take up, m. GeometryError: 'no-area', 'no-units' (the region
    is smaller than a joint), 'unit-too-large', 'layout-area' (the cells do not add up: the outline crosses
    itself), and those of the bond.
    """
    if not regions:
        raise refuse(GeometryError, "nothing to lay units on", "give the paving an outline", "no-area")
    grid = lattice(unit, bond)
    if not 0 <= ease < min(unit.length, unit.width) / 4:
        raise refuse(
            GeometryError,
            f"an ease of {ease * 1000:.0f} mm",
            "the ease is what a joint takes up, about 2 mm",
            "bad-ease",
        )
    frame, moved = _frame(regions, lay_from, turn, grid)
    runs = runs_of(regions, frame)
    area = area_of(regions)
    boxes, names, joints = _candidates(runs, grid)
    cells = boxes + np.concatenate([-joints, joints], axis=1)
    near, inside = near_and_in(runs, cells, min(unit.length, unit.width) / 2)
    at = np.nonzero(near)[0]
    covered = np.where(inside, (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1]), 0.0)
    covered[at] = areas(runs, boxes[at])
    whole, absent = inside.copy(), ~inside
    whole[at], absent[at] = _classed(runs, boxes[at], covered[at], ease)
    cell = float(((cells[:, 2] - cells[:, 0]) * (cells[:, 3] - cells[:, 1]))[inside].sum()) + math.fsum(
        areas(runs, cells[at])
    )
    if not abs(cell - area) <= CERTIFICATE * max(1.0, area * 1e-3):
        raise refuse(
            GeometryError,
            f"units cover {cell:.6f} m2 of an outline of {area:.6f} m2",
            "check that the outline does not cross itself",
            "layout-area",
        )
    kept = ~absent
    _check_size(kept, unit, area)
    return Layout(
        tuple(regions),
        unit,
        bond,
        frame,
        grid,
        runs,
        boxes[kept],
        cells[kept],
        covered[kept],
        whole[kept],
        near[kept],
        names[kept] + np.array([*moved, 0]),
        ease,
        area,
        lay_from,
        cell - area,
    )


def _check_size(kept: Flags, unit: Unit, area: float) -> None:
    if not kept.any():
        raise refuse(
            GeometryError,
            f"an outline of {area:.4f} m2 takes no unit: it is narrower than a joint",
            "widen the outline, or give it no units",
            "no-units",
        )
    if unit.area > area:
        raise refuse(
            GeometryError,
            f"a unit of {unit.length * 1000:.0f} × {unit.width * 1000:.0f} mm is larger than the "
            f"{area:.3f} m2 that it is laid on",
            "choose a smaller unit",
            "unit-too-large",
        )
