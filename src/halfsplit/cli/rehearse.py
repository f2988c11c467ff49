"""`halfsplit rehearse`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click
from click.shell_completion import CompletionItem

from halfsplit.cli import options, output
from halfsplit.quantity.display import duration

SHOWN = 20
"""So many jobs are in the table."""


def _orders(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Orders of the library, and files."""
    from halfsplit.service import rehearsing

    names = [CompletionItem(name) for name in rehearsing.orders() if name.startswith(incomplete)]
    return [*names, CompletionItem(incomplete, type="file")]


@click.command("rehearse", cls=options.Completable)
@options.file_argument
@click.option(
    "--fault", default="", metavar="FAULT", shell_complete=options.of_the_machine("faults"), help="Hide this."
)
@click.option("--trials", type=click.IntRange(1), default=1, show_default=True, help="So many jobs.")
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True, help="The same seed, the same jobs.")
@click.option("--truth", default="", metavar="OTHERFILE", help="Take the readings from this machine instead.")
@click.option(
    "--order", default="", metavar="ORDERFILE", shell_complete=_orders,
    help="Follow a fixed list of steps (findings without what was found) instead of the plan.",
)  # fmt: skip
@click.option(
    "--off-model", is_flag=True,
    help="Let the truth depart from the model: values twice as far off, faults that come and go or that the file "
    "lacks, slips of the hand.",
)  # fmt: skip
@click.option(
    "--faults", type=click.Choice(["one", "two", "consequence"]), default="one", show_default=True,
    help="Hide one fault, an independent pair, or a fault with what it made happen.",
)  # fmt: skip
@click.option("--further", is_flag=True, help="Follow the plan that looks many steps ahead, else one step.")
@click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="So many processes.")
@options.pace_option
@options.json_option
def command(as_json: bool, **asked: Any) -> None:
    """Try the plan on machines with a hidden fault.

    A fault is drawn by rate and hidden; tolerances, line volts and the meter's errors are drawn as well. The plan is
    followed step by step to a repair, and it is told how often the first one was right and what it cost. The same
    seed gives the same jobs, on any number of workers.

    With two faults the machine is tried after each repair, before it is closed, and the search goes on while it does
    not work; it is told how often both were found.

    \b
    Example:
      halfsplit rehearse water-heater --trials 20 --seed 1
      halfsplit rehearse water-heater --trials 20 --further
      halfsplit rehearse vented-dryer --fault "cut-off: open"
      halfsplit rehearse vented-dryer --trials 20 --order vented-dryer.front-to-back
      halfsplit rehearse water-heater --trials 20 --faults two
    """
    from halfsplit.service import rehearsing

    with output.progress("rehearsing", asked["trials"], time_left=True) as done:
        found = rehearsing.rehearse(rehearsing.Asked(**asked), done)
    if as_json:
        output.document(found)
    else:
        _for_people(found)


def _for_people(found: dict[str, Any]) -> None:
    rows = [
        (one["fault"], str(one["steps"]), duration(one['minutes']), _claim(one), "yes" if one["right_first"] else "no")
        for one in found["trials"][-SHOWN:]
    ]
    if len(found["trials"]) > SHOWN:
        click.echo(f"The last {SHOWN} of {len(found['trials'])} jobs; --json has all.\n")
    output.table(("hidden fault", "steps", "time", "claimed", "right first"), rows, right=[1, 2, 3])
    click.echo()
    for line in _in_sentences(found["summary"], sum(one["right_first"] for one in found["trials"])):
        click.echo(line)


def _claim(one: dict[str, Any]) -> str:
    return output.percent(one["claimed"])


def _in_sentences(summary: dict[str, Any], right: int) -> Iterator[str]:
    low, high = (output.counted(summary[f"right_first_{end}"]) for end in ("low", "high"))
    yield f"The first repair was right in {right} of {summary['trials']} jobs (95 % interval {low} to {high})."
    yield f"A job took {duration(summary['minutes_mean'])} and {summary['steps_mean']:.1f} steps on average."
    if "all_found" in summary:
        low, high = (output.counted(summary[f"all_found_{end}"]) for end in ("low", "high"))
        found = output.counted(summary["all_found"])
        yield f"Both faults were repaired before the machine was closed in {found} of them ({low} to {high})."
    needless = output.counted(summary["needless_share"])
    yield f"Needless parts: {summary['needless_parts']:.2f} a job; {needless} of the jobs bought one or more."
    claims, wrong = output.counted(summary["claims"]), output.counted(summary["wrong_though_claimed"])
    yield f"{claims} of the jobs ended in a claim of 90 % or more; {wrong} were wrong though claimed."
