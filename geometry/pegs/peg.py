"""What setting out results in: pegs with their readings, checks, ways back after the dig, and the set of them.

Frozen values that sheets, booklet, tables and proof are written from. Lengths in metres, limits in whole
millimetres, predicted errors in millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from ..errors import Problem
from ..features import Purpose
from ..kernel.path import Loop, Path
from ..kernel.point import Point, Vec
from .control import Control
from .tape import Options, Reading

Matrix = tuple[tuple[float, float], tuple[float, float]]
"""A 2 x 2 covariance in m2."""


class Method(StrEnum):
    """How a peg is found (the `method` column of pegs.csv)."""

    FIXED = "fixed"
    TIES = "ties"
    OFFSET = "offset"
    LINE = "line"
    CHORD = "chord"
    RADIUS = "radius"


class CheckKind(StrEnum):
    """What a check measure proves (the `kind` column of checks.csv)."""

    CONTROL = "control"
    PEG = "peg"
    RUN = "run"
    TRUE = "true"
    CLOSING = "closing"
    FOUND = "found"
    BUILT = "built"
    LEVEL = "level"


@dataclass(frozen=True, slots=True, kw_only=True)
class Peg:
    """One row of pegs.csv, and beside it what sheets want to know: where it rebuilds, and how sure it is.

    `at` is the design position, `rebuilt` the one that the printed readings give. `error` is the predicted standard
    error of position in mm (root of the trace of the covariance); `square` the same for the part that its purpose needs
    (square to the curve for a curve peg); `shape` what is left of it in its own shape. `trued_square` and `trued_shape`
    are the same after truing up, where the sheet asks for it. `angle` is the angle between two tapes in degrees, 90 for
    methods with a right angle. `serves` names further elements that share the peg. `work` is the element's number in
    working order (0 for control and auxiliary), `stage` its building stage.
    """

    name: str
    purpose: Purpose
    at: Point
    method: Method
    order: int
    element: str = ""
    part: str = ""
    level: float | None = None
    from_1: str = ""
    reading_1: Reading | None = None
    from_2: str = ""
    reading_2: Reading | None = None
    side: str = ""
    from_3: str = ""
    reading_3: Reading | None = None
    level_from: str = ""
    level_reading: Reading | None = None
    check_from: str = ""
    check_reading: Reading | None = None
    check_limit: int | None = None
    error: float = 0.0
    remark: str = ""
    rebuilt: Point | None = None
    covariance: Matrix = ((0.0, 0.0), (0.0, 0.0))
    square: float = 0.0
    shape: float | None = None
    trued_square: float | None = None
    trued_shape: float | None = None
    position_limit: float | None = None      # mm
    shape_limit: float | None = None         # mm
    angle: float | None = None
    chain: int = 0
    stage: int = 1
    work: int = 0
    serves: tuple[str, ...] = ()
    primary: bool = True
    bound: float = 0.0                       # mm: how far rounding may move the rebuilt peg

    @property
    def sources(self) -> tuple[str, ...]:
        """Names of the marks and pegs that it hangs on, hooks first."""
        names = self.from_1.split("-") if self.method is Method.OFFSET else [self.from_1]
        return tuple(n for n in (*names, self.from_2, self.from_3) if n)

    @property
    def shift(self) -> float:
        """How far rounding moves it, mm."""
        return 0.0 if self.rebuilt is None else self.rebuilt.distance(self.at) * 1000

    @property
    def inside(self) -> bool:
        """Whether twice the predicted error keeps within the element's tolerances, after truing up if it is trued."""
        if self.trued_square is None:
            return self.inside_as_set
        return self._within(self.trued_square, self.trued_shape)

    @property
    def inside_as_set(self) -> bool:
        """The same before any truing up."""
        return self._within(self.square, self.shape)

    def _within(self, square: float, shape: float | None) -> bool:
        position = self.position_limit is None or 2 * square <= self.position_limit + 1e-9
        return position and (shape is None or self.shape_limit is None or 2 * shape <= self.shape_limit + 1e-9)

    @property
    def ellipse(self) -> tuple[float, float, float]:
        """Error ellipse: half axes (mm, one standard deviation) and heading of the longer one (radians)."""
        return ellipse_of(self.covariance)


