"""What a job leaves undone, against the state that a rehearsal keeps, over random sessions."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.modes import listing
from halfsplit.modes.fault import Repair
from halfsplit.plan import taken as taking
from halfsplit.plan import undoing
from halfsplit.plan.steps import Step
from halfsplit.rehearse.random_steps import Sessions
from halfsplit.work import handling, together
from halfsplit.work.state import with_fronts
from tests.rehearse.benches import NAMES, adviser

COUNT = 60


@pytest.mark.parametrize("name", NAMES)
def test_what_stands_open_is_what_a_rehearsal_has_open(name: str) -> None:
    """After every step of every session: the same open bays, the same wires off, in a valid order."""
    asked, seen = adviser(name), 0
    machine, made = asked.bench.machine, Sessions(adviser(name), repairs=0.0)
    for number in range(COUNT):
        taken: list[Step] = []
        for state, step, _ in made.session(np.random.default_rng([11, number])):
            assert isinstance(step, Step)
            state = taking.after(asked.bench.machine, state, step)
            taken.append(step)
            was = undoing.after(machine, taken)
            assert set(was.opened) == state.open_bays
            assert was.opened == with_fronts(machine, was.opened)
            assert state.condition is None or set(was.lifted) == set(state.condition.lift)
            closed = [task.at for task in together.closing(machine, was).tasks if task.kind == "cover"]
            assert closed == list(was.opened)[::-1]
            seen += len(was.opened)
    assert seen > COUNT


@pytest.mark.parametrize("name", NAMES)
def test_a_repair_leaves_its_bays_open(name: str) -> None:
    """After any one repair its bays and their fronts are open, its wires are off, and it was isolated."""
    machine = adviser(name).bench.machine
    for repair in {fault.repair for fault in listing.faults(machine)}:
        was = undoing.after(machine, (), [repair])
        own = repair.subject in machine.parts and not machine.parts[repair.subject].house
        own |= repair.subject.startswith(("joint ", "wire "))
        assert not own or set(with_fronts(machine, repair.bays)) <= set(was.opened)
        if repair.name == "replace the cord":
            assert set(was.lifted) == set(machine.supply.meets)
        else:
            assert was.lifted == handling.taken_off(machine, repair)
        assert was.isolated == own


@pytest.mark.parametrize("power", [True, False])
def test_what_was_put_together_leaves_nothing_undone(power: bool) -> None:
    """After a step or a repair, with the power back or off; what is opened after it is all that is undone."""
    bench = adviser("vented-dryer").bench
    machine, console = bench.machine, Step("look", at="timer", places=("timer",))
    made: list[Step | Repair] = [Step("look", at="door switch", places=("door switch",)), *bench.repairs.values()]
    for one in made:
        was = undoing.after(machine, (one, f.Closed(power)))
        assert (was.opened, was.lifted, was.exchange, was.drained) == ((), (), (), ())
        assert not was.isolated  # nobody counts on it
        assert was.off != power
        assert undoing.after(machine, (one, f.Closed(power), console)).opened == ("console",)


def test_bays_stand_in_the_order_of_opening() -> None:
    """The console opened after the top is closed before it."""
    machine = adviser("vented-dryer").bench.machine
    first, then = (Step("look", at=part, places=(part,)) for part in ("door switch", "timer"))
    assert undoing.after(machine, [first, then]).opened == ("top", "console")
    assert undoing.after(machine, [then, first]).opened == ("console", "top")
