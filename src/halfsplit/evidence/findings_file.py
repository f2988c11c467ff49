"""Reads findings from YAML or JSON, with place and remedy for whatever is wrong, all at once.

What a finding leaves out is taken from the one before it, or from the machine's rest, and is echoed back by
`written`. Isolated or not follows from the meter unless it is stated: ohms on an isolated machine, volts and amps
on a live one. Behind a bay that leaves the machine at a warmth, that is its warmth from then on, unless it is stated.
What a repairer sees without power takes no setting over: the machine stands as it stood.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from halfsplit.errors import BadInput, Problem, WrongUse, did_you_mean
from halfsplit.evidence import displayed
from halfsplit.evidence import finding as f
from halfsplit.machine import amounts, model, tree, twins
from halfsplit.modes import listing, marks, warming
from halfsplit.modes.fault import LOAD_SUPPLY, WARM
from halfsplit.operate import condition as conditions
from halfsplit.operate.settle import Operation
from halfsplit.predict import supply_amps
from halfsplit.predict.readings import DEAD_METERS, SCALES, TWO_PLACES, Probe, Readings

BACK = "taken back"
"""Of a finding that counts no more, though its step may have been done (`yes`); or of a step that was set aside, for
which nothing was found."""
FOUND = ("value", "sees")
"""What was found; not said of a step that was set aside."""
KINDS = {
    "reading": frozenset({
        "meter", "red", "black", "set", "isolated", "lift", "exchange", "provoke", "value", "note", "took", BACK,
    }),
    "look": frozenset({"at", "sees", "closely", "note", "took", BACK}),
    "symptom": frozenset({"what", "value", "set", "exchange", "by", "note", "took", BACK}),
    "repair": frozenset({"made", "cured", "well", "note", "took"}),
    "closed": frozenset({"power", "note", "took"}),
}  # fmt: skip
NEEDED = {
    "reading": ("value",),
    "look": ("at", "sees"),
    "symptom": ("what", "value"),
    "repair": ("made", "cured"),
    "closed": ("power",),
}
TIME = "Write it as in 3 min, 40 s or 1.5 h; at most a day."
NO_STEP = "What an owner told, or was seen in no stated setting, is no step that took time."
NO_EXCHANGE = "An owner exchanges no parts, nor is that told of no stated setting."
YES = frozenset({"yes", "y", "true"})
NO = frozenset({"no", "n", "false"})
ON, OFF = "on", "off"
"""Whether a machine that was put together has its power."""
NOT_WELL = "'well: no' goes with 'cured: yes' alone."
UNTRIED = "untried"
"""Of a repair after which the power stayed off: whether it cured nobody knows."""


@dataclass
class _Carried:
    """What later findings take over from earlier ones."""

    meter: str = "ohms"
    red: str = ""
    black: str = ""
    setting: dict[str, str] = field(default_factory=dict)
    stated: bool = False
    lift: tuple[str, ...] = ()


def read(text: str, file: str, machine: model.Machine, repairs: frozenset[str] = frozenset()) -> list[f.Finding]:
    """The findings of a text. Raises BadInput with every problem, each with its line and column."""
    if not text.strip():
        return []
    return of_tree(tree.compose(text, file), machine, repairs)


def of_tree(root: tree.Node, machine: model.Machine, repairs: frozenset[str] = frozenset()) -> list[f.Finding]:
    """The findings of a text that has been taken apart already. Raises BadInput with every problem."""
    reader = _Reader(machine, repairs)
    found = reader.all(root)
    if reader.problems:
        raise BadInput(reader.problems)
    return found


class _Reader:
    def __init__(self, machine: model.Machine, repairs: frozenset[str]) -> None:
        self.machine, self.repairs = machine, repairs
        self.problems: list[Problem] = []
        self.carried = _Carried()
        self.looked_at: set[str] = set()

    def complain(self, node: tree.Node, message: str, remedy: str = "") -> None:
        self.problems.append(node.spot.problem(message, remedy))

    def all(self, root: tree.Node) -> list[f.Finding]:
        if not isinstance(root.value, list):
            self.complain(root, "Findings are a list.", f"Begin each with {', '.join(f'- {kind}:' for kind in KINDS)}.")
            return []
        made = [self.one(node) for node in root.value]
        return [finding for finding in made if finding is not None]

    def one(self, node: tree.Node) -> f.Finding | None:
        if not isinstance(node.value, dict) or len(node.value) != 1:
            self.complain(node, f"A finding is one of {', '.join(KINDS)}, then its fields.")
            return None
        kind, inner = next(iter(node.value.items()))
        if kind not in KINDS:
            self.complain(node, f"No kind of finding {kind!r}.", did_you_mean(kind, KINDS))
            return None
        if not isinstance(inner.value, dict):
            self.complain(inner, f"A {kind} has fields.", f"Write {{{', '.join(sorted(KINDS[kind]))}}}.")
            return None
        if not self.fields_fit(kind, inner):
            return None
        makers: Mapping[str, Any] = {
            "reading": self.reading, "look": self.look, "symptom": self.symptom, "repair": self.repair,
            "closed": self.closed,
        }  # fmt: skip
        made: f.Finding | None = makers[kind](inner)
        if not self.yes_or_no(inner, BACK, False) or not isinstance(made, f.Found):
            return made
        return f.TakenBack(made, any(self.child(inner, key) for key in FOUND))

    def fields_fit(self, kind: str, node: tree.Node) -> bool:
        before = len(self.problems)
        assert isinstance(node.value, dict)
        for key, inner in node.value.items():
            if key not in KINDS[kind]:
                self.complain(inner, f"A {kind} has no field {key!r}.", did_you_mean(key, KINDS[kind]))
        needed = [key for key in NEEDED[kind] if BACK not in node.value or key not in FOUND]
        for key in needed:
            if key not in node.value:
                self.complain(node, f"This {kind} says no {key!r}.", "Add it.")
        return len(self.problems) == before

    # ---- the kinds ----------------------------------------------------------------------------------------

    def reading(self, node: tree.Node) -> f.Reading | None:
        before = len(self.problems)
        carried = self.carried
        carried.meter = self.choice(node, "meter", SCALES, carried.meter)
        carried.red = self.terminal(node, "red", carried.red)
        carried.black = "" if carried.meter in ("amps", "temperature") else self.terminal(node, "black", carried.black)
        if carried.red and carried.red == carried.black:
            place = self.child(node, "black") or self.child(node, "red") or node
            self.complain(place, f"Red and black are both on {carried.red!r}.", TWO_PLACES)
        carried.lift = self.terminals(node, "lift", carried.lift)
        isolated = self.yes_or_no(node, "isolated", carried.meter in DEAD_METERS)
        if carried.meter in DEAD_METERS and not isolated:
            self.complain(node, f"{carried.meter} on a machine that is not isolated.", "Isolate it, or measure volts.")
        condition = self.condition(node, isolated, carried.lift, (carried.red, carried.black, *carried.lift))
        condition = condition and replace(
            condition, provoke=self.provoked(node, condition), exchange=self.exchanged(node)
        )
        value = self.child(node, "value")
        nothing: tuple[displayed.Measured, f.Spans] = ((None, None, 0.0, ""), ())
        shown = nothing if value is None else None
        if value and carried.meter in displayed.DIMENSIONS:
            shown = self.shown(value, carried.meter)
        took = self.took(node)
        if len(self.problems) > before or shown is None or condition is None:
            return None
        probe = Probe(carried.meter, carried.red, carried.black)
        number, within = shown
        return f.Reading(probe, condition, *number, note=self.text(node, "note"), took=took, spans=within)

    def provoked(self, node: tree.Node, at: conditions.Condition) -> str:
        """What is shaken, heated, turned, warmed or loaded meanwhile; it holds for this reading only."""
        inner = self.child(node, "provoke")
        way = self.text(node, "provoke")
        if inner is None:
            return ""
        known = (*listing.ways_to_provoke(self.machine), *warming.ways(self.machine))
        if way not in known and way.startswith(WARM):
            message = f"No thermostat of this machine can be warmed with hot air by {way!r}."
            self.complain(inner, message, did_you_mean(way, warming.ways(self.machine)))
        elif way not in known:
            self.complain(inner, f"Nothing comes and goes with {way!r}.", did_you_mean(way, known))
        elif way == LOAD_SUPPLY:
            self.loaded(inner, at)
        elif not at.isolated:
            remedy = "Isolate it, clip the meter on at ohms, and then shake, heat, warm or turn."
            self.complain(inner, f"To {way} on a machine that is not isolated is not safe.", remedy)
        return way

    def loaded(self, node: tree.Node, at: conditions.Condition) -> None:
        """The supply is loaded by the machine itself, which therefore is under power with its heaviest load on."""
        readings = Readings(Operation(self.machine))
        if conditions.cut_off(self.machine, at):
            message = f"To {LOAD_SUPPLY} the machine has to run, and here it is cut off."
        elif not supply_amps.loads(readings, at):
            amps = supply_amps.amps(readings, at)
            message = f"This setting does not {LOAD_SUPPLY}: {amps:.1f} A, no heavy load is on."
        else:
            return
        self.complain(node, message, self._heaviest(readings, at))

    def _heaviest(self, readings: Readings, at: conditions.Condition) -> str:
        """The setting that loads the supply, as it is written over the one given."""
        most, amps = supply_amps.heaviest(readings)
        if amps < supply_amps.LEAST_AMPS:
            return "Nothing of this machine draws enough; leave provoke out."
        rest = dict(conditions.rest(self.machine).setting)
        told = [f"{c}: {p}" for c, p in most.setting if p != rest[c] or p != at.position(c)]
        how = f"with set: {{{', '.join(told)}}}" if told else "as it stands at rest"
        return f"Measure volts while it runs with its heaviest load on, {how}, or leave provoke out."

    def exchanged(self, node: tree.Node) -> twins.Exchange:
        """The twins that stand in each other's places; it holds for this finding only."""
        inner = self.child(node, "exchange")
        if inner is None:
            return ()
        items = inner.value if isinstance(inner.value, list) else [inner]
        try:
            return twins.known(self.machine, tuple(str(item.value) for item in items if item.value not in ("", "none")))
        except WrongUse as error:
            self.complain(inner, error.message, error.remedy)
            return ()

    def shown(self, node: tree.Node, meter: str) -> tuple[displayed.Measured, f.Spans] | None:
        text = str(node.value)
        try:
            within = displayed.spans(text, meter)
            return ((within[0][0], None, 0.0, text) if within else displayed.measured(text, meter)), within
        except WrongUse as error:
            self.complain(node, error.message, error.remedy)
            return None

    def look(self, node: tree.Node) -> f.Look | None:
        at = self.text(node, "at")
        known = [*self.machine.parts, *self.machine.terminals, *(w.name for w in self.machine.wires)]
        if at not in known:
            self.complain(self.child(node, "at") or node, f"No part or terminal {at!r}.", did_you_mean(at, known))
            return None
        closely = self.yes_or_no(node, "closely", False)
        back = self.child(node, BACK) is not None
        if closely and at not in self.looked_at and not back:
            message = f"Nothing says that there was a first look at {at!r}: a close look comes after one."
            remedy = "State the first look before it, or leave it out."
            self.complain(self.child(node, "closely") or node, message, remedy)
        self.looked_at |= set() if back else {at}
        return f.Look(at, self.seen(node, at), self.text(node, "note"), self.took(node), closely)

    def seen(self, node: tree.Node, at: str) -> str:
        """What was seen at a place: a word that a fault leaves there, or any other that is no slip in one."""
        if self.child(node, "sees") is None:
            return ""
        known = marks.seen(listing.faults(self.machine), at)
        word = marks.word(self.text(node, "sees"), known)
        remedy = marks.meant(word, known)
        if remedy:
            message = f"{word!r} is not among what may be seen at {at}."
            other = f"If it was none of these, write {marks.ELSE}, and the word in a note."
            self.complain(self.child(node, "sees") or node, message, f"{remedy} {other}")
        return word

    def symptom(self, node: tree.Node) -> f.Perceived | None:
        before = len(self.problems)
        what = self.text(node, "what")
        if what not in self.machine.symptoms:
            remedy = did_you_mean(what, self.machine.symptoms)
            self.complain(self.child(node, "what") or node, f"No symptom {what!r}.", remedy)
        there = self.yes_or_no(node, "value", False)
        by = self.choice(node, "by", ("owner", "repairer"), "owner")
        seen = by == "repairer" and what in self.machine.symptoms and self.machine.symptoms[what].unpowered
        stated = self.child(node, "set") is not None or (self.carried.stated and not seen)
        condition = self.condition(node, False, ()) if stated else None
        exchange = self.exchanged(node)
        if exchange and (by == "owner" or condition is None):
            self.complain(self.child(node, "exchange") or node, NO_EXCHANGE, "Write by: repairer and set.")
        condition = condition and replace(condition, exchange=exchange)
        took = self.took(node)
        if took is not None and (by == "owner" or (condition is None and not seen)):
            self.complain(self.child(node, "took") or node, NO_STEP, "Write by: repairer and set, or leave took out.")
        if len(self.problems) > before:
            return None
        return f.Perceived(what, there, condition, by, self.text(node, "note"), took)

    def repair(self, node: tree.Node) -> f.Tried:
        made = self.text(node, "made")
        if self.repairs and made not in self.repairs:
            self.complain(self.child(node, "made") or node, f"No repair {made!r}.", did_you_mean(made, self.repairs))
        before = len(self.problems)
        untried = self.child(node, "cured") is not None and self.text(node, "cured").lower() == UNTRIED
        cured = None if untried else self.yes_or_no(node, "cured", False, UNTRIED)
        well = self.yes_or_no(node, "well", True)
        if not (well or cured or len(self.problems) > before):
            self.complain(self.child(node, "well") or node, NOT_WELL, "Leave it out.")
        return f.Tried(made, cured, self.text(node, "note"), self.took(node), well)

    def closed(self, node: tree.Node) -> f.Closed:
        """The wires are on again, and the controls as an owner leaves them."""
        self.carried = replace(self.carried, setting={}, stated=False, lift=())
        power = self.choice(node, "power", (ON, OFF), "")
        return f.Closed(power == ON, self.text(node, "note"), self.took(node))

    # ---- fields -------------------------------------------------------------------------------------------

    def child(self, node: tree.Node, key: str) -> tree.Node | None:
        assert isinstance(node.value, dict)
        return node.value.get(key)

    def text(self, node: tree.Node, key: str, otherwise: str = "") -> str:
        inner = self.child(node, key)
        if inner is None:
            return otherwise
        if not isinstance(inner.value, str):
            self.complain(inner, f"{key!r} is one text.")
            return otherwise
        return inner.value

    def took(self, node: tree.Node) -> float | None:
        """Minutes that the step took, its opening, lifting and setting included; None where that is not said."""
        inner, text = self.child(node, "took"), self.text(node, "took")
        if inner is None or not text:
            return None
        try:
            found = amounts.minutes(text)
        except WrongUse:
            self.complain(inner, f"{text[:40]!r} is no time that a step takes.", TIME)
            return None
        if found <= 0:
            self.complain(inner, "A step takes more than no time.", TIME)
            return None
        return found

    def choice(self, node: tree.Node, key: str, known: Any, otherwise: str) -> str:
        chosen, inner = self.text(node, key, otherwise), self.child(node, key)
        if inner is not None and chosen not in known:
            self.complain(inner, f"No {key} {chosen!r}.", did_you_mean(chosen, known))
        return chosen

    def yes_or_no(self, node: tree.Node, key: str, otherwise: bool, beside: str = "") -> bool:
        """`beside`: what else may stand there."""
        inner = self.child(node, key)
        if inner is None:
            return otherwise
        word = self.text(node, key).lower()
        if not isinstance(inner.value, str):
            return otherwise
        if word not in YES | NO:
            known = f"yes, no or {beside}" if beside else "yes or no"
            self.complain(inner, f"{key!r} is {known}, not {word!r}.")
        return word in YES

    def terminal(self, node: tree.Node, key: str, otherwise: str) -> str:
        name = self.text(node, key, otherwise)
        known, inner = self.machine.terminals, self.child(node, key)
        if not name:
            self.complain(node, f"This reading does not say where {key} goes.", f"Add {key}: part.terminal.")
        elif inner is not None and name not in known:
            self.complain(inner, f"No terminal {name!r}.", did_you_mean(name, known))
        return name

    def terminals(self, node: tree.Node, key: str, otherwise: tuple[str, ...]) -> tuple[str, ...]:
        inner = self.child(node, key)
        if inner is None:
            return otherwise
        items = inner.value if isinstance(inner.value, list) else [inner]
        return tuple(self._one_terminal(item) for item in items if item.value not in ("", "none"))

    def _one_terminal(self, item: tree.Node) -> str:
        name = str(item.value)
        if name not in self.machine.terminals:
            self.complain(item, f"No terminal {name!r}.", did_you_mean(name, self.machine.terminals))
        return name

    def condition(
        self, node: tree.Node, isolated: bool, lift: tuple[str, ...], places: tuple[str, ...] = ()
    ) -> conditions.Condition | None:
        """The condition of a finding at these places; what has to be opened for them decides the warmth, unless this
        finding states another, and the machine then stays at it."""
        given, stated = self.child(node, "set"), {}
        if given is not None:
            stated = dict(self.pairs(given))
            self.carried.stated = True
        if self.problems:
            return None
        self.carried.setting |= conditions.as_reached(self.machine, stated, filter(None, places))
        return conditions.condition(self.machine, self.carried.setting, isolated, lift)

    def pairs(self, node: tree.Node) -> Iterator[tuple[str, str]]:
        if not isinstance(node.value, dict):
            self.complain(node, "A setting is a mapping of controls to positions.", "Write {selector: high heat}.")
            return
        known = conditions.positions(self.machine)
        for control, inner in node.value.items():
            position = str(inner.value)
            if control not in known:
                self.complain(inner, f"No control {control!r}.", did_you_mean(control, known))
            elif position not in known[control]:
                remedy = did_you_mean(position, known[control])
                self.complain(inner, f"{control!r} has no position {position!r}.", remedy)
            else:
                yield control, position


