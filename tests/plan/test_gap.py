"""What the benchmark of the closable gap counts: order of costs in real states, and its row by hand."""

from pathlib import Path

import pytest

from benchmarks import plan_gap
from benchmarks.plan_gap import Costs, Reckoned
from tests.depth import tried
from tools.kept import Kept


def test_no_way_costs_less_than_the_least_and_the_least_no_less_than_its_bound(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In every state that a job of the water heater passes, cut smaller than the table's unless deep. The search itself
    is judged by test_exact_against_*. What is kept reads the same, and is not reckoned again."""
    monkeypatch.setattr(plan_gap, "CAUSES", tried(8, plan_gap.CAUSES))
    monkeypatch.setattr(plan_gap, "STEPS", tried(6, plan_gap.STEPS))
    kept = Kept(tmp_path, "water-heater", seed=0)
    (job,) = plan_gap.jobs_of("water-heater", kept, 1, 0)
    assert job.states
    assert not job.large
    for state in job.states:
        assert state.bound <= state.least + 1e-9
        assert min(state.one, state.many, state.rolled, state.guide) >= state.least - 1e-9
    assert any(state.one > state.least for state in job.states)
    assert plan_gap.read(Kept(tmp_path, "water-heater", seed=0)) == [job]


def test_a_row_tells_ratios_of_sums_over_jobs() -> None:
    """Two jobs of two states and one: off by 1 + 2 and 3, so 2 a state; many steps ahead is off by 0.3 in each job. A
    third had none small enough."""
    first = [Costs(10, 11, 10.1, 10.3, 11, 5), Costs(10, 12, 10.2, 10.6, 10.0, 5)]
    second = [Costs(10, 13, 10.3, 10.9, 11, 8)]
    jobs = [Reckoned(first, 1), Reckoned(second, 0), Reckoned([], 3)]
    cells = plan_gap.row("heater", jobs, "1234567").strip("| ").split(" | ")
    assert cells[:6] == ["heater", "3", "3", "4", "10.00", "12.00"]
    assert cells[6].startswith("2.00 ± ")
    assert cells[7:] == ["90 % ± 0", "70 % ± 0", "67 % ± 0", "6.00", "1234567"]


@pytest.mark.parametrize("way", ["many", "rolled", "guide"])
def test_where_there_is_no_gap_nothing_is_closed(way: str) -> None:
    """Rather than a share of what adding up leaves."""
    job = [Costs(10, 10, 10, 10, 10, 5)]
    assert plan_gap._closed([job], way) == "no gap"
