"""What an element may say of itself, in neutral terms: features to draw, marks to peg, items to order.

Takes: shapes. Gives: values that pegs, quantities, planting and drawings work from, so that none of
them is ever told about a kind of element. Knows nothing of YAML, paper or files. Lengths in metres,
angles in radians.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeAlias

from .errors import Place
from .kernel.path import Loop, Path, Region
from .kernel.point import Point, Vec

Shape: TypeAlias = Region | Path | Point


class Status(StrEnum):
    """Whether a thing stands already, is to be made, or is to go."""

    EXISTING = "existing"
    PROPOSED = "proposed"
    REMOVE = "remove"


class Role(StrEnum):
    """What a feature is to a drawing. Each role has its layer, pens and hatch in templates/layers.yaml."""

    BOUNDARY = "boundary"
    TURF = "turf"
    PLANTING = "planting"
    PAVING = "paving"               # laid in units: slabs, blocks, setts, bricks
    LOOSE = "loose"                 # gravel and other loose surfaces
    DECK = "deck"
    WATER = "water"
    CONCRETE = "concrete"           # in-situ concrete surface
    EDGE_BAND = "edge band"         # edging or mowing edge of true width
    WALL = "wall"
    WALL_OPENING = "wall opening"
    COPING = "coping"
    FENCE = "fence"
    HEDGE = "hedge"
    STEPS = "steps"                 # outline of the flight
    RISER = "riser"                 # one line a riser
    STEP_ARROW = "step arrow"       # path from the foot up
    POST = "post"
    BEAM = "beam"                   # overhead, a path
    RAFTER = "rafter"               # overhead, a path
    CROWN = "crown"                 # a tree's spread, at a point, size = diameter
    STEM = "stem"
    BUILDING = "building"
    FURNITURE = "furniture"         # a seat, a pot, a sundial: point, size, turn
    SERVICE = "service"
    PLANT_GROUP = "plant group"
    PLANT = "plant"                 # one plant, at a point, size = spread
    FALL = "fall"                   # path pointing down the fall; note holds the ratio
    LAY_FROM = "lay from"
    LEVEL = "level"                 # spot level, at a point; note holds the figure


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitPattern:
    """Paving units or boards as laid, for drawing: joint lines clipped to the region, and the cut pieces."""

    joints: tuple[Path, ...]
    cut: tuple[Region, ...] = ()
    slivers: tuple[Region, ...] = ()
    length: float = 0.0             # of a unit (work size); 0 for boards
    width: float = 0.0
    courses: tuple[Path, ...] = ()  # course lines alone, for scales at which units are too small
    shifts: tuple[float, ...] = (0.0, 0.5)      # of one course after another, as parts of a unit
    lay_from: Point | None = None
    turn: float = 0.0
    name: str = ""                  # 'stone slabs 600 × 600, stretcher'


@dataclass(frozen=True, slots=True, kw_only=True)
class Feature:
    """One thing to draw: a shape in a role, and what a drawing may say about it."""

    role: Role
    shape: Shape
    element: str = ""               # the element's name in the model
    part: str = ""                  # 'riser 2', 'beam left'
    status: Status = Status.PROPOSED
    size: float = 0.0               # diameter or side of a thing at a point
    turn: float = 0.0
    width: float = 0.0              # of a band, hedge, wall
    height: float = 0.0
    surface: str = ""               # material key for hatch and tint: 'turf', 'slabs', 'setts', 'gravel', 'brick' …
    symbol: str = ""                # 'seat', 'sundial', 'pot', 'tree' …
    note: str = ""                  # words of the element for the label's second line
    units: UnitPattern | None = None
    sources: tuple[str, ...] = ()   # elements that share this edge


class Purpose(StrEnum):
    """What a peg marks (the `purpose` column of pegs.csv)."""

    CONTROL = "control"
    AUXILIARY = "auxiliary"
    CORNER = "corner"
    CENTRE = "centre"
    TANGENT = "tangent point"
    CURVE = "curve"
    ASIDE = "aside"
    FOCUS = "focus"
    LINE = "line"
    POST = "post"
    RECOVERY = "recovery"
    LEVEL = "level"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """How far pegs may be out: position in the garden and shape in itself; `built` of the finished edge. Metres."""

    position: float
    shape: float | None
    built: float
    built_shape: float | None = None
    trued: bool = False             # pegs are moved until sides and diagonals agree


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A point that an element wants pegged besides those of its outlines: a post, a tree, a step's corner."""

    part: str
    at: Point
    purpose: Purpose
    along: Path | None = None       # posts of one row share the line that they stand on


@dataclass(frozen=True, slots=True, kw_only=True)
class Pegging:
    """All that one element wants pegged.

    The pegs package derives corners, centres, tangent points and
    curve points from `outlines`; `wanted` names further points. `dug` is the dug outline (finished
    outline, edge and working space), empty where nothing is dug.
    """

    element: str
    kind: str
    outlines: tuple[Loop | Path, ...] = ()
    wanted: tuple[Wanted, ...] = ()
    tolerance: Tolerance = field(default_factory=lambda: Tolerance(position=0.03, shape=0.015, built=0.015))
    stage: int = 1
    dug: tuple[Region, ...] = ()
    levels: Mapping[str, float] = field(default_factory=dict)   # part -> level
    place: Place | None = None      # where the element is written


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """What a tape cannot pass: the body, and how far clear of it a tape must run (0 lies along the face)."""

    element: str
    body: Region
    clear: float = 0.0
    stage: int = 0                  # 0 stands already; n blocks tapes for pegs of later stages only


