"""Why a repair is made now: how surely it cures, what it costs, what a wrong one would, and why no step comes first.

Knows the guided diagnosis; decides nothing itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.evidence.weighing import Weighed
from halfsplit.modes.fault import Repair
from halfsplit.plan import fitting, pricing, worth
from halfsplit.quantity.display import duration
from halfsplit.service import advising, meaning, naming, repairing
from halfsplit.service.guiding import Guided
from halfsplit.work import prices

THOUGHT = "A step was advised first; looking many steps ahead, this was expected to cost less in all, and you took it."
AHEAD = "One step ahead a step would come first; looking many steps ahead, this is expected to cost less in all."
NO_VAN = "No second trip is counted: nothing is said of the van."
LOOKALIKE = 0.05
"""A smaller probability of something that no finding tells from what is due is not spoken of; Halfsplit's choice."""
LOOK = "once isolated, look at the place, and at its wires against the drawing, before anything is made."


def why(guided: Guided, due: Sequence[Repair], ahead: bool = False) -> tuple[str, ...]:
    """Sentences, for a person at the machine. `ahead`: it comes before a step only where many steps are looked
    ahead."""
    work = repairing.work(guided, due)
    last = THOUGHT if guided.chosen else AHEAD if ahead else _no_step(guided)
    said = (_cures(guided), *_costs(guided, work, due), *_wrong(guided, due), last)
    return tuple(naming.told(guided.machine, one) for one in said)


def _cures(guided: Guided) -> str:
    names, sure, weighed = guided.made_first[0], guided.cures, guided.weighed
    said = f"In about {100 * sure:.0f} of 100 such jobs {' and '.join(names)} cures."
    said = " ".join(filter(None, (said, doubt(weighed))))
    others = [(other, weighed.cures(other)) for other in weighed.by_repair]
    rest = [(other, p) for other, p in others if other and other != names and p >= meaning.IN_QUESTION]
    if not rest:
        return f"{said} No other repair comes into question."
    other, p = rest[0]
    if p > sure:
        but = ", but costs more where it is wrong" if _price(guided, other) > _price(guided, names) else ""
        return f"{said} {' and '.join(other)} would in about {100 * p:.0f}{but}."
    return f"{said} Next comes {' and '.join(other)}, in about {100 * p:.0f}."


def doubt(weighed: Weighed) -> str | None:
    """What is said where something that is not in the file may only look like what is due; None where it hardly may."""
    if weighed.lookalike < LOOKALIKE:
        return None
    return f"In about {100 * weighed.lookalike:.0f} of 100 something else, not in the file, reads the same: {LOOK}"


def _price(guided: Guided, names: Sequence[str]) -> float:
    """Minutes that repairs come to from where the machine stands."""
    state = advising.standing(guided.asked, guided.findings)
    return pricing.repair_price(guided.machine, state, *(guided.bench.repairs[name] for name in names))


def _costs(guided: Guided, work: repairing.Work, due: Sequence[Repair]) -> Iterator[str]:
    hourly, van = guided.machine.handwork.hourly, guided.machine.van
    made = prices.price_together(due, hourly, van)
    yield meaning.spent(work.cost, work.minutes, "repair") or f"It takes {duration(work.minutes)}."
    if made.part:
        rate = f"{hourly:g} {work.currency} an hour"
        yield f"{work.price:.0f} {work.currency} for parts are worth {duration(made.part)} at {rate}."
    if made.trip:
        yield f"Not on the van: {', '.join(prices.to_fetch(due, van))}. A second trip takes {duration(made.trip)}."
    elif van is None and prices.to_fetch(due, ()):
        yield NO_VAN
    yield (
        f"To see whether it cured counts {duration(made.proof)}; the whole proof run, the same after any repair, is not"
        f" counted. Were it wrong, another visit would take {duration(made.again)} more."
    )


def _wrong(guided: Guided, due: Sequence[Repair]) -> Iterator[str]:
    """What a wrong repair was taken to cost, and handing over where that is what comes of it."""
    names = guided.weighed.likeliest[0]
    likeliest = [guided.bench.repairs[name] for name in names]
    which = f", {' and '.join(names)}" if names and names != tuple(one.name for one in due) else ""
    fetching = ", fetching them" if prices.to_fetch(likeliest, guided.machine.van) else ""
    taken = f"{duration(guided.asked.wasted(names))} for a wrong repair{which}"
    yield (
        f"Whether a step pays is judged with {taken}: work and parts{fetching}, the trial, another visit; never below "
        f"{duration(worth.WRONG_REPAIR)}."
    )
    if repairing.barred(guided, due):
        handing_over = duration(prices.HANDING_OVER.minutes)
        yield f"Looking ahead, handing over what cannot be reached is priced at {handing_over}."


def _no_step(guided: Guided) -> str:
    """Why no further step is taken first."""
    asked, weighed = guided.asked, guided.weighed
    state = guided.standing
    best = next(iter(fitting.next_steps(asked, weighed, state)), None)
    if best is None:
        return "No step left tells more about which repair is due."
    minutes, spared = asked.stakes(weighed, best, fitting.to_see(asked, weighed, state))
    step = advising.advice_for(asked, weighed, best.step, guided.not_now).text
    said = f"The best step left takes {duration(minutes)} and would spare about {duration(spared)} of wrong repairs"
    if spared < minutes:
        return f"{said}, so it is not worth its minutes: {step}"
    enough = f"{100 * worth.SURE:.0f} of 100 jobs or more, but for what no finding can tell,"
    return f"{said}; a repair that cures in {enough} is made all the same: {step}"
