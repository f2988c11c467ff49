"""A task of putting a machine together in words, and what is to be minded at it.

Knows tasks and names; which tasks there are and their order is work/together's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from halfsplit.machine import cautions, model
from halfsplit.service import isolating, naming
from halfsplit.work import handling, places
from halfsplit.work.hazards import (
    CAUTIONS,
    DRIPS_SAID,
    FED_DRY,
    FILL_SAID,
    GAS_SAID,
    POUR_SAID,
    POURED_DRIPS_SAID,
    Kind,
    gravest_first,
)
from halfsplit.work.together import Task


def acknowledge(made: Iterable[Task]) -> list[str]:
    """What is to be acknowledged before tasks, each with its signal word and where, gravest first."""
    return list(gravest_first(_caution(task.at, one) for task in made for one in task.cautions))


def _caution(at: str, told: str) -> str:
    """With its place, but where it has none, or a hazard says it in words of its own."""
    if not at or told in map(": ".join, CAUTIONS.values()):
        return told
    hazard = places.hazard_of(cautions.read(told))
    return ": ".join(CAUTIONS[hazard]) if hazard else cautions.placed(at, told)


def taken_by(people: int) -> str:
    """That a cover takes more than one person, where it is named; "" where one is enough.

    >>> taken_by(2), taken_by(1)
    (' (two people)', '')
    """
    return f" ({so_many(people)})" if people > 1 else ""


def so_many(people: int) -> str:
    """More than one person, in words.

    >>> so_many(2), so_many(3)
    ('two people', '3 people')
    """
    return f"{'two' if people == 2 else people} people"


def sentence(machine: model.Machine, task: Task) -> str:
    """One task in words."""
    said = _OF_MACHINE[task.kind](machine, task) if task.kind in _OF_MACHINE else _SAID[task.kind](task)
    return naming.told(machine, said)


def sentences(machine: model.Machine, made: Sequence[Task]) -> list[str]:
    """Tasks in words, in order; after the last ohms that the power waits for, what is done where they are not so."""
    said = [sentence(machine, task) for task in made]
    measured = [place for place, task in enumerate(made) if task.kind in ("insulation", "earth")]
    for place in measured[-1:]:
        said[place] = f"{said[place].removesuffix(LEADS_OFF)}{ELSE_OFF} {LEADS_OFF}"
    return said


ELSE_OFF = "Any ohms not so: leave the power off, go back to the search."
LEADS_OFF = "Take the leads off."


def _wires(task: Task) -> str:
    wires = ", ".join(f"{colour} from {end}" for colour, end in task.wires)
    return f"Wires back on {task.at}: {wires}; as on the photograph, each holds when pulled."


def _ground(task: Task) -> str:
    if not task.wires:
        return f"The {task.at} from {task.to} to the frame: on and tight."
    wires = ", ".join(f"{colour} from {end}" for colour, end in task.wires)
    return f"Ground screw at {task.at}: {wires}, on and tight."


def _also(task: Task) -> str:
    thing, off, place = task.to.partition(" off ")
    return f"{thing[:1].upper()}{thing[1:]} back on {place}." if off else f"Put right again: {task.to}."


def _cover(task: Task) -> str:
    held = ", ".join(map(str, task.fasteners))
    closed = f"Close the {task.at}{taken_by(task.people)}"
    return f"{closed}: {held}." if held else f"{closed}."


def _fasten(task: Task) -> str:
    if task.to:
        return _also(task)
    held = ", ".join(map(str, task.fasteners))
    return f"The new {task.at} in its place: {held}." if held else f"The new {task.at} in its place."


def _count(task: Task) -> str:
    many = sum(one.count for one in task.fasteners)
    kinds = ", ".join(map(str, task.fasteners))
    return f"Count: {many} fastener{'s' if many != 1 else ''} in all ({kinds}); none is left over."


def _meter(task: Task) -> str:
    if task.at:
        return "Take the meter and every tool away that lies outside it; what is clipped, taped or lies in it stays."
    also = f", any {task.to}" if task.to else ""
    return f"Take the meter, its clips{also} and every tool off the machine."


def _isolate(machine: model.Machine, task: Task) -> str:
    return isolating.isolate(machine, volts=task.to, breaker=bool(task.at))


def _leave(task: Task) -> str:
    return f"{task.used} {LEAVE_SO.format(what=task.to)}" if task.to else task.used


LEAVE_SO = "Leave as it is, and write down for who takes over: {what}."
"""What is said of what nobody makes good."""


def _fill(machine: model.Machine, task: Task) -> str:
    filled = (FILL_SAID if task.at else POUR_SAID).format(cock=task.to, tap=task.at, drain=task.used)
    return f"{filled} {FED_DRY}" if handling.heats_water(machine) else filled


def _drips(machine: model.Machine, task: Task) -> str:
    pressed = machine.water is not None and machine.water.tap
    return (DRIPS_SAID if pressed else POURED_DRIPS_SAID).format(part=task.at)


def numbered(kinds: Iterable[str]) -> Iterator[str]:
    """The number of each task on a list, by its kind; "" for a note, which is nothing to do.

    >>> list(numbered(["meter", "note", "power"]))
    ['1', '', '2']
    """
    count = 0
    for kind in kinds:
        count += kind != NOTE
        yield "" if kind == NOTE else str(count)


NOTE = "note"


def _insulation(task: Task) -> str:
    held = f" ({', '.join(map(str, task.fasteners))})" if task.fasteners else ""
    opened = f"open the {task.at}{taken_by(task.people)}{held}, " if task.at else ""
    used, back = (f", set {task.used}", " Then set it back.") if task.used else ("", "")
    return f"Still dead{used}: {opened}{task.to}.{back} {LEADS_OFF}"


_SAID: dict[str, Callable[[Task], str]] = {
    "discharge": lambda task: task.to,
    "meter": _meter,
    "leave": _leave,
    "exchange": lambda task: f"Put {task.at} back, each in its own place; a new part goes where the old one belongs.",
    "fasten": _fasten,
    "provoke": lambda task: task.to,
    NOTE: lambda task: f"Note: {task.to}",
    "plug in": lambda task: f"Plug the {task.at} in, or the new one in its place.",
    "wires": _wires,
    "setting": lambda task: f"Set {task.at} back to {task.to}.",
    "pipe": lambda _: GAS_SAID[Kind.JOIN_PIPE],
    "gas": lambda task: GAS_SAID[Kind.GAS_ON].format(cock=task.at),
    "leak": lambda _: GAS_SAID[Kind.LEAK_TEST],
    "shut": lambda task: f"Leave the gas shut at the cock ({task.at}): see that it is.",
    "gas off": lambda task: f"Shut the gas cock ({task.at}), and leave it shut.",
    "also": _also,
    "ground": _ground,
    "no bond": lambda task: f"No {task.at} from {task.to} to the frame: see that none was put in.",
    "connector": lambda task: f"Plug the connector of {task.at} in again, if it is not.",
    "cover": _cover,
    "count": _count,
    "insulation": _insulation,
    "earth": lambda task: f"Before the power: ohms from {task.at} to {task.to}, below 1 ohm. {LEADS_OFF}",
    "panel": lambda task: f"Only now, hands clear: {task.to}.",
    "power": lambda task: f"Power last, hands clear: {task.at} {task.to}.",
    "judge": lambda task: (
        f"Only where it is safe to use as it is, hands clear: {task.at} {task.to}. Else leave it isolated, and tag it."
    ),
    "tag": lambda task: f"No power: {task.at} off, with a tag on it: do not switch on; {task.to}.",
}
_OF_MACHINE: dict[str, Callable[[model.Machine, Task], str]] = {"isolate": _isolate, "fill": _fill, "drips": _drips}
