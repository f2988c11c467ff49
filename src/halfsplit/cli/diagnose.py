"""`halfsplit diagnose`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click

from halfsplit.cli import options, output
from halfsplit.quantity.display import duration

SHOWN = 8
MUCH = 0.2
"""Probability of something the file does not say from which the worst finding is named."""


@click.command("diagnose")
@options.file_argument
@click.argument("findings", shell_complete=options.findings_files, metavar="FINDINGS")
@click.option(
    "--why", default="", metavar="CAUSE",
    help="What speaks for and against a cause (its faults or its place), and why the next step, or the repair.",
)
@click.option("--worked-on-before", is_flag=True, help="Somebody has had the machine open before.")
@click.option("--further", is_flag=True, help="Look many steps ahead for the next step: about a second more.")
@click.option("--alongside", is_flag=True, help="Say what would be read next without moving anything.")
@options.cannot_option
@options.worth_option
@click.option("--anyway", is_flag=True, help="Go on where it costs too much, or the complaint does not show.")
@options.pace_option
@options.json_option
def command(
    file: str, findings: str, why: str, worked_on_before: bool, further: bool, alongside: bool, cannot: tuple[str, ...],
    worth: float | None, anyway: bool, pace: str, as_json: bool,
) -> None:  # fmt: skip
    """Weigh findings: the possible causes, what to find out next, whether it is enough.

    FINDINGS is YAML or JSON ("-": standard input). What a finding leaves out is taken from the one before it, or
    from the machine's rest. Values are written as the meter shows them: 9.2k, OL, 118 V, 155 F, beeps.

    \b
    Example, findings.yaml:
      - symptom: {what: drum turns, value: yes}
      - symptom: {what: air is warm, value: no}
      - reading: {meter: ohms, red: heater.common, black: heater.front, lift: [heater.common], value: OL}
    \b
      halfsplit diagnose vented-dryer findings.yaml
      halfsplit diagnose vented-dryer findings.yaml --why 1
      halfsplit diagnose vented-dryer findings.yaml --cannot amps --cannot "drum housing"
    """
    from halfsplit.cli import findings as written
    from halfsplit.service import diagnosing, machines, naming
    from halfsplit.service.leaving import PASSED_OVER, Limits

    machine = machines.load(file, pace)
    read = written.read(machine, findings)
    with output.patience("Working out once what every fault of this machine would show"):
        key, limits = machines.key(file), Limits(worth, PASSED_OVER if anyway else frozenset())
        found = diagnosing.diagnose(machine, read, why, worked_on_before, key, further, alongside, cannot, limits)
    if as_json:
        output.document(found)
    else:
        _for_people(naming.for_people(machine, found))


def _for_people(found: dict[str, Any]) -> None:
    from halfsplit.service import meaning, naming

    rows = [_row(place, one) for place, one in enumerate(found["candidates"][:SHOWN], 1)]
    rows.append(("", naming.UNSAID, output.percent(found["unexplained"]), ""))
    output.table(("", "possible cause", "", "repair"), rows, right=[0, 2])
    if found["enough"]["known"] or not any(step["kind"] == "stop" for step in found["next"]):
        _enough(found["enough"])
        if found["worst_fit"] and found["unexplained"] > MUCH:
            click.echo(_again(found["worst_fit"]))
    for place, step in enumerate(found["next"]):
        stops = step["kind"] == "stop"
        due = "" if stops else f"Next ({duration(step['minutes'])}): "
        lines = [*step["cautions"], f"{due}{step['text']}", *([step["reason"]] if stops else _alongside(step))]
        if "why" in found and place == 0:
            lines += _why(step, stops)
        click.echo("".join(f"\n{line}" for line in lines))
    if "why" in found:
        click.echo("\nWhat each finding does to the odds of that possible cause:")
        output.table(("finding", "odds"), list(meaning.weights(found["why"])), right=[1])


def _why(step: dict[str, Any], stops: bool) -> Iterator[str]:
    """Why a step comes first and what its minutes go into; the reason of a stop is told anyway."""
    told = " ".join(filter(None, ("" if stops else step["reason"], step["spent"])))
    if told:
        yield f"  {told}"


def _alongside(step: dict[str, Any]) -> Iterator[str]:
    """What would be found out next in the same set-up."""
    for one in step.get("alongside", []):
        text = " ".join(filter(None, (one["text"], one["alike"])))
        yield f"  {one['when']} ({duration(one['minutes'])}): {text}"


def _again(finding: dict[str, Any]) -> str:
    """What to do about the finding that fits worst; a repair is not made again."""
    if "repair" in finding:
        return f"See again whether what was complained of is gone: {finding['repair']['made']} fits worst."
    return f"Take this finding again: {_brief(finding)}."


def _brief(finding: dict[str, Any]) -> str:
    """A finding as it was written, without what it took over from others."""
    ((kind, fields),) = finding.items()
    told = [str(fields[name]) for name in ("meter", "red", "black", "at", "what") if name in fields]
    kind = f"{kind} closely" if fields.get("closely") == "yes" else kind
    return f"{kind}, {', '.join(told)}: {fields.get('value') or fields.get('sees')}"


def _row(place: int, one: dict[str, Any]) -> tuple[str, str, str, str]:
    faults = " + ".join(one["faults"]) or "nothing is wrong"
    return str(place), faults, output.percent(one["probability"]), one["repair"] or ""


def _enough(enough: dict[str, Any]) -> None:
    if enough["proved"]:
        click.echo(f"\nProved: {enough['proved']}. Nothing is left to do.")
        return
    if not enough["known"]:
        sure = output.percent(enough["probability"])
        before = f"Before {enough['repair']} ({sure} sure) a step is worth its minutes."
        click.echo("\n" + (before if enough["likely"] else "Not enough is known yet for a repair."))
        return
    told = "Enough is known" if enough["sure"] else "No further step is worth its minutes; to be made first"
    click.echo(f"\n{told}: {enough['repair']} ({output.percent(enough['probability'])}).")
    if enough["handed_over"]:
        click.echo(enough["handed_over"])
    if enough.get("why"):  # the doubt and the second trip are among these
        click.echo("\n".join(f"  {sentence}" for sentence in enough["why"]))
        return
    if enough["doubt"]:
        click.echo(enough["doubt"])
    if enough["second_trip"]:
        click.echo(f"Not on the van: a second trip ({duration(enough['second_trip'])}).")
