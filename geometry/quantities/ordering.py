"""How materials are ordered: options, breakage, packs, rounding to what is sold.

Takes: counts and options. Gives: items. Allowances are in per cent, shares in parts of one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from ..errors import ModelError, refuse
from ..features import Item
from .factors import Factors
from .pairing import Reuse


class BreakageLike(Protocol):
    """What breaks: shares of the cuts and of all units, and how sure the order must be to suffice."""

    @property
    def cuts(self) -> float:
        """Share of cuts that fail."""

    @property
    def units(self) -> float:
        """Share of all units that fail."""

    @property
    def sure(self) -> float:
        """Chance that the order suffices."""


class OrderingLike(Protocol):
    """The ordering options that quantities read."""

    @property
    def kerf(self) -> float:
        """Saw cut, m."""

    @property
    def ease(self) -> float:
        """What a joint takes up, m."""

    @property
    def reuse(self) -> str:
        """Which offcuts are laid again: none, straight, all."""

    @property
    def breakage(self) -> BreakageLike:
        """What breaks."""

    @property
    def spares(self) -> int:
        """Units of the same batch kept for repairs."""

    @property
    def stock(self) -> Mapping[str, tuple[float, ...]]:
        """Lengths sold, m, by material."""

    @property
    def packs(self) -> Mapping[str, float]:
        """Units to a pack, by material."""

    @property
    def trim(self) -> float:
        """What a shaped end of a board is trimmed by, m."""

    @property
    def soil(self) -> str:
        """The class of the soil that is dug."""

    @property
    def allowances(self) -> Mapping[str, float]:
        """Flat allowances of the model's own, shares by a name that stands in an item."""

    @property
    def factors(self) -> Factors:
        """Bulking, materials as sold, joints, laps and fixings: the model's own or the usual ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Breaks:
    """Failing shares; 3 % of cuts and 0.5 % of units at 95 % are assumptions without a source."""

    cuts: float = 0.03
    units: float = 0.005
    sure: float = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """Ordering options with their defaults, for those who call the library."""

    kerf: float = 0.003
    ease: float = 0.002
    reuse: str = Reuse.STRAIGHT.value
    breakage: Breaks = field(default_factory=Breaks)
    spares: int = 0
    stock: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    packs: Mapping[str, float] = field(default_factory=dict)
    trim: float = 0.03
    soil: str = "common earth"
    allowances: Mapping[str, float] = field(default_factory=dict)
    factors: Factors = field(default_factory=Factors)


def own_stock(ordering: OrderingLike, lengths: tuple[float, ...], *names: str) -> OrderingLike:
    """Return the options with an element's own stock lengths (m) for the named timbers; as they are without any."""
    if not lengths:
        return ordering
    return Choices(
        kerf=ordering.kerf,
        ease=ordering.ease,
        reuse=str(ordering.reuse),
        breakage=Breaks(cuts=ordering.breakage.cuts, units=ordering.breakage.units, sure=ordering.breakage.sure),
        spares=ordering.spares,
        stock={**ordering.stock, **dict.fromkeys(names, lengths)},
        packs=ordering.packs,
        trim=ordering.trim,
        soil=ordering.soil,
        allowances=ordering.allowances,
        factors=ordering.factors,
    )


def _failures(successes: int, share: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return the chances of 0, 1, 2 … failures before `successes` good ones (negative binomial)."""
    if successes == 0 or share <= 0:
        return np.array([1.0])
    mean = successes * share / (1 - share)
    top = int(mean + 12 * math.sqrt(mean / (1 - share)) + 20)
    k = np.arange(top + 1)
    logs = np.array([math.lgamma(n + successes) - math.lgamma(n + 1) for n in k.tolist()])
    chances = np.exp(logs - math.lgamma(successes) + successes * math.log1p(-share) + k * math.log(share))
    return np.asarray(chances, dtype=np.float64)


def extra_for_breakage(units: int, cuts: int, breakage: BreakageLike) -> int:
    """Return the units over those laid with which the job ends without a second trip, with the chance `sure`.

    Failures of cuts and of units are two negative binomials, added. ModelError for shares out of range.
    """
    if not (0 <= breakage.cuts < 0.9 and 0 <= breakage.units < 0.9 and 0 < breakage.sure < 1):
        raise refuse(
            ModelError,
            "breakage beyond all measure",
            "give shares of breakage under 90 % and a chance under 100 %: {cuts: 3 %, units: 0.5 %, sure: 95 %}",
            "bad-breakage",
        )
    chances = np.convolve(_failures(cuts, breakage.cuts), _failures(units, breakage.units))
    return int(np.searchsorted(np.cumsum(chances), breakage.sure - 1e-12))


def counted(number: float, one: str, many: str = "") -> str:
    """Return a number with its word: '1 run', '3 runs'."""
    return f"{number:g} {one if number == 1 else many or one + 's'}"


def up_to(value: float, step: float) -> float:
    """Return `value` rounded up to whole steps, forgiving rounding noise."""
    return math.ceil(value / step - 1e-9) * step


def tenths(value: float) -> float:
    """Return `value` rounded up to one decimal: how loose materials and ready-mixed concrete are ordered."""
    return round(up_to(value, 0.1), 1)


def packed(number: float, material: str, ordering: OrderingLike, unit: str = "number") -> tuple[float, str]:
    """Return the order and its unit: whole packs where the model names a pack, else the whole number."""
    pack = ordering.packs.get(material)
    if pack is None:
        return float(math.ceil(number - 1e-9)), unit
    if not pack >= 1:
        raise refuse(ModelError, f"packs of {pack:g} {material}", "a pack holds one unit or more", "bad-pack")
    packs = math.ceil(number / pack - 1e-9)
    return float(packs), f"packs of {pack:g}"


def laid_item(
    *, section: str, element: str, item: str, material: str, units: int, cuts: int, basis: str, ordering: OrderingLike
) -> Item:
    """Return the row of units that are laid and counted; the allowance is breakage and spares alone."""
    extra = extra_for_breakage(units, cuts, ordering.breakage)
    total = units + extra + ordering.spares
    order, unit = packed(total, material, ordering)
    breaks = ordering.breakage
    shares = f"{breaks.cuts * 100:g} % of {counted(cuts, 'cut')}, {breaks.units * 100:g} % of units"
    words = f"{basis}; {extra} for breakage ({shares}, {breaks.sure * 100:g} % sure)"
    words += f"; {ordering.spares} spares" if ordering.spares else ""
    return Item(
        section=section,
        element=element,
        item=item,
        unit="number",
        net=float(units),
        allowance=(total / units - 1) * 100 if units else 0.0,
        order=order,
        order_unit=unit,
        basis=words,
    )
