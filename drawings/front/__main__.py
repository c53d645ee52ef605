"""The command. Each command imports what it needs when it runs, so that `--help` costs nothing."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

import click

from pegbook import __version__

FAULT_OF_MODEL = 1
FAULT_OF_CALL = 2

FILE = click.Path(path_type=Path, dir_okay=True)


def fail(message: str, code: int = FAULT_OF_MODEL) -> NoReturn:
    """Say what is wrong on stderr and leave with `code`."""
    click.echo(message, err=True)
    sys.exit(code)


def guarded(run: Callable[[], Any]) -> Any:
    """Run one command's work; problems that a person can mend become messages, never a traceback."""
    from pegbook.geometry.errors import PegbookError

    try:
        return run()
    except PegbookError as error:
        fail(str(error))


class Commands(click.Group):
    """Commands in the order in which one meets them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of their definition."""
        return list(self.commands)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="pegbook")
def pegbook() -> None:
    """Turn one written garden model into pegs, drawings, quantities and planting that agree with each other.

    \b
    Start:    pegbook new my-garden.yaml --from round-lawn
    Check:    pegbook check my-garden.yaml
    Issue:    pegbook issue my-garden.yaml

    Exit codes: 0 done, 1 the model or the readings are at fault, 2 the call is at fault.
    """  # noqa: D301


@pegbook.command()
@click.argument("file", type=FILE, required=False)
@click.option("--from", "starter", metavar="NAME", help="The starter garden to copy.")
@click.option("--list", "listing", is_flag=True, help="List the starter gardens.")
def new(file: Path | None, starter: str | None, listing: bool) -> None:
    """Write a starter garden that issues as it stands.

    Example: pegbook new my-garden.yaml --from round-lawn
    """
    from pegbook.starters import starters

    names = starters()
    if listing:
        width = max(map(len, names), default=0)
        for name, (words, _) in names.items():
            click.echo(f"{name:{width}}  {words}")
        return
    if file is None or starter is None:
        raise click.UsageError("give a FILE and --from NAME, or --list")
    if starter not in names:
        raise click.UsageError(f"there is no starter '{starter}'; choose one of: {', '.join(names)}")
    from pegbook.drawings.writing import write_file

    guarded(lambda: write_file(file, names[starter][1]))
    click.echo(f"{file} written. Next: pegbook issue {file}", err=True)


@pegbook.command()
@click.argument("files", type=FILE, nargs=-1, required=True, metavar="FILE...")
def check(files: Sequence[Path]) -> None:
    """Read models and set them out; list every problem with file, line, what is wrong and how to mend it.

    Example: pegbook check quarry-end.yaml
    """
    from pegbook.geometry.errors import PegbookError
    from pegbook.work import checked

    bad = False
    for file in files:
        try:
            advice = checked(file)
        except PegbookError as error:
            click.echo(str(error), err=True)
            bad = True
            continue
        for problem in advice:
            click.echo(str(problem), err=True)
        click.echo(f"{file}: good{f', with {len(advice)} pieces of advice' if advice else ''}", err=True)
    if bad:
        sys.exit(FAULT_OF_MODEL)


@pegbook.command()
@click.argument("files", type=FILE, nargs=-1, required=True, metavar="FILE...")
@click.option("--to", "target", type=FILE, help="Folder to write; with several files, one folder a garden inside it.")
@click.option("--jobs", type=click.IntRange(1, 64), default=1, show_default=True, help="Gardens worked on at once.")
@click.option("--dxf", "version", type=click.Choice(["R12", "R2000", "R2010", "R2018"]), default="R2010",
              show_default=True, help="DXF version. R12 has one layout, no true colours and no weights.")
@click.option("--dxf-units", "units", type=click.Choice(["m", "mm"]), default="m", show_default=True)
@click.option("--style", type=click.Choice(["line", "presentation", "both"]),
              help="Line drawings, the tinted copy for the client, or both (default: what the model says).")
def issue(files: Sequence[Path], target: Path | None, jobs: int, version: str, units: str, style: str | None) -> None:
    """Write the whole issue set of each garden, whole or not at all.

    Example: pegbook issue quarry-end.yaml --to handover
    """
    from pegbook.work import issue_all

    if len({file.stem for file in files}) != len(files):
        raise click.UsageError("two of the files have the same name; issue them one by one with --to")
    good = issue_all(files, target, jobs, {"version": version, "units": units, "style": style},
                     lambda line: click.echo(line, err=True))
    if not good:
        sys.exit(FAULT_OF_MODEL)


