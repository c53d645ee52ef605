"""Lettering: how wide words are, which words may be written at all, and where a line may break.

Takes: words. Gives: millimetres on paper and clean words, the same for every format. Knows nothing of
sheets or files. Kerning is off everywhere, so that a width is the sum of the advances; the table comes
from the faces that ship in templates/fonts.
"""

from __future__ import annotations

import json
import math
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

from .. import templates
from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.point import Point, Vec

LONGEST = 250
"""Characters that one line of lettering may have (limit of the oldest DXF form is 255 bytes)."""

NAME_LONGEST = 31
"""Characters of a layer, block, style or layout name that every DXF version accepts."""

FACES: Mapping[str, str] = {
    "regular": "sans-regular", "bold": "sans-bold", "italic": "sans-italic",
    "reading": "booklet-bold", "words": "booklet-condensed", "words bold": "booklet-condensed-bold",
}
"""Style of lettering -> face in templates/fonts. The first three are for sheets, the rest for the booklet."""

DESCENT = 0.212
"""Depth of g, j, p, q, y below the baseline in em (drawn outline of the sheet face)."""


@dataclass(frozen=True, slots=True)
class Face:
    """One face: file name in templates/fonts, height of its capitals in em, advances in em by character."""

    name: str
    capitals: float
    ascent: float
    descent: float
    advances: Mapping[str, float]


@cache
def faces() -> Mapping[str, Face]:
    """Return all faces by file name (without suffix)."""
    table = json.loads((files(templates) / "fonts" / "widths.json").read_text(encoding="utf-8"))
    return {name: Face(name, t["capitals"], t["ascent"] / t["em"], t["descent"] / t["em"],
                       {c: a / t["em"] for c, a in t["advances"].items()}) for name, t in table.items()}


def face(style: str) -> Face:
    """Return the face of a style (a key of FACES); DrawingError for another."""
    if style not in FACES:
        raise refuse(DrawingError, f"there is no lettering '{style}'", f"use one of {', '.join(FACES)}", "no-lettering")
    return faces()[FACES[style]]


def font_size(capitals: float, style: str = "regular") -> float:
    """Return the size of the em in mm for capitals of the given height in mm."""
    return capitals / face(style).capitals


def width(words: str, style: str = "regular", capitals: float = 2.5) -> float:
    """Return the length in mm of a line of lettering with capitals of the given height in mm.

    Measured on the words as they will be written (`sanitised`); the sum of the face's advances.
    """
    f = face(style)
    return _ems(words, f.name) * capitals / f.capitals


@lru_cache(maxsize=1 << 15)
def _ems(words: str, name: str) -> float:
    advances = faces()[name].advances
    return math.fsum(advances.get(c, advances["0"]) for c in sanitised(words))


def ink_box(words: str, at: Point, style: str = "regular", capitals: float = 2.5, anchor: str = "start",
            turn: float = 0.0) -> tuple[Point, Point, Point, Point]:
    """Return the corners (mm) of a line's box, from its descenders (if any) to its capitals, turned by `turn` radians.

    The first corner is the bottom left as one reads; the rest follow anticlockwise.
    """
    long = width(words, style, capitals)
    start = {"start": 0.0, "middle": -long / 2, "end": -long}[anchor]
    drop = -DESCENT * font_size(capitals, style) if any(c in "gjpqyQ,;()[]" for c in words) else 0.0
    along, up = Vec.polar(turn), Vec.polar(turn + math.pi / 2)

    def corner(a: float, u: float) -> Point:
        return at + along * a + up * u

    return corner(start, drop), corner(start + long, drop), corner(start + long, capitals), corner(start, capitals)


# ---------------------------------------------------------------- clean words

_SPACES = re.compile("[\t\n\v\f\r\x85\u00a0\u2000-\u200a\u2028\u2029\u202f\u205f\u3000 ]+")
_LOOK_ALIKE = str.maketrans({
    "\\": "/", "^": "'", "{": "(", "}": ")", "⌀": "Ø", "\u2010": "-", "\u2011": "-", "\u2012": "–", "\u2215": "/",
    "∅": "Ø", "\u02bc": "’", "\u00ad": "", "\u2715": "×", "\u2716": "×", "\u22c5": "·", "\u2219": "·",
})
_DROPPED = frozenset(("Cc", "Cs", "Co", "Cn", "Cf"))
_JOINERS = frozenset("\u200c\u200d")


