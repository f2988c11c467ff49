"""`rehearse`: a fault is drawn and hidden, steps are followed; how often was the first repair right?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from halfsplit.errors import WrongUse, did_you_mean
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, model
from halfsplit.plan.score import Adviser
from halfsplit.plan.steps import Step
from halfsplit.rehearse import consequences, drawing_lots, order, summary, trials, two_faults
from halfsplit.service import advising, asking, machines

LIBRARY = Path(library.__file__).resolve().parents[1] / "machines"
ORDERS = LIBRARY / "orders"
CONSEQUENCES = LIBRARY / "consequences" / "practice.yaml"
ONE, TWO, CONSEQUENCE = "one", "two", "consequence"
FAULTS = (ONE, TWO, CONSEQUENCE)
"""What is hidden: one fault; an independent pair; a fault and what it made happen."""
SUFFIX = ".yaml"


@dataclass(frozen=True)
class Asked:
    """What is rehearsed, as it was typed.

    `fault`: hide this one ("": drawn by rate). `truth`: the machine that the readings come from ("": `file`). `order`:
    a file of steps, or the name of one of the library ("": the plan). `off_model`: the truth departs from the model.
    `faults`: one of `FAULTS`. `pace`: a pace file by which minutes are counted ("": the file's own). `further`: the
    plan looks many steps ahead, else one.
    """

    file: str
    trials: int = 1
    seed: int = 0
    fault: str = ""
    truth: str = ""
    order: str = ""
    off_model: bool = False
    workers: int = 1
    faults: str = ONE
    pace: str = ""
    further: bool = False


def rehearse(asked: Asked, progress: Callable[[int], None] | None = None) -> dict[str, Any]:
    """The trials and what they show together. `progress` is told how many are done."""
    rehearsal = prepared(asked)
    played = list(trials.run(rehearsal, asked.trials, asked.workers, progress))
    return {"trials": trials.as_contract(played), "summary": summary.summary(played)}


def prepared(asked: Asked) -> trials.Rehearsal:
    """Everything compiled, nothing played. Raises WrongUse or BadInput for what cannot be rehearsed."""
    machine = machines.load(asked.file, asked.pace)
    hidden = machines.load(asked.truth) if asked.truth else machine
    if asked.fault:
        asking.faults(hidden, [asked.fault])
    steps = read_order(asked.order, machine) if asked.order else ()
    departure = drawing_lots.NOT_THE_MODEL if asked.off_model else drawing_lots.AS_THE_MODEL
    further = asked.further and not steps  # an order is followed, and when it ends one step ahead says
    adviser = advising.adviser(Bench(machine), machines.key(asked.file), further)
    what = trials.Asked(hidden, asked.seed, departure, asked.fault, steps)
    return trials.Rehearsal(adviser, what) if asked.faults == ONE else _two(adviser, what, asked)


def _two(adviser: Adviser, what: trials.Asked, asked: Asked) -> two_faults.TwoFaults:
    given = [name for name in ("fault", "truth", "order") if getattr(asked, name)]
    if given:
        raise WrongUse(f"Two faults are not hidden together with --{' or --'.join(given)}.", "Leave one of them out.")
    if asked.faults == TWO:
        return two_faults.TwoFaults(adviser, what)
    pairs = consequences.read(library.read(CONSEQUENCES), str(CONSEQUENCES), what.machine)
    if not pairs:
        remedy = f"Add it to {CONSEQUENCES.name}, or hide an independent pair with --faults two."
        raise WrongUse(f"No consequences are listed for {what.machine.name!r}.", remedy)
    return two_faults.TwoFaults(adviser, what, pairs)


def orders() -> tuple[str, ...]:
    """The names of the fixed orders in the library: the machine's, a dot, the order's.

    >>> "vented-dryer.front-to-back" in orders()
    True
    """
    return tuple(sorted(place.name.removesuffix(SUFFIX) for place in ORDERS.glob(f"*{SUFFIX}")))


def read_order(name_or_path: str, machine: model.Machine) -> tuple[Step, ...]:
    """The steps of an order of the library, or of a file. Raises BadInput, or WrongUse for an unknown name."""
    if name_or_path in orders():
        place = ORDERS / f"{name_or_path}{SUFFIX}"
    elif "\0" in name_or_path or not (Path(name_or_path).suffix in (SUFFIX, ".yml", ".json") or "/" in name_or_path):
        raise WrongUse(f"There is no order {name_or_path[:60]!r}.", did_you_mean(name_or_path, orders()))
    else:
        place = Path(name_or_path)
    return order.read(library.read(place), str(place), machine)
