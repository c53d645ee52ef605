"""Breaking words into lines that fit a width, and choosing the step of lettering that fits.

Widths and heights in millimetres on paper. Words never shrink below the sheet's least lettering: they break.
"""

from __future__ import annotations

from .lettering import broken, width

FIGURES, NAMES, NUMBERS, TITLES = 2.5, 3.5, 5.0, 7.0
"""The four capital heights of a sheet, mm."""


def wrap(
    words: str, limit: float, style: str = "regular", capitals: float = FIGURES, hang: float = 0.0
) -> tuple[str, ...]:
    """Return `words` in lines at most `limit` wide; the first line is `hang` shorter and may come out empty.

    Empty words give one empty line.
    """
    if not hang > 0:
        return broken(words, limit, style, capitals) or ("",)
    first, rest = "", words.split()
    while rest and width(f"{first} {rest[0]}".strip(), style, capitals) <= limit - hang:
        first = f"{first} {rest.pop(0)}".strip()
    return (first, *broken(" ".join(rest), limit, style, capitals))


def step(words: str, limit: float, style: str, steps: tuple[float, ...]) -> float:
    """Return the largest capital height of `steps` (large first) at which the words fit, or the last."""
    return next((s for s in steps if width(words, style, s) <= limit), steps[-1])


def shortened(words: str, limit: float, style: str = "regular", capitals: float = FIGURES) -> str:
    """Return the words cut off at the end with an ellipsis if they are wider than `limit`."""
    if width(words, style, capitals) <= limit:
        return words
    while words and width(words + "…", style, capitals) > limit:
        words = words[:-1].rstrip()
    return words + "…"
