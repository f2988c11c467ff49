"""`halfsplit closing`."""

from __future__ import annotations

import click

from halfsplit.cli import options, output
from halfsplit.quantity.display import duration


@click.command("closing", cls=options.Completable)
@options.file_argument
@click.argument("findings", required=False, shell_complete=options.findings_files, metavar="[FINDINGS]")
@click.option(
    "--open", "opened", multiple=True, metavar="BAY", shell_complete=options.of_the_machine("bays"),
    help="A bay that is open, in the order of opening; what lies in front of it is open too.",
)  # fmt: skip
@click.option(
    "--lift", "lifted", multiple=True, **options.TERMINAL,
    help="A terminal whose wires are off.",
)  # fmt: skip
@click.option(
    "--set", "set_", multiple=True, metavar="CONTROL=VALUE", shell_complete=options.of_the_machine("settings"),
    help="Where a control was put for a test, or a named setting.",
)  # fmt: skip
@options.cannot_option
@options.pace_option
@options.json_option
def command(
    file: str,
    findings: str | None,
    opened: tuple[str, ...],
    lifted: tuple[str, ...],
    set_: tuple[str, ...],
    cannot: tuple[str, ...],
    pace: str,
    as_json: bool,
) -> None:
    """Put a machine together: everything in order, each fastener counted, power last, and the proof run.

    Wires go back on their terminals with their colours, controls back to rest, then bay after bay is closed, the last
    opened first: ground screws, connectors, covers. FINDINGS is a file as `diagnose` takes it ("-": standard input);
    what its readings, looks and repairs had open is closed too. A repair that comes last in it has been tried, so that
    the machine is isolated anew, and its wires are gone over once more; ohms to the frame come before the power, and
    the proof run goes through every setting. With --cannot the list goes without what cannot be done here: where the
    meter cannot measure the frame, the power stays off.

    \b
    Example:
      halfsplit closing vented-dryer --open "drum housing" --lift heater.common
      halfsplit closing vented-dryer findings.yaml --cannot ohms
    """
    from halfsplit.cli import findings as written
    from halfsplit.service import closing, machines, naming, tasks

    machine = machines.load(file, pace)
    found = written.read(machine, findings) if findings else []
    made = closing.closing(machine, opened, lifted, set_, found, cannot)
    if as_json:
        output.document(made)
        return
    if made["repaired"]:
        click.echo(f"Repaired: {naming.told(machine, ', '.join(made['repaired']))}.")
    numbers = tasks.numbered(task["kind"] for task in made["tasks"])
    for number, task in zip(numbers, made["tasks"], strict=True):
        click.echo(f"{number:>3}  {task['text']}")
        for caution in task["cautions"]:
            click.echo(f"     {caution}")
    click.echo("Proof run:")
    for check in made["proof"]:
        click.echo(f"  -  {check}")
    click.echo(f"{duration(made['minutes'])} of closing, {_people(made['people'])}.")


def _people(count: int) -> str:
    return "one person" if count == 1 else f"{count} people"
