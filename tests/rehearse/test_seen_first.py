"""A rehearsal takes the steps that the guide advises, the complaint that is seen before an unsure repair among them."""

from __future__ import annotations

from halfsplit.evidence.weighing import Weighed
from halfsplit.rehearse import play, trials
from halfsplit.rehearse.compare import Following
from halfsplit.service.advising import advise, settled
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser, bench

JOBS = (8, 11, 26)
"""Of the refrigerator; in some of them a complaint is seen first."""


def test_the_rehearsal_and_the_guide_take_the_same_step() -> None:
    """In every state passed that a single fault explains: the same step, or both find out nothing more."""
    asked, seen = adviser("refrigerator"), []
    follow = play.as_advised(asked)

    def choose(weighed: Weighed, state: JobState) -> play.Choice | None:
        chosen = follow(weighed, state)
        if weighed.explained:
            advised = advise(asked, weighed, count=1)
            if chosen:
                assert advised[0].step == chosen[0]
                assert not settled(asked, weighed, advised)
                seen.append(advised[0].comes_first)
            else:
                assert settled(asked, weighed, advised) or advised[0].rule
        return chosen

    following = Following(trials.Rehearsal(asked, trials.Asked(bench("refrigerator").machine, 0)), choose)
    for number in JOBS:
        following.trial(number)
    assert any(seen)
    assert not all(seen)
