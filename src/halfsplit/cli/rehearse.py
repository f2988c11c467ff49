"""`halfsplit rehearse`."""

from __future__ import annotations

import sys
from typing import Any

import click

from halfsplit.cli import options, output


@click.command("rehearse", cls=options.Completable)
@options.file_argument
@click.option(
    "--fault", default="", metavar="FAULT", shell_complete=options.of_the_machine("faults"), help="Hide this."
)
@click.option("--trials", type=click.IntRange(1), default=1, show_default=True, help="So many jobs.")
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True, help="The same seed, the same jobs.")
@click.option("--truth", default="", metavar="OTHERFILE", help="Take the readings from this machine instead.")
@options.json_option
def command(file: str, fault: str, trials: int, seed: int, truth: str, as_json: bool) -> None:
    """Try the plan on machines with a hidden fault.

    A fault is drawn by rate and hidden; tolerances, line volts and the meter's errors are drawn as well. The plan is
    followed step by step to a repair, and it is told how often the first one was right and what it cost.

    \b
    Example:
      halfsplit rehearse water-heater --trials 20 --seed 1
      halfsplit rehearse vented-dryer --fault "cut-off: open"
    """
    from halfsplit.service import rehearsing

    with click.progressbar(length=trials, label="rehearsing", file=sys.stderr, hidden=not sys.stderr.isatty()) as bar:
        found = rehearsing.rehearse(file, fault, trials, seed, truth, lambda _: bar.update(1))
    if as_json:
        output.document(found)
    else:
        _for_people(found)


def _for_people(found: dict[str, Any]) -> None:
    rows = [
        (one["fault"], str(one["steps"]), f"{one['minutes']:.0f}", "yes" if one["right_first"] else "no")
        for one in found["trials"][-20:]
    ]
    output.table(("hidden fault", "steps", "minutes", "right first"), rows, right=[1, 2])
    right = sum(one["right_first"] for one in found["trials"])
    click.echo(f"\nThe first repair was right in {right} of {len(found['trials'])} jobs.")
