"""`halfsplit visit`."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import click

from halfsplit.cli import as_page, as_text, off_the_sheet, options, output, paper
from halfsplit.cli.lines import NESTED, Block, Line
from halfsplit.cli.output import percent
from halfsplit.quantity.display import duration

Data = Mapping[str, Any]
ASKED = 8
"""So many questions are printed; --json has all."""


@click.command("visit", cls=options.Completable)
@options.file_argument
@click.argument("findings", shell_complete=options.findings_files, metavar="FINDINGS")
@click.option("--tree", is_flag=True, help="The whole plan too: each outcome, what follows, down to the repair.")
@click.option(
    "--least", type=options.Finite(0.1, 50), default=2.0, show_default=True,
    help="Leave branches out of the plan to which fewer jobs in a hundred come.",
)  # fmt: skip
@click.option("--boxes", type=click.IntRange(1, 2000), default=150, show_default=True, help="So many boxes at most.")
@click.option("--why", is_flag=True, help="What each saving is made of.")
@click.option("--worked-on-before", is_flag=True, help="Somebody has had the machine open before.")
@options.cannot_option
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
    cannot: tuple[str, ...],
    out: str | None,
    pace: str,
    as_json: bool,
) -> None:
    """Prepare a visit: what to ask on the phone, what to put on the van, the plan on paper.

    FINDINGS is what the owner complains of, as `diagnose` takes it ("-": standard input). Questions and parts stand
    in the order of the minutes that they are expected to save. Add the answers to FINDINGS (by: owner, with the
    setting under set) and run it again. With --tree the whole plan is printed as numbered boxes, to be followed
    without this tool; branches that are too improbable are left out, and the box says so. With --cannot sheet and
    plan go around what cannot be done there.

    \b
    Example, complaint.yaml:
      - symptom: {what: drum turns, value: yes}
      - symptom: {what: air is warm, value: no}
    \b
      halfsplit visit vented-dryer complaint.yaml
      halfsplit visit vented-dryer complaint.yaml --tree -o plan.txt
      halfsplit visit vented-dryer complaint.yaml --tree --cannot amps --cannot "drum housing"
    """
    from halfsplit.cli import findings as written
    from halfsplit.service import machines, naming, visiting

    machine = machines.load(file, pace)
    read = written.read(machine, findings)
    asked = visiting.Asked(tree, least / 100, boxes)
    with _waiting(boxes if tree else 0) as made:
        found = visiting.sheet(machine, read, asked, machines.key(file), worked_on_before, made, cannot)
    told = naming.for_people(machine, found)
    title, blocks = f"{told['machine']}: before the visit", [*_sheet(told, why), *_plan(told)]
    if out:
        output.to_file(out, (as_page.page if out.endswith(".html") else as_text.pages)(title, blocks))
    if as_json:
        output.document(found)
    elif not out:
        click.echo(as_text.text(title, blocks))


@contextlib.contextmanager
def _waiting(most: int) -> Iterator[Callable[[int], None] | None]:
    """A bar on stderr of the boxes made, where somebody looks, gone when the work is done; without a plan a word."""
    if most:
        with output.progress("boxes of the plan, at most", most) as made:
            yield made
    else:
        with output.patience("Working out once what every fault of this machine would show"):
            yield None


# ---- the sheet -------------------------------------------------------------------------------------------------


def _sheet(found: Data, why: bool) -> Iterator[Block]:
    if found["stop"]:
        yield Block((Line(found["stop"]),))
        return
    if found["first"]:
        yield Block(tuple(map(Line, found["first"])))
    yield Block(tuple(paper.likeliest(found)), "LIKELIEST CAUSES")
    yield from _questions(found, why)
    yield from _parts(found, why)


def _questions(found: Data, why: bool) -> Iterator[Block]:
    dangers = [one for one in found["questions"] if one["danger"]]
    worth = [one for one in found["questions"] if not one["danger"] and one["saving"] > 0]
    if dangers:
        yield Block((), "ASK FIRST, only what was noticed; nobody tries it")
        yield from (_question(one, "[ ]", why) for one in dangers)
    none = () if worth else (Line("No question is worth its minute."),)
    yield Block(none, "ASK ON THE PHONE, what saves most first; nothing is tried, opened or measured")
    for number, one in enumerate(worth[:ASKED], 1):
        yield _question(one, f"{number:>2} ", why)
    if len(worth) > ASKED:
        yield Block((Line(f"{len(worth) - ASKED} more save less: --json has all."),))


def _question(one: Data, mark: str, why: bool) -> Block:
    saved = () if one["danger"] else (Line(_saved(one, why), NESTED),)
    return Block((Line(one["ask"], mark), *map(_answer, one["answers"]), *saved))


def _answer(answer: Data) -> Line:
    means = answer["stop"] or ", ".join(f"{paper.faults(c)} {percent(c['probability'])}" for c in answer["causes"])
    return Line(f"{answer['value']} ({percent(answer['probability'])}): {means}", f"{NESTED} [ ]")


def _saved(one: Data, why: bool) -> str:
    if not why:
        return f"Saves {duration(one['saving'])}."
    saves = one["saves"]
    return (
        f"Saves {duration(one['saving'])}: {duration(saves['on_site'])} of steps on site, "
        f"{duration(saves['load'])} by a better load of the van, {duration(saves['asking'], signed=True)} of asking."
    )


def _parts(found: Data, why: bool) -> Iterator[Block]:
    take = [one for one in found["parts"] if one["take"]]
    aboard = [f"{one['title']} ({percent(one['probability'])})" for one in found["parts"] if one["on_van"]]
    there = (Line(f"On it already, and needed so often: {', '.join(aboard)}."),) if aboard else ()
    if take:
        lines = (_row("part", "needed", "price", "saves", NESTED), *(line for one in take for line in _part(one, why)))
    else:
        lines = (Line(f"No {'other ' if aboard else ''}part is worth carrying."),)
    yield Block((*there, *lines), "PUT ON THE VAN, what saves most first")
    if take:
        yield _covered(found, why)


def _row(part: str, needed: str, price: str, saves: str, mark: str) -> Line:
    return Line(part, mark, (f"{needed:>9}", f"{price:>12}", f"{saves:>10}"))


def _part(one: Data, why: bool) -> Iterator[Line]:
    price = f"{one['price']:.0f} {one['currency']}" if one["price"] else "not in file"
    yield _row(one["title"], percent(one["probability"]), price, duration(one["saving"]), "[ ]")
    if why:
        saves = one["saves"]
        carrying = duration(saves["carrying"], signed=True)
        yield Line(f"{duration(saves['trip'])} of a second trip, {carrying} of carrying", NESTED)


def _covered(found: Data, why: bool) -> Block:
    van = found["van"]
    covered = (
        f"With these the part that is needed is there in {percent(van['covered'])} of such jobs; in "
        f"{percent(van['missing'])} one is missing, in {percent(van['no_part'])} the cure needs none."
    )
    return Block((Line(covered), *((Line(_terms(found["minutes"])),) if why else ())))


def _terms(minutes: Data) -> str:
    return (
        f"A second trip is taken as {duration(minutes['second_trip'])}, carrying a part as "
        f"{duration(minutes['carrying'])}, a question as {duration(minutes['asking'])}: Halfsplit's choice."
    )


# ---- the plan --------------------------------------------------------------------------------------------------


def _plan(found: Data) -> Iterator[Block]:
    if found["tree"] is None:
        return
    stands = (Line(found["stands"]),) if found["stands"] else ()
    yield Block((Line(_claims(found)), *stands, Line(_RULES)), "THE PLAN")
    common = paper.common_proof(found["tree"])
    came_from = paper.come_from(found["tree"])
    yield from (paper.box(one, common, came_from.get(one["box"])) for one in paper.boxes(found["tree"]))
    yield from paper.proof_run(common)
    yield from off_the_sheet.blocks(found["left"])
    yield Block(tuple(map(Line, _WEIGH_ANEW)), "WEIGH ANEW, where the sheet leaves you")


def _claims(found: Data) -> str:
    claims = found["claims"]
    return (
        f"Begin at box 1, tick what you find, go where it says. Of such jobs {percent(claims['cured'])} end in a "
        f"repair of this sheet that cures, {percent(claims['wrong_repair'])} in one that does not, "
        f"{percent(claims['handed_over'])} in a box that hands over or stops; {percent(claims['off_the_sheet'])} "
        f"leave the sheet: branches to which fewer than {percent(found['least'])} of the jobs come, and steps after "
        "which all would leave it, are left out. What there is to go on with then stands behind the boxes."
    )


_RULES = (
    "Local codes and licensed trades rule. Do not go on where a box cannot be done as it says. A bypassed safety "
    "part is never a repair."
)
_WEIGH_ANEW = (
    f"Copy what stands behind {paper.WRITE} in each box that you passed into the findings, in that order, with what "
    "you found instead of ___: what the meter showed (9.2k, OL, 118 V), yes or no, fine or what was seen. Of a box in "
    "which you repaired nothing leave the repair out. Then run diagnose, guide or visit.",
    "Before you leave the machine: its controls off, plug out or breaker off, then what the box says: wires back as on "
    "the photographs, what was lifted out plugged in, covers closed, and all else that stands in the list for putting "
    "together of the nearest repair box, or that halfsplit closing tells with the same findings. A tag on it: do not "
    "switch on; not proved yet. Tell the owner.",
)
