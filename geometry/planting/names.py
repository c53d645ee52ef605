"""The form of a botanical name, as the code for cultivated plants has it. Takes text, gives what is wrong with it.

Checked is form alone: whether such a plant exists is the nursery's knowledge.
Source: International Code of Nomenclature for Cultivated Plants, 9th edition (Scripta Horticulturae 18, 2016),
articles 8, 14, 21 and 22, and the botanical code for genus and epithet `[from memory]`.
"""

from __future__ import annotations

import re

_LETTERS = "a-zäëïöüéèç"
_GENUS = re.compile(rf"^[A-ZÄËÏÖÜÉ][{_LETTERS}]+(-[{_LETTERS}]+)?$")
_EPITHET = re.compile(rf"^[{_LETTERS}]+(-[{_LETTERS}]+)*$")
_RANKS = frozenset({"subsp.", "var.", "f.", "subf.", "subvar."})
_SLIPS = {"ssp.": "subsp.", "subspecies": "subsp.", "variety": "var.", "forma": "f.", "cv.": "single quotes",
          "var": "var.", "subsp": "subsp."}
_OPEN_ENDS = frozenset({"sp.", "spp."})
_CROSS = "×"
_QUOTED = re.compile(r"['‘’]([^'‘’]+(?:['’](?=\w)[^'‘’]+)*)['’]")
_GROUP = re.compile(r"\(?((?:[A-Z][\w-]*\s+)+Group)\)?")


def name_faults(name: str) -> tuple[str, ...]:
    """Return what is wrong with the form of a botanical name, in words; empty if nothing is.

    Genus with a capital, epithets in lower case, × (not the letter x) for a hybrid, cultivar epithets with
    capitals in single quotes, a Group with its word. Trade designations after the cultivar, in capitals, pass.
    """
    text = " ".join(name.split())
    if not text:
        return ("the name is empty",)
    faults: list[str] = []
    if '"' in text or "“" in text or "”" in text:
        faults.append("a cultivar stands in single quotes, not double ones")
        text = re.sub(r"[\"“”]([^\"“”]*)[\"“”]?", r"'\1'", text)
    cultivars = _QUOTED.findall(text)
    rest = _GROUP.sub(" ", _QUOTED.sub(" ", text)).split()
    for cultivar in cultivars:
        faults += _cultivar_faults(cultivar.strip())
    faults += _stem_faults(rest, bool(cultivars) or bool(_GROUP.search(text)))
    return tuple(dict.fromkeys(faults))


def _cultivar_faults(cultivar: str) -> list[str]:
    if not cultivar or not (cultivar[0].isupper() or cultivar[0].isdigit()):
        return [f"the cultivar '{cultivar}' begins with a capital"]
    return []


def _stem_faults(words: list[str], named: bool) -> list[str]:
    """Return the faults of genus, hybrid sign, epithets and ranks."""
    faults: list[str] = []
    if words and words[0] in {_CROSS, "x", "X"}:
        faults += [] if words[0] == _CROSS else ["the hybrid sign is ×, not the letter x"]
        words = words[1:]
    elif words and words[0].startswith(_CROSS):
        words = [words[0][1:], *words[1:]]
    if not words or not _GENUS.match(words[0]):
        said = words[0] if words else ""
        return [*faults, f"the genus '{said}' is one word with a capital first letter and small ones after it"]
    epithets, more = _read_epithets(words[1:])
    faults += more
    if not epithets and not named:
        faults.append("a genus alone names no plant: add the epithet, a cultivar in single quotes, or sp.")
    return faults


def _read_epithets(words: list[str]) -> tuple[int, list[str]]:
    """Count the epithets behind a genus and gather their faults. Words all in capitals are selling names."""
    count, faults = 0, []
    for word in words:
        bare = word.removeprefix(_CROSS)
        if word in {"x", "X"}:
            faults.append("the hybrid sign is ×, not the letter x")
        elif word in _SLIPS:
            faults.append(f"write {_SLIPS[word]} for {word}")
        elif word in _OPEN_ENDS:
            count += 1
        elif not bare or word in _RANKS or (len(word) > 1 and word.isupper()):
            continue
        elif _EPITHET.match(bare):
            count += 1
        elif _EPITHET.match(bare.lower()):
            count += 1
            faults.append(f"the epithet '{bare}' has small letters only, or is a cultivar and wants single quotes")
        else:
            faults.append(f"'{word}' is no part of a botanical name")
    return count, faults


def without_name_faults(name: str) -> bool:
    """Say whether the name has the right form."""
    return not name_faults(name)
