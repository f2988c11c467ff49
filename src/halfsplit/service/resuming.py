"""How a machine is taken to stand where a job goes on from its findings, in one sentence: what hands have left open,
off or in another's place.

Knows the guided diagnosis; how it is made good is `in_short`'s.
"""

from __future__ import annotations

from collections.abc import Collection

from halfsplit.service import advising, naming
from halfsplit.service.guiding import Guided


def said(guided: Guided) -> str:
    """All of that, and what is to be done where it does not stand so; "" where hands have left nothing.

    >>> from halfsplit.evidence import finding as f
    >>> from halfsplit.evidence.weighing import Bench
    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate import condition as conditions
    >>> from halfsplit.plan.score import Adviser
    >>> from halfsplit.predict.readings import Probe
    >>> heater = loading.load("water-heater")
    >>> off = conditions.condition(heater, isolated=True, lift=["upper element.1"])
    >>> read = f.Reading(Probe("ohms", "upper element.1", "upper element.2"), off, 12.5, text="12.5")
    >>> bench = Adviser(Bench(heater))
    >>> said(Guided(bench, (read,)))[:82]
    'It is taken to stand as it was left: open: upper cover; wires off: upper element.1'
    >>> said(Guided(bench))
    ''
    """
    state = advising.standing(guided.asked, guided.findings, guided.refused)
    stands = (
        ("open", state.open_bays),
        ("perhaps open", state.perhaps_open - state.open_bays),
        ("wires off", state.lifted),
        ("perhaps wires off", state.perhaps_off - set(state.lifted)),
        ("in each other's places", [" and ".join(state.exchange)] if state.exchange else []),
    )
    found = [f"{how}: {_listed(guided, names)}" for how, names in stands if names]
    return f"It is taken to stand as it was left: {'; '.join(found)}. {ELSE}" if found else ""


def _listed(guided: Guided, names: Collection[str]) -> str:
    return ", ".join(naming.told(guided.machine, one) for one in sorted(names))


ELSE = "Where it was put together since, write that below its findings first (- closed: {power: off}, or on)."
"""What is to be done where it stands otherwise."""
