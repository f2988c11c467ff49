"""The step itself in words: where the leads go, what is looked at or seen, and how what comes and goes is brought out.

Knows steps; what comes before one is told by service/wording, what is asked of the owner by service/questions.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from halfsplit.machine import feeding, model
from halfsplit.modes import listing, warming
from halfsplit.modes.fault import HEAT, LOAD_SUPPLY, WARM
from halfsplit.plan import leads, pricing
from halfsplit.plan.steps import ALL_IN, Step
from halfsplit.predict.predictor import Predictor
from halfsplit.quantity.display import duration
from halfsplit.service import made_whole, naming, opens_itself, questions, setting_back
from halfsplit.work.refusals import NoPower
from halfsplit.work.state import OUTSIDE, JobState, to_open, with_fronts


def itself(
    predictor: Predictor, state: JobState, step: Step, bays: tuple[str, ...], isolated: bool = False
) -> str:
    """A step without what makes ready for it; `bays` are those behind which it is done, `isolated`: so for it on the
    way."""
    if step.asks:
        return questions.asking(predictor, step)
    if step.kind == "look":
        return _looking(predictor, state, step, bays, isolated or state.left_isolated)
    if step.probe is None:
        return yourself(seeing(predictor.machine, step.at, pricing.running_at(predictor.machine, state, step)))
    if step.probe.meter == "amps":
        return f"Meter at amps: close the clamp {clamp_round(predictor.machine, step.probe.red)}. Read."
    at_wall = step.live and all(predictor.machine.parts[model.part_of(place)].house for place in step.places)
    power = "At the wall, meter" if at_wall else "With the power on, meter" if step.live else "Meter"
    red, black = (naming.place(predictor.machine, lead) for lead in (step.probe.red, step.probe.black))
    whole = [*made_whole.still_on(predictor, step, state.perhaps_off)]
    whole += made_whole.sentences(predictor, step, {*state.open_bays, *with_fronts(predictor.machine, bays)})
    said = " ".join([*whole, f"{power} at {step.probe.meter}: red on {red}, black on {black}."])
    if at_wall and feeding.plug_bay(predictor.machine):
        return f"{SLOTS_ON} {said} Read. {SLOTS_OFF}"
    if step.condition and step.condition.loads:
        loaded = state.condition == step.condition and not to_open(predictor.machine, state, bays)
        return f"{GOES_ON if loaded else provoking(predictor.machine, step.condition.provoke)} {said} {WATCHED}"
    if step.condition and step.condition.provoke:
        return f"{said} Clip them on. {provoking(predictor.machine, step.condition.provoke)} {_noted(predictor, step)}"
    return " ".join(filter(None, (f"{said} Read.", opens_itself.again(predictor, state, step))))


def _looking(predictor: Predictor, state: JobState, step: Step, bays: tuple[str, ...], isolated: bool) -> str:
    """A look, with the plug out where that is in the way of it; of a machine that is `isolated` by then it is out, and
    stays so."""
    how = f" {_closely(predictor.machine, step.at, bays)}" if step.closely else ""
    look = "Look closely" if step.closely else "Look"
    at = naming.thing(predictor.machine, step.at)
    said = f"{look} at {at}: {', '.join(seen(predictor, step.at))}?{how}"
    if not _at_plug(predictor.machine, step.at):
        return said
    if feeding.plug_bay(predictor.machine):  # isolated at the breaker, and opened
        return f"Pull the plug. {said} {PLUG_IN}"
    if isolated:
        return said
    back = setting_back.again(predictor.machine, state.condition) if state.condition else ""
    first = "".join(f"{one} " for one in setting_back.before_off(predictor.machine, state.condition))
    in_again = f" {PLUG_IN}{f' Set again: {back}.' if first else ''}"
    return f"{first}Pull the plug. {said}{'' if NoPower() in state.refused else in_again}"


def clamp_round(machine: model.Machine, at: str) -> str:
    """Round which wire the clamp goes at a terminal: where the supply comes in, the one that comes from there, since
    round all that meet there it shows nothing, or twice as much.

    >>> from halfsplit.machine import loading
    >>> clamp_round(loading.load("vented-dryer"), "terminal block.L1")
    "round the cord's wire at terminal block.L1 (BK)"
    >>> clamp_round(loading.load("water-heater"), "limit.3")
    "round the cable's wire at limit.3 (RD)"
    """
    house = {part.name for part in machine.parts.values() if part.house}
    own = [wire for wire in machine.wires if at in wire.ends and house & set(map(model.part_of, wire.ends))]
    if model.part_of(at) in house or not own:
        return f"round the wires at {at}"
    whose, colour = "cable" if machine.supply.hard_wired else "cord", "".join(own[0].colours)
    return f"round the {whose}'s wire at {at}{f' ({colour})' if colour else ''}"


def _at_plug(machine: model.Machine, at: str) -> bool:
    """Whether a place is seen only with the plug out: a prong or a slot, or the receptacle with all of them."""
    places_there = (*leads.plug(machine), *leads.slots(machine))
    return at in {*places_there, *map(model.part_of, places_there)}


def _closely(machine: model.Machine, at: str, bays: Collection[str]) -> str:
    """How a place is looked at once more: wires are pulled at, and what is heard when worn is moved.

    Hands touch nothing of the house, and nothing outside, which may be live.
    """
    part = machine.parts[model.part_of(at)]
    if not bays or part.house:
        return CLOSELY
    if part.terminals:
        return f"{CLOSELY} {PULL}"
    heard = (symptom.of for symptom in machine.symptoms.values() if symptom.kind == "noisy")
    return f"{CLOSELY} {MOVE}" if any(at in parts for parts in heard) else CLOSELY


def seeing(machine: model.Machine, what: str, running: float = 0.0) -> str:
    """A symptom to be seen for oneself, and after how many minutes of running; what the house switches off by itself is
    not switched on again.

    >>> from halfsplit.machine import loading
    >>> seeing(loading.load("refrigerator"), "freezer is cold", 15.0)
    'Once it has run some 15 min: Is the freezer cold?'
    """
    asked = machine.symptoms[what].question or f"{what}?"
    asked = f"{asked} {LEAVE_OFF}" if machine.house_trips(what) else asked
    return f"{ONCE}some {duration(running)}: {asked}" if running else asked


def yourself(asked: str) -> str:
    """That a symptom is to be seen by the repairer, whatever the owner has told.

    >>> yourself("Is the freezer cold?"), yourself("Once it has run some 15 min: Is the freezer cold?")
    ('See for yourself: Is the freezer cold?', 'See for yourself, once it has run some 15 min: Is the freezer cold?')
    """
    joined = ", o" if asked.startswith(ONCE) else f": {asked[:1]}"
    return f"See for yourself{joined}{asked[1:]}"


ONCE = "Once it has run "
"""How a symptom begins that takes its time to show."""
PLUG_IN = "Plug it in again, but not where it is burnt."
SLOTS_ON = "Pull the plug, clear your hands, and switch the breaker on: the receptacle is live, the machine is not."
SLOTS_OFF = f"Switch the breaker off again, and lock it. {PLUG_IN}"
"""How the slots of a receptacle are read that lies in a bay of a machine isolated at its breaker."""
CLOSELY = "Once more, with a lamp and from all sides."
PULL, MOVE = "Pull at each wire.", "Turn or move it by hand."
"""How what a first look may have missed is looked for; with hands only at the machine's own where it is isolated."""
LEAVE_OFF = "Once only: if it trips, leave it off."
"""Said where a breaker is seen to trip: a short may stand behind it."""
WATCHED = "Watch the display while it draws that load: volts that sag or drop out are the supply or its joints."
LOADING = (
    "Let it run with the heaviest load on for five minutes, hands off. "
    "A smell, smoke, a crackle, a hot plug or receptacle: switch the breaker off, and stop."
)
"""How the supply is loaded: no hand holds leads on live terminals for that long."""
GOES_ON = "Let it go on with the heaviest load."
"""The same where it has run so already."""
def provoking(machine: model.Machine, way: str) -> str:
    """What to do to bring out what comes and goes, or to make a thermostat act: the machine runs for a load, and is
    dead for all else."""
    if way == LOAD_SUPPLY:
        return LOADING
    what = way.split(" ", 1)[1]
    if way.startswith("turn "):
        return f"Turn {what} slowly by hand, once round, and watch the meter."
    if way.startswith((HEAT, WARM)):
        return " ".join(_hot_air(machine, what))
    shaken = "the cord and all else outside" if way == ALL_IN + OUTSIDE else f"{what} and what is wired to it"
    return f"Shake {shaken}, and watch the meter."


