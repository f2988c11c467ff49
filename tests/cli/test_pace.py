"""`halfsplit pace` and `--pace`: learnt from findings, used wherever minutes are counted."""

from __future__ import annotations

from pathlib import Path

import pytest

from halfsplit.errors import BadInput
from halfsplit.evidence import findings_file
from halfsplit.machine import loading
from halfsplit.service import pacing
from halfsplit.work import pace_file
from halfsplit.work.pace import KINDS
from halfsplit.work.state import with_fronts
from tests.cli.typed import type_in
from tests.cli.words import run

Capture = pytest.CaptureFixture[str]
COMPLAINT = "- symptom: {what: water gets hot, value: no}\n"
SLOW = "format: halfsplit pace 1\npace: {bays: {factor: 4}}\n"


def opened(minutes: float) -> str:
    """A job on the water heater: isolated, the upper cover opened for a look, an ohms reading there."""
    return (
        COMPLAINT
        + f"- look: {{at: limit, sees: fine, took: {minutes:g} min}}\n"
        + "- reading: {meter: ohms, red: upper element.1, black: upper element.2, value: 12.4, took: 36 s}\n"
    )


def jobs(folder: Path, minutes: float, count: int) -> list[str]:
    """The findings files of so many jobs alike."""
    made = [folder / f"job {number}.yaml" for number in range(count)]
    for place in made:
        place.write_text(opened(minutes), encoding="utf-8")
    return [str(place) for place in made]


def test_the_minutes_of_a_record_are_those_of_the_step_from_where_things_stood() -> None:
    """By hand: the look pays for isolating and the cover; the reading after it only for itself."""
    heater = loading.load("water-heater")
    bay = heater.bays[heater.parts["limit"].bay]
    found = list(pacing.records(heater, findings_file.read(opened(20), "x", heater)))
    hands = heater.handwork
    assert [one.took for one in found] == pytest.approx([20.0, 0.6])
    assert found[0].minutes == pytest.approx(
        {"look": hands.look, "bays": bay.open_minutes, "changing": hands.isolate}
    )
    assert found[1].minutes == pytest.approx({"reading": hands.reading})


def test_a_repair_has_its_own_minutes_and_was_put_together() -> None:
    """Isolating and opening are not the repair; for a look behind the same covers all of it is done anew."""
    dryer = loading.load("vented-dryer")
    text = (
        "- repair: {made: replace cut-off, cured: no, took: 1 h}\n"
        "- look: {at: heater, sees: fine, took: 2 min}\n"
    )
    first, then = pacing.records(dryer, findings_file.read(text, "x", dryer))
    assert first.minutes["repairing"] == dryer.parts["cut-off"].minutes
    assert first.minutes["bays"] == sum(dryer.bays[b].open_minutes for b in ("top", "drum space", "drum housing"))
    assert then.minutes["bays"] == first.minutes["bays"]
    assert set(then.minutes) <= {"look", "changing", "bays", "waiting"}


def test_putting_together_is_learnt_as_closing_what_was_open() -> None:
    """The close minutes of the file for the bays that were open; nothing is learnt where nothing was."""
    dryer = loading.load("vented-dryer")
    text = "- look: {at: heater, sees: fine}\n- closed: {power: on, took: 12 min}\n"
    (record,) = pacing.records(dryer, findings_file.read(text, "x", dryer))
    opened = with_fronts(dryer, ("drum housing",))
    assert record.minutes == {"bays": sum(dryer.bays[bay].close_minutes for bay in opened)}
    assert not list(pacing.records(dryer, findings_file.read(text.splitlines()[1], "x", dryer)))


def test_what_the_machine_runs_for_is_no_pace_of_hands() -> None:
    """Forty minutes until a load is dry are waited for: however long they took, seeing is as quick as before."""
    dryer = loading.load("vented-dryer")
    text = (
        "- symptom: {what: one load dries in time, value: no, by: repairer, took: 2 h,"
        " set: {cycle: timed, heat: high, start: pressed}}\n"
    )
    findings = findings_file.read(text, "x", dryer)
    (record,) = pacing.records(dryer, findings)
    assert "perceiving" not in record.minutes
    assert record.waiting == dryer.symptoms["one load dries in time"].takes == 40.0
    learnt = pacing.learn([(dryer, findings)] * 20)["pace"]
    assert learnt["perceiving"]["factor"] == pytest.approx(1.0)
    assert learnt["perceiving"]["records"] == 0


