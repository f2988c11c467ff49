"""The whole plan as boxes of plain text that print on A4: numbered, each outcome with the box where it goes on.

Knows the plan as data; decides nothing.
"""

from __future__ import annotations

import html
import re
import textwrap
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from halfsplit.cli.output import percent
from halfsplit.machine import cautions
from halfsplit.quantity.display import duration

WIDTH = 78
PAGE = 62
"""Lines of a page: A4 at six lines an inch with margins."""
CERTAINLY_NOT = 1e-6
"""Below this nothing else can be seen: there is yes and no only."""
Data = Mapping[str, Any]


def boxes(root: Data) -> Iterator[Data]:
    """Every box, by number."""
    yield root
    for outcome in root["outcomes"]:
        if outcome["then"]:
            yield from boxes(outcome["then"])


def pages(blocks: Iterable[list[str]]) -> str:
    """Blocks one below the other; a new page is begun where a block would be cut in two."""
    made: list[str] = []
    used = 0
    for block in blocks:
        if used and used + len(block) > PAGE:
            block = ["\f" + block[0], *block[1:]]
            used = 0
        made += block
        used += len(block)
    return "\n".join(made) + "\n"


def page(title: str, blocks: Iterable[list[str]]) -> str:
    """The same as one page of HTML without anything from elsewhere: a printer keeps each block whole."""
    made = (html.escape("\n".join(block)).strip("\n") for block in blocks if any(block))
    linked = (_BOX.sub(r'<a id="box\1">\g<0></a>', _GO.sub(r'<a href="#box\1">\g<0></a>', text)) for text in made)
    body = "\n".join(f"<pre>{text}</pre>" for text in linked)
    head = "<meta charset=utf-8>\n<meta name=viewport content='width=device-width'>"
    return f"<!doctype html>\n{head}\n<title>{html.escape(title)}</title>\n{_STYLE}\n{body}\n"


_BOX = re.compile(r"--\[ (\d+) \]--")
_GO = re.compile(r"go to (\d+)")
_STYLE = (
    "<style>@page{size:A4;margin:15mm}body{margin:1em}pre{font:10pt/1.25 monospace;margin:0 0 1em;"
    "break-inside:avoid}a{color:inherit}@media screen and (max-width:50em)"
    "{body{margin:1vw}pre{font-size:calc(98vw/47.5)}}</style>"
)
"""On a narrow screen the whole width of a box is seen; sideways it is read, upright it is found."""


def box(one: Data, common: Collection[str] = ()) -> list[str]:
    """One box, framed; `common`: what of a proof run stands once for all repairs."""
    lines = [*(_repair(one, common) if one["kind"] == "repair" else _HOLDS[one["kind"]](one))]
    head = f"--[ {one['box']} ]-- {_head(one)} "
    rows = [f"| {line:<{WIDTH - 4}} |" for line in lines]
    return [f"+{head:-<{WIDTH - 2}}+", *rows, f"+{'-' * (WIDTH - 2)}+", ""]


def _head(one: Data) -> str:
    here = "all jobs begin here" if one["box"] == 1 else f"{percent(one['reached'])} of such jobs come here"
    if one["kind"] != "step":
        return f"{one['kind'].upper()}, {here}"
    return f"{'LIVE, ' if one['live'] else ''}{duration(one['minutes'])}, {here}"


def _step(one: Data) -> Iterator[str]:
    yield from _cautions(one)
    yield from wrapped(one["text"])
    yield ""
    for outcome in one["outcomes"]:
        if outcome["then"]:
            yield from _way(outcome)
    yield from _left_out(one)


def _way(outcome: Data) -> Iterator[str]:
    goes = f"{percent(outcome['probability']):>8}  go to {outcome['then']['box']}"
    room = WIDTH - 4 - 18
    first, *rest = textwrap.wrap(f"[ ] {outcome['shows']}", room, subsequent_indent="    ")
    yield f"{first:<{room}}{goes}"
    yield from rest


