"""The bill as a workbook: one sheet a section, totals as formulas, a column of rates that prices it; the plants.

Takes: a bill, and the planting schedule. Gives: the bytes of an .xlsx, the same for the same input. The only importer
of openpyxl. Every formula carries its value too, so that a reader that does not calculate shows the same figures.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ..geometry.planting.schedule import ScheduleRow, printed_rows
from ..geometry.quantities.bill import Bill, cost_of

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from ..geometry.features import Item

HEADINGS = ("Element", "Item", "Unit", "Net", "Allowance %", "Gross", "Order", "Order unit", "Rate", "Cost", "Basis")
WIDTHS = (18, 34, 9, 11, 12, 11, 10, 16, 10, 12, 90)
PLANTS = (("Key", 8), ("Botanical name", 40), ("Common name", 24), ("Number", 9), ("Supply size", 22),
          ("Spacing, m", 11), ("Plants a m²", 13), ("Position", 60), ("Remarks", 30), ("By area", 9))
"""Headings and widths of the schedule's columns."""

PLANT_FIGURES = {4: "0", 6: "0.00", 10: "0"}
"""Columns of the schedule that hold plain numbers, and how they are shown."""

FIRST = 4
"""The first row of figures: a title, a blank row and the headings stand above."""

EPOCH = (1980, 1, 1, 0, 0, 0)
STAMP = "2000-01-01T00:00:00Z"

Cached = dict[tuple[str, str], float]


def _title(section: str, taken: set[str]) -> str:
    """Return a sheet's name: what the format allows, 31 letters at most, none twice."""
    name = re.sub(r"[\[\]:*?/\\]", " ", section).strip("' ")[:31] or "section"
    whole, k = name, 2
    while name.lower() in taken:
        name = f"{whole[:27]} {k}"
        k += 1
    taken.add(name.lower())
    return name


