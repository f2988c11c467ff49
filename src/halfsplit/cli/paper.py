"""The whole plan as boxes: numbered, each outcome with the box where it goes on.

Knows the plan as data; decides nothing, and knows not whether it is printed as text or as a page.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from halfsplit.cli.lines import BLANK, NESTED, Block, Line, ticked
from halfsplit.cli.output import percent
from halfsplit.machine import cautions
from halfsplit.quantity.display import duration

CERTAINLY_NOT = 1e-6
"""Below this nothing else can be seen: there is yes and no only."""
Data = Mapping[str, Any]


def boxes(root: Data) -> Iterator[Data]:
    """Every box, by number."""
    yield root
    for outcome in root["outcomes"]:
        if outcome["then"]:
            yield from boxes(outcome["then"])


def come_from(root: Data) -> dict[int, int]:
    """The number of each box but the first, and of the one that leads there: who finds that something does not hang
    together, or loses the place, goes back."""
    return {outcome["then"]["box"]: one["box"] for one in boxes(root) for outcome in one["outcomes"] if outcome["then"]}


def box(one: Data, common: Collection[str] = (), came_from: int | None = None) -> Block:
    """One box; `common`: what of a proof run stands once for all repairs; `came_from`: the box that leads here."""
    lines = _repair(one, common) if one["kind"] == "repair" else _HOLDS[one["kind"]](one)
    return Block(tuple(lines), _head(one, came_from), one["box"])


def _head(one: Data, came_from: int | None) -> str:
    whence = f", from {came_from}" if came_from else ""
    here = "all jobs begin here" if one["box"] == 1 else f"{percent(one['reached'])} of such jobs come here{whence}"
    if one["kind"] != "step":
        return f"{one['kind'].upper()}, {here}"
    return f"{'LIVE, ' if one['live'] else ''}{duration(one['minutes'])}, {here}"


def _step(one: Data) -> Iterator[Line]:
    yield from map(Line, one["cautions"])
    yield Line(one["text"])
    yield BLANK
    yield from (_way(outcome) for outcome in one["outcomes"] if outcome["then"])
    yield from _left_out(one)
    yield from _write(one)


def _way(outcome: Data) -> Line:
    goes = f"  go to {outcome['then']['box']:<3}"
    return Line(outcome["shows"], "[ ]", (f"{percent(outcome['probability']):>8}", goes))


def _left_out(one: Data) -> Iterator[Line]:
    """What the sheet does not follow, and what to do then: first what ends the work."""
    for ended in (o for o in one["outcomes"] if o["stop"]):
        yield ticked(f"{ended['shows']}, {percent(ended['probability'])}: {ended['stop']}")
        if ended["leave"]:
            yield Line(f"Before you leave it then: {ended['leave']}.", NESTED)
    left = [o for o in one["outcomes"] if not (o["then"] or o["stop"])]
    chance = sum(o["probability"] for o in left) + one["something_else"]
    if not left and chance < CERTAINLY_NOT:
        return
    named = f" ({'; '.join(o['shows'] for o in left)})" if left else ""
    unsafe = _UNSAFE if one["to_frame"] else ""
    yield ticked(f"If you see something else{named}, {percent(chance)}: {unsafe}weigh anew, see below.")
    yield Line(f"Before you leave it here: {one['leave']}.", NESTED)


def _write(one: Data) -> Iterator[Line]:
    """How the findings file has what is found here, where it may have to be weighed anew."""
    if leaves_the_sheet(one):
        yield from (Line(text, WRITE) for text in one["write"])


WRITE = "write:"


def leaves_the_sheet(one: Data) -> bool:
    """Whether a way from a box, here or later, leads to weighing anew."""
    if one["kind"] == "hand over":
        return one["text"] is None
    if one["kind"] != "step":
        return bool(one["kind"] == "repair" or one["goes_on"])
    left = not all(outcome["then"] for outcome in one["outcomes"]) or one["something_else"] >= CERTAINLY_NOT
    return left or any(leaves_the_sheet(outcome["then"]) for outcome in one["outcomes"])


_UNSAFE = "ohms that are low lead to the frame, leave the power off; "


def common_proof(root: Data) -> list[str]:
    """What is to be checked after every repair of a plan, in order; none where it has one repair only."""
    proofs = [one["repair"]["proof"] for one in boxes(root) if one["kind"] == "repair"]
    return [text for text in proofs[0] if all(text in other for other in proofs[1:])] if len(proofs) > 1 else []


def proof_run(common: Iterable[str]) -> Iterator[Block]:
    """What is to be checked after every repair, a block for each card."""
    made: list[list[Line]] = []
    for text in common:
        if not made or text.startswith(_BEGINS):
            made.append([])
        made[-1].append(_check(text))
    if made:
        yield Block((Line(_AFTER_EVERY),), "THE PROOF RUN")
        yield from (Block(tuple(lines)) for lines in made)


_BEGINS = ("Card ", "Last, ", "In days ")
"""With which words of a proof run a block begins."""
_PLAIN = (*cautions.WORDS, "At a yes to ", "In all: ", "Whether this repair holds ", "All through ")
"""What of a proof run is nothing to tick."""
_AFTER_EVERY = "After every repair, in this order; look again at what is not as it must be."


def _check(text: str) -> Line:
    """A line of a proof run with a box to tick; what is to be minded, and what stands before the cards, has none."""
    return Line(text) if text.startswith(_PLAIN) else ticked(text)


def _repair(one: Data, common: Collection[str]) -> Iterator[Line]:
    repair = one["repair"]
    price = f", {repair['price']:.0f} {repair['currency']} for parts" if repair["price"] else ""
    by = [who for who in repair["by"] if who != "repairer"]
    yield from map(Line, repair["cautions"])
    yield from map(Line, repair["first"])
    yield Line(f"Repair: {repair['name']}. Cures with {percent(repair['probability'])}; "
               f"{duration(repair['minutes'])}{price}.")  # fmt: skip
    yield from (Line(text) for text in (repair["when"], repair["doubt"]) if text)
    if repair["mistaken"]:
        yield Line(f"Where it cures, the owner was mistaken in: {'; '.join(repair['mistaken'])}.")
    if repair["second_trip"]:
        yield Line(f"Not on the van: a second trip ({duration(repair['second_trip'])}).")
    yield from (Line(f"This is the work of: {who}. Local codes rule.") for who in by)
    yield from _put_together(repair)
    yield Line("Proof run: all of THE PROOF RUN below." if common else "Proof run:")
    yield from (_check(text) for text in repair["proof"] if text not in common)
    yield Line(f"If the complaint is still there, or anything else is wrong: weigh anew, see below. "
               f"If you leave it so: {repair['leave']}.")  # fmt: skip
    yield from _write(one)


def _put_together(one: Data) -> Iterator[Line]:
    from halfsplit.service import tasks

    yield Line("Put together, in this order:")
    made = one["put_together"]["tasks"]
    for number, task in zip(tasks.numbered(task["kind"] for task in made), made, strict=True):
        minded = "".join(f" {caution.rstrip('.')}." for caution in task["cautions"])
        said = f"{task['text']}{minded}"
        yield ticked(said, f"{number:>2} ") if number else Line(said)


def _hand_over(one: Data) -> Iterator[Line]:
    yield Line(f"{one['text'] or _PAYS_NO_MORE} Likeliest:")
    yield from likeliest(one)
    yield Line("Before you hand over:")
    yield from _put_together(one)


_PAYS_NO_MORE = "Nothing more on this sheet pays. Weigh anew with all that was found, or hand over."


def _stop(one: Data) -> Iterator[Line]:
    """A stop, and how the machine is left where hands may go to it still."""
    yield from map(Line, one["cautions"])
    yield Line(one["text"])
    if one["goes_on"]:
        yield Line("To go on then: weigh anew, see below. If you leave it, only when the breaker is off and it is dry:")
    elif one["put_together"]:
        yield Line("Before you leave it:")
    if one["put_together"]:
        yield from _put_together(one)


_HOLDS = {"step": _step, "hand over": _hand_over, "stop": _stop}


def likeliest(one: Data) -> Iterator[Line]:
    """The possible causes, and what the file does not say."""
    from halfsplit.service import naming

    yield from (_chance(cause["probability"], faults(cause)) for cause in one["causes"])
    yield _chance(one["unexplained"], naming.UNSAID)


def _chance(probability: float, what: str) -> Line:
    return Line(what, f"{percent(probability):>8} ")


def faults(cause: Data) -> str:
    """A possible cause in words."""
    return " + ".join(cause["faults"]) or "nothing is wrong"