def table_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add --csv and --json to a command that prints a table."""
    command = click.option("--json", "as_json", is_flag=True, help="Print JSON.")(command)
    return click.option("--csv", "as_csv", is_flag=True, help="Print CSV, as the issue set holds it.")(command)


def one_form(as_csv: bool, as_json: bool) -> str:
    """Return 'csv', 'json' or 'table'."""
    if as_csv and as_json:
        raise click.UsageError("choose one of --csv and --json")
    return "csv" if as_csv else "json" if as_json else "table"


@pegbook.command()
@click.argument("file", type=FILE)
@click.option("--why", is_flag=True,
              help="For each peg print the first three ways weighed, and where bends may be halved.")
@table_options
def pegs(file: Path, why: bool, as_csv: bool, as_json: bool) -> None:
    """Print the pegs with their readings.

    Example: pegbook pegs quarry-end.yaml --why
    """
    from pegbook.show import show_pegs

    form = one_form(as_csv, as_json)
    guarded(lambda: show_pegs(file, form, why))


@pegbook.command()
@click.argument("file", type=FILE)
@click.option("--layouts", is_flag=True, help="Offer other places to start laying, with units, cuts and slivers.")
@click.option("--rates", type=FILE, help="Price the orders by a file with the columns item, unit, rate.")
@table_options
def quantities(file: Path, layouts: bool, rates: Path | None, as_csv: bool, as_json: bool) -> None:
    """Print the quantities, each with how it was worked out; priced where there are rates.

    Example: pegbook quantities quarry-end.yaml --rates prices.csv --csv > order.csv
    """
    from pegbook.show import show_layouts, show_quantities

    form = one_form(as_csv, as_json)
    guarded(lambda: show_layouts(file) if layouts else show_quantities(file, form, rates))


@pegbook.command()
@click.argument("file", type=FILE)
@table_options
@click.option("--of", "part", type=click.Choice(["schedule", "clarity", "months"]), default="schedule",
              help="Which table --csv prints; --json holds all three.")
def plants(file: Path, as_csv: bool, as_json: bool, part: str) -> None:
    """Print the planting schedule, the clarity report and the months.

    Example: pegbook plants quarry-end.yaml
    """
    from pegbook.show import show_plants

    form = one_form(as_csv, as_json)
    guarded(lambda: show_plants(file, form, part))


@pegbook.command()
@click.argument("folder", type=FILE)
@click.option("--trials", type=click.IntRange(0, 1_000_000), default=0,
              help="Peg the garden so many times under tape error and compare the spread with the predicted errors.")
def prove(folder: Path, trials: int) -> None:
    """Peg the garden again from the written pegs.csv, recovery.csv and checks.csv alone; compare with the model.

    Example: pegbook prove quarry-end-issue --trials 2000
    """
    from pegbook.proving import show_proof

    if not guarded(lambda: show_proof(folder, trials)):
        sys.exit(FAULT_OF_MODEL)


@pegbook.command()
@click.argument("file", type=FILE)
@click.argument("readings", type=FILE)
def measured(file: Path, readings: Path) -> None:
    """Take in taped check measures (CSV: from, to, reading, when) and say which peg is wrong, and how sure.

    Example: pegbook measured quarry-end.yaml readings.csv
    """
    from pegbook.proving import show_measured

    if not guarded(lambda: show_measured(file, readings)):
        sys.exit(FAULT_OF_MODEL)


@pegbook.command()
@click.argument("file", type=FILE)
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port on this machine (0 takes a free one).")
def preview(file: Path, port: int) -> None:
    """Serve a page on this machine that redraws the sheets whenever the file is saved. Stop it with Ctrl-C.

    Example: pegbook preview quarry-end.yaml
    """
    from pegbook.preview import serve

    guarded(lambda: serve(file, port, lambda line: click.echo(line, err=True)))


@pegbook.command()
def schema() -> None:
    """Print the JSON Schema of the model, for editors that complete and check YAML.

    Example: pegbook schema > garden.schema.json
    """
    import json

    from pegbook.geometry.model.schema import schema as build

    click.echo(json.dumps(build(), indent=2, ensure_ascii=False))


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command; `arguments` are those of the process when left out."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")      # matrices are small: threads cost more than they give
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    pegbook(args=list(arguments) if arguments is not None else None, prog_name="pegbook")


if __name__ == "__main__":
    main()
