"""The demo gardens' DXF read as bare group codes, by a reader of a few lines that knows no library.

What it asks stands in the published DXF reference: pairs of code and value, sections that end, names that a table
defines before an entity uses them, handles that are unique and owners that are there.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from functools import cache

import pytest

from pegbook.drawings.compose import compose
from pegbook.drawings.dxf import dxf_bytes
from support.issued import DEMO, issued, rows, worked

Tags = list[tuple[int, str]]
NOT_FIXED = 1e-6


@cache
def records(name: str) -> dict[str, list[Tags]]:
    """Return the records of each section: every one begins with a code 0."""
    return split(issued(name)["drawings.dxf"])


def split(data: bytes) -> dict[str, list[Tags]]:
    lines = data.decode("utf-8").split("\n")
    pairs = [(int(lines[k]), lines[k + 1]) for k in range(0, len(lines) - 1, 2)]
    assert pairs[-1] == (0, "EOF")
    sections: dict[str, list[Tags]] = {}
    held: list[Tags] = []
    for code, value in pairs:
        if code == 0:
            held.append([])
        held[-1].append((code, value))
    at = ""
    for record in held:
        kind = record[0][1]
        if kind == "SECTION":
            at = record[1][1]
            sections[at] = [record[2:]]
        elif kind == "ENDSEC":
            at = ""
        elif at:
            sections[at].append(record)
    return sections


def first(record: Tags, code: int, default: str = "") -> str:
    return next((v for c, v in record if c == code), default)


def drawn(name: str) -> Iterator[Tags]:
    """Yield every entity, those of blocks and further layouts too."""
    for section in ("BLOCKS", "ENTITIES"):
        yield from (r for r in records(name)[section] if r and r[0][0] == 0 and r[0][1] not in {"BLOCK", "ENDBLK"})


def defined(name: str, table: str) -> set[str]:
    return {first(r, 2).upper() for r in records(name)["TABLES"] if r and r[0] == (0, table)}


@pytest.mark.parametrize("name", DEMO)
def test_every_name_that_is_used_is_defined(name: str) -> None:
    layers, types, styles = (defined(name, t) for t in ("LAYER", "LTYPE", "STYLE"))
    sizes, blocks, apps = (defined(name, t) for t in ("DIMSTYLE", "BLOCK_RECORD", "APPID"))
    for record in drawn(name):
        kind = record[0][1]
        assert first(record, 8).upper() in layers, record[:6]
        assert first(record, 6, "BYLAYER").upper() in types | {"BYLAYER", "BYBLOCK", "CONTINUOUS"}
        if kind in {"TEXT", "MTEXT", "ATTRIB", "ATTDEF"}:
            assert first(record, 7, "STANDARD").upper() in styles
        if kind == "DIMENSION":
            assert first(record, 3).upper() in sizes
            assert first(record, 2).upper() in blocks
        if kind == "INSERT":
            assert first(record, 2).upper() in blocks
        assert {v.upper() for c, v in record if c == 1001} <= apps


@pytest.mark.parametrize("name", DEMO)
def test_handles_are_unique_and_owners_are_there(name: str) -> None:
    everything = [r for section in ("TABLES", "BLOCKS", "ENTITIES", "OBJECTS") for r in records(name)[section] if r]
    handles = [first(r, 105 if r[0][1] == "DIMSTYLE" else 5) for r in everything]
    count = Counter(h for h in handles if h)
    assert [h for h, n in count.items() if n > 1] == []
    known = {*count, "0"}
    assert all(first(r, 330, "0") in known for r in everything if r[0][1] not in {"TABLE", "ENDTAB"})


@pytest.mark.parametrize("name", DEMO)
def test_figures_are_finite_arcs_are_minor_and_windows_true(name: str) -> None:
    scales = []
    for record in drawn(name):
        kind = record[0][1]
        for code, value in record:
            if 10 <= code <= 59:
                assert math.isfinite(float(value))
        if kind == "LWPOLYLINE":
            assert all(abs(float(v)) <= 1 for c, v in record if c == 42)
        if kind == "VIEWPORT" and int(first(record, 69)) > 1:
            scales.append(1000 * float(first(record, 45)) / float(first(record, 41)))
    assert scales
    assert all(abs(s - round(s)) < 1e-6 * s for s in scales)          # whole scales: 1:50, 1:100 ...


@pytest.mark.parametrize("name", DEMO)
def test_pegs_are_inserts_that_carry_their_figures(name: str) -> None:
    found: dict[str, dict[str, str]] = {}
    carried: dict[str, str] = {}
    for record in filter(None, records(name)["ENTITIES"]):
        if record[0][1] == "INSERT" and first(record, 2).startswith("PEG"):
            carried = {}
        elif record[0][1] == "ATTRIB":
            carried[first(record, 2)] = first(record, 1)
            if first(record, 2) == "NUMBER":
                found[first(record, 1)] = carried
    for row in rows(name, "pegs.csv"):
        if row["purpose"] != "recovery":
            assert float(found[row["peg"]]["X"]) == pytest.approx(float(row["x"]), abs=0.0005 + NOT_FIXED)
            assert float(found[row["peg"]]["Y"]) == pytest.approx(float(row["y"]), abs=0.0005 + NOT_FIXED)


def test_old_versions_hold_only_what_they_know() -> None:
    # The published references: R12 has no LWPOLYLINE, HATCH, MTEXT, ELLIPSE; R2000 has no true colours (code 420).
    sheets = compose(worked(DEMO[0]), style="line")
    old = split_ascii(dxf_bytes(sheets, version="R12"))
    assert not {"LWPOLYLINE", "HATCH", "MTEXT", "ELLIPSE"} & {r[0][1] for r in old["ENTITIES"] + old["BLOCKS"] if r}
    middle = split_ascii(dxf_bytes(sheets, version="R2000"))
    assert all(c != 420 for r in middle["ENTITIES"] + middle["TABLES"] for c, _ in r)


def split_ascii(data: bytes) -> dict[str, list[Tags]]:
    return split(data.decode("cp1252").encode("utf-8"))
