"""`halfsplit guide`."""

from __future__ import annotations

import sys

import click

from halfsplit.cli import options, output


@click.command("guide")
@click.argument("file", required=False, shell_complete=options.machine_files, metavar="[FILE]")
@click.option("--own", is_flag=True, help="Type your own findings; otherwise a fault is drawn and hidden.")
@click.option("--seed", type=click.IntRange(0), default=None, help="Draw the same fault again.")
@options.pace_option
@options.json_option
def command(file: str | None, own: bool, seed: int | None, pace: str, as_json: bool) -> None:
    """Be led through a diagnosis, one step at a time.

    Without FILE you choose a machine of the library. A fault is drawn and hidden, and the machine answers what the
    meter shows; or, with --own, you stand before a real machine and type what you find. Each step says whether the
    machine is powered, what to open, where red and black go, the setting, and what each outcome would mean.

    Answers are typed as the meter shows them: 9.2k, OL, 118 V, yes, no, fine, burnt. At any time: why, causes, skip,
    undo, stop. With --json the talk goes to stderr and what was found to stdout.

    \b
    Example:
      halfsplit guide
      halfsplit guide vented-dryer --seed 7
      halfsplit guide water-heater --own
    """
    from halfsplit.cli import conversation

    found = conversation.hold(conversation.Talk(sys.stderr if as_json else sys.stdout), file, own, seed, pace)
    if as_json:
        output.document(found)
