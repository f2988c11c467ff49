"""Situations of the trade on the vented dryer, from typed findings to the probable cause.

Common practice, no source: what each situation is taken to mean. The machine and its values are the library's.
"""

from __future__ import annotations

from functools import lru_cache

from halfsplit.evidence import findings_file
from halfsplit.evidence.weighing import Weighed
from tests.rehearse.benches import bench

COLD = "- symptom: {what: drum turns, value: yes}\n- symptom: {what: air is warm, value: no}\n"
LIFTED = "isolated: yes, lift: [heater.common, heater.front, heater.rear]"
HIGH = "set: {cycle: timed, heat: high, door: shut, start: pressed}"


@lru_cache
def weighed(text: str, worked_on_before: bool = False) -> Weighed:
    """The findings of a text, weighed on the dryer."""
    used = bench("vented-dryer", worked_on_before)
    return used.weigh(findings_file.read(text, "findings.yaml", used.machine))


def probability(found: Weighed, *faults: str) -> float:
    """Of these faults together and no others."""
    return sum(one.probability for one in found.ranked() if set(one.faults) == set(faults))


def top(found: Weighed) -> tuple[str, ...]:
    """The likeliest candidate."""
    return found.ranked()[0].faults


def test_a_lost_leg() -> None:
    """Cold; 120 V from all the heater string to neutral, 0 from leg to leg: it is the house's second leg."""
    string = ("heater.common", "heater.front", "heater.rear", "motor.heat 1", "terminal block.L2")
    volts = [
        f"- reading: {{meter: volts, red: {t}, black: terminal block.N, {HIGH}, value: 119.6 V}}\n" for t in string
    ]
    legs = "- reading: {meter: volts, red: terminal block.L1, black: terminal block.L2, value: 0.1 V}\n"
    found = weighed(COLD + "".join(volts) + legs)
    of_the_house = [c for c in found.ranked() if c.faults and c.faults[0].split(": ")[0] in _HOUSE]
    assert top(found) in {one.faults for one in of_the_house}
    assert sum(one.probability for one in of_the_house) > 0.9


_HOUSE = {
    "service", "breaker", "receptacle", "joint receptacle.prong L2", "joint terminal block.L2",
    "wire receptacle.prong L2 to terminal block.L2",
}  # fmt: skip


def test_21_and_21_and_43_clear_the_coils() -> None:
    """With the wires off, 21 ohm from the common to each and 43 across: neither coil is open, and the rest gains."""
    ohms = [("common", "front", "21.4"), ("common", "rear", "21.6"), ("front", "rear", "43.0")]
    made = [
        f"- reading: {{meter: ohms, red: heater.{a}, black: heater.{b}, {LIFTED}, value: {v}}}\n" for a, b, v in ohms
    ]
    before, after = weighed(COLD), weighed(COLD + "".join(made))
    for fault in ("heater: front coil open", "heater: rear coil open", "heater: both coils open"):
        assert probability(before, fault) > 0.03
        assert probability(after, fault) < 1e-3
    assert probability(after, "cut-off: open") > probability(before, "cut-off: open")


def test_21_in_place_of_11_is_one_coil_open() -> None:
    """On HIGH with nothing lifted the coils lie side by side: 21 instead of 10.8 is one of them open."""
    slow = (
        "- symptom: {what: drum turns, value: yes}\n- symptom: {what: one load dries in time, value: no}\n"
        "- reading: {meter: ohms, red: heater.common, black: heater.front, set: {heat: high}, value: VALUE}\n"
    )
    one = weighed(slow.replace("VALUE", "21.3"))
    coils = [probability(one, f"heater: {which} coil open") for which in ("front", "rear")]
    assert set(top(one)) <= {"heater: front coil open", "heater: rear coil open"}
    assert sum(coils) > 0.8
    both_there = weighed(slow.replace("VALUE", "10.9"))
    assert sum(probability(both_there, f"heater: {which} coil open") for which in ("front", "rear")) < 0.01


