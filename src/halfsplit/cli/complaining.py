"""How a guided job begins: which machine, and what its owner complains of, typed or told by a hidden fault.

Knows sentences and how a complaint may be typed; decides nothing about faults.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from halfsplit.cli.talking import Talk
from halfsplit.errors import NotUnderstood
from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.plan.score import Adviser
from halfsplit.rehearse.truth import Truth
from halfsplit.service import answers, guiding, hidden, machines, replaying, resuming
from halfsplit.service.guiding import Guided

Tell = Callable[[f.Finding], None]
"""Takes each symptom as soon as it is told, so that a talk cut short loses none."""

ANEW = "Since then the power may have been put on: what was isolated or proved before is to be so anew."
"""Said where a job is taken up again."""


def choose_machine(talk: Talk) -> str:
    """The name of a machine of the library."""
    held = machines.machines()["machines"]
    choice = talk.chosen("Which machine?", [one["title"] for one in held], shown=True)
    return str(held[choice]["name"])


def own(talk: Talk) -> bool:
    """Whether the person types own findings; else a fault is drawn and hidden."""
    question = "Shall a fault be drawn and hidden, or do you type your own findings?"
    return talk.chosen(question, ("drawn", "own")) == 1


def of_hidden(talk: Talk, adviser: Adviser, seed: int | None, tell: Tell) -> Truth:
    """Draws a fault; its owner complains."""
    secret, told = hidden.draw(adviser, seed)
    talk.say("A fault is hidden in it. Press Enter to do a step: the machine answers. The owner says:")
    for found in told:
        tell(found)
    return secret


def resumed(talk: Talk, guided: Guided, before: Sequence[f.Finding]) -> Guided:
    """The job where these findings of another day have led it, each told. Nothing counts as proved any more."""
    talk.say("Found before:")
    for one in before:
        talk.say(f"- {one.label}", 2)
    there = replaying.replayed(guided.asked, before, limits=guided.limits)
    if stands := resuming.said(there):
        talk.say(stands)
    talk.say(ANEW)
    return there.resumed()


def asked(talk: Talk, symptoms: Mapping[str, model.Symptom], tell: Tell, undo: Callable[[], None]) -> None:
    """Asks what the owner complains of, until nothing more is typed; `undo` takes the last back."""
    talk.say("What does the owner say? Which of these have you been told?")
    for number, symptom in enumerate(symptoms.values(), 1):
        talk.say(f"{number:>2}  {symptom.question or symptom.name}", 2)
    while typed := talk.ask("Number and yes or no, as in: 3 no (Enter: that is all)"):
        if typed.lower() == "undo":
            undo()
            continue
        complaint = _understood(talk, typed, list(symptoms))
        if complaint:
            tell(complaint)


def _understood(talk: Talk, typed: str, names: Sequence[str]) -> f.Finding | None:
    """One complaint as it was typed; None where that was said to mean nothing."""
    number, _, word = typed.partition(" ")
    if not number.isdecimal() or not 1 <= int(number) <= len(names):
        talk.say(
            f"{answers.quoted(typed)} does not begin with a number from 1 to {len(names)}. Type the number of a "
            "question above, a blank, and yes or no, as in: 3 no."
        )
        return None
    try:
        return guiding.complaint(names[int(number) - 1], answers.yes(word))
    except NotUnderstood as refusal:
        said = f"Question {number} has no answer yet." if not word.strip() else str(refusal)
        talk.say(f"{said} Type it as in: {number} yes.")
        return None