def ellipse_of(cov: Matrix) -> tuple[float, float, float]:
    """Return the half axes (mm) and the heading (radians) of the longer, from a covariance in m2."""
    (a, b), (_, d) = cov
    mean, half = (a + d) / 2, math.hypot((a - d) / 2, b)
    long_axis, short_axis = math.sqrt(max(mean + half, 0.0)), math.sqrt(max(mean - half, 0.0))
    return long_axis * 1000, short_axis * 1000, 0.5 * math.atan2(2 * b, a - d)


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One row of checks.csv; `low` and `high` are the range that is good, rounded outward to the tape's step."""

    start: str
    end: str
    distance: Reading
    allowed: int
    kind: CheckKind
    gate: int | None
    low: Reading
    high: Reading
    element: str = ""
    proves: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recovery:
    """One row of recovery.csv: how a peg that the dig takes away is found again."""

    peg: str
    method: str                              # 'crossing', 'line' or 'ties'
    order: int
    from_1: str
    reading_1: Reading | None = None
    from_2: str = ""
    reading_2: Reading | None = None
    side: str = ""
    check_from: str = ""
    check_reading: Reading | None = None
    check_limit: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """One way to set a peg, as weighed: q is the worse of the two shares of tolerance, 1 is just inside."""

    method: str
    sources: tuple[str, ...]
    q: float
    angle: float | None                      # degrees
    tape: float                              # metres pulled out
    level: int                               # pegs below it and itself
    error: float                             # mm
    chosen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Height:
    """What is built higher (negative: lower) than the top of a peg, as read on a rule; `allowed` in mm."""

    what: str
    peg: str
    reading: Reading
    allowed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """What the design says of an element's heights.

    `low` is its lowest corner, `down` how its pegs' tops fall (metres down a metre), `built` what is built higher
    (negative: lower) than that corner: words, metres, and how far it may be out (mm).
    """

    low: Point
    down: Vec
    built: tuple[tuple[str, float, int], ...] = ()

    def drop(self, at: Point) -> float:
        """Return how much lower than the lowest corner a peg's top at `at` is to stand, metres (negative: higher)."""
        return (at - self.low).dot(self.down)


@dataclass(frozen=True, slots=True, kw_only=True)
class PegSet:
    """All pegs in working order, checks, ways back, and what was thought on the way.

    `elements` gives the elements in working order with their numbers, `strings` the names S1, S2 ...
    of recovery strings by their two pegs, `weighed` the ways considered for each peg, `outlines` what was pegged.
    """

    pegs: tuple[Peg, ...]
    checks: tuple[Check, ...]
    recovery: tuple[Recovery, ...]
    control: Control
    options: Options
    elements: Mapping[str, int] = field(default_factory=dict)
    strings: Mapping[str, str] = field(default_factory=dict)
    weighed: Mapping[str, tuple[Weighed, ...]] = field(default_factory=dict)
    held: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    outlines: Mapping[str, tuple[Loop | Path, ...]] = field(default_factory=dict)
    heights: Mapping[str, tuple[Height, ...]] = field(default_factory=dict)
    rises: Mapping[str, Rise] = field(default_factory=dict)

    def peg(self, name: str) -> Peg:
        """Return the peg called `name`; KeyError if there is none."""
        for peg in self.pegs:
            if peg.name == name:
                return peg
        raise KeyError(name)

    def by_name(self) -> dict[str, Peg]:
        """Return the pegs by name."""
        return {peg.name: peg for peg in self.pegs}

    def of(self, element: str) -> tuple[Peg, ...]:
        """Return the pegs of one element in working order, recovery pegs left out."""
        return tuple(p for p in self.pegs if p.element == element and p.purpose is not Purpose.RECOVERY)
