"""`halfsplit guide`."""

from __future__ import annotations

import sys

import click

from halfsplit.cli import options, output
from halfsplit.errors import WrongUse


@click.command("guide")
@click.argument("file", required=False, shell_complete=options.machine_files, metavar="[FILE]")
@click.option("--own", is_flag=True, help="Type your own findings; otherwise a fault is drawn and hidden.")
@click.option(
    "--found", default="", metavar="FINDINGS", shell_complete=options.findings_files,
    help="Go on with --own from what a findings file says was found.",
)
@click.option("--seed", type=click.IntRange(0), default=None, help="Draw the same fault again.")
@click.option("--further/--no-further", default=True, help="Think many steps ahead while you read, or do not.")
@options.worth_option
@options.pace_option
@options.json_option
def command(
    file: str | None, own: bool, found: str, seed: int | None, further: bool, worth: float | None, pace: str,
    as_json: bool,
) -> None:  # fmt: skip
    """Be led through a diagnosis, one step at a time.

    Without FILE you choose a machine of the library. A fault is drawn and hidden, and the machine answers what the
    meter shows; or, with --own, you stand before a real machine and type what you find. Each step says whether the
    machine is powered, what to open, where red and black go, the setting, and what each outcome would mean.

    The step is shown at once; while you read, many steps are thought ahead. If that finds a better step you are told
    when you press Enter on an empty line (with a hidden fault: when you type further), and type take if you want it:
    the step shown never changes by itself.

    Answers are typed as the meter shows them: 9.2k, OL, 118 V, yes, no, fine, burnt. At any time: why, causes, further,
    skip, cannot, undo, stop; and took 3 min (or 40 s), how long the step that was answered last took: pace learns your
    minutes from it. Where what is due costs more than it is --worth, or the complaint does not show, the guide
    stops; type anyway to go on all the same. With --json the talk goes to stderr and what was found to stdout;
    cautions, those of the proof run too, are acknowledged with Enter or ok before what they belong to is shown, but
    where a program types with --json.

    \b
    Example:
      halfsplit guide
      halfsplit guide vented-dryer --seed 7
      halfsplit guide water-heater --own
      halfsplit guide vented-dryer --found tuesday.yaml
    """
    from halfsplit.cli import conversation, talking
    from halfsplit.service.further import Further

    if found and (file is None or found == "-" or seed is not None):
        raise WrongUse("--found goes on with a job of your own.", "Name the machine and a file, and no --seed.")
    talk = talking.Talk(sys.stderr if as_json else sys.stdout)
    asked = conversation.Asked(file, own, seed, pace, worth, found)
    held = conversation.hold(talk, asked, Further() if further else None, not as_json or sys.stdin.isatty())
    if as_json:
        output.document(held)
