"""The register of an issue: what each drawing is, at which revision, of what date, for what purpose it goes out.

Takes: a SheetSet, or the words of its title blocks. Gives: register.csv, and the line over the list of sheets.
"""

from __future__ import annotations

from ..geometry.pegs.csvs import csv_text
from .brief import Project
from .sheet import Sheet, SheetSet

COLUMNS = ("drawing", "title", "sheet", "scale", "size", "revision", "date", "purpose", "file")


def register_csv(sheets: SheetSet) -> str:
    """Return register.csv: a row a drawing, in the order of drawings.pdf, all words as its title block has them."""
    return csv_text(COLUMNS, (_row(sheet) for sheet in sheets.sheets))


def _row(sheet: Sheet) -> tuple[object, ...]:
    title = f"{sheet.title}, presentation copy" if sheet.tinted else sheet.title
    date, purpose = (sheet.fields.get(name, "") for name in ("Date of issue", "Status"))
    return (sheet.document, title, sheet.number, sheet.scale, sheet.size, sheet.revision, date, purpose,
            f"sheets/{sheet.file_stem}.svg")


def issue_words(project: Project) -> str:
    """Return revision, date and purpose of the issue in one line, '' where the model names none."""
    revision = f"rev. {project.revisions[-1].mark}" if project.revisions else ""
    return ", ".join(words for words in (revision, project.date, project.status) if words)
