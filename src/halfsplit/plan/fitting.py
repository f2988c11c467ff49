"""The adviser's steps that fit the machine as it was found, none wanting a warmth out of reach or a short to the frame
tried under power; when none is taken, and what is seen before an unsure repair then.

Knows the adviser, the findings and the rules of `work/warms`, `insulated` and `worth`; scores nothing itself.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import partial

from halfsplit.evidence import finding as f
from halfsplit.evidence import well
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import follows, insulated, powering, pricing, worth
from halfsplit.plan.score import Adviser, Scored
from halfsplit.plan.steps import Step
from halfsplit.work import prices, stopping, warms
from halfsplit.work.state import JobState

NOT_REPRODUCED = "not reproduced"
"""The rule of `work.hazards.STOPS` by which a job ends whose complaint does not show."""
SPARE = 48
"""So many more are asked for, all that are scored: some want a warmth that the machine as it was found cannot reach."""


def next_steps(asked: Adviser, weighed: Weighed, state: JobState, count: int = 1) -> list[Scored]:
    """The best steps that can be done on the machine as it was found, best first."""
    left = that_fit(asked, weighed, asked.next_steps(weighed, state, count + SPARE))
    return asked.in_order(weighed, state, left)[:count]


def that_fit(asked: Adviser, weighed: Weighed, scored: Sequence[Scored]) -> list[Scored]:
    """Those of some steps that can be done on the machine as it was found (see `fits`)."""
    return [one for one in scored if fits(asked, weighed.findings, one.step)]


def fits(asked: Adviser, findings: Sequence[f.Finding], step: Step) -> bool:
    """Whether the machine as it was found can reach the warmth that a step wants, or that its owner is asked about, and
    whether a person there could feel what is asked; of a question, whether its answer does not go without saying;
    whether ohms to the frame stand before a breaker is tried; and of a close look whether a first one has found
    nothing."""
    machine, shows, predictor = asked.bench.machine, healthy(asked), asked.bench.predictor
    if step.closely and not any(_found_nothing(asked, one, step.at) for one in findings):
        return False
    if _wants_ohms(asked, findings, step) and not insulated.measured(asked.bench.predictor, findings):
        return False
    if step.met and not _of_danger(asked, step) and follows.answer(predictor, findings, step.at, step.met) is not None:
        return False
    known = [*findings, *follows.no_warmth(predictor, findings, step.asks)]
    met = warms.can_be_met(machine, known, step.tells_of, shows)
    return met and (not step.perceived or warms.can_be_felt(machine, known, step.at, shows))


def fits_alike(step: Step) -> object:
    """All of a step that it may hang on whether it fits: equal for steps that fit alike."""
    return step.kind, step.condition, step.met, step.closely, "" if step.kind == "reading" else step.at


def _found_nothing(asked: Adviser, found: f.Finding, at: str) -> bool:
    """Whether a first look at a place found no mark that a fault leaves there."""
    if not isinstance(found, f.Look) or found.at != at or found.closely:
        return False
    return found.sees not in asked.bench.predictor.marks(at)


def _of_danger(asked: Adviser, step: Step) -> bool:
    """Whether a yes stops the work: that is asked, however sure the no may seem."""
    return stopping.now(asked.bench.machine, [f.Perceived(step.at, True, step.met, "owner")]) is not None


def _wants_ohms(asked: Adviser, findings: Sequence[f.Finding], step: Step) -> bool:
    """Whether ohms to the frame come before a step: where a breaker is tried, and where one is told to trip before
    anything is run."""
    machine = asked.bench.machine
    return insulated.wanted(machine, step) or (
        powering.powered(machine, step) and insulated.told_to_trip(machine, findings)
    )


def sure(weighed: Weighed) -> bool:
    """Whether one set of repairs is so likely that it is made whatever it costs, and one step ahead takes no further
    step."""
    return weighed.likeliest[1] >= worth.SURE


def made_first(asked: Adviser, weighed: Weighed, state: JobState) -> tuple[tuple[str, ...], float]:
    """The repairs made where no further step is taken, but for those made in vain, and how probable it is that they
    cure; none where nothing wrong is likeliest."""
    return first_of(asked, weighed, state, in_vain(weighed.findings)) if weighed.likeliest[0] else weighed.likeliest


def in_vain(findings: Sequence[f.Finding]) -> set[str]:
    """The repairs after which not all was as it must be."""
    return {x.repair for x in findings if isinstance(x, f.Tried) and not x.proved}


def first_of(
    asked: Adviser, weighed: Weighed, state: JobState, made: Collection[str] = ()
) -> tuple[tuple[str, ...], float]:
    """Of the sets of repairs not all `made` the likeliest where that is sure, or is handed over; else, of those that we
    can make, the first in the order p/C, probability to price (Heckerman, Breese and Rommelse, Communications of the
    ACM 38:49-57, 1995). With how probable it is that it cures; none where none is left."""
    left = ((names, p) for names, p in weighed.by_repair.items() if not set(names) <= set(made))
    machine, known = asked.bench.machine, asked.bench.repairs
    first: tuple[str, ...] = ()
    chance = most = 0.0
    for names, p in left:  # the likeliest first
        repairs = [known[name] for name in names]
        handed = pricing.handed_over(machine, state, *repairs)
        if not first and (p >= worth.SURE or handed):
            return names, p
        if p <= most * prices.AGAIN:  # no price is less
            break
        ratio = 0.0 if handed else p / pricing.repair_price(machine, state, *repairs)
        if ratio > most:
            first, chance, most = names, p, ratio
    return first, chance


def settled(asked: Adviser, weighed: Weighed, state: JobState, best: Sequence[Scored]) -> bool:
    """Whether nothing more is found out: one set of repairs is sure enough, or the best step does not pay, not even
    with what it would spare of seeing the complaint."""
    if asked.knows_enough(weighed) or not best:
        return True
    return not (asked.pays(weighed, best[0]) or asked.pays(weighed, best[0], to_see(asked, weighed, state)))


def paying(asked: Adviser, weighed: Weighed, state: JobState) -> Scored | None:
    """The best step while it pays; None where nothing more is found out (see `settled`)."""
    best = [] if asked.knows_enough(weighed) else next_steps(asked, weighed, state)
    return None if settled(asked, weighed, state, best) else best[0]


def first_seen(asked: Adviser, weighed: Weighed, state: JobState) -> Step | None:
    """The complaint to be seen before a repair that is not sure, where nothing found is unlike a healthy machine and
    the machine can be brought to show it, the soonest seen first; before a breaker is tried, the reading that it wants.
    None where nothing is to be seen first."""
    if sure(weighed):
        return None
    wanted = {one.what for one in well.to_be_looked_for(weighed)}
    if not wanted:
        return None
    offered = zip(asked.steps.usual, asked.allowed(state), strict=True)
    plain = [step for step, can in offered if can and step.kind == "symptom" and not step.exchange]
    due = [step for step in plain if step.at in wanted]
    found = [step for step in due if fits(asked, weighed.findings, step)]
    found = found or [reading for step in due if (reading := _before_it(asked, weighed, state, step))]
    return min(found, key=lambda step: pricing.cost_of(asked.bench.machine, state, step).minutes, default=None)


def does_not_show(weighed: Weighed) -> bool:
    """Whether the complaint does not show, nor anything else that is wrong, and no repair is sure enough; but for a
    setting of the owner's, which on a machine that works costs nothing to show."""
    shown = {one.repair.name for one in weighed.candidates.faults if one.owner_only}
    names, _ = weighed.likeliest
    return not (sure(weighed) or (names and shown.issuperset(names))) and well.shows_nothing_wrong(weighed)


def to_see(asked: Adviser, weighed: Weighed, state: JobState) -> float:
    """Minutes to see the complaint from here, where that is to be done before a repair (see `first_seen`); else 0."""
    step = first_seen(asked, weighed, state)
    return pricing.cost_of(asked.bench.machine, state, step).minutes if step else 0.0


def _before_it(asked: Adviser, weighed: Weighed, state: JobState, step: Step) -> Step | None:
    """The reading without which a step is not taken, the soonest made; None where it wants none or none helps."""
    machine = asked.bench.machine
    if not _wants_ohms(asked, weighed.findings, step):
        return None
    can = [one for one, allowed in zip(asked.steps.usual, asked.allowed(state), strict=True) if allowed]
    lacking = insulated.lacking(asked.bench.predictor, weighed.findings, [one for one in can if not one.live])
    return min(lacking, key=lambda one: pricing.cost_of(machine, state, one).minutes, default=None)


def healthy(asked: Adviser) -> warms.Shows:
    """What a healthy machine shows in the setting of a finding; unstated, as it is usually run."""
    return partial(well.shown_by_the_healthy, asked.bench.predictor)
