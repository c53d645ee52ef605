"""What README and DEVELOPERS say is so: the example issues, named files exist, commands are those of the program."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pegbook.geometry.model.garden import loads
from pegbook.geometry.setout import set_out

ROOT = Path(__file__).resolve().parents[2]


def text(name: str) -> str:
    return (ROOT / name).read_text("utf-8")


def test_the_example_of_the_readme_sets_out() -> None:
    example = re.search(r"```yaml\n(.*?)```", text("README.md"), re.DOTALL)
    assert example
    work = set_out(loads(example.group(1), "readme.yaml"))
    assert {p.element for p in work.pegs.pegs} >= {"terrace", "round lawn"}


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "tests/README.md"])
def test_links_and_pictures_exist(name: str) -> None:
    folder = (ROOT / name).parent
    for target in re.findall(r"\]\(([^)#]+)\)", text(name)):
        assert (folder / target).exists(), target


def test_commands_named_exist() -> None:
    from pegbook.__main__ import pegbook

    for command in set(re.findall(r"^pegbook (\w+)", text("README.md"), re.MULTILINE)):
        assert command in pegbook.commands


def test_modules_named_by_the_contributor_guide_exist() -> None:
    for name in re.findall(r"\b(\w+\.py)\b", text("DEVELOPERS.md")):
        assert any(ROOT.rglob(name)), name


def test_kinds_and_forms_named_by_the_readme_are_those_of_the_program() -> None:
    kinds = re.search(r"Kinds of element: ([^.]+)\.", text("README.md").replace("\n", " "))
    assert kinds
    from pegbook.geometry import kinds as package

    folder = Path(package.__file__ or "").parent
    modules = {p.stem for p in folder.glob("*.py") if not p.stem.startswith(("_", "base"))}
    assert set(kinds.group(1).split(", ")) == modules


def test_versions_agree() -> None:
    import tomllib

    import pegbook
    from pegbook.drawings.version import VERSION

    stated = tomllib.loads(text("pyproject.toml"))["project"]["version"]
    assert stated == VERSION == pegbook.__version__
