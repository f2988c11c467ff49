"""What the outcomes of a step are called, which possible causes each speaks for, and what the step tells, in words.

The only place that puts outcomes into words, for whoever leads or prints; plan/shown parts them. Knows the posterior;
chooses nothing. What is told is computed, and said in what a person at a machine counts: repairs, minutes, jobs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.meter import Meter
from halfsplit.circuit.network import Array
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import shown, worth
from halfsplit.plan.shown import Outcome
from halfsplit.quantity.display import duration
from halfsplit.work.minutes import Cost

NAMED = 3
"""So many possible causes are named at each outcome."""
SPEAKS_FOR = 1 / 3
"""An outcome speaks for the possible causes that show it with at least this probability. Halfsplit's choice."""
IN_QUESTION = 0.01
"""A repair comes into question from this probability on. Halfsplit's choice, no source."""
SOME = 0.5
"""Where fewer repairs than this are expected to be ruled out, the most telling outcome is named instead."""
LEAST = 0.1
"""Minutes that are worth telling."""
LIKELY = 0.5
"""A repair that cures with less is not named there."""


# ---- outcomes ----------------------------------------------------------------------------------------------


def told(weighed: Weighed, outcomes: Sequence[Outcome]) -> tuple[str, ...]:
    """Each outcome with the possible causes that it speaks for."""
    meter = weighed.predictor.readings.meter
    return tuple(f"{shows(meter, one)}: {causes(weighed, one)}" for one in outcomes)


def shows(meter: Meter, outcome: Outcome) -> str:
    """An outcome as a person tells it: what is seen, yes or no, a beep, OL, or a range on the meter."""
    found = outcome.finding
    if isinstance(found, f.Look):
        return found.sees
    if isinstance(found, f.Perceived):
        return "yes" if found.there else "no"
    if outcome.kind in ("over", "word") or not isinstance(found, f.Reading):
        return found.text if isinstance(found, f.Reading) else found.label
    span = meter.span(found.probe.meter, outcome.low, outcome.high)
    return f"unsteady, {span}, what an open wire picks up" if outcome.kind == "unsteady" else span


def causes(weighed: Weighed, outcome: Outcome) -> str:
    """The likeliest causes that an outcome speaks for, and how many more."""
    candidates = weighed.candidates
    sums = np.bincount(candidates.group_of, outcome.jointly, minlength=len(candidates.groups))
    speaks = np.flatnonzero((sums > 0) & (sums >= SPEAKS_FOR * weighed.by_group))
    if not len(speaks):
        return "says little"
    count = max(int((sums[speaks] >= shown.LIKELY[0]).sum()), 1)
    order = speaks[np.argsort(-sums[speaks], kind="stable")][:NAMED].tolist()
    faults = ([candidates.faults[i].name for i in candidates.groups[group]] for group in order[:count])
    more = f", and {count - NAMED} more" if count > NAMED else ""
    return ", ".join(" + ".join(names) or AS_GOOD for names in faults) + more


AS_GOOD = "as on a good machine"
"""An outcome that speaks for no fault: one that is named there still may be."""


# ---- what a step tells -------------------------------------------------------------------------------------


class Tells(NamedTuple):
    """What a step is expected to tell about the repair.

    Of `now` repairs that come into question, `ruled_out` are expected to fall away. The most telling outcome, other
    than the likeliest: what it `shows`, its `chance`, the repairs that are then likeliest, `sure` to cure, and how many
    are `gone` then.
    """

    now: int
    ruled_out: float
    shows: str = ""
    chance: float = 0.0
    repairs: tuple[str, ...] = ()
    sure: float = 0.0
    gone: int = 0


def tells(weighed: Weighed, outcomes: Sequence[Outcome]) -> Tells:
    """What a step with these outcomes, likeliest first, tells; something else is taken to rule out nothing."""
    repairs = _Repairs(weighed)
    now = repairs.chances(weighed.posterior.probability)
    asked = now >= IN_QUESTION
    after = [repairs.chances(one.jointly) / one.probability for one in outcomes]
    gone = [int((asked & (then < IN_QUESTION)).sum()) for then in after]
    ruled_out = sum(one.probability * count for one, count in zip(outcomes, gone, strict=True))
    made = Tells(int(asked.sum()), ruled_out)
    common = max(range(len(outcomes)), key=lambda k: outcomes[k].probability, default=-1)
    others = [k for k in range(len(outcomes)) if k != common]
    if not others:
        return made
    best = max(others, key=lambda k: outcomes[k].probability * _moved(now, after[k]))
    number = int(np.argmax(after[best]))
    name = shows(weighed.predictor.readings.meter, outcomes[best])
    return made._replace(
        shows=name, chance=outcomes[best].probability, gone=gone[best],
        repairs=repairs.names(number), sure=float(after[best][number]),
    )  # fmt: skip


class _Repairs:
    """Distinct sets of repairs by number; the healthy machine's, none, does not come into question."""

    def __init__(self, weighed: Weighed) -> None:
        self.candidates = weighed.candidates

    def chances(self, by_variant: Array) -> Array:
        """(R,) the same summed by set of repairs, the healthy machine's left at 0."""
        made = np.bincount(self.candidates.repair_of, by_variant)
        made[self.candidates.repair_of[0]] = 0.0
        return np.asarray(made)

    def names(self, number: int) -> tuple[str, ...]:
        """The repairs of a set."""
        row = int(np.flatnonzero(self.candidates.repair_of == number)[0])
        return self.candidates.repairs_of(int(self.candidates.group_of[row]))


def _moved(now: Array, then: Array) -> float:
    """How far an outcome moves the belief in the repairs: the Kullback-Leibler divergence [nat]."""
    return float((then * np.log(np.maximum(then, 1e-12) / np.maximum(now, 1e-12))).sum())


