"""When the right step is to stop: told from the findings, before anything else is advised.

Knows findings and the stop rules of work/hazards; weighs nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.machine.expand import symptoms
from halfsplit.machine.model import BREAKER
from halfsplit.modes import marks
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.work.hazards import STOPS
from halfsplit.work.refusals import NoPower

WATER = symptoms.WATER
NOT_SAFE = "not proved safe"
"""Of a machine that is left as it is though something leads to its frame, or was wrong before its proof run."""
TRIPS = "the breaker trips"
"""Of a machine that is left as it is though something of the house trips for it."""
STAYS_OFF = "the power stays off"
"""Of a machine of which the person said so."""
NOT_MEASURED = "bond not measured"
"""Of a machine that was open and whose frame nobody can measure with the meter that is there."""
NOT_DEAD = "cannot be proved dead"
"""Of a machine that nobody opens: no function of the meter proves it dead."""
ENDS = ("smell of gas", "tingling frame", "burnt receptacle")
"""The rules of `STOPS` by which what was found ends the work, gravest first."""
HANDED_OVER = {
    "electrician": "fixed wiring", "utility": "fixed wiring", "certified technician": "sealed refrigerant system",
    "gas supplier": "gas supply",
}  # fmt: skip
"""The stop rule by the trade whose work a repair is."""
FOR = {
    "tingling frame": "fixed wiring", "burnt receptacle": "fixed wiring", "fixed wiring": "fixed wiring",
    "sealed refrigerant system": "sealed refrigerant system", "smell of gas": "gas supply", "gas supply": "gas supply",
}  # fmt: skip
"""What each stop hands over."""


def reason(machine: model.Machine, findings: Sequence[f.Finding]) -> str | None:
    """The rule of `STOPS` that ends the work here; None where it may go on (with the breaker off, where it is wet)."""
    rules = [_ends(machine, x) for x in findings]
    return next((rule for rule in ENDS if rule in rules), None)


def ending(machine: model.Machine, findings: Sequence[f.Finding]) -> tuple[f.Finding, ...]:
    """The findings that end the work, whatever else is found or repaired."""
    return tuple(x for x in findings if _ends(machine, x))


def now(machine: model.Machine, findings: Sequence[f.Finding]) -> str | None:
    """The rule that stops the work now: one that ends it, or water until the repairer has the breaker off."""
    ends = reason(machine, findings)
    return WATER if ends is None and is_wet(findings) and not is_breaker_off(findings) else ends


def breaker_off(machine: model.Machine, now: conditions.Condition | None = None) -> f.Perceived:
    """The water seen by the repairer with the breaker off: after it the search for the leak may go on. All else stands
    as it does `now` (None: as its owner left it): nobody turns a control back for it, or puts a wire on."""
    stands = replace(now, provoke="") if now else conditions.condition(machine)
    at = conditions.moved(stands, BREAKER, "off")
    return f.Perceived(WATER, True, at, "repairer")


def left(findings: Sequence[f.Finding], rule: str, unsafe: str = "", power: bool = True, measured: bool = True) -> str:
    """The rule by which the machine is left where the work ends by one ("": nothing left to do): one that keeps the
    breaker off, else water that was seen on the floor, which no repair has stopped, else what makes it unsafe to use:
    the rule of what was found (`unsafe`); else that its frame is to be `measured` and cannot be, for then nobody
    has read that anything was wrong before its proof run; else that something was; else that there may be no `power`,
    as the person said."""
    if rule and STOPS[rule].tag:
        return rule
    if is_wet(findings):
        return WATER
    if unsafe:
        return unsafe
    if not measured:
        return NOT_MEASURED
    return NOT_SAFE if is_untried(findings) else rule if power else STAYS_OFF


def of_repairs(repairs: Iterable[Repair]) -> str | None:
    """The rule of the first of these repairs that is another trade's work; None where all are the repairer's own.

    >>> fuse, feed = Repair("replace fuse", "fuse", 5, 10, ()), Repair("mend", "service", 0, 0, (), "electrician")
    >>> of_repairs([fuse, feed]), of_repairs([fuse])
    ('fixed wiring', None)
    """
    return next(filter(None, (of_repair(one.by) for one in repairs)), None)


def of_repair(by: str) -> str | None:
    """The rule that ends the work where a repair is due that is another trade's; None for the repairer's own.

    >>> of_repair("certified technician"), of_repair("repairer")
    ('sealed refrigerant system', None)
    """
    return HANDED_OVER.get(by)


def calls_for(by: str, rule: str) -> bool:
    """Whether a fault that this trade repairs calls for a stop by this rule.

    >>> calls_for("electrician", "burnt receptacle"), calls_for("repairer", "burnt receptacle")
    (True, False)
    """
    return by in HANDED_OVER and HANDED_OVER[by] == FOR.get(rule)


def said(rule: str) -> str:
    """A rule that ends the work as it is told where there is no step for it: its name, and what to do.

    >>> said("cannot be proved dead")[:34]
    'STOP: cannot be proved dead. This '
    """
    return f"STOP: {rule}. {STOPS[rule].say}"


def first(findings: Sequence[f.Finding]) -> tuple[str, ...]:
    """What has to be said above every step: water on the floor."""
    return (f"DANGER: {STOPS[WATER].say}",) if is_wet(findings) else ()


def trips(machine: model.Machine, findings: Sequence[f.Finding]) -> bool:
    """Whether something of the house trips: told or seen, until a repair has cured, or the repairer sees that it holds,
    where it tripped or as the machine is used."""
    tripped: dict[str, conditions.Condition | None] = {}
    used = conditions.usual(machine)
    for x in findings:
        if isinstance(x, f.Perceived) and machine.house_trips(x.what):
            if x.there:
                tripped[x.what] = x.condition
            elif x.by == "repairer" and x.condition in (tripped.get(x.what), used):
                tripped.pop(x.what, None)
        elif isinstance(x, f.Tried) and x.cured:
            tripped.clear()
    return bool(tripped)


def is_untried(findings: Sequence[f.Finding]) -> bool:
    """Whether the power stayed off after the last repair, since something was wrong before it ran.

    >>> is_untried([f.Tried("replace fuse", None)]), is_untried([f.Tried("replace fuse", True)])
    (True, False)
    """
    tried = [x for x in findings if isinstance(x, f.Tried)]
    return bool(tried) and tried[-1].cured is None


def awaits_proof(findings: Sequence[f.Finding]) -> bool:
    """Whether the last repairs only wait for their proof run: the machine was put together with its power left off, and
    nothing was found since, so that nothing but a meter was wanting. The ohms before the power are read first.

    >>> made, low = f.Tried("replace fuse", None), f.Look("fuse", "burnt")
    >>> awaits_proof([made, f.Closed(False)]), awaits_proof([made, low, f.Closed(False)]), awaits_proof([low])
    (True, False, False)
    """
    last = max((n for n, x in enumerate(findings) if isinstance(x, f.Tried)), default=len(findings))
    since = findings[last:]
    closed = any(isinstance(x, f.Closed) and not x.power for x in since)
    return is_untried(findings) and closed and not any(isinstance(x, f.Found) for x in since)


def barred(findings: Sequence[f.Finding]) -> frozenset[object]:
    """What is not done for what was found: nothing under power while water stands on the floor, nor until the next
    repair where something was wrong before the last was tried."""
    return barred_by_water(findings) | frozenset({NoPower()} if is_untried(findings) else ())


def barred_by_water(findings: Sequence[f.Finding]) -> frozenset[object]:
    """What is not done while water stands on the floor."""
    return frozenset({NoPower()} if is_wet(findings) else ())


def is_wet(findings: Sequence[f.Finding]) -> bool:
    """Whether water stands on the floor: told or seen, until the repairer sees that it is gone, or a repair has cured
    what was complained of and all is well."""
    return _water(findings)[0]


def was_breaker_off(findings: Sequence[f.Finding]) -> bool:
    """Whether the breaker was switched off for water since the machine was last in use, whatever became of that."""
    off = False
    for x in findings:
        if isinstance(x, f.Perceived) and x.what == WATER and x.by == "repairer":
            off = off or _with_breaker_off(x)
        elif (isinstance(x, f.Tried) and x.cured is not None) or (isinstance(x, f.Closed) and x.power):
            off = False
    return off


def is_breaker_off(findings: Sequence[f.Finding]) -> bool:
    """Whether the repairer saw the water with the breaker off, and the machine was not in use since: it need not be
    asked for again."""
    return _water(findings)[1]


def _water(findings: Sequence[f.Finding]) -> tuple[bool, bool]:
    """Whether water stands on the floor, and the breaker is off for it."""
    wet = off = False
    for x in findings:
        if isinstance(x, f.Perceived) and x.what == WATER and (x.there or x.by == "repairer"):
            wet, off = x.there, x.there and (off or (x.by == "repairer" and _with_breaker_off(x)))
        elif isinstance(x, f.Tried) and x.cured is not None:
            wet, off = wet and not x.proved, False
        elif isinstance(x, f.Closed) and x.power:
            off = False
    return wet, off


def _with_breaker_off(seen: f.Perceived) -> bool:
    return seen.condition is not None and (BREAKER, "off") in seen.condition.setting


def _ends(machine: model.Machine, found: f.Finding) -> str | None:
    """The rule by which a finding ends the work."""
    if _there(machine, found, "smells") or _escapes(machine, found):
        return "smell of gas"
    if _there(machine, found, "tingles"):
        return "tingling frame"
    burnt = isinstance(found, f.Look) and found.sees == "burnt" and _is_receptacle(machine, found.at)
    return "burnt receptacle" if burnt else None


def _there(machine: model.Machine, found: f.Finding, kind: str) -> bool:
    return isinstance(found, f.Perceived) and found.there and machine.symptoms[found.what].kind == kind


def _escapes(machine: model.Machine, found: f.Finding) -> bool:
    """Whether gas was seen to escape at a part that it flows through: by eye, or as bubbles of leak solution."""
    if machine.gas is None or not isinstance(found, f.Look):
        return False
    return model.part_of(found.at) in machine.gas.parts and marks.escapes(found.sees)


def _is_receptacle(machine: model.Machine, at: str) -> bool:
    part = machine.parts.get(model.part_of(at))
    return part is not None and part.symbol == "receptacle"
