"""The end of the talk of `halfsplit guide`: the repair, putting together, the proof run; or that nothing is left to do.

Knows sentences; decides nothing about faults.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.cli.output import percent
from halfsplit.cli.talking import Talk
from halfsplit.errors import NotUnderstood
from halfsplit.modes.fault import Repair
from halfsplit.quantity.display import duration
from halfsplit.service import answers, closing, deciding, proving
from halfsplit.service.advising import Advice
from halfsplit.service.guiding import Guided
from halfsplit.service.repairing import Work
from halfsplit.work.together import Closing


def tell_repairs(talk: Talk, guided: Guided, work: Work) -> None:
    """The repairs with their price and minutes, how the machine is put together, what the proof run must show."""
    _repair(talk, work)
    put_together(talk, guided, work.closed)
    talk.say("Prove it:", 2)
    for check in proving.sentences(guided):
        talk.say(f"- {check}", 4)


def _repair(talk: Talk, work: Work) -> None:
    """What is done, in the order in which it is done: the machine made safe and opened first."""
    for sentence in work.first:
        talk.say(sentence, 2)
    talk.say(f"Repair: {work.name}. {duration(work.minutes)}, {work.price:.0f} {work.currency} for parts.", 2)
    if work.trip:
        talk.say(f"Not on the van: a second trip ({duration(work.trip)}).", 2)
    for trade in work.by:
        if trade != "repairer":
            talk.say(f"This is the work of: {trade}. Local codes rule.", 2)


def tell_stop(talk: Talk, guided: Guided, advice: Advice) -> None:
    """What comes with a stop: why, and where the machine is left the likeliest causes and how it is closed."""
    talk.say(advice.reason, 2)
    if guided.leaves:
        talk.say("Likeliest:", 2)
        tell_causes(talk, guided, 3)


def put_together(talk: Talk, guided: Guided, closed: Closing) -> None:
    """How the machine is put together."""
    talk.say("Put together, in this order:", 2)
    for number, sentence in enumerate(closing.sentences(guided.machine, closed), 1):
        talk.say(f"{number:>2}  {sentence}", 4)


def gone(talk: Talk, guided: Guided, due: Sequence[Repair]) -> bool | None:
    """Whether the complaint is gone after the repair; None for undo. Tells why it is made, where that is asked."""
    while True:
        typed = talk.ask("Done and checked: is the complaint gone? (yes / no / why / undo)")
        if typed.lower() == "undo":
            return None
        if typed.lower() == "why":
            for sentence in deciding.why(guided, due):
                talk.say(sentence, 2)
            continue
        try:
            return answers.yes(typed)
        except NotUnderstood as refusal:
            said = f"{refusal} " if typed else "Type yes if the complaint is gone, no if it is still there. "
            talk.say(f"{said}Or undo, to take the last thing back, why, or stop.")


def tell_causes(talk: Talk, guided: Guided, count: int = 8) -> None:
    """The possible causes."""
    for one in guided.ranked[:count]:
        talk.say(f"{percent(one.probability):>8}  {' + '.join(one.faults) or 'nothing is wrong'}", 2)


def tell_nothing_left(talk: Talk, guided: Guided) -> None:
    """No step tells more, and no repair is sure enough."""
    talk.say("No further step would tell more. What is known:")
    tell_causes(talk, guided)
    worst = guided.weighed.worst_fit()
    if worst is not None:
        talk.say(f"If something must be wrong, take this finding again: {worst.label}", 2)
