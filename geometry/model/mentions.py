"""Which names a written form mentions, and in which order things can therefore be resolved.

Takes: forms, and for each thing the things that its shape needs. Gives: an order in which each thing comes
after those it needs, and every circle of references by name. Nothing here recurses over the garden, so a
chain of a thousand elements is as good as a short one.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Generic, TypeVar

from ..errors import Place
from ..reading.fields import Form

N = TypeVar("N", bound=Hashable)


def forms_in(value: object) -> Iterator[Form]:
    """Yield the outermost forms inside a value: of a form only itself, of lists and mappings those they hold."""
    if isinstance(value, Form):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from forms_in(item)
    elif isinstance(value, Mapping):
        for item in value.values():
            yield from forms_in(item)
    elif is_dataclass(value) and not isinstance(value, (type, Place)):
        for one in fields(value):
            yield from forms_in(getattr(value, one.name))


def all_forms(value: object) -> Iterator[Form]:
    """Yield every form inside a value, the forms inside forms too (their depth is bounded by the reader)."""
    for form in forms_in(value):
        yield form
        for one in fields(form):
            yield from all_forms(getattr(form, one.name))


@dataclass(frozen=True, slots=True)
class Sequencing(Generic[N]):
    """An order of things, and the circles among them (each as the names along it, the first again at the end)."""

    order: tuple[N, ...]
    circles: tuple[tuple[N, ...], ...]


def sequenced(needs: Mapping[N, Sequence[N]]) -> Sequencing[N]:
    """Return `needs` in an order in which each comes after what it needs; circles apart, their members left out."""
    order: list[N] = []
    circles: list[tuple[N, ...]] = []
    done: set[N] = set()
    for first in needs:
        if first not in done:
            _walk(first, needs, order, circles, done)
    looped = {name for circle in circles for name in circle}
    return Sequencing(tuple(name for name in order if name not in looped), tuple(circles))


def _walk(first: N, needs: Mapping[N, Sequence[N]], order: list[N], circles: list[tuple[N, ...]], done: set[N]) -> None:
    """Walk down from one thing with a stack of our own; a thing met again on the stack closes a circle."""
    trail: list[N] = [first]
    waiting: list[Iterator[N]] = [iter(needs[first])]
    on_trail: dict[N, int] = {first: 0}
    while trail:
        below = next(waiting[-1], None)
        if below is None:
            name = trail.pop()
            waiting.pop()
            del on_trail[name]
            done.add(name)
            order.append(name)
        elif below in on_trail:
            circles.append((*trail[on_trail[below] :], below))
        elif below in needs and below not in done:
            on_trail[below] = len(trail)
            trail.append(below)
            waiting.append(iter(needs[below]))
