"""Places of the house as a person is told them, in any sentence; files, commands and data keep `part.terminal`.

Knows the machine's terminals; nothing of steps. Terminals of the machine itself are told as its file writes them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeVar

from halfsplit.machine import model

Data = TypeVar("Data")
UNSAID = "something this file does not say"
"""What is at fault where no cause of the machine's file is."""
_JOINING = {"joint": "joint at", "wire": "wire from"}
"""What begins the name of a joint's or a wire's fault, and how it goes on to a place in words."""


def place(machine: model.Machine, terminal: str) -> str:
    """A terminal as a person is told it: at the wall the plug's prongs, which are dead when it is out, and the
    receptacle's slots, which are not, are never taken for each other.

    >>> from halfsplit.machine import loading
    >>> dryer = loading.load("vented-dryer")
    >>> [place(dryer, one) for one in ("receptacle.prong L1", "receptacle.L1", "breaker.load L1", "motor.hold")]
    ["the plug's L1 prong", "the receptacle's L1 slot", "the breaker's load L1 terminal", 'motor.hold']
    """
    part = machine.parts.get(model.part_of(terminal))
    if part is None or not part.house or "." not in terminal:
        return terminal
    contact = terminal.split(".", 1)[1].removeprefix(model.HIDDEN)
    if part.symbol != "receptacle":
        return f"the {part.title or part.name}'s {contact} terminal"
    prong = contact.removeprefix("prong ")
    return f"the plug's {prong} prong" if prong != contact else f"the {part.title or part.name}'s {contact} slot"


def thing(machine: model.Machine, at: str) -> str:
    """A part or terminal to look at: a receptacle of the house is the wall's, for a machine may have some of its own.

    >>> from halfsplit.machine import loading
    >>> cooktop = loading.load("coil-cooktop")
    >>> thing(cooktop, "receptacle"), thing(cooktop, "left front receptacle"), thing(cooktop, "breaker")
    ('the wall receptacle', 'left front receptacle', 'breaker')
    """
    part = machine.parts.get(at)
    at_the_wall = part is not None and part.house and part.symbol == "receptacle"
    return f"the wall {part.title or part.name}" if part is not None and at_the_wall else place(machine, at)


ALL_OUTSIDE = "all in outside"
"""What lies in no bay, as a way to provoke has it."""


def told(machine: model.Machine, text: str) -> str:
    """A text with every terminal of the house in it as a person is told it.

    >>> from halfsplit.machine import loading
    >>> told(loading.load("vented-dryer"), "wire receptacle.prong L1 to terminal block.L1: broken")
    "wire from the plug's L1 prong to terminal block.L1: broken"
    >>> told(loading.load("vented-dryer"), "Look at receptacle.prong L1: fine, burnt?")
    "Look at the plug's L1 prong: fine, burnt?"
    >>> told(loading.load("vented-dryer"), "ohms, heater.front to heater.rear (shake all in outside): OL")
    'ohms, heater.front to heater.rear (shake the cord and all else outside): OL'
    """
    text = text.replace(ALL_OUTSIDE, "the cord and all else outside")
    known = sorted((t for t in machine.terminals if f"{model.part_of(t)}." in text), key=len, reverse=True)
    if not any(machine.parts[model.part_of(terminal)].house for terminal in known):
        return text
    any_of_them = "|".join(map(re.escape, known))  # the machine's own too: `my receptacle.L` is not the wall's
    found = re.compile(rf"(?:\b(joint|wire) )?(?<![\w.])({any_of_them})(?!\w)")
    return found.sub(lambda match: _in_words(machine, match), text)


def _in_words(machine: model.Machine, match: re.Match[str]) -> str:
    joining, terminal = match.groups()
    said = place(machine, terminal)
    return match[0] if said == terminal else f"{_JOINING[joining]} {said}" if joining else said


TO_COPY = frozenset({"write"})
"""Keys of what is copied into a file, and stays as that wants it."""


def for_people(machine: model.Machine, data: Data) -> Data:
    """Data with every text in it as a person is told it, to be printed; what is given to tools stays as it is.

    >>> from halfsplit.machine import loading
    >>> for_people(loading.load("vented-dryer"), {"faults": ["joint receptacle.prong N: off"], "probability": 0.5})
    {'faults': ["joint at the plug's N prong: off"], 'probability': 0.5}
    """
    made: object = data
    if isinstance(data, str):
        made = told(machine, data)
    elif isinstance(data, Mapping):
        made = {key: value if key in TO_COPY else for_people(machine, value) for key, value in data.items()}
    elif isinstance(data, list | tuple):
        made = type(data)(for_people(machine, value) for value in data)
    return made  # type: ignore[return-value]
