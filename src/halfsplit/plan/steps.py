"""Every step that a repairer would trust on one machine: readings, looks, symptoms to be seen for oneself, questions.

Across one part, at one connector, along one wire, from a supply terminal to a point, between the plug's prongs;
never an odd pair of points. Knows the machine and its conditions; scores nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import combinations

from halfsplit.evidence import finding as f
from halfsplit.machine import model, primitives, twins
from halfsplit.modes import listing, warming
from halfsplit.modes.fault import LOAD_SUPPLY, WARM
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.plan import leads
from halfsplit.predict.readings import DEAD_METERS, Probe
from halfsplit.work.state import OUTSIDE

ALL_IN = "shake all in "
LONGEST = 60.0
"""Minutes of running for one thing to be seen that anybody stays for; what takes longer only an owner sees, in days of
use. Halfsplit's choice."""
QUESTION = "question"
"""The kind of a step that asks the owner: nothing of the machine is touched or changed for it."""


@dataclass(frozen=True)
class Step:
    """One thing to find out. kind: reading | look | symptom | question; `places` are terminals, parts or bays to be
    reached.

    `condition`: that into which the machine is brought; none for what wants it neither run nor set: a look, a question,
    a symptom that needs no power. `odd`: between two places that nothing joins, where leads are easily put wrong; see
    `plan.odd`. `met`: of a question, the condition in which the owner may have met the symptom. `closely`: a look once
    more, where a first one was taken.
    """

    kind: str
    condition: Condition | None = None
    probe: Probe | None = None
    at: str = ""
    places: tuple[str, ...] = ()
    odd: bool = field(default=False, compare=False)
    met: Condition | None = None
    closely: bool = False

    @property
    def live(self) -> bool:
        """Whether leads touch a machine under power."""
        return self.kind == "reading" and self.probe is not None and self.probe.meter not in DEAD_METERS

    @property
    def asks(self) -> bool:
        """Whether the owner is asked, and nothing of the machine touched."""
        return self.kind == QUESTION

    @property
    def perceived(self) -> bool:
        """Whether its answer is yes or no to a symptom, seen for oneself or told by the owner."""
        return self.kind == "symptom" or self.asks

    @property
    def tells_of(self) -> Condition | None:
        """The condition of which it tells: that of the machine, or that which the owner speaks of."""
        return self.met if self.asks else self.condition

    @property
    def exchange(self) -> twins.Exchange:
        """The twins that have to stand in each other's places."""
        return self.condition.exchange if self.condition else ()


def steps(machine: model.Machine) -> tuple[Step, ...]:
    """All of them, in a fixed order: symptoms, looks, dead readings, live readings, what twins exchanged would show,
    questions."""
    usual = (*symptom_steps(machine), *look_steps(machine), *dead_steps(machine), *live_steps(machine))
    return (*usual, *exchanged_steps(machine), *questions(machine))


# ---- conditions -------------------------------------------------------------------------------------------


def hand_controls(machine: model.Machine) -> dict[str, model.Control]:
    """The controls that a hand sets in passing: not the feed, and not a strap, which only a tool changes."""
    fixed = machine.house_controls
    by_hand = (c for c in machine.controls.values() if c.name not in fixed and listing.set_by_hand(machine, c))
    return {control.name: control for control in by_hand}


def dead_settings(machine: model.Machine) -> list[conditions.Setting]:
    """Isolated settings: rest, each control elsewhere by itself, and the named ones."""
    found = [conditions.condition(machine).setting]
    for name, control in hand_controls(machine).items():
        for position in control.positions[1:]:
            if not (control.momentary and position == "pressed"):
                found.append(conditions.condition(machine, {name: position}).setting)
    found += [conditions.condition(machine, _let_go(machine, s)).setting for s in machine.settings.values()]
    return list(dict.fromkeys(found))


def with_left(machine: model.Machine, settings: Iterable[conditions.Setting]) -> list[conditions.Setting]:
    """Settings, and then each of them at every warmth that opening a bay leaves."""
    found, left = list(settings), dict.fromkeys(machine.left_at.values())
    more = [conditions.at_warmth(Condition(setting), warmth).setting for warmth in left for setting in found]
    return list(dict.fromkeys([*found, *more]))


