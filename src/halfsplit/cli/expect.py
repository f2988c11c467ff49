"""`halfsplit expect`."""

from __future__ import annotations

from typing import Any

import click

from halfsplit.cli import options, output


@click.command("expect", cls=options.Completable)
@options.file_argument
@click.option("--red", required=True, **options.TERMINAL, help="Where the red lead goes; amps: what the clamp holds.")
@click.option("--black", default="", **options.TERMINAL, help="Where the black lead goes.")
@click.option("--meter", required=True, metavar="FUNCTION", help="ohms, continuity, volts, amps, ...")
@options.condition_options
@options.json_option
def command(
    file: str, red: str, black: str, meter: str, set_: tuple[str, ...], isolated: bool, lift: tuple[str, ...],
    fault: tuple[str, ...], as_json: bool,
) -> None:  # fmt: skip
    """Say what a meter would show between two terminals.

    Then lists every single fault that would make it show something else. What is not set stands at rest; ohms,
    continuity and capacitance are always read on an isolated machine.

    \b
    Example:
      halfsplit expect vented-dryer --meter volts --red "terminal block.L1" --black "terminal block.L2" \\
          --set "high heat"
      halfsplit expect vented-dryer --meter ohms --red heater.common --black heater.front --lift heater.common
    """
    from halfsplit.service import asking, expecting, machines

    machine = machines.load(file)
    wrong = asking.Wrong()
    with wrong.gathered():
        probe = asking.probe(machine, meter, red, black)
    with wrong.gathered():
        at = asking.condition(machine, set_, asking.isolated(meter, isolated), lift, filter(None, (red, black)))
    with wrong.gathered():
        asking.faults(machine, fault)
    wrong.tell()
    found = expecting.expect(machine, probe, at, fault)
    if as_json:
        output.document(found)
    else:
        _for_people(found, meter)


def _for_people(found: dict[str, Any], meter: str) -> None:
    from halfsplit.service import expecting

    reading, faults = found["reading"], found["faults"]
    span = expecting.in_words(meter, reading)
    click.echo(f"{reading['shown']}   ({span})" if span else reading["shown"])
    if faults:
        click.echo(f"\n{len(faults)} single faults would show something else:")
        rows = [(one["fault"], one["shown"], expecting.in_words(meter, one)) for one in faults]
        output.table(("fault", "shows", "range"), rows)
