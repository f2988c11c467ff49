"""How a machine is put together that is left without a repair: read to the frame before its power comes back.

Knows what was undone, what was found and how the machine stands; not who reads the list.
"""

from __future__ import annotations

from dataclasses import replace

from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.plan import insulated
from halfsplit.service import proof_run
from halfsplit.work import stopping, together
from halfsplit.work.state import JobState, with_fronts
from halfsplit.work.together import Closing, Undone


def put_together(bench: Bench, weighed: Weighed, was: Undone, stands: JobState, rule: str) -> Closing:
    """The list for what `was` undone on a machine that `stands` so, dead and open, and is left by a stop rule ("":
    by none).

    Where the power comes back to it, it is read to the frame before, as after a repair; where that cannot be done, and
    a lead to the frame is suspected, the power stays off until it is measured.
    """
    machine = bench.machine
    closed = together.closing(machine, was, rule)
    powered = any(task.kind in ("power", "judge") for task in closed.tasks)
    if not machine.frame or not powered:
        return closed
    measured = insulated.measured(bench.predictor, weighed.findings)
    if measured and not (was.opened or was.lifted or was.exchange):
        return closed
    if read := proof_run.to_frame(bench, stands):
        opened = with_fronts(machine, (*was.opened, *proof_run.opened_for(machine, stands, read)))
        closed = together.closing(machine, replace(was, opened=opened, read_dead=True), rule)
        return proof_run.insulated(machine, stands, read, closed)
    if measured or not insulated.suspected(weighed):
        return closed
    return together.closing(machine, was, stopping.NOT_MEASURED)