def reason(what: Tells, minutes: float) -> str:
    """What a step tells, for a person at the machine; minutes: what it takes.

    >>> reason(Tells(9, 3.6), 1.25)
    'Of the 9 repairs that come into question it is expected to rule out about 4, in 1.2 min.'
    >>> reason(Tells(9, 0.2, "burnt", 0.031, ("replace receptacle",), 0.958), 0.3)
    'In about 3 of 100 such jobs it shows burnt: then replace receptacle cures with 96 %. It takes 20 s.'
    >>> reason(Tells(7, 0.4, "yes", 0.08, ("replace element",), 0.44, 5), 1.0)
    'In about 8 of 100 such jobs it shows yes: that rules out 5 of the 7 repairs that come into question. It takes ...'
    """
    if what.ruled_out >= SOME:
        count = "repair that comes" if what.now == 1 else f"{what.now} repairs that come"
        out = f"Of the {count} into question it is expected to rule out about {max(what.ruled_out, 1):.0f}"
        return f"{out}, in {duration(minutes)}."
    if what.repairs and (what.sure >= LIKELY or what.gone):
        then = f"then {' and '.join(what.repairs)} cures with {100 * what.sure:.0f} %"
        if what.sure < LIKELY:
            then = f"that rules out {what.gone} of the {what.now} repairs that come into question"
        return f"In {_of_jobs(what.chance)} such jobs it shows {what.shows}: {then}. It takes {duration(minutes)}."
    return f"It rules out little, but takes only {duration(minutes)}."


def danger(order: worth.Order, live: bool) -> str:
    """Why a live step leads and no dead one does, or why a live one waits. Danger is an order, not a price.

    >>> danger(worth.Order(31.0, 6.2), live=True)
    'Live, since dead steps would take some 25 min more to settle which repair is due; up to 10 min are accepted.'
    >>> danger(worth.Order(9.0, 6.2), live=False)
    'A live reading would tell more a minute: it waits while dead steps settle which repair is due within 10 min more.'
    >>> danger(worth.Order(60.0, 56.2, ahead=True), live=False)
    'With a live reading 3.8 min less are expected in all: it waits while dead steps settle ... within 10 min more.'
    """
    most = duration(worth.EXCESS)
    if not live:
        less = "" if order.dead is None else duration(order.dead - order.quickest)
        why = f"With a live reading {less} less are expected in all" if order.ahead else MORE_A_MINUTE
        return f"{why}: it waits while dead steps settle which repair is due within {most} more."
    if order.dead is None:
        return "Live, since no dead step is left that tells which repair is due."
    more = duration(order.dead - order.quickest)
    so = f"dead steps would take some {more} more to settle which repair is due"
    return f"Live, since {so}; up to {most} are accepted."


MORE_A_MINUTE = "A live reading would tell more a minute"


def _of_jobs(chance: float) -> str:
    return f"about {100 * chance:.0f} of 100" if chance >= 0.01 else f"about {1000 * chance:.0f} of 1000"


# ---- what a step costs -------------------------------------------------------------------------------------

GOES_INTO = {
    "itself": "for the {what} itself", "opening": "to open", "closing": "to close again",
    "power": "for power off or on", "setting": "to set controls",
    "lifting": "for wires or parts to come off or go back", "spades": "for old spades that break now and then",
    "waiting": "to wait until it is as warm or as cold as wanted",
    "exchanging": "to put parts in each other's places", "cooling": "to let it cool",
    "discharging": "to discharge what holds a charge", "gas": "for the gas cock shut or open",
    "running": "to wait while it runs until that is seen",
    "provoking": "to bring out what comes and goes before it is closed",
}  # fmt: skip
"""What the minutes of a step go into (`work/minutes.Cost`)."""


def spent(cost: Cost, extra: float, what: str = "step") -> str:
    """What the minutes of a step, or of `what`, go into; "" where that is the step itself. extra: minutes beyond what
    the likely repairs take in any case.

    >>> spent(Cost(0.5, 2.0, 2.0), 0.5)
    '4.5 min: 30 s for the step itself, 2 min to open, 2 min to close again. All but 30 s the likely repairs take ...'
    """
    parts = [(getattr(cost, name), said.format(what=what)) for name, said in GOES_INTO.items()]
    told = [f"{duration(some)} {said}" for some, said in parts if some > 0]
    anyway = f" All but {duration(extra)} the likely repairs take anyway." if extra < cost.minutes - LEAST else ""
    return f"{duration(cost.minutes)}: {', '.join(told)}.{anyway}" if len(told) > 1 or not cost.itself else ""


# ---- what a finding tells ----------------------------------------------------------------------------------


def weight(bits: float) -> str:
    """What a finding does to the odds of a possible cause; one bit doubles them.

    >>> weight(1.4), weight(-2.0), weight(0.02), weight(30)
    ('2.6 times the odds', '1/4 of the odds', 'as before', 'over 1000 times the odds')
    """
    factor = 2.0 ** min(abs(bits), 60.0)
    if factor < 1.05:
        return "as before"
    size = "over 1000" if bits > 0 and factor > 1000 else f"{factor:.1f}" if factor < 10 else f"{factor:.0f}"
    if bits > 0:
        return f"{size} times the odds"
    return "below 1/1000 of the odds" if factor > 1000 else f"1/{size.removesuffix('.0')} of the odds"


def weights(reasons: Sequence[dict[str, object]]) -> Iterator[tuple[str, str]]:
    """Each finding's label and what it does to the odds, from reasons as data."""
    for one in reasons:
        yield str(one["label"]), weight(float(str(one["bits"])))
