"""Which checks of a proof run show that a repair holds: the soonest that together show every fault that it cures, and
that what was told is gone. All else in the run looks for what may be wrong besides.

Knows the bench and the stages of a proof run; neither words nor all that was found.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from halfsplit.circuit.network import Array
from halfsplit.evidence.weighing import Bench
from halfsplit.plan import proof
from halfsplit.plan.proof_walk import Stage
from halfsplit.plan.steps import Step
from halfsplit.work import minutes


@dataclass(frozen=True)
class Holds:
    """Checks, each with the number of its stage (from 0), and minutes of running, waiting and opening for them."""

    steps: tuple[tuple[int, Step], ...] = ()
    minutes: float = 0.0


class _Offered(NamedTuple):
    """A check: the number of its stage, minutes that the machine runs for it, and (E,) what it shows."""

    stage: int
    step: Step
    runs: float
    shows: Array


def soonest(bench: Bench, repairs: Collection[str], told: Collection[str], stages: Sequence[Stage]) -> Holds:
    """The checks that show whether these repairs hold. `told`: symptoms that were wrong before them.

    Each fault that the repairs cure and that is there all the time is to be shown by one check at least, as far as any
    shows it, and each of `told` is to be seen. Greedy: what shows most that is not shown yet for its minutes comes
    first, then what is shown without it goes (V. Chvatal, A greedy heuristic for the set-covering problem, Mathematics
    of Operations Research 4, 1979).
    """
    offered = list(_offered(bench, repairs, told, stages))
    if not offered:
        return Holds()
    shown = np.zeros(len(offered[0].shows), bool)
    every = np.any([one.shows for one in offered], axis=0)
    chosen: list[_Offered] = []
    while (every & ~shown).any():
        so_far = _minutes(stages, chosen)
        new = [int((one.shows & ~shown).sum()) for one in offered]
        dear = [max(_minutes(stages, [*chosen, one]) - so_far, minutes.SEEN_TOO) for one in offered]
        best = max(range(len(offered)), key=lambda n: new[n] / dear[n])
        chosen.append(offered[best])
        shown |= offered[best].shows
    few = sorted(_in_fewer(stages, offered, _needed(chosen, every), every), key=lambda one: one.stage)
    return Holds(tuple((one.stage, one.step) for one in few), _minutes(stages, few))


def _needed(chosen: Sequence[_Offered], every: Array) -> list[_Offered]:
    """Those without which something would not be shown."""
    left = list(chosen)
    for one in sorted(chosen, key=lambda one: -one.runs):
        others = [other for other in left if other is not one]
        left = others if _show(others, every) else left
    return left


def _in_fewer(
    stages: Sequence[Stage], offered: Sequence[_Offered], chosen: Sequence[_Offered], every: Array
) -> list[_Offered]:
    """The same shown in fewer stages, where that takes no longer."""
    left = list(chosen)
    for one in chosen:
        others = [other for other in left if other is not one]
        near = {other.stage for other in others} - {one.stage}
        instead = (o for o in offered if o.stage in near and _show([*others, o], every))
        so_far = _minutes(stages, left)
        better = next((o for o in instead if _minutes(stages, [*others, o]) <= so_far), None)
        left = left if better is None else [*others, better]
    return _needed(left, every)


def _show(some: Sequence[_Offered], every: Array) -> bool:
    return bool(some) and np.array_equal(np.any([one.shows for one in some], axis=0), every)


def _offered(
    bench: Bench, repairs: Collection[str], told: Collection[str], stages: Sequence[Stage]
) -> Iterator[_Offered]:
    """Every check of the stages that shows something of what is asked."""
    known = bench.singles
    cured = [v for v in known.variants if v.faults and all(_is_mended(bench, i, repairs) for i in v.faults)]
    few, wrong = proof.knowing(bench, cured), tuple(told)
    for number, stage in enumerate(stages):
        for step in (walked.step for walked in stage.walked if walked.step):
            seen = [step.kind == "symptom" and step.at == what for what in wrong]
            shows = np.concatenate([_shows(few, step)[1:], np.array(seen, bool)])
            if shows.any():
                runs = minutes.running(bench.machine, step.kind, step.at)
                yield _Offered(number, step, max(runs, bench.machine.handwork.perceive), shows)


def _is_mended(bench: Bench, number: int, repairs: Collection[str]) -> bool:
    fault = bench.singles.faults[number]
    return fault.acting >= 1 and fault.repair.is_done_by(repairs)


def _shows(bench: Bench, step: Step) -> Array:
    """(V,) whether a check is not as it must be under each variant; the first is the healthy machine."""
    assert step.condition is not None
    if step.kind == "symptom":
        yes = bench.predictor.symptom(step.at, step.condition, False)
        return np.asarray(np.abs(yes - yes[0]) > 0.5)
    assert step.probe is not None
    found = bench.predictor.reading(step.probe, step.condition)
    over = found.over > 0.5
    apart = np.abs(found.mean - found.mean[0]) > proof.AS_EXPECTED * found.deviation[0]
    return np.asarray((over != over[0]) | (~over & apart))


def _minutes(stages: Sequence[Stage], chosen: Sequence[_Offered]) -> float:
    """Minutes of some checks: those of each stage, less what is done in it for others alone, and the warming up that
    the stages left out would have spared."""
    total = ran = 0.0
    for number in sorted({one.stage for one in chosen}):
        stage, some = stages[number], [one for one in chosen if one.stage == number]
        colder = max(0.0, stage.spared - ran)
        total += colder + _of_stage(stage, some)
        ran += colder + stage.waits + (max(one.runs for one in some) if stage.seen else 0.0)
    return total


def _of_stage(stage: Stage, chosen: Sequence[_Offered]) -> float:
    """The first clamp opens what the others want open too, and that is closed after them."""
    steps = [one.step for one in chosen]
    clamps = [one for one in stage.walked if one.step and one.step.probe]
    if any(one.step in steps for one in clamps):
        left_out = [one for one in clamps[1:] if one.step not in steps]
    else:
        left_out = [*clamps, *stage.walked[len(clamps) : len(clamps) + bool(clamps)]]
    spared = sum(one.minutes for one in left_out)
    return stage.minutes - max(0.0, stage.runs - max(one.runs for one in chosen)) - spared
