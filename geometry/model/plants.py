"""Plants as written: spacing, height, months of interest, how they are delivered. Lengths in metres."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar, TypeAlias

from ..planting.plants import Habit, Interest, Plant, Supply
from ..reading.fields import Reading, Written, read_value
from ..reading.source import Node, Series
from ..reading.values import Depth, Month, Positive, Share, Size, Text, YesNo


@dataclass(frozen=True, slots=True, kw_only=True)
class InterestGiven(Written):
    """The months (1 to 12) in which a plant is worth looking at."""

    called: ClassVar[str] = "interest"

    flower: tuple[Month, ...] = ()
    foliage: tuple[Month, ...] = ()
    winter: tuple[Month, ...] = ()


@dataclass(frozen=True, slots=True)
class RangeWord:
    """Reads a length, or `[least, most]`."""

    def read(self, node: Node, reading: Reading) -> tuple[float, float]:
        """Return least and most, metres."""
        if isinstance(node, Series):
            pair: tuple[float, float] = read_value(tuple[Size, Size], node, reading)
            return pair
        value = read_value(Size, node, reading)
        return value, value

    def schema(self) -> dict[str, Any]:
        """Return a length or two."""
        return {
            "anyOf": [
                {"$ref": "#/$defs/length"},
                {"type": "array", "items": {"$ref": "#/$defs/length"}, "minItems": 2, "maxItems": 2},
            ]
        }


Range: TypeAlias = Annotated[tuple[float, float], RangeWord()]


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyGiven(Written):
    """How a plant is delivered: words alone, or girth and height (lengths or ranges), pot (litres), pot_width, form."""

    called: ClassVar[str] = "supply"
    bare: ClassVar[str] = "words"

    words: Text = ""
    girth: Range | None = None
    height: Range | None = None
    pot: Positive | None = None
    pot_width: Size | None = None
    form: Text = ""

    def value(self) -> Supply:
        """Return what the schedule prints."""
        return Supply(
            girth=self.girth,
            height=self.height,
            pot=self.pot,
            pot_width=self.pot_width,
            form=self.form,
            words=self.words,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantGiven(Written):
    """A plant of the garden: spacing between plants, height, months of interest."""

    called: ClassVar[str] = "a plant"

    botanical: Text = ""
    spacing: Size
    height: Depth = 0.0
    spread: Depth = 0.0
    habit: Habit = Habit.PERENNIAL
    interest: InterestGiven = field(default_factory=InterestGiven)
    colour: Text = ""
    evergreen: YesNo = False
    see_through: YesNo = False
    supply: SupplyGiven | None = None
    spare: Share = 0.0
    caution: Text = ""
    remark: Text = ""
    marker: Text = ""

    def value(self, name: str) -> Plant:
        """Return the plant called `name`; ModelError for sizes that no plant has."""
        interest = Interest(flower=self.interest.flower, foliage=self.interest.foliage, winter=self.interest.winter)
        return Plant(
            name=name,
            spacing=self.spacing,
            botanical=self.botanical,
            height=self.height,
            spread=self.spread,
            habit=self.habit,
            interest=interest,
            colour=self.colour,
            evergreen=self.evergreen,
            see_through=self.see_through,
            supply=self.supply.value() if self.supply else Supply(),
            spare=self.spare * 100,
            caution=self.caution,
            remark=self.remark,
            marker=self.marker,
        )
