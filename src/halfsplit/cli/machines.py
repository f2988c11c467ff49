"""`halfsplit machines`."""

from __future__ import annotations

import click

from halfsplit.cli import options, output


@click.command("machines")
@options.json_option
def command(as_json: bool) -> None:
    """List the machines of the library.

    Each name can stand for FILE in the other commands.

    \b
    Example:
      halfsplit machines
      halfsplit check --faults vented-dryer
    """
    from halfsplit.service import machines

    found = machines.machines()
    if as_json:
        output.document(found)
    else:
        rows = [(one["name"], one["kind"], one["title"]) for one in found["machines"]]
        output.table(("name", "kind", "title"), rows)
