"""Settings and conditions: how the controls stand, and what else decides what a lead would find.

Knows the machine's controls and how warm it may be; nothing of networks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import model, twins
from halfsplit.modes.fault import HEAT, LOAD_SUPPLY, WARM

WARMTH = "warmth"
"""Beside the controls a setting says how warm the machine is; the coldest is its rest."""
MOMENTARY = ("untouched", "held", "pressed")

Setting = tuple[tuple[str, str], ...]


class UnknownSetting(WrongUse):
    """A control or a position that the machine does not have."""


@dataclass(frozen=True)
class Condition:
    """A setting (every control, in the machine's order), isolated or not, and the terminals whose wires are off.

    `provoke`: what is done meanwhile to bring out a fault that comes and goes ("shake door switch", "heat limit",
    "turn motor", "load the supply"). It changes no network, only how surely such a fault shows. But for "warm limit": a
    thermostat is warmed with hot air until it acts, and what is read is read of one that has acted.

    `exchange`: two twins that stand in each other's places (see `machine.twins`), made with the machine isolated. Names
    of their terminals and of symptoms then mean the places: `left front burner.1` is the blade that sits in the left
    front receptacle, whichever burner it belongs to. So to exchange them is the same as to exchange their own faults.
    """

    setting: Setting
    isolated: bool = False
    lift: tuple[str, ...] = ()
    provoke: str = ""
    exchange: twins.Exchange = ()

    @property
    def own(self) -> Condition:
        """The same with every part in its own place."""
        return replace(self, exchange=()) if self.exchange else self

    @property
    def still(self) -> Condition:
        """The same with nothing shaken, heated, turned or loaded, which decides what is read. A thermostat that is
        warmed until it acts stays warm."""
        return replace(self, provoke="") if self.provoke and not self.warmed else self

    @property
    def lasting(self) -> Condition:
        """How the machine stands afterwards: what was shaken, heated, turned or warmed is over, while a load stays
        on."""
        return replace(self, provoke="") if self.provoke and not self.loads else self

    @property
    def loads(self) -> bool:
        """Whether the supply is loaded until what gives way under it does."""
        return self.provoke == LOAD_SUPPLY

    @property
    def warmed(self) -> str:
        """The part whose thermostat is warmed with hot air until it acts; "" where none is."""
        return self.provoke.removeprefix(WARM) if self.provoke.startswith(WARM) else ""

    @property
    def in_hot_air(self) -> bool:
        """Whether hot air is blown at something, for whatever reason."""
        return self.provoke.startswith((HEAT, WARM))

    def position(self, control: str) -> str:
        """Where a control (or the warmth) stands."""
        return dict(self.setting)[control]


def cut_off(machine: model.Machine, at: Condition) -> bool:
    """Whether the machine is cut off from its feed: isolated, or with the plug out for a reading at the wall."""
    return at.isolated or set(machine.supply.isolates) <= set(at.setting) or at_the_wall(machine, at)


def at_the_wall(machine: model.Machine, at: Condition) -> bool:
    """Whether the plug is out for a reading at the wall, and nothing else cuts the machine off."""
    out = set(unplugged(machine).items())
    return not at.isolated and bool(out) and out <= set(at.setting)


def unplugged(machine: model.Machine) -> dict[str, str]:
    """How the plug stands when it is out for a reading at the wall; nothing of a machine that is wired in.

    >>> from halfsplit.machine import loading
    >>> unplugged(loading.load("vented-dryer")), unplugged(loading.load("water-heater"))
    ({'plug': 'out'}, {})
    """
    return {} if machine.supply.hard_wired else {model.PLUG: machine.controls[model.PLUG].positions[1]}


def turned_inside(machine: model.Machine, now: Condition | None, at: Condition) -> tuple[str, ...]:
    """The controls that hands turn behind a cover from one condition (None: all at rest) to another.

    >>> from halfsplit.machine import loading
    >>> fridge = loading.load("refrigerator")
    >>> turned_inside(fridge, None, condition(fridge, {"defrost": "defrost", "door": "open"}))
    ('defrost',)
    """
    before, known = dict(now.setting) if now else {}, machine.controls
    return tuple(c for c, p in at.setting if c in machine.inside and p != before.get(c, known[c].rest))


def stands_inside(machine: model.Machine, at: Condition) -> dict[str, str]:
    """How the controls stand that are turned behind a cover."""
    return {c: position for c, position in at.setting if c in machine.inside}


def positions(machine: model.Machine) -> dict[str, tuple[str, ...]]:
    """Every control with its positions, rest first; and the warmth where the file gives temperatures."""
    known = {name: control.positions for name, control in machine.controls.items()}
    return known | ({WARMTH: machine.warmths} if machine.warmths else {})


def condition(
    machine: model.Machine,
    given: Mapping[str, str] | Iterable[tuple[str, str]] = (),
    isolated: bool = False,
    lift: Iterable[str] = (),
    provoke: str = "",
    exchange: Iterable[str] = (),
) -> Condition:
    """The condition with what is not given at rest. Raises UnknownSetting with every mistake at once, and WrongUse for
    an exchange of parts that are no twins."""
    wanted, known = dict(given), positions(machine)
    problems = [problem for control, position in wanted.items() for problem in _mistakes(known, control, position)]
    problems += [f"No terminal {t!r}. {did_you_mean(t, machine.reachable)}" for t in lift if t not in machine.terminals]
    if problems:
        raise UnknownSetting(" ".join(problems))
    setting = tuple((control, wanted.get(control, places[0])) for control, places in known.items())
    return Condition(setting, isolated, tuple(sorted(lift)), provoke, twins.known(machine, tuple(exchange)))


def as_reached(
    machine: model.Machine, given: Mapping[str, str] | Iterable[tuple[str, str]], places: Iterable[str]
) -> dict[str, str]:
    """What is given of a setting, at the warmth that opening the bays of these places leaves unless it names another.

    >>> from halfsplit.machine import loading
    >>> fridge = loading.load("refrigerator")
    >>> as_reached(fridge, {}, ["terminator.1"]), as_reached(fridge, {}, ["cord block.L"])
    ({'warmth': 'warm'}, {})
    >>> as_reached(fridge, {"warmth": "working"}, ["terminator.1"])
    {'warmth': 'working'}
    """
    left = machine.warmth_behind(places)
    return ({WARMTH: left} if left else {}) | dict(given)


def at_warmth(at: Condition, warmth: str) -> Condition:
    """The same condition at another warmth; as it is where none is named."""
    return replace(at, setting=tuple(dict(at.setting, **{WARMTH: warmth}).items())) if warmth else at


def moved(at: Condition, control: str, position: str) -> Condition:
    """The same condition with one control elsewhere."""
    return replace(at, setting=tuple(dict(at.setting, **{control: position}).items()))


def not_set(machine: model.Machine, at: Condition) -> Condition:
    """The same with every control at rest and nothing warmed, as where that was forgotten; a warmth that opening a bay
    leaves cannot be forgotten."""
    warmth = dict(at.setting).get(WARMTH, "")
    rest = replace(condition(machine, (), at.isolated, at.lift), exchange=at.exchange)
    return at_warmth(rest, warmth if warmth in machine.left_at.values() else "")


def of_seen(machine: model.Machine, seen: model.Seen) -> Condition:
    """The condition of a reading that was seen on a healthy machine."""
    places = [place for place in (seen.red, seen.black, *seen.lift) if place]
    return condition(machine, as_reached(machine, seen.setting, places), seen.isolated, seen.lift)


def _mistakes(known: Mapping[str, tuple[str, ...]], control: str, position: str) -> Iterable[str]:
    if control not in known:
        yield f"No control {control!r}. {did_you_mean(control, known)}"
    elif position not in known[control]:
        yield f"Control {control!r} has no position {position!r}. {did_you_mean(position, known[control])}"


def usual(machine: model.Machine) -> Condition:
    """As an owner uses the machine: the first setting that the file names; the one that a complaint is about."""
    return condition(machine, next(iter(machine.settings.values()), ()))


def rest(machine: model.Machine) -> Condition:
    """Plugged in and left alone."""
    return condition(machine)


def live_settings(machine: model.Machine) -> list[Setting]:
    """Live settings: plugged in and left alone, and the named ones; at the warmth that they name.

    Where they name none, at rest's warmth and at work's, the next one: warmer ones (overheated) are nothing to
    bring about on purpose under power.
    """
    found = [condition(machine).setting]
    for setting in machine.settings.values():
        named = dict(setting).get(WARMTH)
        for warmth in (named,) if named else machine.warmths[:2] or ("",):
            given = dict(setting) | ({WARMTH: warmth} if warmth else {})
            found.append(condition(machine, given).setting)
    return list(dict.fromkeys(found))