def reached_at(machine: model.Machine, setting: conditions.Setting, places: Iterable[str]) -> bool:
    """Whether places can be reached at the warmth of a setting: behind a bay that leaves one, at that one only.

    >>> from halfsplit.machine import loading
    >>> fridge = loading.load("refrigerator")
    >>> rest = conditions.condition(fridge).setting
    >>> reached_at(fridge, rest, ["cord block.L"]), reached_at(fridge, rest, ["cord block.L", "terminator.1"])
    (True, False)
    """
    return machine.warmth_behind(places) in ("", dict(setting).get(conditions.WARMTH, ""))


def _let_go(machine: model.Machine, setting: conditions.Setting) -> dict[str, str]:
    """A setting as it stands when nobody holds anything."""
    return {c: p for c, p in setting if not (c in machine.controls and machine.controls[c].momentary)}


# ---- steps ------------------------------------------------------------------------------------------------


def dead_steps(machine: model.Machine) -> Iterator[Step]:
    """Ohms with the machine isolated, and with one wire off where the part is a load."""
    pairs = leads.trusted_pairs(machine)
    for setting in with_left(machine, dead_settings(machine)):
        at = Condition(setting, isolated=True)
        some = (pair for pair in pairs if reached_at(machine, setting, pair))
        yield from (Step("reading", at, Probe("ohms", *pair), places=pair) for pair in some)
    for rest in with_left(machine, [conditions.condition(machine).setting]):
        for pair, lift in lifted_pairs(machine):
            if reached_at(machine, rest, (*pair, *lift)):
                yield Step("reading", Condition(rest, True, lift), Probe("ohms", *pair), places=pair)
    yield from capacitance_steps(machine)
    yield from provoking_steps(machine)
    yield from warming_steps(machine)


def capacitance_steps(machine: model.Machine) -> Iterator[Step]:
    """Farads across each capacitor, dead, with one end's wires off: else all between the leads is read with it."""
    wired = {end for wire in machine.wires for end in wire.ends}
    own = {part.name for part in leads.own_parts(machine)}
    caps = [e for e in machine.elements.values() if isinstance(e, primitives.Capacitor) and e.part in own]
    for rest in with_left(machine, [conditions.condition(machine).setting]):
        for a, b in (element.ends for element in caps):
            lift = tuple(end for end in (a, b) if end in wired)[:1]
            if reached_at(machine, rest, (a, b)):
                yield Step("reading", Condition(rest, True, lift), Probe("capacitance", a, b), places=(a, b))


def provoking_steps(machine: model.Machine) -> Iterator[Step]:
    """Ohms with the meter clipped on while something is shaken, heated or turned, at rest and as it is usually set.

    Across the part or along the wire itself; where all in a bay is shaken, from what the supply meets, and between
    the prongs, so that a whole run of wires is watched at once. To load the supply takes a live machine: `under_load`.
    """
    usual = _let_go(machine, conditions.usual(machine).setting)
    settings = dict.fromkeys([conditions.condition(machine).setting, conditions.condition(machine, usual).setting])
    for setting in with_left(machine, settings):
        for way in listing.ways_to_provoke(machine):
            if way == LOAD_SUPPLY:
                continue
            out = leads.blades(machine, way.split(" ", 1)[1])
            at = Condition(setting, isolated=True, lift=out, provoke=way)
            for pair in combinations(out, 2) if out else _watched(machine, way):
                probe = Probe("ohms", *pair)
                if reached_at(machine, setting, places := places_of(probe, at)):
                    yield Step("reading", at, probe, places=places)


def warming_steps(machine: model.Machine) -> Iterator[Step]:
    """Ohms across a thermostat's contact with the meter clipped on while hot air warms it until it acts, at rest: as it
    is, and with the wires of one end off, for what lies beside it is read with it."""
    for rest in with_left(machine, [conditions.condition(machine).setting]):
        for contact, device in warming.contacts(machine):
            ends = contact.ends
            reached = reached_at(machine, rest, ends) and set(ends) <= set(_reachable(machine, contact.part))
            if not reached or warming.has_acted(machine, device, dict(rest).get(conditions.WARMTH, "")):
                continue
            for lift in dict.fromkeys(((), _own_end(machine, contact))):
                at = Condition(rest, True, lift, WARM + contact.part)
                yield Step("reading", at, Probe("ohms", *ends), places=ends)


