"""`halfsplit visit`."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import click

from halfsplit.cli import options, output, paper
from halfsplit.cli.output import percent
from halfsplit.errors import WrongUse
from halfsplit.quantity.display import duration

Data = Mapping[str, Any]
ASKED = 8
"""So many questions are printed; --json has all."""


@click.command("visit", cls=options.Completable)
@options.file_argument
@click.argument("findings", shell_complete=options.findings_files, metavar="FINDINGS")
@click.option("--tree", is_flag=True, help="The whole plan too: each outcome, what follows, down to the repair.")
@click.option(
    "--least", type=click.FloatRange(0.1, 50), default=2.0, show_default=True,
    help="Leave branches out of the plan to which fewer jobs in a hundred come.",
)  # fmt: skip
@click.option("--boxes", type=click.IntRange(1, 2000), default=150, show_default=True, help="So many boxes at most.")
@click.option("--why", is_flag=True, help="What each saving is made of.")
@click.option("--worked-on-before", is_flag=True, help="Somebody has had the machine open before.")
@click.option("-o", "--out", default=None, metavar="FILE", help="Write it to a file to be printed: text, or .html.")
@options.pace_option
@options.json_option
def command(
    file: str,
    findings: str,
    tree: bool,
    least: float,
    boxes: int,
    why: bool,
    worked_on_before: bool,
    out: str | None,
    pace: str,
    as_json: bool,
) -> None:
    """Prepare a visit: what to ask on the phone, what to put on the van, the plan on paper.

    FINDINGS is what the owner complains of, as `diagnose` takes it ("-": standard input). Questions and parts stand
    in the order of the minutes that they are expected to save. Add the answers to FINDINGS (by: owner, with the
    setting under set) and run it again. With --tree the whole plan is printed as numbered boxes, to be followed
    without this tool; branches that are too improbable are left out, and the box says so.

    \b
    Example, complaint.yaml:
      - symptom: {what: drum turns, value: yes}
      - symptom: {what: air is warm, value: no}
    \b
      halfsplit visit vented-dryer complaint.yaml
      halfsplit visit vented-dryer complaint.yaml --tree -o plan.txt
    """
    from halfsplit.service import diagnosing, machines, naming, visiting

    machine = machines.load(file, pace)
    read = diagnosing.read_findings(machine, *output.text_and_name(findings))
    asked = visiting.Asked(tree, least / 100, boxes)
    with _waiting(boxes if tree else 0) as made:
        found = visiting.sheet(machine, read, asked, machines.key(file), worked_on_before, made)
    told = naming.for_people(machine, found)
    blocks = [*_sheet(told, why), *_plan(told)]
    if out:
        _write(out, paper.page(found["machine"], blocks) if out.endswith(".html") else paper.pages(blocks))
    if as_json:
        output.document(found)
    elif not out:
        click.echo("\n".join(line for block in blocks for line in block))


@contextlib.contextmanager
def _waiting(most: int) -> Iterator[Callable[[int], None] | None]:
    """A bar on stderr of the boxes made, where somebody looks, gone when the work is done; without a plan a word."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    if not most:
        with output.patience("Working out once what every fault of this machine would show"):
            yield None
        return
    console = Console(stderr=True)
    columns = (TextColumn("boxes of the plan, at most"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("boxes", total=most)
        yield lambda done: bar.update(task, completed=done)


def _write(place: str, text: str) -> None:
    try:
        Path(place).write_text(text, encoding="utf-8")
    except (OSError, ValueError) as error:
        raise WrongUse(f"{place} cannot be written: {error}.", "Name another file.") from None


# ---- the sheet -------------------------------------------------------------------------------------------------


def _sheet(found: Data, why: bool) -> Iterator[list[str]]:
    yield [*paper.wrapped(f"{found['machine']}: before the visit"), ""]
    if found["stop"]:
        yield [*paper.wrapped(found["stop"]), ""]
        return
    yield [line for text in found["first"] for line in paper.wrapped(text)]
    yield [*_causes(found), ""]
    yield from _questions(found, why)
    yield from _parts(found, why)


def _causes(found: Data) -> Iterator[str]:
    yield "LIKELIEST CAUSES"
    for cause in found["causes"]:
        yield f"{percent(cause['probability']):>8}  {paper.faults(cause)}"
    yield f"{percent(found['unexplained']):>8}  something this file does not say"


def _questions(found: Data, why: bool) -> Iterator[list[str]]:
    dangers = [one for one in found["questions"] if one["danger"]]
    worth = [one for one in found["questions"] if not one["danger"] and one["saving"] > 0]
    if dangers:
        yield ["ASK FIRST, only what was noticed; nobody tries it"]
        yield from (_question(one, "[ ]", why) for one in dangers)
    yield ["ASK ON THE PHONE, what saves most first; nothing is tried, opened or measured"]
    if not worth:
        yield ["No question is worth its minute.", ""]
    for number, one in enumerate(worth[:ASKED], 1):
        yield _question(one, f"{number:>2} ", why)
    if len(worth) > ASKED:
        yield [f"{len(worth) - ASKED} more save less: --json has all.", ""]


def _question(one: Data, mark: str, why: bool) -> list[str]:
    setting = ", ".join(f"{control} {position}" for control, position in one["set"].items())
    when = f" (when set to {setting})" if setting and not one["danger"] else ""
    lines = paper.wrapped(f"{mark} {one['ask']}{when}", "    ")
    for answer in one["answers"]:
        means = answer["stop"] or ", ".join(f"{paper.faults(c)} {percent(c['probability'])}" for c in answer["causes"])
        said = f"[ ] {answer['value']} ({percent(answer['probability'])}): {means}"
        lines += [f"    {line}" for line in paper.wrapped(said, "      ")]
    saves = one["saves"]
    if one["danger"]:
        return [*lines, ""]
    if why:
        lines += [f"    {line}" for line in paper.wrapped(
            f"Saves {duration(one['saving'])}: {duration(saves['on_site'])} of steps on site, "
            f"{duration(saves['load'])} by a better load of the van, "
            f"{duration(saves['asking'], signed=True)} of asking."
        )]  # fmt: skip
    else:
        lines.append(f"    Saves {duration(one['saving'])}.")
    return [*lines, ""]


def _parts(found: Data, why: bool) -> Iterator[list[str]]:
    take = [one for one in found["parts"] if one["take"]]
    aboard = [f"{one['title']} ({percent(one['probability'])})" for one in found["parts"] if one["on_van"]]
    yield ["PUT ON THE VAN, what saves most first"]
    if aboard:
        yield paper.wrapped(f"On it already, and needed so often: {', '.join(aboard)}.")
    if not take:
        yield ["No part is worth carrying." if not aboard else "No other part is worth carrying.", ""]
        return
    heading = f"    {'part':<32}{'needed':>9}{'price':>12}{'saves':>10}"
    yield [heading, *(line for one in take for line in _part(one, why))]
    van = found["van"]
    yield [
        "",
        *paper.wrapped(
            f"With these the part that is needed is there in {percent(van['covered'])} of such jobs; in "
            f"{percent(van['missing'])} one is missing, in {percent(van['no_part'])} the cure needs none."
        ),
        *(paper.wrapped(_terms(found["minutes"])) if why else ()),
        "",
    ]


def _part(one: Data, why: bool) -> Iterator[str]:
    price = f"{one['price']:.0f} {one['currency']}" if one["price"] else "not in file"
    yield f"[ ] {one['title'][:31]:<32}{percent(one['probability']):>9}{price:>12}{duration(one['saving']):>10}"
    if why:
        saves = one["saves"]
        carrying = duration(saves["carrying"], signed=True)
        yield f"      {duration(saves['trip'])} of a second trip, {carrying} of carrying"


def _terms(minutes: Data) -> str:
    return (
        f"A second trip is taken as {duration(minutes['second_trip'])}, carrying a part as "
        f"{duration(minutes['carrying'])}, a question as {duration(minutes['asking'])}: Halfsplit's choice."
    )


# ---- the plan --------------------------------------------------------------------------------------------------


def _plan(found: Data) -> Iterator[list[str]]:
    if found["tree"] is None:
        return
    claims, least = found["claims"], percent(found["least"])
    yield ["THE PLAN", *paper.wrapped(
        f"Begin at box 1, tick what you find, go where it says. Of such jobs {percent(claims['cured'])} end in a "
        f"repair of this sheet that cures, {percent(claims['wrong_repair'])} in one that does not, "
        f"{percent(claims['handed_over'])} in a box that hands over or stops; {percent(claims['off_the_sheet'])} "
        f"leave the sheet: branches to which fewer than {least} of the jobs come are left out."
    ), *paper.wrapped(
        "Local codes and licensed trades rule. Do not go on where a box cannot be done as it says. A bypassed safety "
        "part is never a repair."
    ), ""]  # fmt: skip
    common = paper.common_proof(found["tree"])
    yield from (paper.box(one, common) for one in paper.boxes(found["tree"]))
    yield from paper.proof_run(common)
    yield paper.wrapped(
        "Weigh anew: write all that was found into the findings, a repair that did not cure as repair: {made: ..., "
        "cured: no}, and run diagnose, guide or visit."
    )
