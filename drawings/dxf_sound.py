"""Whether a DXF file is sound in itself: figures are figures, names are defined, handles are unique.

Takes: the groups of a file. Gives: what is wrong, in words. Source: the published DXF reference (which codes hold
figures, whole numbers and handles; names that a table must define before an entity uses them).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from .dxf_groups import Groups, Record

_CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f]")

_FIGURES = (range(10, 60), range(110, 150), range(210, 240), range(460, 470), range(1010, 1060))
_WHOLE = (range(60, 80), range(90, 100), range(160, 180), range(270, 290), range(370, 390), range(400, 410),
          range(420, 430), range(440, 460), range(1060, 1072))

KINDS = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "POINT", "LWPOLYLINE", "POLYLINE", "VERTEX", "HATCH", "TEXT",
                   "DIMENSION", "INSERT", "ATTRIB", "ATTDEF", "SEQEND", "VIEWPORT", "BLOCK", "ENDBLK"})
"""What a set is made of: no splines, images, outside references or solids, which many machines and readers refuse."""

DRAWN = ("BLOCKS", "ENTITIES")
"""Sections that hold what is drawn."""


def faults(groups: Groups, drawn: Sequence[Record] | None = None) -> Iterator[str]:
    """Yield everything that is wrong with a file in itself; `drawn`: its records of blocks and entities, if at hand."""
    if _CONTROL.search(groups.text):
        yield "a control character stands in it"
    if bad := list(_figures(groups)):
        yield from bad                  # nothing more can be read out of it
        return
    names = {table: {r.first("  2").lower() for r in groups.records("TABLES") if r.kind == table}
             for table in ("LAYER", "LTYPE", "STYLE", "DIMSTYLE")}
    used: dict[str, list[str]] = {}
    for section in DRAWN:
        for code, values in _within(groups, section, (*_USED, "  5", "330")).items():
            used.setdefault(code, []).extend(values)
    yield from _names(used, names)
    yield from _handles(groups, used)
    if drawn is None:
        drawn = list(groups.records(*DRAWN))
    strange = {r.kind for r in drawn} - KINDS - {"SECTION"}
    yield from (f"an entity of the kind {kind}, which no set has" for kind in sorted(strange))
    blocks = {r.first("  2") for r in drawn if r.kind == "BLOCK"}
    for record in drawn:
        check = _ENTITIES.get(record.kind)
        if check is not None:
            yield from (f"{record.kind} {record.first('  5')}: {words}" for words in check(record))
        if record.kind in {"INSERT", "DIMENSION"} and record.first("  2") not in blocks:
            yield f"{record.kind} {record.first('  5')} shows the block '{record.first('  2')}', which is not there"
        if record.kind == "DIMENSION" and record.first("  3").lower() not in names["DIMSTYLE"]:
            yield f"the dimension style '{record.first('  3')}' is not defined"


def _holds(code: str, ranges: Iterable[range]) -> bool:
    return any(int(code) in span for span in ranges)


def _figures(groups: Groups) -> Iterator[str]:
    kinds = set(groups.codes)
    if bad := sorted(code for code in kinds if not code.strip().isdigit()):
        yield f"'{bad[0]}' stands where a group code should"
        return
    figures, whole = ([code for code in kinds if _holds(code, ranges)] for ranges in (_FIGURES, _WHOLE))
    held = _held(groups.codes, groups.values, (*figures, *whole))
    if not all(_all_good(held[code], float) for code in figures):
        yield "a figure is none, or without bounds"
    if not all(_all_good(held[code], int) for code in whole):
        yield "a whole number is none"


def _held(codes: Sequence[str], values: Sequence[str], wanted: Iterable[str]) -> dict[str, list[str]]:
    """Return the values of each code that is wanted, in one pass."""
    held: dict[str, list[str]] = {code: [] for code in wanted}
    for code, value in zip(codes, values, strict=True):
        if code in held:
            held[code].append(value)
    return held


def _all_good(values: list[str], read: type[float] | type[int]) -> bool:
    try:
        return math.isfinite(sum(map(read, values)))
    except ValueError:
        return False


_USED = {"  6": "LTYPE", "  7": "STYLE", "  8": "LAYER"}
_ALWAYS = frozenset({"bylayer", "byblock", "continuous"})
_WHAT = {"LTYPE": "line type", "STYLE": "text style", "LAYER": "layer"}


def _names(used: Mapping[str, list[str]], names: Mapping[str, set[str]]) -> Iterator[str]:
    """Yield the names that entities use and no table defines."""
    for code, table in _USED.items():
        known = names[table] | (_ALWAYS if table == "LTYPE" else set())
        yield from (f"an entity on the undefined {_WHAT[table]} {name}" if table == "LAYER" else
                    f"the {_WHAT[table]} {name} is not defined"
                    for name in sorted(set(used[code])) if name.lower() not in known)


def _handles(groups: Groups, used: Mapping[str, list[str]]) -> Iterator[str]:
    """Yield handles that stand twice or above the next one to be given, and owners that are not there."""
    own = [*used["  5"], *_within(groups, "OBJECTS", ("  5",))["  5"]]
    tables = _within(groups, "TABLES", ("  5", "105"))
    others = [*tables["  5"], *tables["105"]]
    if len(own) != len(set(own)) or set(own) & set(others):
        yield "two things have one handle"
    seed = groups.header("$HANDSEED", "  5", "FFFFFFFF")
    if any(int(handle, 16) >= int(seed, 16) for handle in own):
        yield "a handle is not below the next one to be given"
    known = {*own, *others, "0"}
    if not known.issuperset(used["330"]):
        yield "an entity belongs to nothing that is there"


def _within(groups: Groups, section: str, wanted: Iterable[str]) -> dict[str, list[str]]:
    a, b = groups.span(section)
    return _held(groups.codes[a:b], groups.values[a:b], wanted)


def _round(record: Record) -> Iterator[str]:
    if not record.number(" 40") > 0:
        yield "a radius that is not above nothing"


def _lettered(record: Record) -> Iterator[str]:
    if not record.number(" 40") > 0:
        yield "lettering without a height"


def _polyline(record: Record) -> Iterator[str]:
    count = record.codes.count(" 10")
    if count < 2 or count != int(record.first(" 90", "0")):
        yield f"{count} corners where there should be {record.first(' 90')}"


def _area(record: Record) -> Iterator[str]:
    count = record.codes.count(" 92")
    if not count or count != int(record.first(" 91", "0")):
        yield f"{count} edges where there should be {record.first(' 91')}"


_ENTITIES = {"CIRCLE": _round, "ARC": _round, "TEXT": _lettered, "ATTRIB": _lettered, "ATTDEF": _lettered,
             "LWPOLYLINE": _polyline, "HATCH": _area}


__all__ = ["DRAWN", "faults"]