def _reachable(machine: model.Machine, part: str) -> list[str]:
    return leads.reachable(machine, machine.parts[part])


def _own_end(machine: model.Machine, contact: primitives.Contact) -> tuple[str, ...]:
    """The end with wires at which the fewest other elements of the same part meet; none where no wire is."""
    wired = {end for wire in machine.wires for end in wire.ends}
    met = [end for element in machine.elements.values() if element.part == contact.part for end in element.ends]
    return tuple(sorted((end for end in contact.ends if end in wired), key=met.count))[:1]


def places_of(probe: Probe, at: Condition) -> tuple[str, ...]:
    """What has to be reached for a reading: where the leads go, and the bay in which all is shaken.

    >>> places_of(Probe("ohms", "limit.1", "limit.3"), Condition((), True, provoke="shake all in top"))
    ('limit.1', 'limit.3', 'top')
    """
    leads = (probe.red, probe.black) if probe.black else (probe.red,)
    bay = at.provoke.removeprefix(ALL_IN)
    return leads if bay in (at.provoke, OUTSIDE) else (*leads, bay)


def of_finding(found: f.Finding) -> Step | None:
    """The step that gave a finding; None for repairs and for what an owner told, which changes nothing here, whether on
    the phone or on site (`plan/owner`)."""
    match found:
        case f.Reading():
            return Step("reading", found.condition, found.probe, places=places_of(found.probe, found.condition))
        case f.Look():
            return Step("look", at=found.at, places=(found.at,), closely=found.closely)
        case f.Perceived(by="repairer"):
            return Step("symptom", found.condition, at=found.what)
    return None


def _watched(machine: model.Machine, way: str) -> Iterator[tuple[str, str]]:
    """Where the meter is clipped on for a way to provoke; nowhere for what belongs to the house."""
    what, bay = way.split(" ", 1)[1], way.removeprefix(ALL_IN)
    own = [part for part in leads.own_parts(machine) if part.bay == bay]
    if what in machine.parts:
        yield from () if machine.parts[what].house else leads.pairs_of(machine, machine.parts[what])
    elif bay == way:
        yield from set(leads.pairs_along_wires(machine)) & {wire.ends for wire in machine.wires if wire.name == what}
    elif own:
        far = [terminal for part in own for terminal in leads.reachable(machine, part)]
        near = [t for t in machine.supply.meets if t != machine.frame]
        yield from (*combinations(leads.prongs(machine), 2), *((a, b) for a in near for b in far if a != b))


def lifted_pairs(machine: model.Machine) -> Iterator[tuple[tuple[str, str], tuple[str, ...]]]:
    """Pairs across loads with one end's wires off, and from loads to the frame with all their wires off; across what
    plugs in with the part lifted out."""
    wired = {end for wire in machine.wires for end in wire.ends}
    loads = {e.part for e in machine.elements.values() if getattr(e, "load", False)}
    for name in loads_in_order(machine, loads):
        terminals = leads.reachable(machine, machine.parts[name])
        for pair in combinations(terminals, 2):
            lift = next((t for t in pair if t in wired), "")
            if lift:
                yield pair, (lift,)
        off = tuple(sorted(t for t in terminals if t in wired))
        if machine.frame and off:
            yield (off[0], machine.frame), off
        out = leads.blades(machine, name)
        yield from ((pair, out) for pair in combinations(out, 2))


def loads_in_order(machine: model.Machine, loads: set[str]) -> list[str]:
    """Loads small enough for every pair, in the order of the file."""
    return [n for n, p in machine.parts.items() if n in loads and len(p.terminals) <= leads.LARGEST_CONNECTOR + 2]


