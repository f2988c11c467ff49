"""The proof run in sentences: insulation first, then what must be seen, then what no repair explains."""

from __future__ import annotations

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import loading
from halfsplit.operate.condition import condition
from halfsplit.predict.readings import Probe
from halfsplit.service import advising, proving
from halfsplit.service.guiding import Guided

COOKTOP = loading.load("coil-cooktop")


def guided(*told: str) -> Guided:
    """Burners that do not glow, and the left front one open, lifted out."""
    asked = advising.adviser(Bench(COOKTOP))
    at = condition(COOKTOP, isolated=True, lift=["left front burner.1", "left front burner.2"])
    read = f.Reading(Probe("ohms", "left front burner.1", "left front burner.2"), at, None, text="OL")
    return Guided(asked, (*(f.Perceived(one, False) for one in told), read))


def said(job: Guided) -> tuple[str, ...]:
    """The proof run after a new left front burner."""
    return proving.sentences(job, [job.bench.repairs["replace left front burner"]])


def test_the_frame_is_proved_off_each_prong_before_the_power() -> None:
    """First, one sentence a conductor, in a person's words."""
    first, second, third, *rest = said(guided("left front glows"))
    legs = (("L1", first), ("L2", second), ("N", third))
    for leg, sentence in legs:
        assert f"ohms from the plug's {leg} prong to the plug's PE prong. It must be OL." in sentence
    assert rest[0] == "Does the left front burner glow red on HIGH? It must be yes now."
    assert not any("No repair explains" in one for one in rest)


def test_a_complaint_that_no_repair_explains_is_provoked() -> None:
    """The other burner that was complained of: all in its bay is shaken, dead, and it is said why."""
    last = said(guided("left front glows", "right front glows"))[-1]
    assert last.startswith("No repair explains what the owner said: Does the right front burner glow red on HIGH? no.")
    assert "Isolated and proved dead" in last
    assert "Shake all in top" in last


def test_what_another_trade_does_is_only_seen_to_work() -> None:
    """No hand of ours goes to the machine: no reading is asked for."""
    job = guided("left front glows")
    breaker = job.bench.repairs["breaker: switch fully off and on"]
    assert all("It must be" in one and "ohms" not in one for one in proving.sentences(job, [breaker]))
