"""`diagnose`: what could explain the findings, how surely, why, what to find out next, and whether it is enough."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Candidate, Weighed
from halfsplit.machine import model
from halfsplit.modes import listing
from halfsplit.plan import setups, worth
from halfsplit.service import (
    advising,
    alongside,
    deciding,
    doubting,
    naming,
    reasons,
    refusing,
    remembering,
    repairing,
    replaying,
)
from halfsplit.service.advising import Advice
from halfsplit.service.alongside import Alongside
from halfsplit.service.guiding import Guided
from halfsplit.service.leaving import WHATEVER, Limits
from halfsplit.work import prices

MISFIT = 0.02
"""Where something the file does not say is likelier than this, the finding that fits worst is sought and named."""


def read_findings(machine: model.Machine, text: str, file: str) -> list[f.Finding]:
    """The findings of a text; `file` is what problems call it. Raises BadInput with all of them."""
    repairs = frozenset(fault.repair.name for fault in listing.faults(machine))
    return findings_file.read(text, file, machine, repairs, frozenset(refusing.choices(machine)))


def diagnose(
    machine: model.Machine,
    findings: Sequence[f.Finding],
    why: str = "",
    worked_on_before: bool = False,
    key: str = "",
    further: bool = False,
    with_alongside: bool = False,
    cannot: Sequence[str] = (),
    limits: Limits = WHATEVER,
) -> dict[str, Any]:
    """All that is known after the findings, as the contract has it, and the findings with nothing left out.

    `why` names a candidate whose reasons are told too; under `key` the machine's table of steps is kept. `further`: the
    next steps are those of the plan many steps ahead; none where it would repair now. `with_alongside`: the first step
    says what would most probably be found out next in its set-up. Raises WrongUse where both are asked for. `cannot`:
    what cannot be done (`refusing.choices`); the next steps go around it. `limits`: when the work ends though it
    could go on. A repair among the findings is followed as the guide does (`replaying`).
    """
    if further and with_alongside:
        raise WrongUse("What is read alongside is known one step ahead only.", "Leave out --further or --alongside.")
    refused = refusing.named(machine, cannot)
    bench = remembering.bench(machine, key, worked_on_before)
    guided = replaying.replayed(advising.adviser(bench, key), findings, refused, limits)
    weighed = guided.weighed
    why_told = {"why": reasons.of(weighed, chosen(machine, weighed.ranked(), why))} if why else {}
    told = _told(guided, further, with_alongside, bool(why)) | why_told
    remembering.keep(bench, key)
    remembering.keep(guided.bench, key)
    return told | {"findings": [findings_file.written(one) for one in findings]}


def _told(guided: Guided, further: bool, with_alongside: bool, with_why: bool) -> dict[str, Any]:
    """What is known and what comes next, where the findings have led."""
    weighed, refused = guided.weighed, guided.not_now
    asked = setups.far_sighted(guided.asked) if further else guided.asked
    advised = advising.advise(asked, weighed, refused, limits=guided.limits)
    read = alongside.readings(asked, weighed, advised[0], refused) if with_alongside and advised else ()
    settled = advising.settled(asked, weighed, advised, refused)
    known = _known(guided, settled)
    if with_why:
        stops = any(one.rule for one in advised)
        known["enough"]["why"] = [] if stops or not known["enough"]["known"] else _why(guided)
    return known | {"next": _next(advised, read)}


def _why(guided: Guided) -> list[str]:
    """Why the repairs are made now, in the words of the guide."""
    return list(deciding.why(guided, guided.repairs_left(guided.made_first[0]), ahead=not guided.due))


def _known(guided: Guided, settled: bool) -> dict[str, Any]:
    weighed = guided.weighed
    worst = doubting.to_take_again(weighed) if weighed.unexplained > MISFIT else None
    return {
        "candidates": [candidate(one) for one in weighed.ranked()],
        "unexplained": weighed.unsaid,
        "worst_fit": findings_file.written(worst) if worst else None,
        "enough": enough(guided, settled),
    }


def _next(advised: Sequence[Advice], read: Sequence[Alongside]) -> list[dict[str, Any]]:
    """The steps as data, with the first what would be read in its set-up."""
    told = [advising.as_data(one) for one in advised]
    if read:
        told[0]["alongside"] = [alongside.as_data(one) for one in read]
    return told


def candidate(one: Candidate) -> dict[str, Any]:
    """A possible cause as data; the healthy machine has no faults and no repair."""
    return {
        "faults": list(one.faults),
        "probability": one.probability,
        "repair": " and ".join(one.repairs) or None,
        "root_cause": None,
    }


def enough(guided: Guided, settled: bool) -> dict[str, Any]:
    """Whether one set of repairs is worth doing, which, how probable it is that it cures, what is to be doubted of it,
    and the minutes of a second trip where a part of it is not on the van.

    `settled`: nothing more is found out, since it is sure enough or since no step is worth its minutes. `likely`: it is
    sure enough for one step ahead; looking many ahead a cheap step may still come first. `proved`: the repairs that
    have cured, all being well, where nothing was found since. `handed_over`: why it is not made here, where it lies
    behind what will not open, or takes a helper who is not there.
    """
    repairs, probability = guided.made_first
    known = settled and bool(guided.repairs_left(repairs))
    return {
        "known": known,
        "sure": known and guided.is_sure,
        "likely": probability >= worth.SURE,
        "proved": " and ".join(guided.proved) or None,
        "repair": " and ".join(repairs) or None,
        "probability": guided.cures,
        "doubt": deciding.doubt(guided.weighed) if known else None,
        "second_trip": _trip(guided.weighed, repairs),
        "handed_over": (repairing.why_barred(guided, guided.repairs_left(repairs)) or None) if known else None,
    }


def _trip(weighed: Weighed, names: Sequence[str]) -> float:
    repairs = weighed.candidates.repairs
    made = [repairs[name] for name in names if name in repairs]
    return prices.price_together(made, van=weighed.predictor.machine.van).trip


def chosen(machine: model.Machine, ranked: Sequence[Candidate], why: str) -> Candidate:
    """The candidate meant by `why`: its place from 1, the names of its faults as commands or as people have them."""
    if why.isdecimal() and 1 <= int(why) <= len(ranked):
        return ranked[int(why) - 1]
    names = {" + ".join(one.faults) or "nothing is wrong": one for one in reversed(ranked)}
    as_told = {naming.told(machine, name): one for name, one in names.items()}
    if why in names or why in as_told:
        return names.get(why) or as_told[why]
    raise WrongUse(f"No possible cause {why!r}.", did_you_mean(why, names))
