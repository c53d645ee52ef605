"""Pegging again from a written set, and judging measured-in readings, in the terminal."""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path
from typing import Any

from pegbook.geometry.errors import Place, ReadingsError, at, refuse
from pegbook.geometry.pegs.peg import PegSet
from pegbook.geometry.pegs.proof import Proof, prove, prove_set
from pegbook.show import print_table
from pegbook.work import worked

TABLES = ("pegs.csv", "recovery.csv", "checks.csv")

WIDEST = 10
"""Rows of the table of spreads: the pegs whose spread differs most from what was predicted."""

AGREES = 0.10
"""Spread and prediction agree within this share."""

ENOUGH = 2000
"""Trials from which chance alone no longer parts spread and prediction by a tenth (its deviation is 1.6 %)."""


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise refuse(ReadingsError, f"{file} is not plain text in UTF-8: see its byte {error.start + 1}",
                     "save it as CSV in UTF-8", "unreadable") from None
    except OSError as error:
        raise refuse(ReadingsError, f"{file} cannot be read: {error.strerror}", "see that it is there, and is a file",
                     "unreadable") from None


def _model_of(folder: Path) -> Path:
    """Return the model that a set was made from, as issue.json names it; refuse another one."""
    try:
        model: dict[str, Any] = json.loads(_text(folder / "issue.json"))["model"]
        file, digest = Path(model["name"]), model["sha256"]
    except (ValueError, KeyError, TypeError):
        raise refuse(ReadingsError, f"{folder / 'issue.json'} does not name the model", "issue the set again",
                     "bad-record") from None
    for place in (file, folder.parent / file.name, Path(file.name)):
        if place.is_file() and hashlib.sha256(place.read_bytes()).hexdigest() == digest:
            return place
    raise refuse(ReadingsError, f"the model {file} that this set was made from is not here, or has changed since",
                 "start where the model is, or issue the set again", "model-changed")


def _design(folder: Path) -> PegSet | None:
    """Return the design's pegs; None, said so, where the model is not at hand."""
    try:
        return worked(_model_of(folder)).pegs
    except ReadingsError as error:
        sys.stderr.write(f"nothing is compared with the model: {error}\n")
        return None


def _say_changed(folder: Path) -> None:
    """Say which of the tables are no longer the files that were issued."""
    try:
        files: dict[str, str] = json.loads(_text(folder / "issue.json"))["files"]
        changed = [name for name in TABLES if (folder / name).is_file() and
                   hashlib.sha256((folder / name).read_bytes()).hexdigest() != files[name]]
    except (ReadingsError, ValueError, KeyError, TypeError):
        return
    if changed:
        sys.stderr.write(f"changed since the set was issued: {', '.join(changed)}\n")


def _say(proof: Proof) -> None:
    rows = []
    for name, (count, largest, mean) in proof.elements.items():
        edge = proof.outlines.get(name)
        ends = (f"{edge.largest:.1f}", f"{edge.mean:.1f}", f"{edge.area:+.3f}") if edge else ("", "", "")
        rows.append((name, str(count), f"{largest:.1f}", f"{mean:.1f}", *ends))
    columns = ("element", "pegs", "largest shift mm", "mean mm", "edge largest mm", "edge mean mm", "area m2")
    print_table("rebuilt from the printed readings, beside the design", columns, rows, columns[1:])
    print(f"{proof.pegs} pegs rebuilt from the readings alone: largest shift {proof.largest:.1f} mm, "
          f"mean {proof.mean:.1f} mm; {proof.recovered} found again by their recovery measures")
    if proof.levels or proof.heights:
        print(f"{proof.levels} levels and {proof.heights} heights taken again from their readings: largest difference "
              f"{proof.level:.1f} mm")
    print("proved" if proof.good else f"not proved: {proof.fault}")


def show_proof(folder: Path, count: int) -> bool:
    """Print the proof of a written set, with `count` trials under tape error; return whether it stands.

    Pegs come from pegs.csv and recovery.csv alone, heights from checks.csv; all is compared with the model where it is
    at hand.
    ReadingsError for a folder without a set, or, for trials, without its model.
    """
    pegs_text, *more = (_text(folder / name) if name == TABLES[0] or (folder / name).exists() else ""
                        for name in TABLES)
    _say_changed(folder)
    design = _design(folder)
    with at(Place(file=str(folder))):
        proof = prove(pegs_text, more[0], checks_text=more[1]) if design is None else \
            prove_set(design, pegs_text, *more)
    _say(proof)
    return _show_trials(folder, count) and proof.good if count else proof.good


def _show_trials(folder: Path, count: int) -> bool:
    """Print the spread over many gardens beside the predicted errors; return whether they agree."""
    from pegbook.geometry.pegs.as_built import trials

    found = trials(worked(_model_of(folder)).pegs, count)
    apart = sorted(found, key=lambda s: (-abs(s.ratio - 1), s.peg))
    columns = ("peg", "predicted mm", "seen mm", "seen / predicted")
    print_table(f"{count} gardens pegged under tape error: root mean square distance from the place", columns,
                [(s.peg, f"{s.predicted:.1f}", f"{s.seen:.1f}", f"{s.ratio:.3f}") for s in apart[:WIDEST]], columns[1:])
    good = all(abs(s.ratio - 1) <= AGREES for s in found)
    if good:
        print(f"all {len(found)} predicted errors agree within {AGREES:.0%}")
    elif count < ENOUGH:
        print(f"not all predicted errors agree within {AGREES:.0%}; chance plays a part under {ENOUGH} trials")
    else:
        print(f"not all predicted errors agree within {AGREES:.0%}")
    return good or count < ENOUGH


def show_measured(file: Path, readings: Path) -> bool:
    """Print what taped readings say of the pegs; return whether all is within its limits.

    ReadingsError for a reading without a unit, of a peg that is none, or that no tape can give.
    """
    from pegbook.geometry.pegs.measured import judge

    pegs = worked(file).pegs
    verdict = judge(pegs, _text(readings), str(readings))
    tape = pegs.options.tape

    def said(metres: float) -> str:
        return tape.reading(metres).text if tape.feet else f"{metres:.3f}"

    columns = ("from", "to", "reading", "should be", "out by mm", "allowed mm", "", "when")
    print_table("measured", columns,
                [(m.start, m.end, said(m.reading), said(m.design), f"{m.over * 1000:+.0f}",
                  f"{m.allowed * 1000:.0f}", "good" if m.good else "NOT GOOD", m.when) for m in verdict.measures],
                columns[2:6])
    for line in verdict.advice:
        print(line)
    sys.stdout.flush()
    return verdict.good