def test_a_parallel_path_is_seen_through() -> None:
    """21 ohm across one coil with nothing lifted on HIGH does not clear that coil; with its wire off it does."""
    text = "- reading: {meter: ohms, red: heater.common, black: heater.front, MORE, value: 21.4}\n"
    in_place = weighed(COLD + text.replace("MORE", "set: {heat: high}"))
    lifted = weighed(COLD + text.replace("MORE", "set: {heat: low}, lift: [heater.common]"))
    assert probability(in_place, "heater: front coil open") > 10 * probability(lifted, "heater: front coil open")


def test_an_open_cut_off_is_sure() -> None:
    """Over range across the cut-off and 0 across its neighbour: one repair is worth doing."""
    found = weighed(
        COLD
        + "- reading: {meter: ohms, red: cut-off.1, black: cut-off.2, value: OL}\n"
        + "- reading: {meter: ohms, red: high limit.1, black: high limit.2, value: 0.1}\n"
    )
    assert top(found) == ("cut-off: open",)
    assert found.likeliest[0] == ("replace cut-off",)
    assert found.likeliest[1] > 0.9


def test_one_good_reading_barely_clears_what_comes_and_goes() -> None:
    """A coil that opens when hot keeps half its odds at least where an open one loses nearly all."""
    good = "- reading: {meter: ohms, red: heater.common, black: heater.front, " + LIFTED + ", value: 21.4}\n"
    before, after = weighed(COLD), weighed(COLD + good)

    def kept(fault: str) -> float:
        return probability(after, fault) / probability(before, fault)

    assert kept("heater: front coil open") < 0.03
    assert kept("heater: front coil opens when hot") > 0.4


def test_a_loose_joint_is_barely_cleared_and_a_joint_that_is_off_is() -> None:
    """0.1 ohm along the wire into a joint: off it cannot be, loose it may be still."""
    good = "- reading: {meter: ohms, red: high limit.2, black: cut-off.1, value: 0.1}\n"
    before, after = weighed(COLD), weighed(COLD + good)
    off, loose = "joint cut-off.1: off", "joint cut-off.1: loose"
    assert probability(after, off) < 0.05 * probability(before, off)
    assert probability(after, loose) > 0.4 * probability(before, loose)


def test_two_independent_faults_are_found_as_a_pair() -> None:
    """A drum that stands, an open thermal fuse and an open coil, each surely read: both, and nothing else."""
    found = weighed(
        "- symptom: {what: drum turns, value: no}\n"
        "- reading: {meter: ohms, red: thermal fuse.1, black: thermal fuse.2, lift: [thermal fuse.1], value: OL}\n"
        "- reading: {meter: ohms, red: thermal fuse.1, black: thermal fuse.2, lift: none, value: OL}\n"
        f"- reading: {{meter: ohms, red: heater.common, black: heater.front, {LIFTED}, value: OL}}\n"
        "- reading: {meter: ohms, red: heater.front, black: heater.rear, value: OL}\n"
        "- reading: {meter: ohms, red: heater.common, black: heater.rear, value: 21.6}\n"
    )
    assert set(top(found)) == {"thermal fuse: open", "heater: front coil open"}
    assert found.ranked()[0].probability > 0.5
    assert next(iter(found.by_repair)) == ("replace thermal fuse", "replace heater")


def test_worked_on_before_raises_an_earlier_hands_mistakes() -> None:
    """What a hand in a hurry leaves gains about tenfold, whatever was found."""
    text = "- symptom: {what: drum turns, value: yes}\n- symptom: {what: keeps heating when hot, value: yes}\n"
    hands = {fault.name for fault in bench("vented-dryer").faults if fault.earlier_hand}

    def share(found: Weighed) -> float:
        return sum(one.probability for one in found.ranked() if set(one.faults) & hands)

    fresh, worked = share(weighed(text)), share(weighed(text, True))
    assert 5 * fresh < worked / (1 - worked)
    assert worked < 1
