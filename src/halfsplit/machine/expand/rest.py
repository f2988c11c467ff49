"""The rest of a machine: controls, temperatures, bays, settings and the readings of a healthy one.

Knows the file and the scope; nothing here depends on what the parts came to.
"""

from __future__ import annotations

from collections.abc import Container, Mapping

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.machine import amounts, tree
from halfsplit.machine.expand.elements import FITTED
from halfsplit.machine.expand.scope import OUTSIDE, WARMTH, Scope
from halfsplit.machine.format import BayEntry, ControlEntry, SeenEntry
from halfsplit.machine.model import Bay, Control, Gas, Seen, Water
from halfsplit.machine.part_types import ContactSpec

__all__ = ["bays_of", "controls_of", "gas_of", "places_of", "seen_of", "settings_of", "water_of"]

ABSENT = "absent"
METERS = {"ohms": "ohm", "volts": "V", "amps": "A"}
CLAMPS = "amps"
"""The meter that is clamped around wires, and so takes no black lead."""


def controls_of(scope: Scope) -> dict[str, Control]:
    """The controls of the house, of the file, and those of straps that a hand fits or leaves off."""
    house = scope.supply.controls if scope.supply else {}
    for name in scope.file.controls:
        if name in house:
            scope.complaints.add(("controls", name), f"'{name}' is a control of the supply.", "Give this another name.")
        _no_warmth(name, ("controls", name), scope)
    found = {name: _control(name, entry) for name, entry in {**house, **scope.file.controls}.items()}
    every = {**found, **_straps(scope)}
    return {name: control for name, control in every.items() if name not in scope.broken}


def _control(name: str, entry: ControlEntry) -> Control:
    return Control(name, entry.positions, entry.momentary, entry.through or "", entry.where or "", entry.hands or "")


def _no_warmth(name: str, path: tree.Path, scope: Scope) -> None:
    """Complains of a control that is called as what a setting says beside the controls, and from then on passes over
    it in silence."""
    if name == WARMTH:
        message = f"In a setting '{WARMTH}' says how warm the machine is, so no control can be called that."
        scope.complaints.add(path, message, "Give this another name, wherever it is set.")
        scope.broken |= {name}


def _straps(scope: Scope) -> dict[str, Control]:
    """A control for every strap: its rest is what the file says of it."""
    found = {}
    for key, part in scope.file.parts.items():
        spec = scope.types.get(part.type)
        if spec is None or not any(isinstance(e, ContactSpec) and e.fitted for e in spec.elements.values()):
            continue
        fitted, name = part.values.get(FITTED), part.values.get("control", spec.values["control"].default)
        rest = (FITTED, ABSENT) if isinstance(fitted, str) and fitted.casefold() == "yes" else (ABSENT, FITTED)
        found[str(name)] = Control(str(name), rest)
        _no_warmth(str(name), ("parts", key, "control"), scope)
    return found


def check_controls(scope: Scope) -> None:
    """Looks up the mechanical parts that controls turn, and the positions in which they stand while hands are near."""
    for name, entry in scope.file.controls.items():
        if entry.hands is not None:
            scope.position(name, entry.hands, ("controls", name, "hands"))
        if entry.through is not None:
            scope.known(entry.through, scope.mechanical, "mechanical part", ("controls", name, "through"))


def places_of(scope: Scope) -> dict[str, dict[str, float]]:
    """Place: warmth: °C."""
    return {
        place: {warmth: _celsius(text, ("temperatures", place, warmth), scope) for warmth, text in given.items()}
        for place, given in scope.file.temperatures.items()
    }


def comes_to_of(scope: Scope) -> dict[str, float]:
    """Warmth: minutes until the machine stands at it."""
    known = [(name, ("comes to", name)) for name in scope.file.comes_to]
    good = [name for name, path in known if scope.warmth(name, path)]
    return {name: scope.file.comes_to[name] for name in good}


def _celsius(text: str, path: tree.Path, scope: Scope) -> float:
    try:
        return amounts.value(text, "°C").nominal
    except WrongUse as error:
        scope.complaints.refuse(path, error)
        return 20.0


