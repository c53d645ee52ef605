"""Pergolas and fences: posts, beams, rafters, panels, fixings, and the concrete round posts.

Takes: lines and sizes. Gives: items. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..errors import GeometryError, refuse
from ..features import Dig, Item
from ..kernel.path import Region
from .materials import material, volume_item
from .ordering import OrderingLike
from .rows import Panels
from .stock import stock_for, timber_item

TIMBER = "timber"
FENCES = "fences"


@dataclass(frozen=True, slots=True, kw_only=True)
class Timbers:
    """The members of a pergola, lengths in metres: one entry a piece."""

    posts: tuple[float, ...]
    beams: tuple[float, ...]
    rafters: tuple[float, ...]
    post_size: str = ""
    beam_size: str = ""
    rafter_size: str = ""


def post_length(height: float, in_ground: float, beam_depth: float = 0.0) -> float:
    """Return the length of a post: height, and what stands in the ground, less a beam that sits on top."""
    length = height + in_ground - beam_depth
    if not length > 0:
        raise refuse(GeometryError, "a post of no length", "give the height over the ground", "no-length")
    return length


def _fixings(section: str, element: str, item: str, number: int, words: str) -> Item:
    return Item(section=section, element=element, item=item, unit="number", net=float(number), order=float(number),
                order_unit="number", basis=words)


def pergola_items(element: str, timbers: Timbers, ordering: OrderingLike) -> Iterator[Item]:
    """Yield posts, beams, rafters and fixings."""
    rows = (
        ("post", timbers.posts, timbers.post_size, "over the ground and in it"),
        ("beam", timbers.beams, timbers.beam_size, "chords from post to post, with overhangs"),
        ("rafter", timbers.rafters, timbers.rafter_size, "width and both overhangs"),
    )
    for name, pieces, size, words in rows:
        if pieces:
            yield timber_item(
                section=TIMBER,
                element=element,
                item=f"{name}s {size}".strip(),
                pieces=pieces,
                stock=stock_for(ordering.stock, f"pergola {name}", name, "pergola"),
                kerf=ordering.kerf,
                basis=f"{len(pieces)} {name}s, {words}",
            )
    fixings = ordering.factors.fixings
    bolts = fixings.post * len(timbers.posts)
    screws = fixings.rafter * 2 * len(timbers.rafters)
    for item, number, words in (
        ("coach bolts", bolts, f"{fixings.post} a post"),
        ("rafter fixings", screws, f"{fixings.rafter} where a rafter crosses a beam"),
    ):
        if number:
            yield _fixings(TIMBER, element, item, number, words)


def post_pit_items(
    element: str, pits: int, side: float, depth: float, post: float, section: str = TIMBER
) -> Iterator[Item]:
    """Yield the concrete round posts: square pits less the posts in them."""
    if pits and side > 0 and depth > 0:
        volume = pits * (side * side - post * post) * depth
        yield volume_item(
            section=section,
            element=element,
            item="concrete round posts",
            volume=max(0.0, volume),
            stuff=material("concrete"),
            allowance=10.0,
            where=f"{pits} pits {side * 1000:g} × {side * 1000:g} × {depth * 1000:g} mm less the posts",
        )


def pits_dig(element: str, pits: Sequence[Region], depth: float) -> Dig:
    """Return the dig of post holes."""
    return Dig(element=element, outline=tuple(pits), depth=depth)


def fence_items(
    element: str,
    length: float,
    panels: Panels,
    posts: int,
    panel: float,
    height: float,
    post_in_ground: float,
    ordering: OrderingLike,
) -> Iterator[Item]:
    """Yield panels, posts and fixings of a fence with `posts` posts."""
    widths: dict[int, int] = {}
    for width in panels.cut:
        widths[round(width * 1000)] = widths.get(round(width * 1000), 0) + 1
    cut = "".join(f"; {number} cut to {width} mm" for width, number in sorted(widths.items()))
    yield Item(
        section=FENCES,
        element=element,
        item=f"fence panels {panel * 1000:g} mm",
        unit="number",
        net=float(panels.panels),
        order=float(panels.panels),
        order_unit="panels",
        basis=f"{length:.3f} m of fence; {panels.whole} whole{cut}",
    )
    yield timber_item(
        section=FENCES,
        element=element,
        item="fence posts",
        pieces=[post_length(height, post_in_ground)] * posts,
        stock=stock_for(ordering.stock, "fence post", "post"),
        kerf=ordering.kerf,
        basis=f"{posts} posts, {post_in_ground * 1000:g} mm in the ground; corner posts shared",
    )
    clips = ordering.factors.fixings.panel
    for item, number, words in (
        ("panel clips", clips * panels.panels, f"{clips} a panel"),
        ("post caps", posts, "one a post"),
    ):
        yield _fixings(FENCES, element, item, number, words)


def plain_fence_items(
    element: str, length: float, posts: int, height: float, post_in_ground: float, ordering: OrderingLike
) -> Iterator[Item]:
    """Yield the rows of a fence of which no panel is given: its length and posts."""
    yield Item(
        section=FENCES,
        element=element,
        item="fence",
        unit="m",
        net=length,
        order=math.ceil(length * 10 - 1e-9) / 10,
        order_unit="m",
        basis="length of the line; the model gives no panel",
    )
    if posts:
        yield timber_item(
            section=FENCES,
            element=element,
            item="fence posts",
            pieces=[post_length(height, post_in_ground)] * posts,
            stock=stock_for(ordering.stock, "fence post", "post"),
            kerf=ordering.kerf,
            basis=f"{posts} posts",
        )
