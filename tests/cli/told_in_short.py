"""How a machine is left, as the plan on paper tells it in one line, turned back into doings.

Knows the words of that line; what each doing does is `account`'s. Words that no pattern knows give UNKNOWN.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from halfsplit.machine import model
from tests.cli.account import Account
from tests.cli.told_doings import UNKNOWN, Doing, Rule, rule

LEFT_OFF = "left off"
"""A claim: something before has switched it off."""


def in_short(machine: model.Machine, text: str, now: Account) -> list[list[Doing]]:
    """The doings of each part of the line; `now`: how the machine stands, for what is told of all that is open or set.

    >>> from halfsplit.machine import loading
    >>> heater = loading.load("water-heater")
    >>> [[one.kind for one in some] for some in in_short(heater, "close the lower cover; fill it", Account())]
    [['close'], ['fill']]
    """
    return [[*_doings(machine, part, now)] for part in re.split(r"; ", text)]


def _doings(machine: model.Machine, part: str, now: Account) -> Iterator[Doing]:
    for pattern, made in [*_power(machine), *_hands(), *_all(machine, now)]:
        if match := pattern.fullmatch(part):
            yield from made(match)
            return
    yield Doing(UNKNOWN, said=part)


def _power(machine: model.Machine) -> list[Rule]:
    how, off = machine.supply.isolates[0]
    return [
        rule(r"isolate it at the breaker", "breaker off"),
        rule(r"isolate it at the breaker, and prove it dead", "breaker off", "dead"),
        rule(r"(?:plug out or )?breaker off", "perhaps", f"{how} {off}"),
        rule(r"breaker off, with a tag: do not switch on", lambda _: iter([Doing("tag", "breaker")])),
        rule(r"a tag on it: do not switch on", lambda _: iter([Doing(LEFT_OFF), Doing("tag", how)])),
    ]


def _hands() -> list[Rule]:
    return [
        rule(r"discharge the (.+)", "discharge"),
        rule(r"wires back on (.+)", lambda m: (Doing("refit", one) for one in m[1].split(", "))),
        rule(r"close the (.+)", lambda m: (Doing("close", re.sub(r" \(\w+ people\)", "", one))
                                           for one in m[1].split(", the "))),
        rule(r"plug the (.+) in", lambda m: (Doing("plug part in", one) for one in m[1].split(", the "))),
        rule(r"put (.+) back, each in its own place", "swap back"),
        rule(r"set (.+)", lambda m: (Doing("set back", name, to)
                                     for names, to in re.findall(r"(.+?) back to ([^,]+)(?:, |$)", m[1])
                                     for name in names.split(", "))),
        rule(r"leave the gas shut", "gas is off"),
        rule(r"shut the gas", "gas off"),
        rule(r"gas shut", "perhaps", "gas off"),
        rule(r"join the gas pipe", "join"),
        rule(r"fill it", "fill"),
        rule(r"leave as it is: .+", "left so"),
    ]  # fmt: skip


def _all(machine: model.Machine, now: Account) -> list[Rule]:
    """What is told of all that is set, or open."""
    return [
        rule(r"controls off", lambda _: (Doing("set back", one.name, str(one.rest)) for one in machine.controls.values()
                                         if one.name in now.set and not one.momentary)),
        rule(r"covers closed", lambda _: (Doing("close", one) for one in reversed(now.opened()))),
    ]  # fmt: skip
