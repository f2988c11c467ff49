"""How a guided diagnosis goes on after repairs that did not make all as it must be: from what the proof run has shown,
or from what was wrong before and is asked for once more.

Knows the guided diagnosis and findings; asks nobody.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.machine.model import part_of
from halfsplit.modes.fault import Repair
from halfsplit.operate import condition as conditions
from halfsplit.plan import insulated, renewed, undoing
from halfsplit.plan.steps import LONGEST, met_in
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping
from halfsplit.work.refusals import NoOwner

TO_FRAME = "chafed to frame"
"""The mode of a wire that leads to the frame, chafed or pinched."""


def asked_for(guided: Guided, shown: Sequence[f.Finding], ran: bool = True) -> tuple[f.Perceived, ...]:
    """What a repairer who has `shown` this after repairs is still asked for: the water on the floor; where they can
    name nothing, all that was wrong before and is soon seen, but not of a machine that never `ran`."""
    return left_wet(guided, shown, ran) if shown else asked_back(guided) if ran else ()


def after(guided: Guided, repairs: Sequence[Repair], shown: Sequence[f.Finding], ran: bool = True) -> Guided:
    """On the machine after these repairs, of which a proof run has shown this, not all of it as it must be (nothing,
    where nobody can say what): what was found before is the prior of what is left, as in the rehearsals
    (`rehearse/trying`), but that hands may have pinched a wire. What the owner knows is of the machine as it was.

    A repair counts as a cure where what was wrong before was looked for and is no longer there; where it never `ran`,
    since something was wrong before the power, nobody knows. It is put together."""
    shown = (*shown, *left_wet(guided, shown, ran))
    cured = _is_cured(guided, shown) if ran else None
    return told_so(guided, [f.Tried(one.name, cured, well=not cured) for one in repairs], shown)


def told_so(guided: Guided, tried: Sequence[f.Tried], shown: Sequence[f.Finding]) -> Guided:
    """The same where it is told whether these repairs, made in one go, have cured (`f.Tried`), and all that the proof
    run has shown: for the guide and for a file of findings alike. What ends the work is carried along, whatever was
    repaired, and what calls for ohms to the frame where that is no cure."""
    names = tuple(one.repair for one in tried)
    repairs = [guided.bench.repairs[name] for name in names]
    made = {*guided.made, *names, *renewed.by_the_way(guided.asked, guided.all_findings, names)}
    asked = renewed.after(guided.asked, guided.findings, made, _pinched(guided, repairs))
    first = tried[0]
    now = f.Tried(first.repair, first.cured, well=first.well)
    findings = (*stopping.ending(guided.machine, guided.findings), *shown, now)
    earlier, refused = (*guided.all_findings, *tried), guided.refused | {NoOwner()}
    calling = () if first.cured else _calling(guided)
    return Guided(asked, findings, refused, None, None, guided.limits, guided, len(findings), now, earlier, calling)


def _calling(guided: Guided) -> tuple[f.Finding, ...]:
    """What calls for ohms to the frame before anything is run, and does so still after a repair in vain."""
    predictor, found = guided.bench.predictor, guided.findings
    return (*insulated.owed(predictor, guided.calling, found), *insulated.calling(predictor, found))


def _pinched(guided: Guided, repairs: Sequence[Repair]) -> frozenset[str]:
    """The faults that hands leave behind the covers they have opened: wires there that lead to the frame."""
    machine, bays = guided.machine, _behind(guided, repairs)
    wires = {w.name for w in machine.wires if any(machine.parts[part_of(end)].bay in bays for end in w.ends)}
    return frozenset(one.name for one in guided.bench.faults if one.subject in wires and one.mode == TO_FRAME)


def where_hands_were(guided: Guided, repairs: Sequence[Repair], shown: Sequence[f.Finding]) -> tuple[str, ...]:
    """The bays to look in first, where something was read to lead to the frame after these repairs."""
    return _behind(guided, repairs) if insulated.is_low(guided.bench.predictor, shown) else ()


def _behind(guided: Guided, repairs: Sequence[Repair]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(bay for one in repairs for bay in undoing.reached(guided.machine, one)))


def asked_back(guided: Guided, longest: float = LONGEST) -> tuple[f.Perceived, ...]:
    """What was complained of, or seen to be wrong, as the repairer would see it if it were there still: what is asked
    of them where they cannot say what is wrong after a repair. Not what takes more minutes than the `longest` to show,
    nor what a hand turns on the dead machine, nor what they have seen to be well since."""
    wrong: dict[str, f.Perceived] = {}
    for x in _seen_in_its_place(guided):
        if well.unlike_the_healthy(guided.bench.predictor, [x]):
            wrong[x.what] = x
        elif x.by == "repairer":
            wrong.pop(x.what, None)
    symptoms = guided.machine.symptoms
    at_work = (x for x in wrong.values() if not symptoms[x.what].by_hand)
    return tuple(_still_there(guided, x) for x in at_work if symptoms[x.what].takes <= longest)


def left_wet(guided: Guided, shown: Sequence[f.Finding], ran: bool = True) -> tuple[f.Perceived, ...]:
    """The water on the floor, where a repairer who has `shown` this after repairs has not said that it is gone: it
    stands there until then. With the breaker off where it was, and it never `ran`."""
    said = any(isinstance(x, f.Perceived) and x.what == stopping.WATER and x.by == "repairer" for x in shown)
    if said or not stopping.is_wet(guided.findings):
        return ()
    off = stopping.breaker_off(guided.machine)
    stays_off = not ran and stopping.is_breaker_off(guided.findings)
    return (off if stays_off else replace(off, condition=conditions.usual(guided.machine)),)


def _is_cured(guided: Guided, shown: Sequence[f.Finding]) -> bool:
    """Whether what was wrong before was looked for and is no longer there; what a hand turned the machine turns now."""
    was, wrong = (
        {x.what for x in well.unlike_the_healthy(guided.bench.predictor, found)} for found in (guided.findings, shown)
    )
    was = {what for what in was if not guided.machine.symptoms[what].by_hand}
    seen = {x.what for x in shown if isinstance(x, f.Perceived)}
    return bool(was) and was <= seen - wrong


def _seen_in_its_place(guided: Guided) -> Iterator[f.Perceived]:
    """What was told or seen since the job began, every part in its own place."""
    for x in guided.all_findings:
        if isinstance(x, f.Perceived) and not (x.condition and x.condition.exchange):
            yield x


def _still_there(guided: Guided, before: f.Perceived) -> f.Perceived:
    at = before.condition or met_in(guided.machine, guided.machine.symptoms[before.what])
    return f.Perceived(before.what, before.there, at, "repairer")
