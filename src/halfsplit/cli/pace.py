"""`halfsplit pace`."""

from __future__ import annotations

import click

from halfsplit.cli import options, output
from halfsplit.machine.handwork import MOST_HOURLY


@click.command("pace", cls=options.Completable)
@options.file_argument
@click.argument("findings", nargs=-1, required=True, shell_complete=options.findings_files, metavar="FINDINGS...")
@click.option(
    "--job", "jobs", multiple=True, nargs=2, metavar="FILE FINDINGS",
    help="The findings of a job on another machine; as often as wanted.",
)  # fmt: skip
@click.option(
    "--hourly", type=options.Finite(0, MOST_HOURLY, min_open=True), default=None, metavar="AMOUNT",
    help="What an hour of yours costs, in the currency of the machine files; 90 unless said.",
)
@click.option(
    "--van", multiple=True, metavar="PART",
    help="A part that you carry on the van, by its name or its type; as often as wanted.",
)
@click.option("-o", "--out", default=None, metavar="PACEFILE", help="Write the pace file there.")
@options.json_option
def command(
    file: str, findings: tuple[str, ...], jobs: tuple[tuple[str, str], ...], hourly: float | None, van: tuple[str, ...],
    out: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Learn how fast a shop works from steps whose time was noted.

    Minutes in machine files are somebody's; yours may differ. Note in a findings file how long a step took, from
    laying hands on it to its result, with opening, lifting and setting: took: 3 min; or type it in the guide, after the
    step's answer, and keep the findings of its --json. For each kind of work (opening and closing bays, reading,
    looking, perceiving, changing power or setting, lifting wires, repairing) a factor on the file's minutes comes out,
    with the interval in which it lies nine times in ten. With few records a factor stays near 1; with none it is 1.
    Waiting (warming up, cooling down) is not scaled.

    The pace file is printed, or written with -o. Give it to diagnose, visit, guide, closing and rehearse with --pace:
    a shop that opens bays slowly is advised to read more from outside, and one whose hour is dear to find out less
    before a cheap part is tried. Where it says what is on the van, a repair whose part is not there costs a second
    trip.

    \b
    Example, monday.yaml:
      - symptom: {what: air is warm, value: no}
      - look: {at: thermal fuse, sees: fine, took: 9 min}
      - reading: {meter: ohms, red: thermal fuse.1, black: thermal fuse.2, value: 0.1, took: 50 s}
    \b
      halfsplit pace vented-dryer monday.yaml tuesday.yaml --job water-heater friday.yaml -o shop.yaml
      halfsplit diagnose vented-dryer findings.yaml --pace shop.yaml
    """
    from halfsplit.cli import findings as written
    from halfsplit.service import machines, pacing

    named = [*((file, one) for one in findings), *jobs]
    known = {name: machines.load(name) for name in dict.fromkeys(name for name, _ in named)}
    read = [(known[name], written.read(known[name], place)) for name, place in named]
    made = pacing.learn(read, hourly, van or None)
    output.text_or_file(made, "file", out, as_json)
    if not made["records"]:
        click.echo("No finding says how long its step took: every factor is 1. Add took, as in took: 3 min.", err=True)