def test_a_file_is_printed_that_can_be_used(capsys: Capture, tmp_path: Path) -> None:
    """On stdout, or under -o the same; it reads back with every kind of work."""
    named = jobs(tmp_path, 20, 3)
    printed = run(capsys, "pace", "water-heater", *named)
    assert printed.code == 0
    assert set(pace_file.read(printed.out, "x").factors) == set(KINDS)
    place = tmp_path / "shop.yaml"
    written = run(capsys, "pace", "water-heater", *named, "-o", str(place))
    assert (written.code, written.out) == (0, "")
    assert place.read_text("utf-8") == printed.out


def test_as_data(capsys: Capture, tmp_path: Path) -> None:
    """One document: the factors with their intervals, and the file; jobs on two machines together."""
    first, second = jobs(tmp_path, 20, 2)
    other = tmp_path / "dryer.yaml"
    other.write_text("- look: {at: belt, sees: fine, took: 12 min}\n", encoding="utf-8")
    words = ("--job", "vented-dryer", str(other))
    found = run(capsys, "pace", "water-heater", first, second, *words, "--json").data
    assert found["records"] == 5
    assert set(found["pace"]) == set(KINDS)
    assert all(one["low"] <= one["factor"] <= one["high"] for one in found["pace"].values())
    assert found["pace"]["look"]["records"] == 3
    assert pace_file.read(found["file"], "x").factors["look"].records == 3


def test_no_times_are_no_pace(capsys: Capture, findings: object, tmp_path: Path) -> None:
    """Every factor is 1, it is said so, and what is advised with it is what is advised without."""
    place, shop = tmp_path / "told.yaml", tmp_path / "shop.yaml"
    place.write_text(COMPLAINT, encoding="utf-8")
    made = run(capsys, "pace", "water-heater", str(place), "-o", str(shop))
    assert made.code == 0
    assert "No finding says how long" in made.err
    plain = run(capsys, "diagnose", "water-heater", str(place), "--json")
    paced = run(capsys, "diagnose", "water-heater", str(place), "--json", "--pace", str(shop))
    assert paced.data == plain.data


def test_a_slow_opener_is_advised_another_step(capsys: Capture, tmp_path: Path) -> None:
    """From the shop's own records: who takes six times as long to open a cover is sent to the tap first."""
    told, shop = tmp_path / "told.yaml", tmp_path / "shop.yaml"
    told.write_text(COMPLAINT, encoding="utf-8")
    heater = loading.load("water-heater")
    bay = heater.bays[heater.parts["limit"].bay]
    assert run(capsys, "pace", "water-heater", *jobs(tmp_path, 6 * bay.open_minutes, 40), "-o", str(shop)).code == 0
    assert pace_file.read(shop.read_text("utf-8"), "x").of("bays") > 4
    usual = run(capsys, "diagnose", "water-heater", str(told), "--json").data["next"][0]
    slow = run(capsys, "diagnose", "water-heater", str(told), "--json", "--pace", str(shop)).data["next"][0]
    assert usual["text"] != slow["text"]
    assert "Open the" in usual["text"]
    assert "Open the" not in slow["text"]


