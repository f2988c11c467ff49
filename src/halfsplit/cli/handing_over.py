"""What is due and not made here, in the talk of `halfsplit guide`: what is written down for who takes over.

Knows sentences; that it is handed over, and how the machine is left, is the diagnosis' to say.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.cli.output import percent
from halfsplit.cli.talking import Talk
from halfsplit.evidence import finding as f
from halfsplit.service import proving, repairing
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping

WRITE = "Write down for who takes over:"
PROMPT = "[undo if it can be made after all, cannot, why, causes, further; or stop]"
"""What is asked once a repair is handed over."""
TYPE = "It is handed over. Type undo if it can be made after all, cannot, why, causes, further, or stop."
TRADES = frozenset({*stopping.HANDED_OVER.values(), stopping.NOT_DEAD})
"""The stop rules by which what is due is handed over."""
OTHERS = "It is the work of: {trades}."


def tell_note(talk: Talk, guided: Guided, names: Sequence[str]) -> None:
    """What is due and how surely, why it is not made here, what was found, and how the machine is left."""
    due = [guided.weighed.candidates.repairs[name] for name in names]
    price, currency = sum(one.price for one in due), guided.machine.currency
    parts = f", {price:.0f} {currency} for parts" if price else ""
    talk.say(WRITE, 2)
    talk.say(f"- Due: {' and '.join(names)} ({percent(guided.cures)} sure{parts}). {_why(guided, names)}", 4)
    found = [one.label for one in guided.all_findings if isinstance(one, f.Found | f.Tried)]
    if found:
        talk.say(f"- Found: {'; '.join(found)}.", 4)
    talk.say(f"- {_left(guided)}", 4)


def _why(guided: Guided, names: Sequence[str]) -> str:
    """Why it is not made here, in short."""
    due = [guided.weighed.candidates.repairs[name] for name in names]
    if why := repairing.why_barred(guided, due):
        return f"Not made: {repairing.IN_SHORT[why]}."
    return OTHERS.format(trades=" and ".join(dict.fromkeys(one.by for one in due if one.by != "repairer")))


def _left(guided: Guided) -> str:
    """How the machine is left once the list for putting together is done."""
    tasks = proving.left_as_it_is(guided).tasks
    tag, open_ = (next((task.to for task in tasks if task.kind == kind), "") for kind in ("tag", "leave"))
    if open_:
        return f"Left: {open_}; its power off; do not switch on: {tag}."
    if tag:
        return f"Left: put together, its power off; do not switch on: {tag}."
    return "Left: put together, not mended; its power as its owner had it."