def bays_of(scope: Scope) -> dict[str, Bay]:
    """The bays of the house and of the machine."""
    house = scope.supply.bays if scope.supply else {}
    found = {name: _bay(name, entry) for name, entry in house.items()}
    for name, entry in scope.file.bays.items():
        path: tree.Path = ("bays", name)
        if name in (OUTSIDE, *house):
            scope.complaints.add(path, f"'{name}' is there already.", "Give this bay another name.")
        scope.bay(entry.behind, (*path, "behind"))
        for index, part in enumerate(entry.unplugs):
            scope.part(part, (*path, "unplugs", index))
        for index, what in enumerate(entry.frees):
            scope.known(what, [*scope.terminals, *scope.file.controls], "part or control", (*path, "frees", index))
        if entry.leaves is not None:
            scope.warmth(entry.leaves, (*path, "leaves"))
        found[name] = _bay(name, entry)
    return found


def _bay(name: str, entry: BayEntry) -> Bay:
    return Bay(
        name=name,
        behind=entry.behind,
        open_minutes=entry.open,
        close_minutes=entry.close,
        fasteners=entry.fasteners or "",
        cautions=entry.cautions,
        people=entry.people,
        unplugs=entry.unplugs,
        frees=entry.frees,
        runs=entry.runs,
        leaves=entry.leaves or "",
        holds_water=entry.holds_water,
    )


def gas_of(scope: Scope) -> Gas | None:
    """Where gas is shut off and flows; None where the machine burns none."""
    entry = scope.file.gas
    if entry is None:
        return None
    for index, bay in enumerate(entry.bays):
        scope.bay(bay, ("gas", "bays", index))
    for index, part in enumerate(entry.parts):
        scope.part(part, ("gas", "parts", index))
    return Gas(entry.cock, entry.bays, entry.parts)


TANK = "tank"
"""The type of a part that holds water under the pressure of the house."""


def water_of(scope: Scope) -> Water | None:
    """Where water is shut off and stands; None where the machine holds none."""
    entry = scope.file.water
    if entry is None:
        return None
    for index, part in enumerate(entry.parts):
        scope.part(part, ("water", "parts", index))
    tanks = [part for part in entry.parts if part in scope.file.parts and scope.file.parts[part].type == TANK]
    if tanks and not entry.tap:
        said = f"It is not said where air comes out when '{tanks[0]}' is filled."
        scope.complaints.add(("water",), said, "Write `tap: a hot tap`.")
    return Water(entry.cock, (entry.tap or "") if tanks else "", entry.drain, entry.parts)


def settings_of(scope: Scope) -> Mapping[str, tuple[tuple[str, str], ...]]:
    """The settings that have a name."""
    return {name: scope.setting(given, ("settings", name)) for name, given in scope.file.settings.items()}


def seen_of(scope: Scope, wired: Container[str]) -> tuple[Seen, ...]:
    """The readings of a healthy machine. wired: the terminals at which wires land."""
    return tuple(_seen(entry, ("seen", index), scope, wired) for index, entry in enumerate(scope.file.seen))


def _seen(entry: SeenEntry, path: tree.Path, scope: Scope, wired: Container[str]) -> Seen:
    known = scope.terminal(entry.red, (*path, "red"))
    if entry.meter == CLAMPS and known and entry.red not in wired:
        message = f"A clamp goes around wires, and none lands on {entry.red}."
        scope.complaints.add((*path, "red"), message, "Name a terminal with a wire.")
    if entry.meter == CLAMPS and entry.black is not None:
        scope.complaints.add((*path, "black"), "A clamp takes no black lead.", "Leave it out.")
    elif entry.black is not None:
        scope.terminal(entry.black, (*path, "black"))
    elif entry.meter != CLAMPS:
        scope.complaints.add(path, "It is not said where the black lead stood.", "Write `black: PART.TERMINAL`.")
    for index, terminal in enumerate(entry.lift):
        scope.terminal(terminal, (*path, "lift", index))
    return Seen(
        meter=entry.meter,
        red=entry.red,
        black=entry.black or "",
        setting=scope.setting(entry.set, (*path, "set")),
        isolated=entry.isolated,
        lift=entry.lift,
        value=_shown(entry, path, scope),
        line=tree.locate(scope.complaints.root, path).line,
    )


def _shown(entry: SeenEntry, path: tree.Path, scope: Scope) -> float | None:
    """What the meter showed; None is over range."""
    if entry.meter not in METERS:
        scope.complaints.add((*path, "meter"), f"There is no meter '{entry.meter}'.", did_you_mean(entry.meter, METERS))
        return None
    if entry.value.upper() == "OL":
        return None
    try:
        return amounts.value(entry.value, METERS[entry.meter]).nominal
    except WrongUse as error:
        scope.complaints.refuse((*path, "value"), error)
        return None
