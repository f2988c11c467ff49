"""What the benchmark of the closable gap counts: order of costs in real states, and its row by hand."""

import pytest

from benchmarks import plan_gap
from benchmarks.plan_gap import Costs


def test_no_way_costs_less_than_the_least_and_the_least_no_less_than_its_bound() -> None:
    """In every state that a job of the water heater passes; the search itself is judged by test_exact_against_*."""
    (job,), large = plan_gap.counted("water-heater", 1, 0)
    assert job
    assert not large
    for state in job:
        assert state.bound <= state.least + 1e-9
        assert min(state.one, state.many, state.rolled, state.guide) >= state.least - 1e-9
    assert any(state.one > state.least for state in job)


def test_a_row_tells_ratios_of_sums_over_jobs() -> None:
    """Two jobs of two states and one: off by 1 + 2 and 3, so 2 a state; many steps ahead is off by 0.3 in each job."""
    first = [Costs(10, 11, 10.1, 10.3, 11, 5), Costs(10, 12, 10.2, 10.6, 10.0, 5)]
    second = [Costs(10, 13, 10.3, 10.9, 11, 8)]
    cells = plan_gap.row("heater", [first, second], 4).strip("| ").split(" | ")
    assert cells[:6] == ["heater", "2", "3", "4", "10.00", "12.00"]
    assert cells[6].startswith("2.00 ± ")
    assert cells[7:] == ["90 % ± 0", "70 % ± 0", "67 % ± 0", "6.00"]


@pytest.mark.parametrize("way", ["many", "rolled", "guide"])
def test_where_there_is_no_gap_nothing_is_closed(way: str) -> None:
    """Rather than a share of what adding up leaves."""
    job = [Costs(10, 10, 10, 10, 10, 5)]
    assert plan_gap._closed([job], way) == "no gap"
