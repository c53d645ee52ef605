"""The commands that prove a written set and judge measured-in readings, run as a person runs them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from pegbook.drawings.dxf import losses
from support.issued import STARTERS, issued, text_of

NAME = STARTERS[0]


def run(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "pegbook", *words], cwd=cwd, capture_output=True, text=True,
                          check=False)


def written(folder: Path) -> Path:
    target = folder / "set"
    for file, data in issued(NAME).items():
        place = target / file
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(data)
    return target


def test_a_written_set_is_proved(tmp_path: Path) -> None:
    done = run("prove", str(written(tmp_path)), cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.rstrip().endswith("\nproved")


def test_a_changed_reading_is_found(tmp_path: Path) -> None:
    target = written(tmp_path)
    lines = (target / "pegs.csv").read_text("utf-8").splitlines()
    column = lines[0].split(",").index("reading_1")
    cells = lines[-1].split(",")
    cells[column] = f"{float(cells[column]) + 0.1:.3f}"
    (target / "pegs.csv").write_text("\n".join([*lines[:-1], ",".join(cells)]) + "\n", "utf-8")
    done = run("prove", str(target), cwd=tmp_path)
    assert done.returncode != 0
    assert "not proved" in done.stdout


def test_a_folder_without_a_set_is_refused(tmp_path: Path) -> None:
    done = run("prove", str(tmp_path), cwd=tmp_path)
    assert done.returncode != 0
    assert "Traceback" not in done.stderr
    assert "pegs.csv" in done.stderr


def test_readings_are_judged(tmp_path: Path) -> None:
    (tmp_path / "garden.yaml").write_text(text_of(NAME), "utf-8")
    (tmp_path / "odd.csv").write_text("from,to,reading\nA,ZZ,1.000\n", "utf-8")
    done = run("measured", "garden.yaml", "odd.csv", cwd=tmp_path)
    assert done.returncode != 0
    assert "Traceback" not in done.stderr
    assert "'ZZ'" in done.stderr


def test_an_old_drawing_says_what_it_cannot_hold(tmp_path: Path) -> None:
    (tmp_path / "garden.yaml").write_text(text_of(NAME), "utf-8")
    done = run("issue", "garden.yaml", "--dxf", "R12", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    for words in losses("R12"):
        assert words in done.stderr
