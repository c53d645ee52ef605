"""The bill: nothing left out in silence, the table's form, prices, and the workbook that agrees with it."""

from __future__ import annotations

import csv
import io
import math
import zipfile
from dataclasses import replace

import openpyxl
import pyogrio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.drawings.workbook import workbook_bytes
from pegbook.geometry.errors import ModelError
from pegbook.geometry.features import Dig, Item
from pegbook.geometry.kernel.combine import common, difference
from pegbook.geometry.kernel.path import Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.runs import area_of
from pegbook.geometry.quantities.bill import COLUMNS, Bill, bill, quantities_csv
from pegbook.geometry.quantities.build_ups import supplied
from pegbook.geometry.quantities.layers import build_up_items, dig_of
from pegbook.geometry.quantities.ordering import Choices
from pegbook.geometry.quantities.patterns import Bond
from pegbook.geometry.quantities.paving import laid, paving_advice, paving_items
from pegbook.geometry.quantities.pricing import priced
from pegbook.geometry.quantities.rates import rates_beside, read_rates
from pegbook.geometry.quantities.soft import spread_item, turf_item
from support.areas import disc, moved, rectangle, unit

SLAB = unit(600, 600, 10, thickness=0.04, material="stone slab")


PATIO, CORNER = rectangle(7.3, 4.9), Point(0, 0)


def _made(regions=PATIO, lay_from=CORNER, turn=0.0, **options) -> Bill:
    choices = Choices(**options)
    work = laid(tuple(regions), SLAB, Bond(), lay_from, turn)
    stack = supplied()["foot slabs"]
    items = [
        *paving_items(work, "paving", "terrace", choices),
        *build_up_items("paving", "terrace", regions, stack, counted=("stone slab",)),
    ]
    return bill(items, [dig_of("terrace", regions, stack)], choices, elements=("terrace", "old shed"))


def test_the_table_has_its_columns_and_an_order_for_what_is_sold():
    rows = list(csv.DictReader(io.StringIO(quantities_csv(_made()))))
    assert tuple(rows[0]) == COLUMNS
    slabs = next(r for r in rows if r["item"].startswith("stone slab"))
    # 88 whole, 20 pieces from 14 units: 102, and 3 for breakage
    assert (slabs["net"], slabs["order"], slabs["order_unit"]) == ("102", "105", "number")
    assert float(slabs["gross"]) == pytest.approx(105, abs=0.01)
    assert "88 whole; 20 cut from 14 units" in slabs["basis"]
    informing = [r for r in rows if r["item"].startswith(("units cut", "saw cut", "slivers", "joints"))]
    assert informing
    assert all(not r["order"] and not r["order_unit"] for r in informing)


def test_an_element_without_quantities_says_so():
    assert next(i.basis for i in _made().items if i.element == "old shed").startswith("nothing is ordered")


def test_packs_and_spares_round_up():
    made = _made(packs={"stone slab": 20.0}, spares=2)
    slabs = next(i for i in made.items if i.item.startswith("stone slab"))
    assert (slabs.order, slabs.order_unit) == (6.0, "packs of 20")
    assert slabs.gross == pytest.approx(107)
    assert "2 spares" in slabs.basis


@settings(max_examples=15, deadline=None)
@given(st.floats(-3, 3), st.floats(-500, 500), st.floats(-500, 500))
def test_moving_and_turning_the_garden_changes_no_order(turn, dx, dy):
    before = _made()
    after = _made(moved(rectangle(7.3, 4.9), turn, dx, dy), Point(dx, dy), turn)
    for a, b in zip(before.items, after.items, strict=True):
        assert (a.item, a.order, a.order_unit) == (b.item, b.order, b.order_unit)
        assert a.net == pytest.approx(b.net, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.5, 6.8), st.floats(0.3, 4.6), st.floats(0.4, 3.0))