def _left_out(one: Data) -> Iterator[str]:
    """What the sheet does not follow, and what to do then."""
    left = [o for o in one["outcomes"] if not o["then"]]
    chance = sum(o["probability"] for o in left) + one["something_else"]
    if not left and chance < CERTAINLY_NOT:
        return
    named = f" ({'; '.join(o['shows'] for o in left)})" if left else ""
    yield from wrapped(f"[ ] If you see something else{named}, {percent(chance)}: weigh anew, see below.", "    ")


def common_proof(root: Data) -> list[str]:
    """What is to be checked after every repair of a plan, in order; none where it has one repair only."""
    proofs = [one["repair"]["proof"] for one in boxes(root) if one["kind"] == "repair"]
    return [text for text in proofs[0] if all(text in other for other in proofs[1:])] if len(proofs) > 1 else []


def proof_run(common: Iterable[str]) -> Iterator[list[str]]:
    """What is to be checked after every repair, a block for each setting: checks begin with their number, what is to be
    minded on the way to one with its signal word."""
    made: list[list[str]] = []
    for text in common:
        if not made or not (text.lstrip()[:1].isdigit() or text.startswith(cautions.WORDS)):
            made.append([])
        made[-1] += _ticked(text)
    if made:
        yield ["THE PROOF RUN", *wrapped("After every repair, in this order; look again at what is not as it must be.")]
        yield from ([*block, ""] for block in made)


def _ticked(text: str) -> list[str]:
    """A line of a proof run with a box to tick; what is to be minded has none."""
    return wrapped(text, "    ") if text.startswith(cautions.WORDS) else wrapped(f"[ ] {text}", "    ")


def _repair(one: Data, common: Collection[str]) -> Iterator[str]:
    repair = one["repair"]
    price = f", {repair['price']:.0f} {repair['currency']} for parts" if repair["price"] else ""
    by = [who for who in repair["by"] if who != "repairer"]
    yield from _cautions(repair)
    yield from (line for text in repair["first"] for line in wrapped(text))
    yield from wrapped(f"Repair: {repair['name']}. Cures with {percent(repair['probability'])}; "
                       f"{duration(repair['minutes'])}{price}.")  # fmt: skip
    if repair["second_trip"]:
        yield from wrapped(f"Not on the van: a second trip ({duration(repair['second_trip'])}).")
    yield from (line for who in by for line in wrapped(f"This is the work of: {who}. Local codes rule."))
    yield from _put_together(repair)
    yield "Proof run: all of THE PROOF RUN below." if common else "Proof run:"
    own = (check for check in repair["proof"] if check not in common)
    yield from (line for check in own for line in _ticked(check))
    yield from wrapped("If the complaint is still there, or anything else is wrong: weigh anew, see below.")


def _put_together(one: Data) -> Iterator[str]:
    yield "Put together, in this order:"
    for number, task in enumerate(one["put_together"]["tasks"], 1):
        minded = "".join(f" {caution.rstrip('.')}." for caution in task["cautions"])
        yield from wrapped(f"[ ] {number:>2}  {task['text']}{minded}", "        ")


def _hand_over(one: Data) -> Iterator[str]:
    yield from wrapped("Nothing more on this sheet pays. Weigh anew with all that was found, or hand over. Likeliest:")
    for cause in one["causes"]:
        yield from wrapped(f"{percent(cause['probability']):>8}  {faults(cause)}", " " * 10)
    yield f"{percent(one['unexplained']):>8}  something this file does not say"
    yield from wrapped("Before you hand over:")
    yield from _put_together(one)


def _stop(one: Data) -> Iterator[str]:
    yield from _cautions(one)
    yield from wrapped(one["text"])


def _cautions(one: Data) -> Iterator[str]:
    for caution in one["cautions"]:
        yield from wrapped(caution)


_HOLDS = {"step": _step, "hand over": _hand_over, "stop": _stop}


def faults(cause: Data) -> str:
    """A possible cause in words."""
    return " + ".join(cause["faults"]) or "nothing is wrong"


def wrapped(text: str, indent: str = "") -> list[str]:
    """A paragraph within a box."""
    return textwrap.wrap(text, WIDTH - 4, subsequent_indent=indent) or [""]
