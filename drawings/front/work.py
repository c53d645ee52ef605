"""One garden from file to folder, and several of them at once."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from pegbook.geometry.errors import PegbookError, Problem
from pegbook.geometry.setout import SettingOut


def worked(file: Path) -> SettingOut:
    """Read a model and set it out."""
    from pegbook.geometry.model.garden import load
    from pegbook.geometry.setout import set_out

    return set_out(load(file))


def checked(file: Path) -> tuple[Problem, ...]:
    """Read and set out a model; return the advice, taste in planting last. Errors are raised all together."""
    from pegbook.geometry.planting.clarity import clarity_advice

    work = worked(file)
    places = {placed.name: placed.place for placed in work.garden.elements}
    return (*work.advice, *(replace(problem, place=places.get(bed.name))
                            for bed in work.beds for problem in clarity_advice(bed)))


def folder_for(file: Path, target: Path | None, several: bool) -> Path:
    """Return the folder that a garden's set goes to."""
    if target is None:
        return file.with_name(f"{file.stem}-issue")
    return target / file.stem if several else target


@contextmanager
def few_collections() -> Iterator[None]:
    """Let the collector of lost cycles run seldom: a set is a million small values that all stay to the end."""
    before = gc.get_threshold()
    gc.set_threshold(100_000, 50, 100)
    try:
        yield
    finally:
        gc.set_threshold(*before)


def issue_one(file: Path, folder: Path, options: Mapping[str, Any]) -> tuple[bool, str]:
    """Write one garden's set; return whether it stands, and the lines to say."""
    from pegbook.drawings.dxf import losses
    from pegbook.drawings.issue import IssueOptions, issue_files
    from pegbook.drawings.writing import may_replace, write_folder

    try:
        may_replace(folder)
        with few_collections():
            work = worked(file)
            files = issue_files(work, IssueOptions(version=options["version"], units=options["units"],
                                                   style=options["style"] or ""))
        write_folder(folder, files)
    except PegbookError as error:
        return False, f"{error}\n{file}: nothing written"
    lines = [str(problem) for problem in work.advice]
    lines += [f"{folder}/drawings.dxf: {options['version']}: {words}" for words in losses(options["version"])]
    driven = sum(1 for peg in work.pegs.pegs if peg.method.value != "fixed")
    lines.append(f"{file}: {len(files)} files in {folder}/, {driven} pegs, proved from the printed readings")
    return True, "\n".join(lines)


def issue_all(files: Sequence[Path], target: Path | None, jobs: int, options: Mapping[str, Any],
              say: Callable[[str], None]) -> bool:
    """Issue several gardens, `jobs` at once, saying each as it is done; return whether all of them stand."""
    several = len(files) > 1
    places = [folder_for(file, target, several) for file in files]
    total, good = len(files), True
    if jobs == 1 or total == 1:
        results = (issue_one(file, folder, options) for file, folder in zip(files, places, strict=True))
        for number, (stands, lines) in enumerate(results, 1):
            say(f"[{number}/{total}] {lines}" if several else lines)
            good = good and stands
        return good
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(max_workers=min(jobs, total)) as pool:
        waiting = [pool.submit(issue_one, file, folder, options) for file, folder in zip(files, places, strict=True)]
        for number, job in enumerate(waiting, 1):
            stands, lines = job.result()
            say(f"[{number}/{total}] {lines}")
            good = good and stands
    return good