def plain(words: str, longest: int = LONGEST) -> str:
    """Return words without control, private and unassigned characters, space single, at most `longest` bytes of UTF-8.

    For data that rides along unseen (descriptions, element names); what is drawn goes through `sanitised`.
    """
    text = _SPACES.sub(" ", unicodedata.normalize("NFC", words))
    if not text.isascii() or not text.isprintable():
        text = "".join(c for c in text if c in _JOINERS or unicodedata.category(c) not in _DROPPED)
        text = text.replace("\ufffe", "").replace("\uffff", "")
    text = _SPACES.sub(" ", text).strip()
    while len(text.encode("utf-8")) > longest:
        text = text[:-1]
    return text.strip()


@lru_cache(maxsize=1 << 15)
def sanitised(words: str) -> str:
    """Return words as every format writes them: `plain`, with look-alikes for what one format reads as a code.

    Backslash, caret, braces and a doubled per cent sign are codes of the DXF that readers treat differently,
    so all formats write '/', an apostrophe, round brackets and '% %' for them. A letter with a mark that the
    faces lack loses the mark.
    """
    text = plain(words).translate(_LOOK_ALIKE)
    if not text.isascii():
        known = face("regular").advances
        text = "".join(c if c in known or face("words").advances.get(c) else _without_mark(c, known) for c in text)
    text = re.sub(r"%(?=%)", "% ", text)
    return _SPACES.sub(" ", text).strip()


def _without_mark(character: str, known: Mapping[str, float]) -> str:
    bare = "".join(c for c in unicodedata.normalize("NFKD", character) if not unicodedata.combining(c))
    gone = unicodedata.combining(character) > 0         # a mark on its own
    return bare if (bare or gone) and all(c in known for c in bare) else character


def lacking(words: str, style: str = "regular") -> str:
    """Return the characters, each once, that the face of a style cannot draw even after `sanitised`."""
    known = face(style).advances
    return "".join(dict.fromkeys(c for c in sanitised(words) if c not in known))


def checked(words: str, style: str = "regular") -> str:
    """Return `sanitised(words)`; DrawingError if the face lacks a character (a box would hide a fact)."""
    text = sanitised(words)
    known = face(style).advances
    if not all(c in known for c in text):
        raise refuse(DrawingError, f"the lettering has no character for '{lacking(words, style)}' in '{text}'",
                     "write it with Latin, Greek or Cyrillic letters", "no-character")
    return text


_UNSAFE = re.compile(r"[^A-Z0-9_$-]+")


def safe_name(words: str, taken: Sequence[str] = (), longest: int = NAME_LONGEST) -> str:
    """Return a name for a layer, block or layout that every DXF version takes, unlike all in `taken`."""
    folded = unicodedata.normalize("NFKD", plain(words)).encode("ascii", "ignore").decode("ascii").upper()
    stem = _UNSAFE.sub("_", folded).strip("_")[:longest] or "UNNAMED"
    used, name, n = {t.upper() for t in taken}, stem, 1
    while name in used:
        n += 1
        name = f"{stem[:longest - len(str(n)) - 1]}_{n}"
    return name


# ---------------------------------------------------------------- lines

@lru_cache(maxsize=1 << 14)
def broken(words: str, longest: float, style: str = "regular", capitals: float = 2.5) -> tuple[str, ...]:
    """Break words into lines of at most `longest` mm, at spaces, else inside a word too long for any line.

    No line is empty; no words give no line. DrawingError if not even one character fits.
    """
    lines: list[str] = []
    line = ""
    for word in sanitised(words).split(" "):
        trial = f"{line} {word}".strip()
        if width(trial, style, capitals) <= longest:
            line = trial
            continue
        if line:
            lines.append(line)
        *whole, line = _pieces(word, longest, style, capitals)
        lines += whole
    return tuple([*lines, line] if line else lines)


def _pieces(word: str, longest: float, style: str, capitals: float) -> list[str]:
    pieces: list[str] = []
    piece = ""
    for c in word:
        if piece and width(piece + c, style, capitals) > longest:
            pieces.append(piece)
            piece = ""
        piece += c
        if width(c, style, capitals) > longest:
            raise refuse(DrawingError, f"a column of {longest:.1f} mm cannot hold a letter", "give it more room",
                         "too-narrow")
    return [*pieces, piece]


__all__ = ["DESCENT", "FACES", "LONGEST", "Face", "broken", "checked", "face", "faces", "font_size", "ink_box",
           "lacking", "plain", "safe_name", "sanitised", "width"]
