"""Controls that stand away from rest, in words: a machine is switched off at them before its plug is pulled or put in.

Knows the machine and how it stands; neither steps nor findings.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from halfsplit.machine import model
from halfsplit.operate.condition import WARMTH, Condition, cut_off


def away(machine: model.Machine, at: Condition | None) -> dict[str, str]:
    """The controls that a hand has set with nothing opened and that stay there, away from rest, each with its position.
    None of a machine as its owner left it, nor the plug and the breaker, nor what springs back.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate import condition as conditions
    >>> away(loading.load("vented-dryer"), conditions.usual(loading.load("vented-dryer")))
    {'cycle': 'timed'}
    """
    known = machine.controls
    return {c: p for c, p in _set(machine, at) if not known[c].momentary}


def at_rest(machine: model.Machine, at: Condition | None) -> str:
    """How these controls stand at rest, in a few words; "" where all of them do.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate import condition as conditions
    >>> at_rest(loading.load("vented-dryer"), conditions.usual(loading.load("vented-dryer")))
    'cycle off'
    """
    return ", ".join(f"{control} {machine.controls[control].rest}" for control in away(machine, at))


def before_off(machine: model.Machine, at: Condition | None) -> Iterator[str]:
    """What comes before a machine under power is isolated, or its plug pulled: nothing where nothing is set."""
    if at and not cut_off(machine, at) and (back := at_rest(machine, at)):
        yield f"First set back: {back}."


def before_on(machine: model.Machine, at: Condition | None) -> Iterator[str]:
    """What comes before the power is back on a machine that is cut off: nothing where nothing is set."""
    if at and cut_off(machine, at) and (back := at_rest(machine, at)):
        yield f"Set back first: {back}."


def after_run(machine: model.Machine, stood: Iterable[Condition]) -> Iterator[str]:
    """What comes after a proof run that was broken off, in which the machine `stood` in these settings: what follows
    takes it to be as its owner leaves it. Nothing where nothing was set.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate import condition as conditions
    >>> list(after_run(loading.load("vented-dryer"), [conditions.usual(loading.load("vented-dryer"))]))
    ['Set back what the proof run has set: cycle off.']
    >>> fridge = loading.load("refrigerator")
    >>> list(after_run(fridge, [conditions.condition(fridge, {"defrost": "defrost"})]))
    ['If defrost was turned behind the kick plate: turn it back to cooling there, dead, before that goes on.']
    """
    ran = list(stood)
    moved = dict.fromkeys(control for at in ran for control in away(machine, at))
    if back := ", ".join(f"{control} {machine.controls[control].rest}" for control in moved):
        yield f"Set back what the proof run has set: {back}."
    inside, known = machine.inside, machine.controls
    for control in dict.fromkeys(c for at in ran for c, p in at.setting if c in inside and p != known[c].rest):
        rest, bay = known[control].rest, inside[control]
        yield f"If {control} was turned behind the {bay}: turn it back to {rest} there, dead, before that goes on."


def still(machine: model.Machine, at: Condition, told: Collection[str]) -> Iterator[str]:
    """How the controls stand that are away from rest from a step before, but for those `told`: what a dead reading
    shows may hang on them, and nobody remembers.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate import condition as conditions
    >>> list(still(loading.load("vented-dryer"), conditions.usual(loading.load("vented-dryer")), ()))
    ['Still set: cycle timed.']
    """
    stand = ", ".join(f"{control} {position}" for control, position in away(machine, at).items() if control not in told)
    if stand:
        yield f"Still set: {stand}."


def again(machine: model.Machine, at: Condition) -> str:
    """How all that was set back is set again, what springs back with it; "" where nothing was set."""
    return ", ".join(f"{c} {p}" for c, p in _set(machine, at)) if away(machine, at) else ""


def _set(machine: model.Machine, at: Condition | None) -> Iterator[tuple[str, str]]:
    """What a hand has set away from rest with nothing opened."""
    feeds = machine.house_controls | {WARMTH, *machine.inside}
    set_to = at.setting if at else ()
    yield from ((c, p) for c, p in set_to if c not in feeds and p != machine.controls[c].rest)
