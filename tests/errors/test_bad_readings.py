"""Readings that cannot be are answered with their line, the numbers and what to do; nothing is judged by halves."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from pegbook.geometry.errors import ReadingsError
from pegbook.geometry.pegs.measured import judge
from support.aspegged import of_seed

HEAD = "from,to,reading,when\n"


@pytest.mark.parametrize(("text", "said"), [
    ("from,reading\nA,1.0\n", "the table has no columns from, to, reading\n"
     "    mend: let the first line be: from,to,reading,when"),
    (HEAD, "no reading in the table\n    mend: write rows of from, to, reading"),
    (HEAD + "A,Q7,4.000,\n", "line 2: there is no mark or peg 'Q7'\n    mend: use the names on the sheet"),
    (HEAD + "A,A,4.000,\n", "line 2: a reading from A to itself\n    mend: name two different pegs"),
    (HEAD + "A,B,1234.0,\n", "line 2: A to B reads 1234.000 m, which the tape of 30 m cannot show\n"
     "    mend: look at the metre figure and the unit"),
    (HEAD + "A,B,seven,\n", "line 2: 'seven' is no reading of a tape\n"
     "    mend: write metres with a point, such as 7.340, or feet and inches, such as 12' 6 1/4\""),
    (HEAD + "A,B,7.000,\nA,B,,\nB,A,-3.000,\n", "line 3: '' is no reading of a tape\n"
     "    mend: write metres with a point, such as 7.340, or feet and inches, such as 12' 6 1/4\"\n"
     "line 4: B to A reads -3.000 m, which the tape of 30 m cannot show\n"
     "    mend: look at the metre figure and the unit"),
])
def test_a_bad_table_is_answered(text: str, said: str) -> None:
    _, pegs = of_seed(301)
    with pytest.raises(ReadingsError) as error:
        judge(pegs, text)
    assert str(error.value) == said


def test_a_bare_number_has_no_unit_in_a_garden_in_feet() -> None:
    _, pegs = of_seed(300, feet=True)
    with pytest.raises(ReadingsError) as error:
        judge(pegs, HEAD + "A,B,7.340,\n")
    assert str(error.value) == (
        "line 2: the reading '7.340' has no unit\n    mend: write feet and inches as the tape shows them, such as "
        "12' 6 1/4\", or metres as 3.816 m")


@pytest.mark.parametrize("name", ["ties-apart", "marks-coincide", "baseline-short", "peg-unreached"])
def test_nothing_is_written(name: str, tmp_path: Path) -> None:
    model = Path(__file__).parent / "bad" / f"{name}.yaml"
    done = subprocess.run([sys.executable, "-m", "pegbook", "issue", str(model), "--to", str(tmp_path / "set")],
                          capture_output=True, text=True, check=False, cwd=tmp_path)
    assert done.returncode == 1
    assert f"{name}.yaml:" in done.stderr
    assert "mend: " in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "set").exists()
