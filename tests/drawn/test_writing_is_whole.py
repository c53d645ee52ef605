"""Files are written whole or not at all, and nothing foreign is ever replaced."""

from __future__ import annotations

from pathlib import Path

import pytest

from pegbook.drawings import writing
from pegbook.geometry.errors import DrawingError


def test_a_set_replaces_the_earlier_one_exactly(tmp_path: Path) -> None:
    folder = tmp_path / "garden-issue"
    writing.write_folder(folder, {"issue.json": b"1", "sheets/01.svg": b"old", "gone.csv": b"x"})
    writing.write_folder(folder, {"issue.json": b"2", "sheets/01.svg": b"new"})
    held = {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    assert held == {"issue.json": b"2", "sheets/01.svg": b"new"}
    assert [p.name for p in tmp_path.iterdir()] == ["garden-issue"]


def test_a_foreign_folder_is_refused_and_left(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "cat.txt").write_text("cat")
    with pytest.raises(DrawingError, match="other things"):
        writing.write_folder(tmp_path / "photos", {"issue.json": b"1"})
    assert (tmp_path / "photos" / "cat.txt").read_text() == "cat"


def test_a_failed_write_leaves_the_earlier_issue(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "garden-issue"
    writing.write_folder(folder, {"issue.json": b"1"})

    def full(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(DrawingError, match="earlier issue stands"):
        writing.write_folder(folder, {"issue.json": b"2"})
    monkeypatch.undo()
    assert (folder / "issue.json").read_bytes() == b"1"
    assert [p.name for p in tmp_path.iterdir()] == ["garden-issue"]


def test_one_file_never_replaces_another(tmp_path: Path) -> None:
    writing.write_file(tmp_path / "a.yaml", b"1")
    with pytest.raises(DrawingError, match="there already"):
        writing.write_file(tmp_path / "a.yaml", b"2")
    assert (tmp_path / "a.yaml").read_bytes() == b"1"
