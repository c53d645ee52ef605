"""Writing files whole or not at all.

Takes: names and bytes. Gives: a folder that holds exactly these, or the folder as it was.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from ..geometry.errors import DrawingError, refuse

LEDGER = "issue.json"
"""The file that marks a folder as one that pegbook wrote and may replace."""


def may_replace(folder: Path) -> None:
    """Refuse (DrawingError) a folder that holds anything but an earlier issue."""
    if folder.exists() and not folder.is_dir():
        raise refuse(DrawingError, f"{folder} is a file", "name a folder with --to", "not-a-folder")
    if folder.is_dir() and any(folder.iterdir()) and not (folder / LEDGER).is_file():
        raise refuse(DrawingError, f"the folder {folder} holds other things than an issue set",
                     "name an empty folder or a new one with --to; nothing was written", "foreign-folder")


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Replace `folder` by one that holds exactly `files` (names may have one folder in front).

    The new folder is built beside the old one and takes its place in two renames; if anything fails
    before that, the old one stands untouched. Raises DrawingError where the system refuses.
    """
    may_replace(folder)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    except OSError as error:
        raise refuse(DrawingError, f"cannot write beside {folder}: {error.strerror}", "choose another place with --to",
                     "cannot-write") from error
    try:
        for name, data in files.items():
            target = fresh / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
        fresh.chmod(0o777 & ~_umask())
        _swap(fresh, folder)
    except OSError as error:
        raise refuse(DrawingError, f"cannot write {folder}: {error.strerror}; the earlier issue stands as it was",
                     "look at space and rights of the disk", "cannot-write") from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _swap(fresh: Path, folder: Path) -> None:
    if not folder.exists():
        fresh.rename(folder)
        return
    old = Path(tempfile.mkdtemp(prefix=f".{folder.name}-old-", dir=folder.parent)) / "issue"
    folder.rename(old)
    try:
        fresh.rename(folder)
    except OSError:
        old.rename(folder)
        raise
    finally:
        shutil.rmtree(old.parent, ignore_errors=True)


def write_file(path: Path, data: bytes) -> None:
    """Write one file whole or not at all; refuses (DrawingError) to replace one that is there."""
    if path.exists():
        raise refuse(DrawingError, f"{path} is there already", "give another name", "already-there")
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}-", delete=False) as fresh:
            fresh.write(data)
        os.chmod(fresh.name, 0o666 & ~_umask())
        os.replace(fresh.name, path)
    except OSError as error:
        raise refuse(DrawingError, f"cannot write {path}: {error.strerror}", "choose another place",
                     "cannot-write") from error
