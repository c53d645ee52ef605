"""The tables of the issue set, in the terminal."""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from pegbook.geometry.setout import SettingOut
from pegbook.work import worked


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def print_table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]], right: Sequence[str] = ()) -> None:
    """Print rows under their columns; those named in `right` stand to the right."""
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    wide = None if sys.stdout.isatty() else 160
    table = Table(title=title, box=box.SIMPLE_HEAD, title_justify="left")
    for name in columns:
        table.add_column(name, justify="right" if name in right else "left", overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    Console(width=wide, highlight=False).print(table)


def _put(text: str, form: str, numbers: Sequence[str]) -> bool:
    """Print CSV text as CSV or JSON; return whether it did."""
    if form == "csv":
        sys.stdout.write(text)
        return True
    if form == "json":
        _put_json(_numbered(text, numbers))
        return True
    return False


def _numbered(text: str, numbers: Sequence[str]) -> list[Mapping[str, Any]]:
    """Return the rows of CSV text, those columns as numbers."""
    return [{key: (float(value) if key in numbers and value else value) for key, value in row.items()}
            for row in _rows(text)]


def _put_json(found: Any) -> None:
    sys.stdout.write(json.dumps(found, indent=2, ensure_ascii=False) + "\n")


def _as_csv(rows: Sequence[Mapping[str, Any]]) -> str:
    """Return rows with the same keys as CSV text."""
    buffer = io.StringIO()
    if rows:
        writer = csv.DictWriter(buffer, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    return buffer.getvalue()


def _advise(work: SettingOut) -> None:
    for problem in work.advice:
        sys.stderr.write(f"{problem}\n")


def show_pegs(file: Path, form: str, why: bool) -> None:
    """Print the pegs; with `why` the ways weighed for each."""
    from pegbook.geometry.pegs.csvs import pegs_csv

    work = worked(file)
    text = pegs_csv(work.pegs)
    _advise(work)
    if why:
        _show_why(work, form)
    elif not _put(text, form, ("x", "y", "level", "error", "order")):
        wanted = ("peg", "element", "part", "method", "from_1", "reading_1", "from_2", "reading_2", "side",
                  "check_from", "check_reading", "check_limit", "error")
        print_table(f"{work.garden.project.title}: pegs in working order", wanted,
               [[row[name] for name in wanted] for row in _rows(text)],
               ("reading_1", "reading_2", "check_reading", "check_limit", "error"))


WEIGHED = ("peg", "chosen", "method", "from", "share of tolerance", "angle", "tape m", "pegs deep", "error mm")
HALVED = ("out half way", "then a quarter", "wrong by mm")


def _show_why(work: SettingOut, form: str) -> None:
    """Print the ways weighed for each peg, and, with their own columns, the arcs that may be halved between pegs."""
    title, weighed, halved = work.garden.project.title, list(_weighed(work)), list(_halved(work))
    if form == "table":
        print_table(f"{title}: why each peg is set so", WEIGHED, weighed, WEIGHED[4:])
        if halved:
            print_table(f"{title}: more points on bends by halving", ("element", "between pegs", *HALVED),
                        halved, HALVED)
        return
    rows = [{**dict.fromkeys((*WEIGHED, *HALVED), ""), **dict(zip(WEIGHED, row, strict=True))} for row in weighed]
    for _, between, *found in halved:
        rows.append({**dict.fromkeys(WEIGHED, ""), "method": "halving", "from": between,
                     **dict(zip(HALVED, found, strict=True))})
    _put(_as_csv(rows), form, ())


def _weighed(work: SettingOut) -> Iterator[tuple[str, ...]]:
    for peg in work.pegs.pegs:
        for way in work.pegs.weighed.get(peg.name, ())[:3]:
            angle = "" if way.angle is None else f"{way.angle:.0f}"
            yield (peg.name, "yes" if way.chosen else "", way.method, " ".join(way.sources), f"{way.q:.2f}",
                   angle, f"{way.tape:.1f}", str(way.level), f"{way.error:.1f}")


def _halved(work: SettingOut) -> Iterator[tuple[str, ...]]:
    """Yield where points between pegs may be found by halving, how far out of the string, and how wrong that is."""
    from pegbook.geometry.pegs.halving import halvings

    for element in work.pegs.elements:
        for h in halvings(work.pegs, element):
            yield element, f"{h.start} {h.end}", h.rise.text, h.quarter.text, f"{h.error * 1000:.2f}"


def show_quantities(file: Path, form: str, rates: Path | None = None) -> None:
    """Print the quantities, by section, with how each was worked out; priced by the model's rates or those given."""
    from pegbook.geometry.quantities.bill import PRICE_COLUMNS, quantities_csv
    from pegbook.geometry.quantities.pricing import priced
    from pegbook.geometry.quantities.rates import read_rates
    from pegbook.geometry.reading.textfile import read_text

    given = read_rates(read_text(rates), str(rates)) if rates else None
    work = worked(file)
    bill = work.bill.with_rates(given) if given else work.bill
    text = quantities_csv(bill)
    _advise(work)
    if not _put(text, form, ("net", "allowance", "gross", "order", *PRICE_COLUMNS)):
        prices = PRICE_COLUMNS if bill.rates else ()
        columns = ("section", "element", "item", "net", "unit", "order", "order_unit", *prices, "basis")
        print_table(f"{work.garden.project.title}: quantities", columns,
               [[row[name] for name in columns] for row in _rows(text)], ("net", "order", *prices))
    if bill.rates:
        (sys.stdout if form == "table" else sys.stderr).write(f"{priced(bill, bill.rates).words}\n")


def show_layouts(file: Path) -> None:
    """Print for each paved element where else laying could start, with its figures."""
    from pegbook.geometry.model.garden import load

    garden = load(file)
    rows = [(placed.name, words) for placed in garden.elements for words in placed.element.layouts(placed, garden)]
    print_table(f"{garden.project.title}: where to start laying", ("element", "layout"), rows)


def show_plants(file: Path, form: str, part: str) -> None:
    """Print the planting schedule, the clarity report of each bed and the months; as CSV only the `part` named."""
    from pegbook.geometry.planting.reports import clarity_rows, month_rows
    from pegbook.geometry.planting.schedule import plants_csv

    work = worked(file)
    text = plants_csv(work.schedule)
    _advise(work)
    if form == "json":
        _put_json({"schedule": _numbered(text, ("number", "spacing", "density", "by_area")),
                   "clarity": clarity_rows(work.beds), "months": month_rows(work.beds)})
        return
    if form == "csv":
        sys.stdout.write(text if part == "schedule" else
                         _as_csv(clarity_rows(work.beds) if part == "clarity" else month_rows(work.beds)))
        return
    rows = _rows(text)
    columns = tuple(rows[0]) if rows else ("key",)
    print_table(f"{work.garden.project.title}: planting schedule", columns, [list(row.values()) for row in rows])
    _show_clarity(work)
    _show_months(work)


def _show_clarity(work: SettingOut) -> None:
    from pegbook.geometry.planting.clarity import clarity

    for bed in work.beds:
        rows = [("" if f.fine else "look", f.rule.value, f.what, "" if f.figure is None else f"{f.figure:.2f}",
                 f.limits_words(), f.detail, f.source) for f in clarity(bed)]
        print_table(f"{bed.name}: clarity; taste, never an error",
                    ("", "measure", "what", "figure", "wanted", "found", "source"), rows, ("figure",))


def _show_months(work: SettingOut) -> None:
    from pegbook.geometry.planting.months import month_charts, month_words
    from pegbook.geometry.planting.plants import MONTH_LETTERS

    for chart in month_charts(work.beds):
        rows = [(row.plant.name, f"{row.share * 100:.0f} %", *row.signs.replace("-", " ")) for row in chart.rows]
        rows.append(("in flower, % of the ground", "", *(f"{share * 100:.0f}" for share in chart.flowering)))
        gaps = month_words(chart.gaps) or "none"
        columns = ("plant", "share", *MONTH_LETTERS)
        print_table(f"{chart.name}: months (F flower, L leaf, W winter heads or stems); nothing on: {gaps}", columns,
                    rows, columns[1:])
