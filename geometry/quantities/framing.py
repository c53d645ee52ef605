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

BOLTS_PER_POST = 2
"""Bolts from beam to post (common practice, no source)."""

FIXINGS_PER_CROSSING = 2
"""Screws or a bracket's pair where a rafter crosses a beam (common practice, no source)."""


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
    bolts = BOLTS_PER_POST * len(timbers.posts)
    screws = FIXINGS_PER_CROSSING * 2 * len(timbers.rafters)
    for item, number, words in (
        ("coach bolts", bolts, "2 a post"),
        ("rafter fixings", screws, "2 where a rafter crosses a beam"),
    ):
        if number:
            yield Item(
                section=TIMBER,
                element=element,
                item=item,
                unit="number",
                net=float(number),
                order=float(number),
                order_unit="number",
                basis=words,
            )


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
    panel: float,
    height: float,
    post_in_ground: float,
    ordering: OrderingLike,
) -> Iterator[Item]:
    """Yield panels, posts and fixings of a fence."""
    words = f"{length:.3f} m of fence"
    cut = "".join(f"; one cut to {width * 1000:.0f} mm" for width in panels.cut)
    yield Item(
        section=FENCES,
        element=element,
        item=f"fence panels {panel * 1000:g} mm",
        unit="number",
        net=float(panels.panels),
        order=float(panels.panels),
        order_unit="panels",
        basis=f"{words}{cut}",
    )
    lengths = [post_length(height, post_in_ground)] * panels.posts
    yield timber_item(
        section=FENCES,
        element=element,
        item="fence posts",
        pieces=lengths,
        stock=stock_for(ordering.stock, "fence post", "post"),
        kerf=ordering.kerf,
        basis=f"{panels.posts} posts, {post_in_ground * 1000:g} mm in the ground; corner posts shared",
    )
    fixings = 4 * panels.panels
    yield Item(
        section=FENCES,
        element=element,
        item="panel clips",
        unit="number",
        net=float(fixings),
        order=float(fixings),
        order_unit="number",
        basis="4 a panel",
    )
    yield Item(
        section=FENCES,
        element=element,
        item="post caps",
        unit="number",
        net=float(panels.posts),
        order=float(panels.posts),
        order_unit="number",
        basis="one a post",
    )


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