AIR_PATH = "air path"
"""The part type in which lint and dust gather."""


def _hot_air(machine: model.Machine, what: str) -> Iterator[str]:
    """How a part is warmed: what may burn is out of the way, and the air is kept off what it would open for good."""
    if any(part.type == AIR_PATH for part in machine.parts.values()):
        yield "Clear away lint and dust."
    yield f"Warm {what} with hot air, slowly, and watch the meter; mind your fingers, and let it cool after."
    if spoilt := warming.spoilt_beside(machine, what):
        yield f"Keep the air off {' and '.join(spoilt)}: what opens there stays open."


def _noted(predictor: Predictor, step: Step) -> str:
    """What is looked for while something is provoked: of a thermostat that is warmed, what its contact has come to."""
    if not (step.condition and step.probe and step.condition.warmed):
        return "Note what differs from a steady reading."
    ends, worked = {step.probe.red, step.probe.black}, warming.contacts(predictor.machine)
    closes = any(listing.when_other(contact) for contact, _ in worked if set(contact.ends) == ends)
    acts, back = ("close", "open") if closes else ("open", "closed")
    hot = f"Its contact must {acts} within two minutes: note what it shows while it is hot."
    return f"{hot} Before anything else is read let it cool until it is {back} again."


def seen(predictor: Predictor, at: str) -> tuple[str, ...]:
    """What may be seen at a place, in words."""
    return predictor.look(at)[0]
