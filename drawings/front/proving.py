"""Pegging again from a written set, and judging measured-in readings, in the terminal."""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path
from typing import Any

from pegbook.geometry.errors import ReadingsError, refuse
from pegbook.geometry.pegs.proof import Proof, prove, trials
from pegbook.work import worked

WIDEST = 10
"""Rows of the table of spreads: the pegs that spread most."""


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise refuse(ReadingsError, f"{file} cannot be read: {error}", "see that it is there and is plain text (UTF-8)",
                     "unreadable") from None


def _model_of(folder: Path) -> Path:
    """Return the model that a set was made from, as issue.json names it; refuse another one."""
    try:
        model: dict[str, Any] = json.loads(_text(folder / "issue.json"))["model"]
        file, digest = Path(model["name"]), model["sha256"]
    except (ValueError, KeyError, TypeError):
        raise refuse(ReadingsError, f"{folder / 'issue.json'} does not name the model", "issue the set again",
                     "bad-record") from None
    for place in (file, folder.parent / file.name):
        if place.is_file() and hashlib.sha256(place.read_bytes()).hexdigest() == digest:
            return place
    raise refuse(ReadingsError, f"the model {file} that this set was made from is not here, or has changed since",
                 "start where the model is, or issue the set again", "model-changed")


def _say(proof: Proof) -> None:
    print(f"{proof.pegs} pegs rebuilt from the readings alone: largest shift {proof.largest:.1f} mm, "
          f"mean {proof.mean:.1f} mm; {proof.recovered} found again by their recovery measures")
    for name, (count, largest, mean) in proof.elements.items():
        print(f"  {name}: {count} pegs, largest {largest:.1f} mm, mean {mean:.1f} mm")
    print("proved" if proof.good else f"not proved: {proof.fault}")


def show_proof(folder: Path, count: int) -> bool:
    """Print the proof of a written set, with `count` trials under tape error; return whether it stands.

    ReadingsError for a folder without a set, or, for trials, without its model.
    """
    recovery = folder / "recovery.csv"
    pegs_text = _text(folder / "pegs.csv")
    try:
        proof = prove(pegs_text, _text(recovery) if recovery.exists() else "")
    except (KeyError, ValueError, TypeError) as error:
        raise refuse(ReadingsError, f"{folder / 'pegs.csv'} is not a table of pegs as it was written: {error}",
                     "issue the set again", "bad-table") from None
    _say(proof)
    if count:
        pegs = worked(_model_of(folder)).pegs
        found = sorted(trials(pegs, count), key=lambda s: -s.seen)
        print(f"{count} gardens pegged under tape error; root mean square distance from the place, mm:")
        for one in found[:WIDEST]:
            print(f"  {one.peg}: {one.seen:.1f}, predicted {one.predicted:.1f}")
    return proof.good


def show_measured(file: Path, readings: Path) -> bool:
    """Print what taped readings say of the pegs; return whether all is within its limits.

    ReadingsError for a reading without a unit, of a peg that is none, or that no tape can give.
    """
    from pegbook.geometry.pegs.measured import judge

    verdict = judge(worked(file).pegs, _text(readings))
    for m in verdict.measures:
        state = "good" if m.good else "NOT GOOD"
        print(f"{m.start} to {m.end}: {m.reading:.3f} m, should be {m.design:.3f} m within "
              f"{m.allowed * 1000:.0f} mm: {state}")
    for line in verdict.advice:
        print(line)
    sys.stdout.flush()
    return verdict.good
