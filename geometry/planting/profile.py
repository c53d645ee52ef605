"""The elevation strip of a bed: how high its plants stand along its length, season by season.

Takes a planted bed. Gives for each season the plants that can be seen, back ones first, so that drawing them in their
order hides what stands behind. Heights are the plants' own figures; nothing is guessed from the habit.
"""

from __future__ import annotations

from dataclasses import dataclass

from .planted import BedPlanting
from .plants import Plant

SEASONS = (("spring", (3, 4, 5)), ("summer", (6, 7, 8)), ("autumn", (9, 10, 11)), ("winter", (12, 1, 2)))
"""Seasons of the northern half of the world by whole months (the meteorological ones)."""


@dataclass(frozen=True, slots=True)
class Standing:
    """One plant in the strip: its middle along the bed, its width and height (m), from front 0 to back 1."""

    station: float
    place: float
    width: float
    height: float
    plant: Plant
    group: int                      # 0: a single plant
    flowering: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """The strip of one season: `length` and `height` (of the tallest plant of the bed) in metres."""

    bed: str
    season: str
    months: tuple[int, ...]
    length: float
    height: float
    plants: tuple[Standing, ...]


def visible(plant: Plant, months: tuple[int, ...]) -> bool:
    """Say whether a plant stands above ground in any of the months: evergreen, or on in one of them."""
    return plant.evergreen or any(plant.interest.holds(m) for m in months)


def strips_of(planted: BedPlanting) -> tuple[Strip, ...]:
    """Return the four strips of a bed. Plants without a height are left out."""
    everything = [(g.plant, s, p, g.number) for g in planted.groups for s, p in zip(g.stations, g.places, strict=True)]
    everything += [(s.plant, s.station, s.place, 0) for s in planted.singles]
    tallest = max((plant.height for plant, *_ in everything), default=0.0)
    everything.sort(key=lambda t: (-round(t[2], 3), round(t[1], 3), t[0].name))
    return tuple(Strip(planted.name, season, months, planted.length, tallest, tuple(
        Standing(station, place, plant.width, plant.height, plant, group,
                 any(m in plant.interest.flower for m in months))
        for plant, station, place, group in everything if plant.height > 0 and visible(plant, months)))
        for season, months in SEASONS)
