"""What machines do to themselves, judged in the time domain by decks made from the machine files alone.

`tools/judge_library.py --only settling` judges more sequences of every machine.
"""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest

from halfsplit.machine import loading
from tests.judges import rotor, sequence, wants
from tests.library import sequences
from tests.library.sweep import Library

JUDGED = {"vented-dryer": 3, "water-heater": 10, "refrigerator": 6}


@pytest.mark.parametrize("machine", JUDGED)
def test_the_same_devices_end_in_their_other_state(machine: str, ngspice: str) -> None:
    """A sample of sequences, seeded: settings, momentary ones held and let go, warmth, and a fault."""
    library = Library(loading.load(machine))
    asked = sequences.drawn(library, seed=5, at_most=3)
    chosen = np.random.default_rng(5).permutation(len(asked))[: JUDGED[machine]]
    verdicts = [sequences.judged(library, asked[k]) for k in chosen]
    assert not [verdict.apart for verdict in verdicts if not verdict.agrees]


def test_a_pressed_and_released_start_leaves_the_dryer_running(ngspice: str) -> None:
    """The judge by itself: never held, the motor stays at rest; seized, its overload trips."""
    machine = loading.load("vented-dryer")
    setting = dict(machine.settings["high heat"])
    assert "motor.rotor" in sequence.run(machine, sequence.stages(machine, setting)).end
    never = sequence.stages(machine, setting | {"start": "untouched"})
    assert "motor.rotor" not in sequence.run(machine, never).end
    seized = next(m for m in machine.parts["motor"].modes if m.name == "seized").alternatives[0][1]
    assert sequence.run(machine, sequence.stages(machine, setting), seized).end >= {"motor.overload"}


@pytest.mark.parametrize("judge", [sequence, wants, rotor])
def test_the_judge_shares_nothing_with_what_it_judges(judge: object) -> None:
    """It imports the machine's model and no other room of Halfsplit."""
    tree = ast.parse(Path(str(getattr(judge, "__file__"))).read_text(encoding="utf-8"))  # noqa: B009
    rooms = {f"{n.module}.{a.name}" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) for a in n.names}
    ours = {room for room in rooms if room.startswith("halfsplit")}
    assert ours <= {"halfsplit.machine.model", "halfsplit.machine.primitives"}
