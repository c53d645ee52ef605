"""`pegbook quantities` with a file of rates, run as a person runs it."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from pathlib import Path

import pytest

GARDEN = """pegbook: 1
project: {title: Priced yard, date: 2026-03-01}
site:
  control:
    A: {at: [0, 0], mark: corner of the house}
    B: {at: [9, 0], mark: other corner of the house}
  baseline: [A, B]
elements:
  terrace:
    kind: paving
    outline: {rectangle: {corner: [1, 1], length: 4, width: 3}}
    unit: {length: 600 mm, width: 600 mm, joint: 10 mm, material: stone slab}
    build_up: foot slabs
"""


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    (folder / "yard.yaml").write_text(GARDEN, "utf-8")
    return subprocess.run([sys.executable, "-m", "pegbook", "quantities", "yard.yaml", *words], cwd=folder,
                          capture_output=True, text=True, check=False)


def test_orders_are_priced_and_what_has_no_rate_is_named(tmp_path: Path) -> None:
    (tmp_path / "prices.csv").write_text("item,unit,rate\nstone slab,number,12.50\n", "utf-8")
    done = run(tmp_path, "--rates", "prices.csv", "--csv")
    assert done.returncode == 0, done.stderr
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    slabs = next(r for r in rows if r["item"].startswith("stone slab"))
    assert float(slabs["cost"]) == pytest.approx(12.5 * float(slabs["order"]), abs=0.005)
    assert all(r["rate"] == r["cost"] == "" for r in rows if r is not slabs)
    assert f"Priced total of 1 orders: {float(slabs['cost']):,.2f}. Not in it, for want of a rate, " in done.stderr
    assert "terrace: bedding mortar" in done.stderr


def test_without_rates_there_are_no_prices(tmp_path: Path) -> None:
    done = run(tmp_path, "--csv")
    assert "rate" not in done.stdout.splitlines()[0]


@pytest.mark.parametrize(("text", "said"), [("item,unit,rate\nslab,number,0\n", "prices.csv:2"), ("", "prices.csv:1")])
def test_a_bad_file_of_rates_is_named_with_its_line(text: str, said: str, tmp_path: Path) -> None:
    (tmp_path / "prices.csv").write_text(text, "utf-8")
    done = run(tmp_path, "--rates", "prices.csv")
    assert done.returncode != 0
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_file_of_rates_that_is_not_there(tmp_path: Path) -> None:
    done = run(tmp_path, "--rates", "none.csv")
    assert done.returncode != 0
    assert "none.csv" in done.stderr
    assert "Traceback" not in done.stderr