def live_steps(machine: model.Machine) -> Iterator[Step]:
    """Volts across parts, from supply terminals and to the frame, and the amps of the supply.

    None at a switch that hands there move out of the setting: nobody holds a switch in beside live terminals.
    """
    pairs = list(dict.fromkeys([*leads.pairs_of_parts(machine), *leads.pairs_from_supply(machine), *_feeds(machine)]))
    if leads.slots(machine):
        out = conditions.condition(machine, conditions.unplugged(machine))
        loz = "low-impedance volts"  # an open leg would show a ghost
        yield from (Step("reading", out, Probe(loz, *p), places=p) for p in combinations(leads.slots(machine), 2))
    usual = conditions.live_settings(machine)
    clamped = [terminal for terminal in machine.supply.meets if terminal != machine.frame]
    for setting in with_left(machine, usual):
        at, named = Condition(setting), setting in usual
        for pair in pairs:
            hands_move = not machine.moved_by_hands(pair).items() <= set(setting)
            if not hands_move and reached_at(machine, setting, pair) and (named or machine.warmth_behind(pair)):
                yield Step("reading", at, Probe("volts", *pair), places=pair)
        for terminal in clamped:
            if reached_at(machine, setting, (terminal,)) and (named or machine.warmth_behind((terminal,))):
                yield Step("reading", at, Probe("amps", terminal), places=(terminal,))


def _feeds(machine: model.Machine) -> Iterator[tuple[str, str]]:
    """Among the terminals that the supply meets, the frame included."""
    yield from combinations(machine.supply.meets, 2)


def look_steps(machine: model.Machine) -> Iterator[Step]:
    """Parts, and terminals with wires; each once, and once more closely."""
    house = {name for name, part in machine.parts.items() if part.house}
    wired = dict.fromkeys(end for wire in machine.wires for end in wire.ends if model.part_of(end) not in house)
    for name in [*machine.parts, *leads.plug(machine), *wired]:
        yield Step("look", at=name, places=(name,))
        yield Step("look", at=name, places=(name,), closely=True)


def symptom_steps(machine: model.Machine) -> Iterator[Step]:
    """Symptoms to be seen for oneself, each once."""
    for name, symptom in machine.symptoms.items():
        if looked_for(symptom):
            yield Step("symptom", seen_in(machine, symptom), at=name)


def seen_in(machine: model.Machine, symptom: model.Symptom) -> Condition | None:
    """The condition in which a repairer looks for a symptom: that in which it is met; as the machine stands (None),
    where it is perceived without power; isolated, where a hand turns something."""
    if symptom.by_hand:
        return conditions.condition(machine, dict(symptom.setting), isolated=True)
    return None if symptom.unpowered else met_in(machine, symptom)


def looked_for(symptom: model.Symptom) -> bool:
    """Whether a repairer looks for a symptom: never whether a frame tingles, since nobody touches what may be live to
    find that out; nor what takes longer than anybody stays for."""
    return symptom.kind != "tingles" and symptom.takes <= LONGEST


def met_in(machine: model.Machine, symptom: model.Symptom) -> Condition:
    """The condition in which an owner meets a symptom: as the machine is usually run, but for what its own says."""
    return conditions.condition(machine, dict(conditions.usual(machine).setting) | dict(symptom.setting))


def questions(machine: model.Machine) -> Iterator[Step]:
    """What an owner may be asked, on the phone or on site: each symptom, of the setting in which it is met, where an
    owner can make that. What shows in days of use is asked of the usual setting, whatever the machine sets meanwhile.

    >>> from halfsplit.machine import loading
    >>> [step.at for step in questions(loading.load("water-heater"))][:2]
    ['water gets hot', 'hot water lasts']
    """
    for name, symptom in machine.symptoms.items():
        at = conditions.usual(machine) if symptom.takes > LONGEST else met_in(machine, symptom)
        if not (symptom.bay or symptom.by_hand) and owner_can(machine, at):
            yield Step(QUESTION, at=name, met=at)


def owner_can(machine: model.Machine, at: Condition) -> bool:
    """Whether an owner can make a setting: no control that only a tool changes, or that is turned inside a bay."""
    by_hand, known = hand_controls(machine), machine.controls
    moved = [c for c, position in at.setting if c in known and position != known[c].rest]
    return all(c in by_hand and not machine.turned_in(c) for c in moved)