def _text(sheet: Worksheet, row: int, column: int, value: str) -> Any:
    """Write words as words: a name that begins with = is no formula."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    cell = sheet.cell(row=row, column=column)
    cell.value = ILLEGAL_CHARACTERS_RE.sub("", value)
    cell.data_type = "s"
    return cell


def _number(sheet: Worksheet, row: int, column: int, value: float, form: str) -> None:
    cell = sheet.cell(row=row, column=column, value=round(value, 6))
    cell.number_format = form


def _formula(sheet: Worksheet, cached: Cached, spot: str, formula: str, value: float, form: str) -> None:
    sheet[spot] = formula
    sheet[spot].number_format = form
    cached[sheet.title, spot] = value


def _head(sheet: Worksheet, title: str) -> None:
    from openpyxl.styles import Alignment, Font

    sheet["A1"].font = Font(bold=True, size=14)
    _text(sheet, 1, 1, title)
    for k, (heading, width) in enumerate(zip(HEADINGS, WIDTHS, strict=True), 1):
        cell = _text(sheet, FIRST - 1, k, heading)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.column_dimensions[cell.column_letter].width = width
    sheet.freeze_panes = f"A{FIRST}"


def _row(sheet: Worksheet, cached: Cached, row: int, item: Item, rate: float | None) -> float:
    """Write one row; return its cost (0 where it has none)."""
    from openpyxl.styles import Alignment

    count = "0" if item.unit == "number" else "0.000"
    for column, words in ((1, item.element), (2, item.item), (3, item.unit), (8, item.order_unit), (11, item.basis)):
        _text(sheet, row, column, words).alignment = Alignment(wrap_text=column in (2, 11), vertical="top")
    _number(sheet, row, 4, item.net, count)
    _number(sheet, row, 5, item.allowance, "0.0")
    gross = round(item.net, 6) * (1 + round(item.allowance, 6) / 100)
    _formula(sheet, cached, f"F{row}", f"=D{row}*(1+E{row}/100)", gross, "0.000")
    if item.order is None:
        return 0.0
    _number(sheet, row, 7, item.order, "0.##")
    if rate is not None:
        _number(sheet, row, 9, rate, "#,##0.00")
    cost = cost_of(item, rate) or 0.0
    formula = f'=IF(I{row}="","",ROUND(G{row}*I{row},2))'
    if rate is None:
        sheet[f"J{row}"] = formula
        sheet[f"J{row}"].number_format = "#,##0.00"
    else:
        _formula(sheet, cached, f"J{row}", formula, cost, "#,##0.00")
    return cost


def _page(sheet: Worksheet, last: int) -> None:
    """Set the print area: landscape, as wide as the sheet, headings on every page."""
    from openpyxl.worksheet.properties import PageSetupProperties

    sheet.print_area = f"A1:K{last}"
    sheet.print_title_rows = f"{FIRST - 1}:{FIRST - 1}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = "9"
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _section(
    sheet: Worksheet, cached: Cached, section: str, rows: list[tuple[Item, float | None]]
) -> tuple[int, float, int]:
    """Write a section; return its total row, its cost and how many of its orders have no rate."""
    from openpyxl.styles import Font

    _head(sheet, section.capitalize())
    total, missing = 0.0, 0
    for k, (item, rate) in enumerate(rows, FIRST):
        total += _row(sheet, cached, k, item, rate)
        missing += bool(item.order) and rate is None
    last = FIRST + len(rows) - 1
    at = last + 2
    _text(sheet, at, 2, "Total of rows with a rate").font = Font(bold=True)
    _formula(sheet, cached, f"J{at}", f"=SUM(J{FIRST}:J{last})", round(total, 2), "#,##0.00")
    _text(sheet, at + 1, 2, "Orders without a rate (not in the total)").font = Font(bold=True)
    _formula(sheet, cached, f"J{at + 1}", f'=COUNTIFS(G{FIRST}:G{last},">0",I{FIRST}:I{last},"")', float(missing), "0")
    _page(sheet, at + 1)
    return at, round(total, 2), missing


def _summary(sheet: Worksheet, cached: Cached, totals: Mapping[str, tuple[str, int, float, int]]) -> None:
    from openpyxl.styles import Font

    _text(sheet, 1, 1, "Summary").font = Font(bold=True, size=14)
    for k, (heading, width) in enumerate((("Section", 28), ("Cost", 14), ("Orders without a rate", 22)), 1):
        cell = _text(sheet, FIRST - 1, k, heading)
        cell.font = Font(bold=True)
        sheet.column_dimensions[cell.column_letter].width = width
    for row, (section, (title, at, cost, missing)) in enumerate(totals.items(), FIRST):
        name = title.replace("'", "''")
        _text(sheet, row, 1, section)
        _formula(sheet, cached, f"B{row}", f"='{name}'!J{at}", cost, "#,##0.00")
        _formula(sheet, cached, f"C{row}", f"='{name}'!J{at + 1}", float(missing), "0")
    last = FIRST + len(totals) - 1
    at = last + 2
    _text(sheet, at, 1, "All sections").font = Font(bold=True)
    cost, missing = sum(t[2] for t in totals.values()), sum(t[3] for t in totals.values())
    _formula(sheet, cached, f"B{at}", f"=SUM(B{FIRST}:B{last})", round(cost, 2), "#,##0.00")
    _formula(sheet, cached, f"C{at}", f"=SUM(C{FIRST}:C{last})", float(missing), "0")
    _text(sheet, at + 2, 1, "Type a rate for one order unit into the column of rates; the cost follows.")
    _page(sheet, at + 2)
    sheet.print_area = f"A1:C{at + 2}"


def _plants(sheet: Worksheet, cached: Cached, rows: Sequence[ScheduleRow]) -> None:
    """Write the planting schedule as plants.csv has it, and the sum of its plants."""
    from openpyxl.styles import Alignment, Font

    _text(sheet, 1, 1, "Planting schedule").font = Font(bold=True, size=14)
    for k, (heading, width) in enumerate(PLANTS, 1):
        cell = _text(sheet, FIRST - 1, k, heading)
        cell.font = Font(bold=True)
        sheet.column_dimensions[cell.column_letter].width = width
    sheet.freeze_panes = f"A{FIRST}"
    for at, cells in enumerate(printed_rows(rows), FIRST):
        for k, words in enumerate(cells, 1):
            if k in PLANT_FIGURES and words:
                _number(sheet, at, k, float(words), PLANT_FIGURES[k])
            else:
                _text(sheet, at, k, words).alignment = Alignment(wrap_text=True, vertical="top")
    last = FIRST + len(rows) - 1
    _text(sheet, last + 2, 2, "All plants, spare ones with them").font = Font(bold=True)
    _formula(sheet, cached, f"D{last + 2}", f"=SUM(D{FIRST}:D{last})", float(sum(r.number for r in rows)), "0")
    _page(sheet, last + 2)
    sheet.print_area = f"A1:J{last + 2}"


def workbook_bytes(bill: Bill, plants: Sequence[ScheduleRow] = ()) -> bytes:
    """Return the bill as an .xlsx, priced where the bill has rates; a page of the schedule where there are `plants`."""
    from openpyxl import Workbook

    book = Workbook()
    cached: Cached = {}
    summary = book.active
    assert summary is not None
    summary.title = "Summary"
    taken = {"summary"}
    rates = {id(item): bill.rates.of(item) for item in bill.items} if bill.rates else {}
    totals: dict[str, tuple[str, int, float, int]] = {}
    for section in bill.sections():
        sheet = book.create_sheet(_title(section, taken))
        rows = [(item, rates.get(id(item)) if item.order is not None else None) for item in bill.of(section)]
        totals[section] = (sheet.title, *_section(sheet, cached, section, rows))
    if plants:
        _plants(book.create_sheet(_title("Planting schedule", taken)), cached, plants)
    _summary(summary, cached, totals)
    book.properties.creator = "pegbook"
    buffer = io.BytesIO()
    book.save(buffer)
    return _settled(buffer.getvalue(), [s.title for s in book.worksheets], cached)


def _settled(raw: bytes, titles: list[str], cached: Cached) -> bytes:
    """Return the same archive without the clock in it, and with the value beside each formula."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(raw)) as given, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name in sorted(given.namelist()):
            data = given.read(name)
            if name == "docProps/core.xml":
                data = re.sub(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*", rb"\g<1>" + STAMP.encode(), data)
            sheet = re.fullmatch(r"xl/worksheets/sheet(\d+)\.xml", name)
            if sheet:
                data = _with_values(data.decode("utf-8"), titles[int(sheet[1]) - 1], cached).encode("utf-8")
            info = zipfile.ZipInfo(name, EPOCH)
            info.compress_type = zipfile.ZIP_DEFLATED
            made.writestr(info, data)
    return out.getvalue()


def _with_values(text: str, title: str, cached: Cached) -> str:
    def value(match: re.Match[str]) -> str:
        known = cached.get((title, match[1]))
        inner = "" if known is None else f"{known!r}"
        return f"{match[0][: match[0].index('</f>')]}</f><v>{inner}</v></c>" if known is not None else match[0]

    return re.sub(r'<c r="([A-Z]+\d+)"[^>]*><f>[^<]*</f><v ?/?>(?:</v>)?</c>', value, text)
