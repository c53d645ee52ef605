"""The bill of a demo garden agrees, line by line, with the one worked by hand beside it."""

from __future__ import annotations

import ast
import math
import operator
import re
from pathlib import Path

import numpy as np
import pytest
import shapely

from pegbook.geometry.features import Item
from pegbook.geometry.kernel.flatten import polygon
from pegbook.geometry.model.garden import Garden, load
from pegbook.geometry.quantities.bill import Bill, bill

DEMO = Path(__file__).resolve().parents[2] / "demo"
NAMES = {"pi": math.pi, "sqrt": math.sqrt, "asin": math.asin, "ceil": lambda v: math.ceil(v - 1e-9), "round": round}
SIGNS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}

MEASURED = {
    ("lane path", "plan area"),
    ("pond bed", "plan area"),
    ("lane bed", "plan area"),
    ("lane path", "compacted stone"),
    ("lane path", "edge of timber board 30 × 150 mm"),
    ("round lawn", "concrete"),
    ("round lawn", "dig"),
    ("lane path", "dig"),
    ("garden steps", "dig"),
    ("", "dig in all"),
    ("", "spoil to take away"),
}


@pytest.fixture(scope="module")
def garden() -> Garden:
    return load(str(DEMO.joinpath("tannery-row.yaml")))


@pytest.fixture(scope="module")
def made(garden: Garden) -> Bill:
    items = [i for p in garden.elements for i in p.element.items(p, garden)]
    digs = [d for p in garden.elements for d in p.element.digs(p, garden)]
    return bill(items, digs, garden.ordering, elements=[p.name for p in garden.elements])


def worked(node: ast.AST, areas: dict[str, float]) -> float:
    """Work out the arithmetic of a cell: figures, signs, and the few functions of a pocket calculator."""
    match node:
        case ast.Expression():
            return worked(node.body, areas)
        case ast.Constant() if isinstance(node.value, int | float):
            return float(node.value)
        case ast.BinOp():
            return float(SIGNS[type(node.op)](worked(node.left, areas), worked(node.right, areas)))
        case ast.Name():
            return areas[node.id] if node.id in areas else float(NAMES[node.id])  # type: ignore[arg-type]
        case ast.Call() if isinstance(node.func, ast.Name):
            return float(NAMES[node.func.id](*(worked(a, areas) for a in node.args)))  # type: ignore[operator]
    raise AssertionError(ast.dump(node))


def rows() -> list[list[str]]:
    text = DEMO.joinpath("tannery-row-bill.md").read_text("utf-8")
    cells = [[c.strip() for c in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("| ")]
    return [c for c in cells if c[0] != "element"]


def _areas(made: Bill) -> dict[str, float]:
    return {"A_" + i.element.replace(" ", "_"): i.net for i in made.items if i.item == "plan area"}


def _find(made: Bill, element: str, item: str) -> Item:
    found = [i for i in made.items if (i.element, i.item) == (element, item)]
    assert len(found) == 1, f"{element}: {item} stands {len(found)} times in the bill"
    return found[0]


@pytest.mark.parametrize("row", rows(), ids=lambda r: f"{r[0]}-{r[1]}")
def test_the_line_agrees(row: list[str], made: Bill) -> None:
    element, item, sum_, unit, order = row
    text = re.sub(r"A\(([^)]*)\)", lambda m: "A_" + m[1].replace(" ", "_"), sum_)
    text = text.replace("×", "*").replace("²", "**2")
    net = worked(ast.parse(text, mode="eval"), _areas(made))
    line = _find(made, element, item)
    assert line.unit == unit
    assert line.net == pytest.approx(net, abs=6e-4 if unit != "number" else 1e-6), line.basis
    if order:
        assert line.order == pytest.approx(float(order)), line.basis


def test_no_line_is_passed_over(made: Bill) -> None:
    by_hand = {(r[0], r[1]) for r in rows()}
    rest = {(i.element, i.item) for i in made.items if i.item != "no quantities"} - by_hand - MEASURED
    assert {e for e, _ in rest} <= {"seat circle"}, sorted(rest)


@pytest.mark.parametrize("name", ["lane path", "pond bed", "lane bed"])
def test_measured_areas_agree_with_a_second_library(name: str, garden: Garden, made: Bill) -> None:
    placed = next(p for p in garden.elements if p.name == name)
    assert sum(polygon(r, 1e-5).area for r in placed.regions) == pytest.approx(
        _find(made, name, "plan area").net, abs=2e-3
    )


def test_the_setts_agree_with_an_overlay_of_each(made: Bill) -> None:
    step = 0.105
    at = np.arange(-40, 40) * step
    x, y = (v.ravel() for v in np.meshgrid(at, at))
    # laid from the start of the outline, the circle's rightmost point
    boxes = shapely.box(1.5 + x, y, 1.6 + x, y + 0.1)
    area = shapely.area(shapely.intersection(boxes, shapely.Point(0, 0).buffer(1.5, quad_segs=4000)))
    shrunk = shapely.box(1.502 + x, y + 0.002, 1.598 + x, y + 0.098)
    inner = shapely.area(shapely.intersection(shrunk, shapely.Point(0, 0).buffer(1.5, quad_segs=4000)))
    whole = (area > 0.01 - 1e-9) | (inner > 0.096**2 - 1e-9)
    cut = (inner > 1e-9) & ~whole
    setts = next(i for i in made.items if i.element == "seat circle" and i.order and "sett" in i.item)
    assert (int(whole.sum()), int(cut.sum())) == (592, 103)
    assert setts.net == 592 + 103