def exchanged_steps(machine: model.Machine) -> Iterator[Step]:
    """With twins in each other's places: whether a fault has gone with the part or stays at the place.

    The symptoms in the settings in which they are met, those that tell of neither twin among them (`table.of_machine`
    leaves these out); and, dead, the ohms through what each plugs into, where that is one part with two terminals.
    Whatever else could be read tells no more than these.
    """
    rest = conditions.condition(machine).setting
    for pair in twins.twins(machine):
        for step in symptom_steps(machine):
            if step.condition:
                yield replace(step, condition=replace(step.condition, exchange=pair))
        for socket in dict.fromkeys(socket for name in pair for socket in twins.sockets(machine, name)):
            ends = tuple(leads.reachable(machine, machine.parts[socket]))
            if len(ends) == 2:
                at = Condition(rest, True, exchange=pair)
                at = conditions.at_warmth(at, machine.warmth_behind((*pair, *ends)))
                yield Step("reading", at, Probe("ohms", *ends), places=ends)


def lifted_out(machine: model.Machine, step: Step) -> tuple[str, ...]:
    """The parts that plug in which a step wants out of their sockets: to be read, to change places, or for a look at
    what they sit in.

    >>> from halfsplit.machine import loading
    >>> lifted_out(loading.load("coil-cooktop"), Step("look", at="left front receptacle"))
    ('left front burner',)
    """
    looked_under = twins.pulled(machine, twins.held(machine, step.at)) if step.kind == "look" else ()
    return (*step.exchange, *twins.pulled(machine, step.condition.lift if step.condition else ()), *looked_under)


def bays_needed(machine: model.Machine, step: Step) -> tuple[str, ...]:
    """The bays in which a step's places lie or its symptom shows, and those that its condition takes hands into; where
    hands, or leads on a dead machine, would meet a charge out of their reach there, the bay of that capacitor too.

    >>> from halfsplit.machine import loading
    >>> fridge = loading.load("refrigerator")
    >>> defrosting = conditions.condition(fridge, {"defrost": "defrost"})
    >>> bays_needed(fridge, Step("reading", defrosting, Probe("volts", "cord block.L", "cord block.N"), places=()))
    ('kick plate',)
    """
    shows = (machine.symptoms[step.at].bay,) if step.kind == "symptom" and step.at in machine.symptoms else ()
    handled = tuple(_handled(machine, step.condition)) if step.condition else ()
    found = _bays(machine, (*step.places, *shows, *handled))
    dead = not step.asks and (step.condition is None or step.condition.isolated)
    return tuple(dict.fromkeys((*found, *machine.to_discharge(found if dead else _bays(machine, handled)))))


def bays_to_make(machine: model.Machine, at: Condition) -> tuple[str, ...]:
    """The bays into which hands go so that a condition is made."""
    return _bays(machine, _handled(machine, at))


def _bays(machine: model.Machine, places: Iterable[str]) -> tuple[str, ...]:
    names = (_bay(machine, place) for place in places)
    return tuple(dict.fromkeys(bay for bay in names if bay != OUTSIDE))


def _bay(machine: model.Machine, place: str) -> str:
    """The bay of a part or terminal, or the place itself where it is a bay; what is neither lies outside."""
    part = machine.parts.get(model.part_of(place))
    return part.bay if part else place if place in machine.bays else OUTSIDE


def _handled(machine: model.Machine, at: Condition) -> Iterator[str]:
    """What hands come to so that a condition is made: wires off, twins exchanged, bays in which a control is turned."""
    yield from (*at.lift, *at.exchange)
    yield from map(machine.turned_in, conditions.turned_inside(machine, None, at))


def in_groups(keys: Iterable[object]) -> tuple[list[int], list[int]]:
    """What has equal keys as one group: the place of the first of each, and the group of every one.

    >>> in_groups("abac")
    ([0, 1, 3], [0, 1, 0, 2])
    """
    groups: dict[object, int] = {}
    firsts: list[int] = []
    group_of = []
    for place, key in enumerate(keys):
        if key not in groups:
            groups[key] = len(firsts)
            firsts.append(place)
        group_of.append(groups[key])
    return firsts, group_of
