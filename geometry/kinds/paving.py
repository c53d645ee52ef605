"""Paving: a surface laid in units inside an outline."""

from __future__ import annotations

from dataclasses import dataclass

from .base import Outline
from .base_laid import Laid


@dataclass(frozen=True, slots=True, kw_only=True)
class Paving(Laid):
    """A terrace or other paved surface.

    terrace:
      kind: paving
      outline: {rectangle: {corner: [0, 0], length: 6.1, width: 3.66}}
      unit: {length: 600 mm, width: 600 mm, joint: 10 mm, thickness: 40 mm, material: stone slab}
      bond: stretcher
      lay_from: [0, 0]
      fall: {toward: [3, 3.66], one_in: 60}
      build_up: foot slabs
    """

    outline: Outline
