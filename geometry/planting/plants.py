"""What is known of a kind of plant: a neutral value that any reader can fill.

All lengths in metres (pots in litres or by their diameter in metres), months 1 to 12. The figures are the
designer's own; nothing here knows a plant by name.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from ..errors import ModelError, refuse

MONTHS = tuple(range(1, 13))
MONTH_LETTERS = "JFMAMJJASOND"


class Habit(StrEnum):
    """What sort of plant it is: decides how it is supplied, ordered in the schedule, and planted (largest first)."""

    TREE = "tree"
    SHRUB = "shrub"
    CLIMBER = "climber"
    PERENNIAL = "perennial"
    FERN = "fern"
    GRASS = "grass"
    ANNUAL = "annual"
    BULB = "bulb"


class SpacingForm(StrEnum):
    """How plants stand in a group: settled to full spacing, a fixed grid, or scattered evenly."""

    FITTED = "fitted"
    TRIANGULAR = "triangular"
    SQUARE = "square"
    RANDOM = "random"


@dataclass(frozen=True, slots=True, kw_only=True)
class Interest:
    """The months (1 to 12) in which a plant is worth looking at: in flower, in leaf, as winter seed heads or stems."""

    flower: tuple[int, ...] = ()
    foliage: tuple[int, ...] = ()
    winter: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        for month in (*self.flower, *self.foliage, *self.winter):
            if month not in MONTHS:
                raise refuse(ModelError, f"month {month}", "months are 1 to 12", "bad-month")

    def holds(self, month: int) -> bool:
        """Say whether the plant is on in `month`."""
        return month in self.flower or month in self.foliage or month in self.winter


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """How a plant is delivered. Ranges are (least, most); a single figure is written twice.

    `girth` (m, of a tree's stem at 1 m), `height` (m, of a shrub or bare-rooted plant), `pot` (litres),
    `pot_width` (m, of a small pot), `form` ('multi-stem', 'feathered', 'bare root'), `words` as given: they
    stand instead of all others.
    """

    girth: tuple[float, float] | None = None
    height: tuple[float, float] | None = None
    pot: float | None = None
    pot_width: float | None = None
    form: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """One kind of plant. `spacing`, `height`, `spread` in metres; `colour` is a colour family in free words.

    `spacing` is between plants, centre to centre. `spread` is the mature width of one plant (0: its spacing).
    `see_through` lets a tall plant stand forward. `marker` is the name of its plant mark, '' lets the drawing choose.
    `caution` warns of what can hurt ('all parts are poisonous').
    """

    name: str
    spacing: float
    botanical: str = ""
    height: float = 0.0
    spread: float = 0.0
    habit: Habit = Habit.PERENNIAL
    interest: Interest = field(default_factory=Interest)
    colour: str = ""
    evergreen: bool = False
    see_through: bool = False
    supply: Supply = field(default_factory=Supply)
    spare: float = 0.0              # per cent ordered beyond the plants placed, a line of its own
    caution: str = ""
    remark: str = ""
    marker: str = ""

    def __post_init__(self) -> None:
        if not 0.02 <= self.spacing <= 30:
            raise refuse(ModelError, f"{self.name}: a spacing of {self.spacing:.3f} m",
                         "give the distance between plants, 0.02 to 30 m", "bad-spacing")
        if not (0 <= self.height <= 60 and 0 <= self.spread <= 60):
            raise refuse(ModelError, f"{self.name}: a height or spread that no plant has", "give metres, 0 to 60",
                         "bad-plant-size")
        if not 0 <= self.spare <= 100:
            raise refuse(ModelError, f"{self.name}: {self.spare:.0f} % spare", "give 0 to 100 %", "bad-spare")

    @property
    def width(self) -> float:
        """The spread, or the spacing where none is given, metres."""
        return self.spread or self.spacing