def written(found: f.Finding) -> dict[str, dict[str, object]]:
    """A finding with nothing left out, as plain data in the grammar of the file."""
    match found:
        case f.Reading():
            fields: dict[str, object] = {"meter": found.probe.meter, "red": found.probe.red}
            fields |= {"black": found.probe.black} if found.probe.black else {}
            fields |= {
                "set": dict(found.condition.setting),
                "isolated": "yes" if found.condition.isolated else "no",
                "lift": list(found.condition.lift),
            }
            fields |= {"exchange": list(found.condition.exchange)} if found.condition.exchange else {}
            fields |= {"provoke": found.condition.provoke} if found.condition.provoke else {}
            return {"reading": fields | {"value": found.text} | _besides(found)}
        case f.Look():
            closely: dict[str, object] = {"closely": "yes"} if found.closely else {}
            return {"look": {"at": found.at, "sees": found.sees} | closely | _besides(found)}
        case f.Perceived():
            fields = {"what": found.what, "value": "yes" if found.there else "no", "by": found.by}
            at = found.condition
            fields |= {"set": dict(at.setting)} if at else {}
            fields |= {"exchange": list(at.exchange)} if at and at.exchange else {}
            return {"symptom": fields | _besides(found)}
        case f.Tried():
            said = UNTRIED if found.cured is None else "yes" if found.cured else "no"
            but: dict[str, object] = {} if found.well else {"well": "no"}
            return {"repair": {"made": found.repair, "cured": said} | but | _besides(found)}
        case f.Closed():
            return {"closed": {"power": ON if found.power else OFF} | _besides(found)}
        case f.TakenBack():
            ((kind, fields),) = written(found.found).items()
            kept = {key: value for key, value in fields.items() if found.told or key not in FOUND}
            return {kind: kept | {BACK: "yes"}}


def _besides(found: f.Telling | f.Closed) -> dict[str, object]:
    note: dict[str, object] = {"note": found.note} if found.note else {}
    return note | ({"took": f"{found.took:g} min"} if found.took is not None else {})
