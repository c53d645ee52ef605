"""Readings that cannot be are answered with their line, the numbers and what to do; nothing is judged by halves."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from pegbook.geometry.errors import ReadingsError
from pegbook.geometry.pegs import taped
from pegbook.geometry.pegs.measured import judge
from support.aspegged import of_seed

HEAD = "from,to,reading,when\n"


HEADER = "let the first line be: from,to,reading,when"
FIGURE = "write metres with a point, such as 7.340, or feet and inches, such as 12' 6 1/4\""
COMMA = "a decimal comma looks like the end of a cell here: write points, or part the cells by semicolons"
PLAIN = "write plain rows, one a line"
MISREAD = "look at the metre figure and the unit"


@pytest.mark.parametrize(("text", "said", "mend"), [
    ("", "odd.csv is empty", HEADER),
    ("\n \n", "odd.csv is empty", HEADER),
    (HEAD, "no reading in odd.csv", "write rows of from, to, reading"),
    ("from,reading\nA,1.0\n", "odd.csv has no column to", HEADER),
    ("A,B,8.000\n", "odd.csv has no column from, to, reading", HEADER),
    ("from,to,reading,reading\nA,B,8.000,9.0\n", "odd.csv has the column reading twice", HEADER),
    ("from to;reading\nA;B;8,000\n", "odd.csv has no column from, to", HEADER),
    (HEAD + "A,Q7,4.000,\n", "odd.csv:2:1: there is no mark or peg 'Q7'", "use the names on the sheet"),
    (HEAD + "A,b,4.000,\n", "odd.csv:2:1: there is no mark or peg 'b'", "did you mean B?"),
    (HEAD + "A,P1O1,4.000,\n", "odd.csv:2:1: there is no mark or peg 'P1O1'", "did you mean P101?"),
    (HEAD + f"A,{'x' * 99},4.000,\n", f"odd.csv:2:1: there is no mark or peg '{'x' * 40}…'",
     "use the names on the sheet"),
    (HEAD + "A,,4.000,\n", "odd.csv:2:1: no mark or peg is named under 'to'", "name both ends of the tape"),
    (HEAD + "A,A,4.000,\n", "odd.csv:2:1: a reading from A to itself", "name two different pegs"),
    (HEAD + "A,B,1234.0,\n", "odd.csv:2:1: A to B reads 1234.000 m, which the tape of 30 m cannot show",
     "write millimetres with their unit, as 8000 mm"),
    (HEAD + "A,B,123.0,\n", "odd.csv:2:1: A to B reads 123.000 m, which the tape of 30 m cannot show", MISREAD),
    (HEAD + "A,B,0,\n", "odd.csv:2:1: A to B reads 0.000 m, which the tape of 30 m cannot show", MISREAD),
    (HEAD + "A,B," + "9" * 5000 + ",\n", f"odd.csv:2:1: '{'9' * 40}…' is longer than any tape", MISREAD),
    (HEAD + "A,B,seven,\n", "odd.csv:2:1: 'seven' is no reading of a tape", FIGURE),
    (HEAD + "A,B,=8.000,\n", "odd.csv:2:1: '=8.000' is no reading of a tape", FIGURE),
    (HEAD + "A,B,nan,\n", "odd.csv:2:1: 'nan' is no reading of a tape", FIGURE),
    (HEAD + "A,B,-inf,\n", "odd.csv:2:1: '-inf' is no reading of a tape", FIGURE),
    (HEAD + "A,B,1e3,\n", "odd.csv:2:1: '1e3' is no reading of a tape", FIGURE),
    (HEAD + 'A,B,"8.000,5",\n', "odd.csv:2:1: '8.000,5' is no reading of a tape", FIGURE),
    (HEAD + "A,B,8.\0000,\n", "odd.csv:2:1: '8.\\x000' is no reading of a tape", FIGURE),
    (HEAD + "A,B,26' 3 1/0\",\n", "odd.csv:2:1: '26\\' 3 1/0\"' divides by nothing", "write a fraction such as 1/4"),
    (HEAD + "A,B,8,123\n", "odd.csv:2:1: is the reading 8, or 8,123?", COMMA),
    ("from,to,reading\nA,B,8,123\n", "odd.csv:2:1: 4 cells, where the first line has 3", COMMA),
    (HEAD + "A,B\n", "odd.csv:2:1: A to B has no reading", "write what the tape showed, or leave the line out"),
    (HEAD + 'A,B,"8.000,\nA,C,19\n', "odd.csv:2:1: a quotation mark is not closed", PLAIN),
    (HEAD + "A,B," + "x" * 200_000 + "\n", "odd.csv:2:1: a cell of more than 131,072 characters", PLAIN),
])
def test_a_bad_table_is_answered(text: str, said: str, mend: str) -> None:
    _, pegs = of_seed(301)
    with pytest.raises(ReadingsError) as error:
        judge(pegs, text, "odd.csv")
    assert str(error.value) == f"{said}\n    mend: {mend}"


def test_every_wrong_line_is_named_up_to_a_dozen() -> None:
    _, pegs = of_seed(301)
    with pytest.raises(ReadingsError) as error:
        judge(pegs, HEAD + "A,B,7.000,\nA,B,,\nB,A,-3.000,\n")
    assert [str(p).split("\n")[0] for p in error.value.problems] == [
        "readings:3:1: A to B has no reading",
        "readings:4:1: B to A reads -3.000 m, which the tape of 30 m cannot show"]
    with pytest.raises(ReadingsError) as error:
        judge(pegs, HEAD + "A,Q,1\n" * 300)
    assert len(error.value.problems) == 13
    assert str(error.value).endswith("readings: 288 more lines are wrong")


@pytest.mark.parametrize("text", [
    "\ufefffrom,to,reading\nA,B,{}\n", "from,to,reading\r\nA,B,{}\r\n", "from,to,reading\rA,B,{}\r",
    "From, To, Reading\n A , B , {} \n", "from;to;reading\nA;B;{}\n", "from\tto\treading\nA\tB\t{}\n",
    "\nfrom,to,reading,when\n\nA,B,{},\n,,,\n", 'from,to,reading\n"A","B","{}"\n', "from,to,reading\nA,B,{} m,\n"])
def test_tables_as_phones_and_spreadsheets_write_them_are_read(text: str) -> None:
    _, pegs = of_seed(301)
    length = pegs.peg("A").at.distance(pegs.peg("B").at)
    (measure,) = judge(pegs, text.format(f"{length:.3f}")).measures
    assert (measure.start, measure.end, measure.reading) == ("A", "B", pytest.approx(length, abs=0.00051))
    if ";" in text or "\t" in text or '"' in text:
        (measure,) = judge(pegs, text.format(f"{length:.3f}".replace(".", ","))).measures
        assert measure.reading == pytest.approx(length, abs=0.00051)


def test_more_lines_than_can_be_weighed_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    _, pegs = of_seed(301)
    monkeypatch.setattr(taped, "MOST", 3)
    others = [p for p in pegs.pegs if p.name != "A"][:4]
    rows = "".join(f"A,{p.name},{pegs.peg('A').at.distance(p.at):.3f}\n" for p in others)
    with pytest.raises(ReadingsError, match="readings has readings of 4 lines; 3 are weighed together at most"):
        judge(pegs, HEAD + rows)


def test_a_bare_number_has_no_unit_in_a_garden_in_feet() -> None:
    _, pegs = of_seed(300, feet=True)
    with pytest.raises(ReadingsError) as error:
        judge(pegs, HEAD + "A,B,7.340,\n")
    assert str(error.value) == (
        "readings:2:1: the reading '7.340' has no unit\n    mend: write feet and inches as the tape shows them, such "
        "as 12' 6 1/4\", or metres as 3.816 m")


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
