"""`halfsplit draw`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import click

from halfsplit.cli import options, output
from halfsplit.errors import WrongUse

PICTURES = ("circuit", "chart", "face", "bays")
"""Options that each ask for a picture of their own, other than the whole machine."""

TAKES = {
    "circuit": {"set", "isolated", "lift", "fault", "red", "black"},
    "chart": {"set"},
    "face": {"red", "black"},
    "bays": set(),
}
"""What each of them can show besides."""


@click.command("draw", cls=options.Completable)
@options.file_argument
@options.condition_options
@click.option("--red", default="", **options.TERMINAL, help="Where the red lead goes.")
@click.option("--black", default="", **options.TERMINAL, help="Where the black lead goes.")
@click.option("--circuit", default="", metavar="PART", help="Only the circuit of this part, for a phone.")
@click.option("--across", "way", flag_value="across", help="The whole machine from left to right (what is drawn else).")
@click.option("--down", "way", flag_value="down", help="The whole machine flowing down, for a phone.")
@click.option("--chart", default="", metavar="PART", help="Instead: the contact chart of a timer, selector or switch.")
@click.option("--face", default="", metavar="PART", help="Instead: the terminals of a part and the wires on them.")
@click.option("--bays", is_flag=True, help="Instead: the bays, and what lies behind what.")
@click.option("-o", "--output", "place", type=click.Path(), help="Write to this file instead of stdout.")
@options.json_option
def command(file: str, place: str | None, as_json: bool, **asked: Any) -> None:
    """Draw the wiring as the machine stands, as SVG.

    Contacts are drawn as they settle, also under a fault; what can be at mains potential is hatched, what is not
    proven dead has a dashed edge, and thick is where current flows. What is not set stands at rest.

    \b
    Example:
      halfsplit draw vented-dryer --set "high heat" -o dryer.svg
      halfsplit draw vented-dryer --set "high heat" --circuit heater --fault "cut-off: open" \\
          --red heater.common --black "motor.heat 1" -o heater.svg
      halfsplit draw vented-dryer --chart timer -o chart.svg
    """
    from halfsplit.service import machines

    asked["set"] = asked.pop("set_")
    picture = _picture(asked)
    machine = machines.load(file)
    found = _beside(machine, picture, asked) if picture in ("chart", "face", "bays") else _wiring(machine, asked)
    output.text_or_file(found, "svg", place, as_json)


def _picture(asked: Mapping[str, Any]) -> str:
    """Which picture is asked for, '' for the whole machine; WrongUse where two are, or what it cannot show."""
    named = [name for name in PICTURES if asked[name]]
    if len(named) > 1:
        raise WrongUse(f"--{' and --'.join(named)} are pictures of their own.", "Ask for one of them.")
    if not named:
        return ""
    (picture,) = named
    if asked["way"]:
        whole = "A circuit always flows down" if picture == "circuit" else f"--{picture} is a picture of its own"
        raise WrongUse(f"{whole}: --{asked['way']} is for the whole machine.", f"Leave out --{asked['way']}.")
    extra = [f"--{name}" for name in sorted(TAKES["circuit"]) if asked[name] and name not in TAKES[picture]]
    if extra:
        raise WrongUse(f"--{picture} does not show {', '.join(extra)}.", f"Leave out {', '.join(extra)}.")
    return picture


def _wiring(machine: Any, asked: Mapping[str, Any]) -> dict[str, Any]:
    """The whole machine, or the circuit of one part."""
    from halfsplit.service import asking, drawing

    at = asking.condition(machine, asked["set"], asked["isolated"], asked["lift"])
    leads = {"red": asked["red"], "black": asked["black"]}
    return drawing.draw(machine, at, asked["fault"], leads, asked["circuit"], asked["way"] or "across")


def _beside(machine: Any, picture: str, asked: Mapping[str, Any]) -> dict[str, Any]:
    """A picture beside the wiring."""
    from halfsplit.service import asking, beside

    if picture == "bays":
        return beside.bays(machine)
    if picture == "face":
        return beside.face(machine, asked["face"], {"red": asked["red"], "black": asked["black"]})
    return beside.chart(machine, asked["chart"], asking.condition(machine, asked["set"], False, ()))
