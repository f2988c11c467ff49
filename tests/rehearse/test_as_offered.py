"""The guide's offers taken, as a way of working: what is shown stands unless the guide tells of another."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from benchmarks import as_offered
from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Weighed
from halfsplit.plan import pricing
from halfsplit.rehearse import play
from halfsplit.service import further
from halfsplit.service.further import Thought
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser, bench
from tools import write_plan_comparison
from tools.kept import Kept

COLD: tuple[f.Finding, ...] = (f.Perceived("water gets hot", False, None, "owner"),)


def weighed() -> Weighed:
    """A water heater of which the owner says that the water stays cold."""
    return bench("water-heater").weigh(COLD, with_pairs=False)


def test_where_nothing_is_told_what_is_shown_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no number of minutes that would be told of, and with a planner of which nothing came."""
    asked, state = adviser("water-heater"), JobState()
    shown = play.as_advised(asked)(weighed(), state)
    assert shown is not None
    monkeypatch.setattr(further, "is_offered", lambda *_: False)
    assert as_offered.taken(asked)(weighed(), state) == shown
    monkeypatch.setattr(further, "thought", lambda *_: Thought(failed="it broke"))
    assert as_offered.taken(asked)(weighed(), state) == shown


def test_what_is_offered_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    """A step at its price as the machine stands; of repairs nothing is found out before them."""
    asked, state = adviser("water-heater"), JobState()
    shown = play.as_advised(asked)(weighed(), state)
    assert shown is not None
    other = next(one for one in asked.table.steps if one != shown[0] and not one.asks)
    monkeypatch.setattr(further, "thought", lambda *_: Thought(step=other, less=5.0))
    cost = pricing.cost_of(asked.bench.machine, state, other)
    assert as_offered.taken(asked)(weighed(), state) == (other, cost)
    monkeypatch.setattr(further, "thought", lambda *_: Thought(repairs=("replace upper element",), less=5.0))
    assert as_offered.taken(asked)(weighed(), state) is None


def test_the_offer_is_the_guides_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is asked with what was found and what cannot be done, as the guide stands there."""
    asked, met = adviser("water-heater"), []
    refused = frozenset[object]({asked.table.steps[0]})
    monkeypatch.setattr(further, "thought", lambda planned, guided: met.append((planned, guided)))
    as_offered.taken(asked)(weighed(), JobState(refused=refused))
    ((planned, guided),) = met
    assert (guided.findings, guided.refused) == (COLD, refused)
    assert planned.way.step != asked.table.steps[0]


def test_one_way_alone_is_played_and_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And nothing is written; a way that there is not is refused with those that there are."""
    page = tmp_path / "page.md"
    monkeypatch.setattr(write_plan_comparison, "PAGE", page)
    command = ["write_plan_comparison.py", "--kept", str(tmp_path), "--count", "2", "--workers", "1", "water-heater"]
    monkeypatch.setattr(sys, "argv", [*command, "--only", "one step ahead"])
    write_plan_comparison.main()
    assert len(Kept(tmp_path, "water-heater.one-step-ahead", seed=0).jobs) == 2
    assert not page.exists()
    monkeypatch.setattr(sys, "argv", [*command, "--only", "by habit"])
    with pytest.raises(
        SystemExit, match=r"--only by habit: water-heater knows no such way; give one of: one step ahead"
    ):
        write_plan_comparison.main()