def test_the_bill_of_the_parts_adds_up_to_the_bill_of_the_whole(x, y, radius):
    """What is measured by area, laid out or dug, of a surface cut by a curve; the dig of neighbours is counted once."""
    inside, outside = common(PATIO, disc(radius, x, y)), difference(PATIO, disc(radius, x, y))
    stack = replace(supplied()["foot slabs"], edge=None, working_space=0.0)

    def net(*surfaces: tuple[Region, ...]) -> dict[str, float]:
        rows: list[Item] = []
        for regions in surfaces:
            rows += build_up_items("paving", "terrace", regions, stack, counted=("stone slab",))
            rows += [turf_item("terrace", regions), spread_item("terrace", "topsoil", area_of(regions), 0.2, 0.0)]
        made = bill(rows, [dig_of(f"part {k}", regions, stack) for k, regions in enumerate(surfaces)])
        sums: dict[str, float] = {}
        for row in made.items:
            if row.item not in ("no quantities", "plan area"):
                sums[row.item] = sums.get(row.item, 0.0) + row.net
        return sums

    whole, parts = net(PATIO), net(inside, outside)
    assert whole.keys() == parts.keys()
    for item, figure in whole.items():
        assert parts[item] == pytest.approx(figure, abs=1e-6), item


def test_nothing_that_is_no_number_gets_into_a_bill():
    with pytest.raises(ModelError):
        bill([Item(section="paving", element="x", item="y", unit="m2", net=float("nan"))])


def test_advice_tells_nominal_sizes_slivers_and_fragile_fits():
    nominal = laid(rectangle(6, 4.8), unit(600, 600, 0), Bond(), Point(0, 0))
    assert {p.code for p in paving_advice(nominal, "t")} == {"nominal-size", "whole-units"}
    slim = laid(rectangle(7.3, 4.9), SLAB, Bond(), Point(0, 0))
    assert {p.code for p in paving_advice(slim, "t")} == {"slivers"}


# --- prices ----------------------------------------------------------------------------------------------------

RATES = "item,unit,rate\nStone slab,number,12.50\nconcrete,m3,110\ncompacted stone,t,38\n"


def test_missing_rates_are_listed_and_never_nothing():
    made = priced(_made(), read_rates(RATES))
    by_item = {item.item: cost for item, _, cost in made.rows}
    assert by_item["stone slab 600 × 600 mm, stack"] == pytest.approx(105 * 12.5)
    assert by_item["haunch of concrete"] is not None
    assert {i.item for i in made.missing} == {"mortar in joints", "bedding mortar", "spoil to take away"}
    assert all(cost is None for item, _, cost in made.rows if item in made.missing)
    assert made.total == pytest.approx(sum(c for c in by_item.values() if c))


def test_a_priced_bill_advises_what_has_no_rate():
    advice = _made().with_rates(read_rates(RATES)).advice
    assert [p.code for p in advice] == ["missing-rate"]
    assert "terrace: bedding mortar" in advice[0].what
    assert "stone slab" not in advice[0].what


def test_the_priced_table_leaves_blanks_where_a_rate_is_missing():
    made = _made().with_rates(read_rates(RATES))
    rows = list(csv.DictReader(io.StringIO(quantities_csv(made))))
    assert tuple(rows[0]) == (*COLUMNS, "rate", "cost")
    missing = {i.item for i in priced(made, made.rates).missing}
    for row, item in zip(rows, made.items, strict=True):
        if item.item in missing:
            assert (row["rate"], row["cost"]) == ("", "")
            assert row["basis"].endswith("no rate given, not in the priced total")
        elif item.order:
            assert float(row["cost"]) == pytest.approx(float(row["rate"]) * item.order, abs=0.005)
    assert sum(float(r["cost"] or 0) for r in rows) == pytest.approx(priced(made, made.rates).total, abs=1e-6)
    assert all("0.00" not in (row["rate"], row["cost"]) for row in rows)


def test_the_total_names_what_is_not_in_it():
    words = priced(_made(), read_rates(RATES)).words
    assert "Not in it, for want of a rate, 3: " in words
    assert "terrace: bedding mortar" in words


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("item,rate\nslab,3\n", "bad-rates"),
        ("item,unit,rate\nslab,number,nothing\n", "bad-rate"),
        ("item,unit,rate\nslab,number,0\n", "bad-rate"),
        ("item,unit,rate\nslab,number,nan\n", "bad-rate"),
        ("item,unit,rate\nslab,number,3\nslab,number,4\n", "double-rate"),
        ("", "bad-rates"),
    ],
)
def test_bad_rates_are_refused_with_their_line(text, code):
    with pytest.raises(ModelError) as refused:
        read_rates(text, "prices.csv")
    assert refused.value.problems[0].code == code
    assert refused.value.problems[0].place.file == "prices.csv"


