"""Every bad file is answered with the very lines that stand beside it, and every problem code has such a file.

A case is `bad/NAME.yaml` and `bad/NAME.txt`: what `check` says of it. NAME begins with the code that the case
is for. After a change of words run `PYTHONPATH=tests python tests/errors/test_bad_files.py` and read the
difference before it is kept.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pegbook.geometry.errors import ModelError
from pegbook.geometry.model.garden import load, loads
from pegbook.geometry.reading.textfile import MAX_BYTES, decoded, read_text
from support.bad import BAD, problems_of, said
from support.codes import codes_in

CASES = sorted(path.stem for path in BAD.glob("*.yaml"))

ELSEWHERE = {
    "no-file": "test_a_file_that_cannot_be_read",
    "not-a-file": "test_a_file_that_cannot_be_read",
    "too-large": "test_large_files_are_refused_before_they_are_read",
    "edging-too-wide": "test_bad_quantities",
}
"""Codes of reading, model and kinds whose case is a test of its own, because the file cannot be written down."""


def case_code(name: str) -> set[str]:
    """Return the codes that a case may stand for: its name, or the beginning of it."""
    words = name.split("-")
    return {"-".join(words[:k]) for k in range(1, len(words) + 1)}


@pytest.mark.parametrize("name", CASES)
def test_a_bad_file_is_answered(name: str) -> None:
    path = BAD / f"{name}.yaml"
    assert said(path) == path.with_suffix(".txt").read_text("utf-8")
    assert case_code(name) & {problem.code for problem in problems_of(path)}


@pytest.mark.parametrize("name", CASES)
def test_a_problem_says_how_to_mend_it(name: str) -> None:
    for problem in problems_of(BAD / f"{name}.yaml"):
        assert problem.what
        assert problem.mend, problem.what


def test_every_code_has_a_case() -> None:
    covered = {code for name in CASES for code in case_code(name)} | set(ELSEWHERE)
    codes = {code for folder in ("reading", "model", "kinds") for code in codes_in(folder)}
    missing = {code: codes_in()[code] for code in sorted(codes - covered)}
    assert not missing, "write tests/errors/bad/CODE.yaml with its CODE.txt for each"


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="there is no such file") as missing:
        load(tmp_path / "gone.yaml")
    assert missing.value.problems[0].code == "no-file"
    with pytest.raises(ModelError, match="a folder") as folder:
        load(tmp_path)
    assert folder.value.problems[0].code == "not-a-file"


def test_large_files_are_refused_before_they_are_read(tmp_path: Path) -> None:
    path = tmp_path / "survey.yaml"
    with path.open("wb") as file:
        file.truncate(10_000_000)           # a hole in the disk: reading it would show in the problem's words
    with pytest.raises(ModelError, match=r"10\.0 MB") as error:
        read_text(path)
    assert error.value.problems[0].code == "too-large"
    with pytest.raises(ModelError, match="MB large"):
        loads("a: " + "x" * MAX_BYTES, "long.yaml")


def test_a_byte_order_mark_is_taken_off_and_utf16_named() -> None:
    assert decoded("\ufeffpegbook: 1".encode(), "mark.yaml") == "pegbook: 1"
    with pytest.raises(ModelError, match="UTF-16"):
        decoded("pegbook: 1".encode("utf-16"), "wide.yaml")


if __name__ == "__main__":
    for case in CASES:
        (BAD / f"{case}.txt").write_text(said(BAD / f"{case}.yaml"), "utf-8")
