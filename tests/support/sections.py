"""Typical sections by lot, of every form and of sizes at the edge of what is built. All invented."""

from __future__ import annotations

import random
from collections.abc import Callable

from pegbook.geometry.features import SectionDetail, SectionLayer

ELEMENTS = ("border",)


def _size(dice: random.Random, low: float, high: float) -> float:
    return round(dice.uniform(low, high) / 0.005) * 0.005


def _layer(material: str, thickness: float, beyond: float = 0.0) -> SectionLayer:
    return SectionLayer(material=material, thickness=thickness, beyond=beyond)


def _surface(dice: random.Random, title: str) -> SectionDetail:
    layers = (_layer("stone slab", _size(dice, 0.02, 0.1)), _layer("bedding mortar", _size(dice, 0.02, 0.06)),
              *((_layer("ground fabric", 0.001, 0.1),) if dice.random() < 0.5 else ()),
              _layer("compacted stone", _size(dice, 0.05, 0.3), _size(dice, 0, 0.3)))
    edge = {"edge width": _size(dice, 0.03, 0.2), "edge depth": _size(dice, 0.05, 0.3), "fall": 60.0}
    return SectionDetail(form="surface", title=title, layers=layers, sizes=edge if dice.random() < 0.7 else {},
                         words={"edge": dice.choice(["concrete", "timber board"])}, elements=ELEMENTS)


def _edging(dice: random.Random, title: str) -> SectionDetail:
    return SectionDetail(form="edging", title=title, elements=ELEMENTS,
                         layers=(_layer("concrete", _size(dice, 0.05, 0.3), _size(dice, 0, 0.2)),),
                         sizes={"width": _size(dice, 0.02, 0.4), "depth": _size(dice, 0.04, 0.3)},
                         words={"material": dice.choice(["brick", "edging kerb", "timber board"])})


def _wall(dice: random.Random, title: str) -> SectionDetail:
    high, thick = _size(dice, 0.2, 2.2), _size(dice, 0.1, 0.44)
    sizes = {"thickness": thick, "height": high}
    words = {"unit": "brick", "bond": "English garden wall bond", "fabric": "yes"}
    if dice.random() < 0.7:
        sizes |= {"retained": _size(dice, 0.1, high)}
    if dice.random() < 0.7:
        sizes |= {"below": _size(dice, 0, 0.5), "footing width": _size(dice, 0.3, 1.0),
                  "footing depth": _size(dice, 0.1, 0.5)}
    if dice.random() < 0.7:
        over = _size(dice, 0, 0.1)
        sizes |= {"coping width": thick + over, "coping height": _size(dice, 0.03, 0.15)}
        words |= {"coping": "stone coping", **({"drip": "yes"} if over > 0.05 else {})}
    if dice.random() < 0.5:
        sizes |= {"unit height": 0.065, "unit width": 0.1025, "joint": 0.01}
    if dice.random() < 0.5:
        sizes |= {"pier": thick + _size(dice, 0.05, 0.3)}
    if dice.random() < 0.5:
        sizes |= {"damp course": 1.0}
    if dice.random() < 0.7 and sizes.get("retained", 0.0) + sizes.get("below", 0.0) > 0.2:
        sizes |= {"drain stone": _size(dice, 0.15, 0.5), "drain cover": _size(dice, 0, 0.15), "weep spacing": 1.2,
                  "drain pipe": _size(dice, 0.05, 0.14), "weep": _size(dice, 0.03, 0.08)}
    return SectionDetail(form="wall", title=title, sizes=sizes, words=words, elements=ELEMENTS)


def _steps(dice: random.Random, title: str) -> SectionDetail:
    sizes = {"riser": _size(dice, 0.08, 0.2), "going": _size(dice, 0.25, 0.6), "risers": float(dice.randint(1, 14)),
             "tread": _size(dice, 0.02, 0.08), "base": _size(dice, 0.05, 0.3), "block thickness": 0.1,
             "block height": 0.215}
    return SectionDetail(form="steps", title=title, sizes=sizes, elements=ELEMENTS,
                         words={"tread": "stone tread", "block": "concrete block"})


def _foot(dice: random.Random) -> dict[str, float]:
    return {"post": _size(dice, 0.07, 0.2), "footing width": _size(dice, 0.25, 0.8),
            "footing depth": _size(dice, 0.3, 1.2)}


def _pergola(dice: random.Random, title: str) -> SectionDetail:
    sizes = {"height": _size(dice, 1.8, 3.2), "bay": _size(dice, 0.8, 4), "bays": float(dice.randint(1, 8)),
             "beam depth": _size(dice, 0.1, 0.3), "rafter depth": _size(dice, 0.05, 0.2), "rafter width": 0.047,
             "rafter spacing": _size(dice, 0.2, 0.9), "off": dice.choice([0.0, 0.05]), **_foot(dice)}
    return SectionDetail(form="pergola", title=title, sizes=sizes, elements=ELEMENTS)


def _fence(dice: random.Random, title: str) -> SectionDetail:
    sizes = {"height": _size(dice, 0.4, 2.4), "panel": _size(dice, 0.5, 3), **_foot(dice)}
    return SectionDetail(form="fence", title=title, sizes=sizes, elements=ELEMENTS)


def _post_foot(dice: random.Random, title: str) -> SectionDetail:
    sizes = {"off": dice.choice([0.0, 0.03, 0.05, 0.1]), **_foot(dice)}
    return SectionDetail(form="post foot", title=title, sizes=sizes, elements=ELEMENTS)


def _deck(dice: random.Random, title: str) -> SectionDetail:
    sizes = {"board width": _size(dice, 0.08, 0.3), "board gap": 0.005, "board thickness": _size(dice, 0.02, 0.06),
             "joist depth": _size(dice, 0.05, 0.3), "joist width": 0.047, "joist spacing": 0.4,
             **({"clear": _size(dice, 0, 1.0)} if dice.random() < 0.5 else {})}
    return SectionDetail(form="deck", title=title, sizes=sizes, elements=ELEMENTS)


def _pond(dice: random.Random, title: str) -> SectionDetail:
    edge = {"edge width": _size(dice, 0.1, 0.5), "edge depth": _size(dice, 0, 0.1)} if dice.random() < 0.6 else {}
    return SectionDetail(form="pond", title=title, words={"edge": "stone slab"}, elements=ELEMENTS,
                         sizes={"depth": _size(dice, 0.2, 1.5), "liner": _size(dice, 0, 0.4), **edge})


MAKERS: tuple[Callable[[random.Random, str], SectionDetail], ...] = (
    _surface, _edging, _wall, _wall, _wall, _steps, _pergola, _fence, _post_foot, _deck, _pond)


def sections_by_lot(seed: int) -> tuple[SectionDetail, ...]:
    """Return three to nine sections, the same for the same seed."""
    dice = random.Random(seed)
    return tuple(dice.choice(MAKERS)(dice, f"Section {k}") for k in range(dice.randint(3, 9)))
