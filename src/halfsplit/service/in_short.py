"""What who leaves a machine has to make good, in one short line; all of it in order is told by `closing`.

Knows the guided diagnosis; the order is work/together's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby

from halfsplit.machine import model
from halfsplit.service import naming, proving
from halfsplit.service.guiding import Guided
from halfsplit.service.tasks import taken_by
from halfsplit.work import stopping
from halfsplit.work.together import Task

Tasks = Sequence[Task]


def left(guided: Guided, rule: str = stopping.STAYS_OFF) -> str:
    """What is set, open or off where a diagnosis stands, and how it is made good; then that the power stays off, since
    nothing is proved, or by a stop `rule` that keeps it off.

    >>> from halfsplit.evidence import finding as f
    >>> from halfsplit.evidence.weighing import Bench
    >>> from halfsplit.machine import loading
    >>> from halfsplit.operate import condition as conditions
    >>> from halfsplit.plan.score import Adviser
    >>> from halfsplit.predict.readings import Probe
    >>> fridge = loading.load("refrigerator")
    >>> dead = conditions.condition(fridge, {"defrost": "defrost"}, isolated=True)
    >>> read = f.Reading(Probe("ohms", "defrost timer.1", "defrost timer.4"), dead, 90.0, text="90")
    >>> left(Guided(Adviser(Bench(fridge)), (read,)))
    'set defrost back to cooling; close the kick plate; breaker off, with a tag: do not switch on'
    """
    tasks = [task for task in proving.left_as_it_is(guided, rule).tasks if task.kind in _SAID]
    said = [_SAID[kind](list(some)) for kind, some in groupby(tasks, lambda task: task.kind)]
    return naming.told(guided.machine, "; ".join(said))


def unproved(machine: model.Machine) -> str:
    """How a machine is left that was put together and did not prove well, whatever was set or open for it by then.

    >>> from halfsplit.machine import loading
    >>> unproved(loading.load("water-heater"))
    'controls off; breaker off; covers closed; a tag on it: do not switch on'
    """
    off = "plug out or breaker off" if "plug" in dict(machine.supply.isolates) else "breaker off"
    gas = ("gas shut",) if machine.gas else ()
    return "; ".join(("controls off", off, *gas, "covers closed", "a tag on it: do not switch on"))


def _each(before: str, after: str = "") -> Callable[[Tasks], str]:
    return lambda tasks: f"{before} {', '.join(task.at for task in tasks)}{after}"


def _settings(tasks: Tasks) -> str:
    by = {task.to: [one.at for one in tasks if one.to == task.to] for task in tasks}
    return "set " + ", ".join(f"{', '.join(controls)} back to {to}" for to, controls in by.items())


OFF = "breaker off, with a tag: do not switch on"
"""How every machine is left that was not proved."""


_SAID: dict[str, Callable[[Tasks], str]] = {
    "isolate": lambda tasks: f"isolate it at the breaker{', and prove it dead' if tasks[0].to else ''}",
    "discharge": _each("discharge the"),
    "exchange": _each("put", " back, each in its own place"),
    "plug in": lambda tasks: f"plug {', '.join(f'the {task.at}' for task in tasks)} in",
    "leave": lambda tasks: "; ".join(f"leave as it is: {task.to}" for task in tasks if task.to),
    "wires": _each("wires back on"),
    "setting": _settings,
    "pipe": lambda _: "join the gas pipe",
    "shut": lambda _: "leave the gas shut",
    "gas off": lambda _: "shut the gas",
    "fill": lambda _: "fill it",
    "cover": lambda tasks: f"close {', '.join(f'the {task.at}{taken_by(task.people)}' for task in tasks)}",
    "tag": lambda _: OFF,
}
"""What is told of each kind of task; of the others nothing: they stand in the list."""
