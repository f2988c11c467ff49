"""`halfsplit export`."""

from __future__ import annotations

import click

from halfsplit.cli import options, output


@click.command("export", cls=options.Completable)
@options.file_argument
@options.condition_options
@click.option("--to", "form", required=True, type=click.Choice(["spice"]), help="The form of the deck.")
@click.option("-o", "--output", "place", type=click.Path(), help="Write to this file instead of stdout.")
@options.json_option
def command(
    file: str, set_: tuple[str, ...], isolated: bool, lift: tuple[str, ...], fault: tuple[str, ...], form: str,
    place: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Write the settled network of a condition as a deck for a circuit simulator.

    The deck runs in batch as it is and prints the phasor of every terminal. Its first lines say which label stands
    for which terminal. A fault of unknown size takes its likeliest one.

    \b
    Example:
      halfsplit export vented-dryer --set "high heat" --to spice -o dryer.cir
      halfsplit export vented-dryer --set "high heat" --fault "cut-off: open" --to spice
    """
    from halfsplit.service import asking, exporting, machines

    machine = machines.load(file)
    found = exporting.export(machine, asking.condition(machine, set_, isolated, lift), fault)
    output.text_or_file(found, "deck", place, as_json)
