"""Laws of weighing typed findings: sums, order, repeats, retracting, and what fits nothing."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file, unexplained
from halfsplit.evidence.weighing import Bench, Weighed
from halfsplit.machine import loading
from halfsplit.rehearse import trials
from tests.rehearse.benches import adviser, bench

FINDINGS = (
    "- symptom: {what: water gets hot, value: no}",
    "- symptom: {what: breaker trips, value: no}",
    "- symptom: {what: hot water lasts, value: no, set: {warmth: top hot}, by: repairer}",
    "- look: {at: limit, sees: fine}",
    "- reading: {meter: volts, red: limit.1, black: limit.3, value: 238 V}",
    "- reading: {meter: ohms, red: limit.1, black: limit.2, value: 0.2}",
    "- reading: {meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], value: OL}",
    "- reading: {meter: ohms, red: lower element.1, black: lower element.2, lift: [lower element.1], value: 12.9}",
    "- reading: {meter: amps, red: limit.2, value: 0.0 A}",
    "- repair: {made: replace upper element, cured: no}",
)
TIED = (3, 1, 6, 9, 2)
COMMON = (FINDINGS[0], FINDINGS[6])
RARE = "wire upper thermostat.first to upper element.1: broken"


def read(*lines: str) -> list[f.Finding]:
    """Each line by itself: nothing is taken over from the one before."""
    machine = bench("water-heater").machine
    return [found for line in lines for found in findings_file.read(line, "findings.yaml", machine)]


def weigh(found: list[f.Finding]) -> Weighed:
    """On the water heater."""
    return bench("water-heater").weigh(found)


def told(found: Weighed) -> dict[tuple[str, ...], float]:
    """Candidates with their probabilities."""
    return {one.faults: one.probability for one in found.ranked()} | {("not in the file",): found.unsaid}


some_findings = st.lists(st.sampled_from(FINDINGS), max_size=6, unique=True)


@settings(max_examples=25)
@given(some_findings)
def test_probabilities_sum_to_one_with_the_unexplained(lines: list[str]) -> None:
    """Candidates, and sets of repairs, together with what the file does not say."""
    found = weigh(read(*lines))
    assert sum(told(found).values()) == pytest.approx(1.0, abs=1e-9)
    assert sum(found.by_repair.values()) + found.unexplained == pytest.approx(1.0, abs=1e-9)
    assert 0 <= found.unexplained <= found.unsaid <= 1


@settings(max_examples=25)
@given(some_findings, st.randoms(use_true_random=False))
def test_the_order_of_findings_is_irrelevant(lines: list[str], random: object) -> None:
    """The same findings in any order, the same probabilities; but that what was found before the breaker was first off
    stays before that, and what was found later stays later (`evidence/switched`)."""
    isolated = ("- look", "- reading: {meter: ohms")
    off = next((n for n, line in enumerate(lines) if line.startswith(isolated)), len(lines))
    before, after = lines[:off], lines[off + 1 :]
    for part in (before, after):
        random.shuffle(part)  # type: ignore[attr-defined]
    one, other = told(weigh(read(*lines))), told(weigh(read(*before, *lines[off : off + 1], *after)))
    assert one.keys() == other.keys()
    assert all(one[key] == pytest.approx(other[key], abs=1e-9) for key in one)


@pytest.mark.parametrize("line", FINDINGS[3:9])
def test_a_repeated_finding_does_not_count_twice(line: str) -> None:
    """Five times the same at one place says hardly more than once: no odds move by more than a bit and a half."""
    once, often = told(weigh(read(FINDINGS[0], line))), told(weigh(read(FINDINGS[0], *[line] * 5)))
    best = max(once, key=once.__getitem__)
    for key in once:
        if once[key] > 1e-3 and often.get(key, 0.0) > 0:
            moved = np.log2(often[key] / often[best]) - np.log2(once[key] / once[best])
            assert abs(moved) < 1.5, (key, moved)


def test_retracting_is_leaving_out() -> None:
    """A bench that has weighed a finding and weighs without it says what a fresh one says."""
    used, fresh = bench("water-heater"), Bench(loading.load("water-heater"))
    lines = read(*FINDINGS[:8])
    used.weigh(lines)
    for left_out in range(len(lines)):
        rest = lines[:left_out] + lines[left_out + 1 :]
        assert told(used.weigh(rest)) == pytest.approx(told(fresh.weigh(rest)), abs=1e-12)


def test_an_impossible_set_is_something_the_file_does_not_say() -> None:
    """Volts that no leg can give and ohms that no contact has: the file does not say it, and a finding is named."""
    lines = read(
        "- reading: {meter: volts, red: limit.1, black: limit.3, value: 60 V}",
        "- reading: {meter: ohms, red: limit.1, black: limit.2, value: 700}",
        "- reading: {meter: ohms, red: limit.3, black: limit.4, set: {warmth: cold tank}, value: 90}",
        "- reading: {meter: ohms, red: upper element.1, black: upper element.2, lift: [upper element.1], value: 5.1}",
        "- reading: {meter: ohms, red: lower element.1, black: lower element.2, lift: [lower element.1], value: 31}",
    )
    found = weigh(lines)
    assert found.unexplained > 0.9
    assert found.likeliest[1] < 0.9
    assert found.worst_fit() in lines


@pytest.mark.parametrize(
    "lie",
    [
        "- reading: {meter: ohms, red: limit.1, black: limit.2, value: 700}",
        "- reading: {meter: volts, red: limit.1, black: limit.3, value: 71 V}",
    ],
)
def test_the_worst_finding_is_the_one_that_lies(lie: str) -> None:
    """Among findings that all say that the upper element is open, the one that nothing could show is named."""
    good = read(
        FINDINGS[0],
        FINDINGS[6],
        "- reading: {meter: volts, red: limit.2, black: limit.4, value: 238 V}",
        "- reading: {meter: volts, red: upper element.1, black: upper element.2, value: 238 V}",
    )
    (lied,) = read(lie)
    found = weigh([*good, lied])
    assert found.ranked()[0].faults == ("upper element: open",)
    assert found.worst_fit() == lied


def test_nothing_found_leaves_the_rates() -> None:
    """Without findings the candidates stand as their rates say, and what the file does not say at its priors."""
    found = weigh([])
    alike = unexplained.LIKE_ONE  # no pair is weighed
    assert found.unsaid == pytest.approx((unexplained.PRIOR + alike) / (1 + alike))
    singles = bench("water-heater").singles
    by_group = np.bincount(singles.group_of, singles.prior)
    ranked = {one.faults: one.probability for one in found.ranked()}
    assert found.worst_fit() is None
    for group, share in enumerate(by_group):
        names = tuple(singles.faults[i].name for i in singles.groups[group])
        assert ranked[names] == pytest.approx(share * (1 - found.unsaid))


def test_pairs_that_are_as_good_are_chosen_in_one_order() -> None:
    """Two pairs had stood within a rounding error of each other, and one of them fell out by the order of findings."""
    lines = [FINDINGS[n] for n in TIED]
    weighed = [told(weigh(read(lines[0], *rest))).keys() for rest in permutations(lines[1:])]
    assert all(one == weighed[0] for one in weighed)


def test_a_lookalike_weighs_on_rare_faults() -> None:
    """What is not in the file looks like each fault alike: of a rare one that fits alone the less is told, and what is
    told sums to one; which step comes next is judged without it."""
    used = adviser("water-heater")
    played = trials.Rehearsal(used, trials.Asked(used.bench.machine, fault=RARE)).trial(0)
    rare, common = weigh(list(played.findings)), weigh(read(*COMMON))
    assert played.right_first
    for found in (rare, common):
        assert found.likeliest[1] > 0.9
        assert found.cures(found.likeliest[0]) == pytest.approx(found.likeliest[1] * found.in_file)
        assert sum(map(found.cures, found.by_repair)) + found.unsaid == pytest.approx(1.0, abs=1e-9)
    assert rare.lookalike > 0.1 > 0.02 > common.lookalike


def test_a_repair_that_did_not_cure_speaks_against_its_faults() -> None:
    """The upper element was replaced in vain: it is cleared; had it cured, it would be sure."""
    symptom, (vain,) = read(FINDINGS[0], FINDINGS[6]), read(FINDINGS[9])
    before = told(weigh(symptom))[("upper element: open",)]
    assert before > 0.5
    assert told(weigh([*symptom, vain]))[("upper element: open",)] < before
    cured = f.Tried("replace upper element", True)
    assert weigh([*symptom, cured]).by_repair[("replace upper element",)] > before


def test_that_it_was_put_together_tells_nothing_of_its_faults() -> None:
    """Wherever it stands among the findings, with the power back or not; the finding that fits worst is another."""
    lines = read(*FINDINGS[:8])
    for place, power in ((0, True), (4, False), (8, True)):
        beside = weigh([*lines[:place], f.Closed(power), *lines[place:]])
        assert told(beside) == told(weigh(lines))
        assert beside.worst_fit() == weigh(lines).worst_fit()


def test_weights_of_why_name_the_findings_they_belong_to() -> None:
    """The over-range reading is what speaks most for the open element; every finding has its weight."""
    lines = read(FINDINGS[0], FINDINGS[1], FINDINGS[3], FINDINGS[6])
    found = weigh([lines[0], f.Closed(True), *lines[1:]])
    best = found.ranked()[0]
    assert best.faults == ("upper element: open",)
    weights = found.weights(best)
    assert max(weights, key=lambda pair: pair[1])[0] == (lines[3],)
    assert {type(one) for some, _ in weights for one in some} == {f.Reading, f.Look, f.Perceived}


def test_what_is_weighed_as_one_is_named_as_one() -> None:
    """Two words of the owner without a setting: both are named, in whatever order they were told."""
    used = Bench(loading.load("vented-dryer"))
    words = [f.Perceived("drum turns", True), f.Perceived("air is warm", False)]
    for told in (words, words[::-1]):
        found = used.weigh(told)
        ((some, bits),) = found.weights(found.ranked()[0])
        assert some == tuple(told)
        assert bits > 1


def test_a_mark_stays_whether_or_not_what_left_it_acts() -> None:
    """A look that finds nothing clears a contact that comes and goes as surely as a burnt one: both leave it."""
    used = Bench(loading.load("coil-cooktop"))
    names = [("left front receptacle: near contact burnt",), ("left front receptacle: near contact comes and goes",)]
    odds = []
    for found in ([], [f.Look("left front receptacle", f.FINE)]):
        told = {one.faults: one.probability for one in used.weigh(found, with_pairs=False).ranked()}
        odds.append(told[names[0]] / told[names[1]])
    assert odds[1] == pytest.approx(odds[0], rel=1e-9)