@dataclass(frozen=True, slots=True, kw_only=True)
class Tie:
    """One taped reading between two control marks: metres, and its own standard deviation if stated."""

    mark: str
    reading: float
    error: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkGiven:
    """A control mark as the model states it: typed coordinates, or ties to other marks, or both."""

    name: str
    at: Point | None = None
    ties: tuple[Tie, ...] = ()
    side: str = ""                  # 'left' or 'right' of the first tied mark to the second
    what: str = ""                  # 'house corner by the kitchen door'
    short: str = ""
    point: str = ""
    photo: str = ""
    error: float | None = None      # standard deviation of each of its own readings


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One row of quantities.csv. `order` is empty (None) for lines that only inform."""

    section: str                    # 'paving', 'walls', 'excavation', 'timber', 'soft landscape' …
    element: str
    item: str
    unit: str                       # 'm2', 'm3', 'm', 'number', 't'
    net: float
    allowance: float = 0.0          # per cent
    order: float | None = None
    order_unit: str = ""
    basis: str = ""
    again: Callable[..., Item] | None = field(default=None, compare=False, repr=False)
    """Makes the same row with another `allowance` (per cent) and ordering `factors`, where its allowance is flat."""

    @property
    def gross(self) -> float:
        """Net with its allowance, in `unit`."""
        return self.net * (1 + self.allowance / 100)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dig:
    """What one element digs: its dug outline and the depth below the ground as it is, metres."""

    element: str
    outline: tuple[Region, ...]
    depth: float
    finished: tuple[Region, ...] = ()


class Caution(StrEnum):
    """A danger that a sheet must warn of when the garden touches it."""

    SERVICES = "services"
    WALLS = "walls"
    WATER = "water"
    TREES = "trees"
    DUST = "dust"
    HEIGHTS = "heights"
    EXCAVATION = "excavation"
    CLEARANCE = "clearance"
    FELLING = "felling"
    DRAINING = "draining"
    LOWERING = "lowering"
    BREAKING = "breaking"
    TAPES = "tapes"


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionLayer:
    """One layer of a built section, from the top down: material, thickness (m), how far it runs beyond the edge (m)."""

    material: str
    thickness: float
    beyond: float = 0.0


@dataclass(frozen=True, slots=True)
class Cut:
    """Where a section is cut: a point on it, the way its right-hand side lies, how far it reaches each way (m).

    `along` is of length 1; who looks at the section looks to the left of it. Of an elevation it runs along the thing.
    """

    at: Point
    along: Vec
    reach: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionDetail:
    """A typical section for the details sheet.

    `form` names the drawing ('surface', 'bed', 'edging', 'wall', 'steps', 'pergola', 'fence', 'post foot', 'deck',
    'pond'); `sizes` holds the figures that it needs by name, metres; `elements` are those built so. All names are
    optional, a figure that is missing is not drawn:

    surface  edge width, edge depth (restraint), fall (1 in so many); words: edge (its material), under
    bed      as a surface
    edging   width, depth (of the unit), layers under it; words: material
    wall     thickness, height (of the masonry above the lower ground), retained (height of the ground at the left),
             below (lower ground to footing), unit height, unit width, joint, pier (side), coping width, coping height,
             footing width, footing depth, damp course (1 if there is one), drain stone (its width), drain pipe
             (diameter), drain cover (soil over the stone), weep (diameter), weep spacing;
             words: unit, bond, coping, footing, drip, fabric ('yes')
    steps    riser, going, risers, tread (thickness), width; words: tread
    pergola  height (of the beams), bay, bays, post, beam width, beam depth, rafter width, rafter depth, rafter
             spacing, footing width, footing depth, off (posts clear of the ground); words: post, beam, rafter, footing
    fence    height, panel, post, footing width, footing depth; words: panel, post, footing
    post foot  post, footing width, footing depth, off; words: post
    deck     board width, board gap, board thickness, joist width, joist depth, joist spacing, clear (to the ground)
    pond     depth, edge width, edge depth, water (below the edge); layers from the water down
    """

    form: str
    title: str
    layers: tuple[SectionLayer, ...] = ()
    sizes: Mapping[str, float] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    elements: tuple[str, ...] = ()
    cuts: tuple[Cut, ...] = ()      # where it may be cut, the best place first


__all__ = [
    "Caution", "Cut", "Dig", "Feature", "Item", "MarkGiven", "Obstacle", "Pegging", "Purpose", "Role", "SectionDetail",
    "SectionLayer", "Shape", "Status", "Tie", "Tolerance", "UnitPattern", "Vec", "Wanted",
]
