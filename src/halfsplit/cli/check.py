"""`halfsplit check`."""

from __future__ import annotations

import click

from halfsplit.cli import options, output
from halfsplit.errors import BadInput, WrongUse


@click.command("check")
@click.argument("files", nargs=-1, required=True, shell_complete=options.machine_files, metavar="FILE...")
@click.option("--faults", is_flag=True, help="List the faults that the machine can have instead (one FILE).")
@options.json_option
def command(files: tuple[str, ...], faults: bool, as_json: bool) -> int:
    """Look for mistakes in machine files.

    Each problem is told with file, line and column, what is wrong and what to do. Exit 0: none found; 1: problems
    in a file that can be read; 3: a file that cannot be read as a machine.

    \b
    Example:
      halfsplit check my-dryer.yaml
      halfsplit check vented-dryer --faults
    """
    return _faults(files, as_json) if faults else _check(files, as_json)


def _check(files: tuple[str, ...], as_json: bool) -> int:
    from halfsplit.service import checking

    found = checking.check(files)
    if as_json:
        output.document(found.as_data())
    for problem in found.problems:
        click.echo(str(problem), err=True)
    if not found.problems and not as_json:
        click.echo(f"No problems in {', '.join(files)}.")
    return BadInput.exit_code if not found.readable else int(bool(found.problems))


def _faults(files: tuple[str, ...], as_json: bool) -> int:
    from halfsplit.service import checking

    if len(files) > 1:
        raise WrongUse("--faults lists the faults of one machine.", "Give one FILE.")
    found = checking.faults(files[0])
    if as_json:
        output.document(found)
    else:
        rows = [(one["fault"], f"{one['rate']:.3g}", one["repair"]) for one in found["faults"]]
        output.table(("fault", "rate", "repair"), rows, right=[1])
    return 0