@pytest.mark.parametrize("command", ["diagnose", "visit", "closing", "rehearse", "guide"])
def test_minutes_are_counted_by_the_pace_everywhere(
    command: str, capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same command with the pace of a slow opener: other minutes, larger where bays are among them."""
    told, shop = tmp_path / "told.yaml", tmp_path / "shop.yaml"
    told.write_text(opened(20) if command == "closing" else COMPLAINT, encoding="utf-8")
    shop.write_text(SLOW, encoding="utf-8")
    words = {
        "diagnose": ("diagnose", "water-heater", str(told)),
        "visit": ("visit", "water-heater", str(told), "--tree", "--boxes", "6"),
        "closing": ("closing", "water-heater", str(told)),
        "guide": ("guide", "water-heater", "--seed", "3"),
        "rehearse": ("rehearse", "water-heater", "--fault", "upper element: open", "--seed", "3"),
    }
    type_in(monkeypatch, [""] * 200)
    plain = run(capsys, *words[command], "--json")
    type_in(monkeypatch, [""] * 200)
    slow = run(capsys, *words[command], "--json", "--pace", str(shop))
    assert (plain.code, slow.code) == (0, 0)
    assert (plain.out, plain.err) != (slow.out, slow.err)
    if command == "closing":
        assert slow.data["minutes"] == pytest.approx(4 * plain.data["minutes"])
    if command == "rehearse":
        assert slow.data["trials"][0]["minutes"] > plain.data["trials"][0]["minutes"]


FOUND = COMPLAINT + (
    "- reading: {meter: ohms, red: upper element.1, black: upper element.2, isolated: yes, "
    "lift: [upper element.1], value: OL}\n"
    "- reading: {meter: ohms, red: upper thermostat.first, black: upper element.2, isolated: yes, value: OL}\n"
)


@pytest.mark.parametrize("command", ["diagnose", "visit", "guide"])
def test_a_part_that_is_not_on_the_van_is_said_at_the_repair(
    command: str, capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With an empty van; not where it is on it, nor where nothing is said."""
    told, shop = tmp_path / "told.yaml", tmp_path / "shop.yaml"
    told.write_text(FOUND, encoding="utf-8")
    words = {
        "diagnose": ("diagnose", "water-heater", str(told)),
        "visit": ("visit", "water-heater", str(told), "--tree", "--boxes", "2"),
        "guide": ("guide", "water-heater", "--seed", "1", "--no-further"),
    }
    said = {}
    everything = ", ".join(loading.load("water-heater").parts)
    for van in ("van: []", f"van: [{everything}]", "hourly: 90"):
        shop.write_text(f"format: halfsplit pace 1\n{van}\n", encoding="utf-8")
        type_in(monkeypatch, [""] * 200)
        said[van] = run(capsys, *words[command], "--pace", str(shop)).out
    there = ["Not on the van: a second trip (90 min)." in text for text in said.values()]
    assert there == [command != "visit", False, False]  # before a visit what is likely is put on the van first
    if command == "diagnose":
        found = run(capsys, *words[command], "--json").data["enough"]
        assert (found["known"], found["second_trip"]) == (True, 0.0)


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("pace", "water-heater"), 2, "FINDINGS"),
        (("pace", "water-heatr", "told.yaml"), 2, "water-heater"),
        (("pace", "water-heater", "nowhere.yaml"), 3, "nowhere.yaml"),
        (("pace", "water-heater", "told.yaml", "-o", "no/such/place.yaml"), 2, "cannot be written"),
        (("diagnose", "water-heater", "told.yaml", "--pace", "nowhere.yaml"), 3, "nowhere.yaml"),
        (("diagnose", "water-heater", "told.yaml", "--pace", "told.yaml"), 3, "told.yaml:1:1: A pace file has keys"),
        (("guide", "water-heater", "--pace", "nowhere.yaml"), 3, "nowhere.yaml"),
        (("pace", "water-heater", "bad.yaml"), 3, "bad.yaml:1:36: 'long' is no time"),
    ],
)
def test_wrong_use(
    words: tuple[str, ...], code: int, says: str, capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each with a sentence that names what is wrong."""
    monkeypatch.chdir(tmp_path)
    Path("told.yaml").write_text(COMPLAINT, encoding="utf-8")
    Path("bad.yaml").write_text("- look: {at: limit, sees: f, took: long}\n", encoding="utf-8")
    ended = run(capsys, *words)
    assert ended.code == code
    assert says in ended.err
    assert "Traceback" not in ended.err


def test_a_finding_of_an_unknown_repair_is_refused() -> None:
    """The names of repairs are known where times are read."""
    heater = loading.load("water-heater")
    with pytest.raises(BadInput, match="No repair"):
        findings_file.read("- repair: {made: replace x, cured: no}", "x", heater, frozenset({"replace limit"}))
