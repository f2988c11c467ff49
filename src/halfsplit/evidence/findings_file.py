"""Reads findings from YAML or JSON, with place and remedy for whatever is wrong, all at once.

What a finding leaves out is taken from the one before it, or from the machine's rest, and is echoed back by
`written`. Isolated or not follows from the meter unless it is stated: ohms on an isolated machine, volts and amps
on a live one. Behind a bay that leaves the machine at a warmth, that is its warmth from then on, unless it is stated.
What a repairer sees without power takes no setting over: the machine stands as it stood.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from halfsplit.errors import BadInput, did_you_mean
from halfsplit.evidence import displayed
from halfsplit.evidence import finding as f
from halfsplit.evidence.finding_fields import UNREAD, Fields
from halfsplit.machine import model, tree
from halfsplit.modes import listing, marks, warming
from halfsplit.modes.fault import LOAD_SUPPLY, WARM
from halfsplit.operate import condition as conditions
from halfsplit.operate.settle import Operation
from halfsplit.predict import supply_amps
from halfsplit.predict.holding import refusal
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
    "cannot": frozenset({"what"}),
}  # fmt: skip
NEEDED = {
    "reading": ("value",),
    "look": ("at", "sees"),
    "symptom": ("what", "value"),
    "repair": ("made", "cured"),
    "closed": ("power",),
    "cannot": ("what",),
}
FILE = tree.Kind("a findings file", f"Begin each finding with {', '.join(f'- {kind}:' for kind in KINDS)}.")
NO_STEP = "What an owner told, or was seen in no stated setting, is no step that took time."
NO_EXCHANGE = "An owner exchanges no parts, nor is that told of no stated setting."
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
    sure: bool = True
    """Whether the setting is what the file means: nothing of it, nor a whole finding, could not be read."""


Names = frozenset[str]


def read(
    text: str, file: str, machine: model.Machine, repairs: Names = frozenset(), cannot: Names = frozenset()
) -> list[f.Finding]:
    """The findings of a text. `repairs`: the names of those that are known; `cannot`: the words for what cannot be
    done; of either any will do where none is given. Raises BadInput with every problem, each with its line and
    column."""
    if not text.strip():
        return []
    return of_tree(tree.compose(text, file, FILE), machine, repairs, cannot)


def of_tree(
    root: tree.Node, machine: model.Machine, repairs: Names = frozenset(), cannot: Names = frozenset()
) -> list[f.Finding]:
    """The findings of a text that has been taken apart already. Raises BadInput with every problem."""
    reader = _Reader(machine, repairs, cannot)
    found = reader.all(root)
    if reader.problems:
        raise BadInput(reader.problems)
    return found


class _Reader(Fields):
    def __init__(self, machine: model.Machine, repairs: Names, refusable: Names) -> None:
        super().__init__(machine)
        self.repairs, self.refusable = repairs, refusable
        self.carried = _Carried()
        self.looked_at: set[str] = set()

    def all(self, root: tree.Node) -> list[f.Finding]:
        if not isinstance(root.value, list):
            self.complain(root, "Findings are a list.", f"Begin each with {', '.join(f'- {kind}:' for kind in KINDS)}.")
            return []
        made = [self.one(node) for node in root.value]
        return [finding for finding in made if finding is not None]

    def one(self, node: tree.Node) -> f.Finding | None:
        if not isinstance(node.value, dict) or len(node.value) != 1:
            self.not_read(node, f"A finding is one of {', '.join(KINDS)}, then its fields.")
            return None
        kind, inner = next(iter(node.value.items()))
        if kind not in KINDS:
            self.not_read(node, f"No kind of finding {kind!r}.", did_you_mean(kind, KINDS))
            return None
        if not isinstance(inner.value, dict):
            self.not_read(inner, f"A {kind} has fields.", f"Write {{{', '.join(sorted(KINDS[kind]))}}}.")
            return None
        inner = self.as_meant(kind, inner)
        makers: Mapping[str, Any] = {
            "reading": self.reading, "look": self.look, "symptom": self.symptom, "repair": self.repair,
            "closed": self.closed, "cannot": self.cannot,
        }  # fmt: skip
        made: f.Finding | None = makers[kind](inner)
        if not self.yes_or_no(inner, BACK, False) or not isinstance(made, f.Found):
            return made
        return f.TakenBack(made, any(self.child(inner, key) for key in FOUND))

    def not_read(self, node: tree.Node, message: str, remedy: str = "") -> None:
        """A finding of which nothing could be read: what later ones would take over from it is not known."""
        self.complain(node, message, remedy)
        self.carried = replace(self.carried, meter=UNREAD, red=UNREAD, black=UNREAD, sure=False)

    def as_meant(self, kind: str, node: tree.Node) -> tree.Node:
        """The finding with each unknown field, which is told, under the name that it is most like."""
        assert isinstance(node.value, dict)
        meant: dict[str, tree.Node] = {}
        for key, inner in node.value.items():
            if key not in KINDS[kind]:
                self.complain(inner, f"A {kind} has no field {key!r}.", did_you_mean(key, KINDS[kind]))
            near = [key] if key in KINDS[kind] else difflib.get_close_matches(key.casefold(), KINDS[kind], 1)
            meant |= {name: inner for name in near if name == key or name not in node.value}
        for key in NEEDED[kind]:
            if key not in meant and (BACK not in meant or key not in FOUND):
                self.complain(node, f"This {kind} says no {key!r}.", "Add it.")
        return replace(node, value=meant)

    # ---- the kinds ----------------------------------------------------------------------------------------

    def reading(self, node: tree.Node) -> f.Reading | None:
        before = len(self.problems)
        carried = self.carried
        carried.meter = self.choice(node, "meter", SCALES, carried.meter)
        carried.red = self.terminal(node, "red", carried.red)
        carried.black = self.black(node)
        if carried.red == carried.black != UNREAD:
            place = self.child(node, "black") or self.at(node, "red")
            self.complain(place, f"Red and black are both on {carried.red!r}.", TWO_PLACES)
        self.readable(node)
        carried.lift = self.terminals(node, "lift", carried.lift)
        usual = None if carried.meter == UNREAD else carried.meter in DEAD_METERS
        isolated = self.yes_or_no(node, "isolated", usual)
        if carried.meter in DEAD_METERS and isolated is False:
            self.complain(node, f"{carried.meter} on a machine that is not isolated.", "Isolate it, or measure volts.")
            isolated = None
        condition = self.condition(node, isolated, carried.lift, (carried.red, carried.black, *carried.lift))
        provoke, exchange = self.provoked(node, condition), self.exchanged(node)
        value = self.child(node, "value")
        nothing: tuple[displayed.Measured, f.Spans] = ((None, None, 0.0, ""), ())
        shown = self.shown(value, carried.meter) if value else nothing
        took, note = self.took(node), self.text(node, "note")
        if len(self.problems) > before or shown is None or condition is None or exchange is None:
            return None
        at = replace(condition, provoke=provoke, exchange=exchange)
        number, within = shown
        return f.Reading(Probe(carried.meter, carried.red, carried.black), at, *number, note, took, within)

    def readable(self, node: tree.Node) -> None:
        """Complains of a clamp where no wire lands, and of degrees where nothing says how warm it gets."""
        meter, red = self.carried.meter, self.carried.red
        if UNREAD not in (meter, red) and (wrong := refusal(self.machine, meter, red)):
            self.complain(self.at(node, "red"), *wrong)

    def black(self, node: tree.Node) -> str:
        """Where the black lead goes; "" with a meter that has none."""
        meter, inner = self.carried.meter, self.child(node, "black")
        if meter not in displayed.ONE_PLACE:
            unknown = meter == UNREAD and inner is None
            return self.carried.black if unknown else self.terminal(node, "black", self.carried.black)
        if inner is not None and inner.value != "":
            self.complain(inner, displayed.no_black(meter), displayed.HELD)
        return ""

    def provoked(self, node: tree.Node, at: conditions.Condition | None) -> str:
        """What is shaken, heated, turned, warmed or loaded meanwhile; it holds for this reading only."""
        inner = self.child(node, "provoke")
        way = self.text(node, "provoke")
        if inner is None or way == UNREAD:
            return ""
        known = (*listing.ways_to_provoke(self.machine), *warming.ways(self.machine))
        if way not in known and way.startswith(WARM):
            message = f"No thermostat of this machine can be warmed with hot air by {way!r}."
            self.complain(inner, message, did_you_mean(way, warming.ways(self.machine)))
        elif way not in known:
            self.complain(inner, f"Nothing comes and goes with {way!r}.", did_you_mean(way, known))
        elif way == LOAD_SUPPLY:
            self.loaded(inner, at)
        elif at is not None and not at.isolated:
            remedy = "Isolate it, clip the meter on at ohms, and then shake, heat, warm or turn."
            self.complain(inner, f"To {way} on a machine that is not isolated is not safe.", remedy)
        return way

    def loaded(self, node: tree.Node, at: conditions.Condition | None) -> None:
        """The supply is loaded by the machine itself, which therefore is under power with its heaviest load on."""
        if at is None or not (at.isolated or self.carried.sure):
            return
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

    def look(self, node: tree.Node) -> f.Look | None:
        at = self.text(node, "at", UNREAD)
        known = [*self.machine.parts, *self.machine.reachable, *(w.name for w in self.machine.wires)]
        if at not in known:
            if at != UNREAD:
                self.complain(self.at(node, "at"), f"No part or terminal {at!r}.", did_you_mean(at, known))
            at = UNREAD
        closely = self.yes_or_no(node, "closely", False)
        back = self.child(node, BACK) is not None
        if closely and self.carried.sure and at != UNREAD and not {at, UNREAD} & self.looked_at and not back:
            message = f"Nothing says that there was a first look at {at!r}: a close look comes after one."
            remedy = "State the first look before it, or leave it out."
            self.complain(self.at(node, "closely"), message, remedy)
        self.looked_at |= set() if back else {at}
        sees, note, took = self.seen(node, at), self.text(node, "note"), self.took(node)
        return None if at == UNREAD or closely is None else f.Look(at, sees, note, took, closely)

    def seen(self, node: tree.Node, at: str) -> str:
        """What was seen at a place: a word that a fault leaves there, or any other that is no slip in one."""
        sees = self.text(node, "sees")
        if at == UNREAD or sees == UNREAD or self.child(node, "sees") is None:
            return sees
        known = marks.seen(self.faults, at)
        word = marks.word(sees, known)
        remedy = marks.meant(word, known)
        if remedy:
            message = f"{word!r} is not among what may be seen at {at}."
            other = f"If it was none of these, write {marks.ELSE}, and the word in a note."
            self.complain(self.at(node, "sees"), message, f"{remedy} {other}")
        return word

    def symptom(self, node: tree.Node) -> f.Perceived | None:
        before = len(self.problems)
        what = self.text(node, "what", UNREAD)
        if what not in self.machine.symptoms and what != UNREAD:
            remedy = did_you_mean(what, self.machine.symptoms)
            self.complain(self.at(node, "what"), f"No symptom {what!r}.", remedy)
        there = self.yes_or_no(node, "value", False)
        by = self.choice(node, "by", ("owner", "repairer"), "owner")
        symptom = self.machine.symptoms.get(what) if by == "repairer" else None
        seen, by_hand = symptom is not None and symptom.unpowered, symptom is not None and symptom.by_hand
        stated = by_hand or self.child(node, "set") is not None or (self.carried.stated and not seen)
        condition = self.condition(node, by_hand, ()) if stated else None
        exchange = self.exchanged(node)
        if exchange != () and self.no_step(by, stated):
            self.complain(self.at(node, "exchange"), NO_EXCHANGE, "Write by: repairer and set.")
        took = self.took(node)
        unpowered = seen or (by == "repairer" and what not in self.machine.symptoms)
        timed = self.child(node, "took")
        if timed is not None and timed.value != "" and self.no_step(by, stated or unpowered):
            self.complain(timed, NO_STEP, "Write by: repairer and set, or leave took out.")
        note = self.text(node, "note")
        if len(self.problems) > before:
            return None
        at = condition and replace(condition, exchange=exchange or ())
        return f.Perceived(what, bool(there), at, by, note, took)

    def no_step(self, by: str, stated: bool) -> bool:
        """Whether a symptom was surely told by an owner, or of no stated setting."""
        return by == "owner" or (by != UNREAD and not stated and self.carried.sure)

    def repair(self, node: tree.Node) -> f.Tried:
        made = self.text(node, "made", UNREAD)
        if self.repairs and made not in self.repairs and made != UNREAD:
            self.complain(self.at(node, "made"), f"No repair {made!r}.", did_you_mean(made, self.repairs))
        said = self.child(node, "cured")
        untried = said is not None and isinstance(said.value, str) and said.value.lower() == UNTRIED
        cured = None if untried else self.yes_or_no(node, "cured", None, UNTRIED)
        well = self.yes_or_no(node, "well", True)
        if well is False and (untried or cured is False):
            self.complain(self.at(node, "well"), NOT_WELL, "Leave it out.")
        return f.Tried(made, cured, self.text(node, "note"), self.took(node), bool(well))

    def closed(self, node: tree.Node) -> f.Closed:
        """The wires are on again, and the controls as an owner leaves them."""
        self.carried = replace(self.carried, setting={}, stated=False, lift=(), sure=True)
        power = self.choice(node, "power", (ON, OFF), "")
        return f.Closed(power == ON, self.text(node, "note"), self.took(node))

    def cannot(self, node: tree.Node) -> f.Cannot:
        """What later findings take over stands."""
        what = self.text(node, "what", UNREAD)
        known = {word.casefold(): word for word in self.refusable}
        if known and what.casefold() not in known and what != UNREAD:
            message = f"Nothing here is called {what!r}."
            self.complain(self.at(node, "what"), message, did_you_mean(what, self.refusable))
        return f.Cannot(known.get(what.casefold(), what))

    def condition(
        self, node: tree.Node, isolated: bool | None, lift: tuple[str, ...], places: tuple[str, ...] = ()
    ) -> conditions.Condition | None:
        """The condition of a finding at these places; None where it is not known whether the machine was isolated. What
        has to be opened for them decides the warmth, unless this finding states another, and the machine then stays at
        it."""
        given, before = self.child(node, "set"), len(self.problems)
        stated = {} if given is None else dict(self.setting(given))
        self.carried.stated |= given is not None
        self.carried.sure &= len(self.problems) == before
        self.carried.setting |= conditions.as_reached(self.machine, stated, filter(None, places))
        if isolated is None:
            return None
        return conditions.condition(self.machine, self.carried.setting, isolated, lift)


def written(found: f.Finding) -> dict[str, dict[str, object]]:
    """A finding with nothing left out, as plain data in the grammar of the file. Raises ValueError of what is in no
    file: that the job was taken up again."""
    match found:
        case f.Resumed():
            raise ValueError("that a job was taken up again is in no findings file")
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
        case f.Cannot():
            return {"cannot": {"what": found.what}}
        case f.TakenBack():
            ((kind, fields),) = written(found.found).items()
            kept = {key: value for key, value in fields.items() if found.told or key not in FOUND}
            return {kind: kept | {BACK: "yes"}}


def _besides(found: f.Telling | f.Closed) -> dict[str, object]:
    note: dict[str, object] = {"note": found.note} if found.note else {}
    return note | ({"took": f"{found.took:g} min"} if found.took is not None else {})