def test_rates_lie_beside_the_model(tmp_path):
    (tmp_path / "prices.csv").write_text(RATES, "utf-8")
    assert rates_beside(str(tmp_path / "garden.yaml"), "prices.csv").by_name["concrete", "m3"] == 110
    with pytest.raises(ModelError):
        rates_beside(str(tmp_path / "garden.yaml"), "none.csv")


def test_topsoil_is_stripped_first_and_kept_apart():
    digs = [
        Dig(element="a", outline=rectangle(4, 3), depth=0.4),
        Dig(element="b", outline=rectangle(2, 2, 3, 0), depth=0.1),
    ]
    rows = {(i.element, i.item): i.net for i in bill([], digs, strip=0.15).items}
    assert rows["", "topsoil stripped"] == pytest.approx(12 * 0.15 + (4 - 2) * 0.1)
    assert rows["a", "dig"] == pytest.approx(12 * 0.25)
    assert rows["b", "dig"] == 0
    assert rows["", "spoil to take away"] == pytest.approx(3.0)


# --- the workbook ----------------------------------------------------------------------------------------------


def test_the_workbook_is_the_same_bytes_and_holds_no_clock():
    made = _made()
    assert workbook_bytes(made) == workbook_bytes(_made())
    with zipfile.ZipFile(io.BytesIO(workbook_bytes(made))) as book:
        assert {i.date_time for i in book.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert b"2000-01-01T00:00:00Z" in book.read("docProps/core.xml")


def test_formulas_and_their_values_agree_in_a_second_library(tmp_path):
    """openpyxl reads the formulas, GDAL the values; each formula is worked again here from the cells it names."""
    made = _made().with_rates(read_rates(RATES))
    path = tmp_path / "bill.xlsx"
    path.write_bytes(workbook_bytes(made))
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == ["Summary", *made.sections()]
    total = priced(made, made.rates).total
    costs = 0.0
    for section in made.sections():
        sheet = book[section]
        assert sheet.print_area
        assert sheet.page_setup.orientation == "landscape"
        fields = pyogrio.raw.read(path, layer=section)[3]
        values = [[column[r] for column in fields] for r in range(len(fields[0]))]
        rows = made.of(section)
        for k, item in enumerate(rows):
            row = 4 + k
            assert sheet[f"F{row}"].value == f"=D{row}*(1+E{row}/100)"
            read = values[row - 1]
            assert float(read[5]) == pytest.approx(float(read[3]) * (1 + float(read[4]) / 100))
            assert float(read[5]) == pytest.approx(item.gross, abs=1e-5)
            assert sheet[f"K{row}"].value == item.basis
            if read[8]:
                assert float(read[9]) == pytest.approx(float(read[6]) * float(read[8]), abs=0.005)
                costs += float(read[9])
        last = 3 + len(rows)
        assert sheet[f"J{last + 2}"].value == f"=SUM(J4:J{last})"
    assert costs == pytest.approx(total)
    summary = pyogrio.raw.read(path, layer="Summary")[3]
    assert float(summary[1][-3 if summary[1][-1] is None else -1]) == pytest.approx(total)


def test_names_that_look_like_formulas_stay_names():
    odd = Item(section="paving: [a]/b", element="=1+1", item="+2\x07", unit="m2", net=1.0, basis="@x")
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(Bill((odd,)))))
    sheet = book.worksheets[1]
    assert sheet["A4"].value == "=1+1"
    assert sheet["A4"].data_type == "s"
    assert sheet["B4"].value == "+2"


def test_a_dig_of_no_depth_is_refused():
    from pegbook.geometry.errors import GeometryError

    with pytest.raises(GeometryError):
        bill([], [Dig(element="x", outline=rectangle(1, 1), depth=0.0)])
    assert math.isclose(
        sum(
            i.net
            for i in bill([], [Dig(element="x", outline=rectangle(1, 1), depth=0.5)]).of("excavation")
            if i.item == "dig"
        ),
        0.5,
    )
