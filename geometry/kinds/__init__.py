"""The kinds of element, one module each; a module's name is the word that stands after `kind:` in the file.

Takes: written elements. Gives: what each contributes in neutral terms: features, pegs wanted, obstacles,
items, digs, cautions, sections. Knows nothing of paper, and no kind knows another. Modules whose names
begin with `base` hold what kinds share. A new kind is one new file here.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from .base import Element


@cache
def kinds() -> Mapping[str, type[Element]]:
    """Return every kind's class by its word, in alphabetical order.

    TypeError, naming the file, for a module that defines no element or more than one.
    """
    found = {}
    for info in sorted(pkgutil.iter_modules(__path__), key=lambda one: one.name):
        if not info.name.startswith("base"):
            found[info.name] = _only_element(info.name)
    return MappingProxyType(found)


def _only_element(name: str) -> type[Element]:
    module = importlib.import_module(f"{__name__}.{name}")
    own = [
        cls
        for _, cls in inspect.getmembers(module, inspect.isclass)
        if issubclass(cls, Element) and cls.__module__ == module.__name__
    ]
    if len(own) != 1:
        raise TypeError(f"{module.__file__} defines {len(own)} elements; one kind is one module")
    return own[0]
