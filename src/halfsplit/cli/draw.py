"""`halfsplit draw`."""

from __future__ import annotations

from typing import Any

import click

from halfsplit.cli import options, output
from halfsplit.errors import WrongUse

TERMINAL: dict[str, Any] = {"metavar": "TERMINAL", "shell_complete": options.of_the_machine("terminals")}


@click.command("draw", cls=options.Completable)
@options.file_argument
@options.condition_options
@click.option("--red", default="", **TERMINAL, help="Where the red lead goes.")
@click.option("--black", default="", **TERMINAL, help="Where the black lead goes.")
@click.option("--circuit", "part", default="", metavar="PART", help="Only the circuit of this part, for a phone.")
@click.option("--across", "way", flag_value="across", help="The whole machine from left to right (what is drawn else).")
@click.option("--down", "way", flag_value="down", help="The whole machine flowing down, for a phone.")
@click.option("-o", "--output", "place", type=click.Path(), help="Write to this file instead of stdout.")
@options.json_option
def command(
    file: str, set_: tuple[str, ...], isolated: bool, lift: tuple[str, ...], fault: tuple[str, ...], red: str,
    black: str, part: str, way: str | None, place: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Draw the wiring as the machine stands, as SVG.

    Contacts are drawn as they settle, also under a fault; what can be at mains potential is hatched, what is not
    proven dead has a dashed edge, and thick is where current flows. What is not set stands at rest.

    \b
    Example:
      halfsplit draw vented-dryer --set "high heat" -o dryer.svg
      halfsplit draw vented-dryer --set "high heat" --circuit heater --fault "cut-off: open" \\
          --red heater.common --black "motor.heat 1" -o heater.svg
    """
    from halfsplit.service import asking, drawing, machines

    if part and way:
        raise WrongUse(f"A circuit always flows down: --{way} is for the whole machine.", f"Leave out --{way}.")
    machine = machines.load(file)
    at = asking.condition(machine, set_, isolated, lift)
    found = drawing.draw(machine, at, fault, {"red": red, "black": black}, part, way or "across")
    output.text_or_file(found, "svg", place, as_json)
