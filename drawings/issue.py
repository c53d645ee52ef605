"""The issue set: every file of a garden, proved before any of them is written.

Takes: a SettingOut. Gives: names and bytes of the whole set. Each writer's library is imported when its file is
made. The set is refused (an error of the family) when the pegs do not rebuild from the written readings, or
when the written DXF, read again, differs from the model.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass

from ..geometry.errors import DrawingError, refuse
from ..geometry.setout import SettingOut


@dataclass(frozen=True, slots=True, kw_only=True)
class IssueOptions:
    """How the set is written: DXF version and units, style of the sheets ('' leaves it to the model)."""

    version: str = "R2010"
    units: str = "m"
    style: str = ""


def tables(work: SettingOut) -> dict[str, bytes]:
    """Return the CSV files of the set."""
    from ..geometry.pegs import csvs
    from ..geometry.planting.schedule import plants_csv
    from ..geometry.quantities.bill import quantities_csv

    texts = {
        "pegs.csv": csvs.pegs_csv(work.pegs),
        "pegs-points.csv": csvs.points_csv(work.pegs),
        "checks.csv": csvs.checks_csv(work.pegs),
        "recovery.csv": csvs.recovery_csv(work.pegs),
        "quantities.csv": quantities_csv(work.bill),
        "plants.csv": plants_csv(work.schedule),
    }
    return {name: text.encode("utf-8") for name, text in texts.items()}


def issue_files(work: SettingOut, options: IssueOptions | None = None) -> dict[str, bytes]:
    """Return every file of the issue set by name, in the order of the set."""
    from .booklet import booklet
    from .compose import compose
    from .dxf import dxf_bytes
    from .gates import told
    from .html import page
    from .pdf import pdf_bytes
    from .register import register_csv
    from .reread import reread
    from .svg import svg_text
    from .workbook import workbook_bytes

    options = options or IssueOptions()
    written = tables(work)
    proof = proved(work, written)
    sheets = compose(work, style=options.style or work.garden.sheets.style)
    drawing = dxf_bytes(sheets, version=options.version, units=options.units)
    reread(drawing, sheets, units=options.units)
    files: dict[str, bytes] = {"drawings.dxf": drawing, "drawings.pdf": pdf_bytes(sheets)}
    for sheet in sheets.sheets:
        files[f"sheets/{sheet.file_stem}.svg"] = svg_text(sheet).encode("utf-8")
    said = told(work)
    files["pegging.pdf"] = pdf_bytes(booklet(work, said))
    files["pegging.html"] = page(work, said).encode("utf-8")
    files.update(written)
    files["quantities.xlsx"] = workbook_bytes(work.bill, work.schedule)
    files["register.csv"] = register_csv(sheets).encode("utf-8")
    files["issue.json"] = ledger(work, files, proof)
    return files


def proved(work: SettingOut, written: Mapping[str, bytes]) -> dict[str, object]:
    """Peg the garden again from the written tables alone; return the result, refuse a set that fails."""
    from ..geometry.pegs.proof import prove_set

    result = prove_set(work.pegs, *(written[f"{name}.csv"].decode("utf-8") for name in ("pegs", "recovery", "checks")))
    if not result.good:
        raise refuse(DrawingError, f"the printed readings do not give the garden again: {result.fault}",
                     "this is a fault of the program: nothing was written; please report it", "proof-failed")
    return result.as_record()


def ledger(work: SettingOut, files: Mapping[str, bytes], proof: Mapping[str, object]) -> bytes:
    """Return issue.json: versions, digests of model and files, the proof's result."""
    from . import version as own

    record = {
        "pegbook": own.VERSION,
        "format": 1,
        "model": {"name": work.garden.source, "sha256": work.garden.digest},
        "project": {"title": work.garden.project.title, "number": work.garden.project.number,
                    "revision": work.garden.project.revision, "date": work.garden.project.date},
        "proof": proof,
        "files": {name: hashlib.sha256(data).hexdigest() for name, data in sorted(files.items())},
    }
    return (json.dumps(record, indent=2, ensure_ascii=False) + "\n").encode("utf-8")
