"""What a person asks for, by name: conditions, faults, leads. Every mistake at once, with the nearest names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager

from halfsplit.circuit.assembly import Assembly
from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.evidence import displayed
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.modes.fault import Fault
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY, Effect, effect
from halfsplit.predict.holding import refusal
from halfsplit.predict.readings import DEAD_METERS, SCALES, TWO_PLACES, Probe


class Wrong:
    """What was refused of all that was asked for, so that it is told at once."""

    def __init__(self) -> None:
        self.said: list[str] = []

    @contextmanager
    def gathered(self) -> Iterator[None]:
        """Notes what is refused within, and goes on after it."""
        try:
            yield
        except WrongUse as refusal:
            self.said.append(str(refusal))

    def tell(self) -> None:
        """Raises WrongUse with all of it, if there is any."""
        if self.said:
            raise WrongUse(" ".join(self.said))


def condition(
    machine: model.Machine, set_: Iterable[str], isolated: bool, lift: Iterable[str], places: Iterable[str] = ()
) -> Condition:
    """The condition that `CONTROL=VALUE` texts (or names of settings) ask for; the rest stands at rest, but for the
    warmth that opening the way to `places` and to what is lifted leaves."""
    given: dict[str, str] = {}
    said: Said = {}
    wrong, off = Wrong(), tuple(lift)
    for text in set_:
        with wrong.gathered():
            more = _setting(machine, text)
            _agrees(said, text, more)
            given |= more
    wrong.said += [_no_terminal(machine, terminal) for terminal in off if model.is_inner(terminal)]
    with wrong.gathered():
        at = conditions.condition(machine, conditions.as_reached(machine, given, (*places, *off)), isolated, off)
    wrong.tell()
    return at


Said = dict[tuple[bool, str], tuple[str, str]]
"""Position and text by control, and by whether a named setting put it there."""


def _agrees(said: Said, text: str, more: dict[str, str]) -> None:
    """Notes what was `said` of each control; after a named setting a control may be put elsewhere by its own name.
    Raises WrongUse where two contradict."""
    named = "=" not in text
    known = {control: said[named, control] for control in more if (named, control) in said}
    against = {other: control for control, (position, other) in known.items() if position != more[control]}
    said |= {(named, control): (position, text) for control, position in more.items()}
    if against:
        both = (f"{other!r} and {text!r} contradict each other ({control})." for other, control in against.items())
        raise WrongUse(" ".join(both), "Leave one of them out.")


def _setting(machine: model.Machine, text: str) -> dict[str, str]:
    """One `CONTROL=VALUE`, or all of a setting that the file names."""
    control, equals, position = (piece.strip() for piece in text.partition("="))
    if equals:
        return {control: position}
    if control in machine.settings:
        return dict(machine.settings[control])
    raise WrongUse(f"No setting {control!r}.", f"Write CONTROL=VALUE. {did_you_mean(control, machine.settings)}")


def probe(machine: model.Machine, meter: str, red: str, black: str) -> Probe:
    """The meter's function and its leads. Raises WrongUse for an unknown function or terminal."""
    problems = [] if meter in SCALES else [f"No meter {meter!r}. {did_you_mean(meter, SCALES)}"]
    alone = meter in displayed.ONE_PLACE
    if alone and black:
        problems.append(f"{displayed.no_black(meter)} {displayed.HELD}")
    for lead, terminal in (("red", red), *(() if alone else (("black", black),))):
        if not terminal:
            problems.append(f"Where does {lead} go? Add --{lead} PART.TERMINAL.")
        elif terminal not in machine.reachable:
            problems.append(_no_terminal(machine, terminal))
        elif (wrong := refusal(machine, meter, terminal)) is not None:
            problems.append(" ".join(wrong))
    if not alone and red and red == black:
        problems.append(f"Red and black are both on {red!r}. {TWO_PLACES}")
    if problems:
        raise WrongUse(" ".join(problems))
    return Probe(meter, red, "" if alone else black)


def _no_terminal(machine: model.Machine, terminal: str) -> str:
    return f"No terminal {terminal!r}. {did_you_mean(terminal, machine.reachable)}"


def isolated(meter: str, stated: bool) -> bool:
    """Ohms, continuity and capacitance are read on an isolated machine whether that is stated or not."""
    return stated or meter in DEAD_METERS


def faults(machine: model.Machine, names: Iterable[str]) -> list[Fault]:
    """The faults of these names. Raises WrongUse with every unknown one."""
    known = listing.by_name(machine)
    wanted = list(names)
    problems = [f"No fault {name!r}. {did_you_mean(name, known)}" for name in wanted if name not in known]
    if problems:
        raise WrongUse(" ".join(problems))
    return [known[name] for name in wanted]


def together(built: Assembly, wanted: Sequence[Fault]) -> Effect:
    """The effect of several faults at once, each in the likeliest of its alternatives."""
    made = HEALTHY
    for fault in wanted:
        _, changes = max(fault.alternatives, key=lambda alternative: alternative[0])
        made = made.with_(effect(built, changes))
    return made
