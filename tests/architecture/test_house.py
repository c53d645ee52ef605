"""The law of the house: who may import whom, how big a module may grow, what an import costs."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LIBRARY = sorted(p for top in ("geometry", "drawings", "templates", "demo") for p in (ROOT / top).rglob("*.py"))

# A library, and the only places that may import it.
SOLE_IMPORTERS = {
    "yaml": ("geometry/reading/source.py", "geometry/reading/data.py"),
    "ezdxf": ("drawings/dxf",),
    "svgwrite": ("drawings/svg",),
    "reportlab": ("drawings/pdf",),
    "openpyxl": ("drawings/workbook",),
    "click": ("drawings/front/",),
    "rich": ("drawings/front/",),
    "shapely": ("geometry/kernel/", "geometry/pegs/", "geometry/quantities/", "geometry/planting/", "drawings/"),
    "scipy": ("geometry/pegs/", "geometry/planting/", "geometry/kernel/fit", "geometry/kernel/minimax"),
}


def imports(path: Path) -> list[tuple[int, str]]:
    """Every imported name with its relative level."""
    found: list[tuple[int, str]] = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found += [(0, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            found.append((node.level, node.module or ""))
    return found


def test_packages_listed_are_the_folders() -> None:
    listed = set(tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]["packages"])
    folders = {"pegbook"}
    for path in LIBRARY:
        if path.name == "__init__.py" and "front" not in path.parts:
            folders.add("pegbook." + ".".join(path.parent.relative_to(ROOT).parts))
    data = {name for name in listed - folders if (ROOT / Path(*name.split(".")[1:])).is_dir()}
    assert listed - data == folders
    assert all(name.startswith(("pegbook.templates.", "pegbook.demo.")) for name in data)


@pytest.mark.parametrize("library", sorted(SOLE_IMPORTERS))
def test_each_library_has_its_place(library: str) -> None:
    places = SOLE_IMPORTERS[library]
    strays = [str(path.relative_to(ROOT)) for path in LIBRARY
              if any(level == 0 and name.split(".")[0] == library for level, name in imports(path))
              and not str(path.relative_to(ROOT)).startswith(places)]
    assert not strays


def test_imports_inside_the_library_are_relative() -> None:
    strays = [str(path.relative_to(ROOT)) for path in LIBRARY if "front" not in path.parts
              and any(level == 0 and name.split(".")[0] == "pegbook" for level, name in imports(path))]
    assert not strays


MOST_LINES = 300
"""Lines with code or text in one module; most stay far below."""


def test_modules_stay_small() -> None:
    long = {}
    for path in LIBRARY:
        lines = [line.strip() for line in path.read_text("utf-8").splitlines()]
        code = [line for line in lines if line and not line.startswith("#")]
        if len(code) > MOST_LINES:
            long[str(path.relative_to(ROOT))] = len(code)
    assert not long


def test_help_imports_nothing_heavy() -> None:
    heavy = ("numpy", "shapely", "ezdxf", "scipy", "reportlab", "svgwrite", "pydantic", "yaml", "openpyxl")
    script = ("import sys\nfrom pegbook.__main__ import main\n"
              "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
              f"print([m for m in {heavy!r} if m in sys.modules], len(sys.modules), file=sys.stderr)\n")
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded, _, count = run.stderr.strip().splitlines()[-1].rpartition(" ")
    assert loaded == "[]"
    assert int(count) < 300


def test_no_module_is_loaded_under_two_names() -> None:
    script = ("import sys, pkgutil, importlib, pegbook.geometry, pegbook.drawings\n"
              "for p in (pegbook.geometry, pegbook.drawings):\n"
              "    for m in pkgutil.walk_packages(p.__path__, p.__name__ + '.'):\n"
              "        'front' in m.name or importlib.import_module(m.name)\n"
              "bare = [m for m in sys.modules if m.split('.')[0] in ('geometry', 'drawings', 'templates', 'demo')]\n"
              "assert not bare, bare\n")
    subprocess.run([sys.executable, "-c", script], check=True)


def test_the_project_speaks_of_itself_alone() -> None:
    words = ("/work" + "/", "sha" + "red/design", "../sha" + "red", "pypi" + ".org", "files.python" + "hosted",
             "/home" + "/", "/root" + "/")
    listing = subprocess.run(["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True,
                             text=True, check=False)
    names = listing.stdout.splitlines() if listing.returncode == 0 else []
    strays = []
    for name in names:
        path = ROOT / name
        if path.suffix in {".png", ".ttf", ".pdf"} or not path.is_file():
            continue
        text = path.read_text("utf-8", errors="replace")
        strays += [f"{name}: {word}" for word in words if word in text]
    assert not strays
