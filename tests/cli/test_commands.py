"""Each command by the outside contract: the shape of its document, its exit code, and figures of common practice."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from halfsplit.cli import diagnose
from halfsplit.machine import library
from tests.cli.words import run

COLD = """
- symptom: {what: drum turns, value: yes}
- symptom: {what: air is warm, value: no}
- look: {at: terminal block.L1, sees: fine}
- look: {at: heater, sees: broken}
- reading: {meter: volts, red: terminal block.L1, black: terminal block.L2, set: {heat: high}, value: 239 V}
- reading: {meter: ohms, red: heater.common, black: heater.front, lift: [heater.common], value: OL, note: wiggled it}
"""
Capture = pytest.CaptureFixture[str]
READING_FIELDS = {"value", "unit", "shown", "low", "high"}


def test_machines_lists_the_library(capsys: Capture) -> None:
    """Every machine of the library has its name, title and kind."""
    found = run(capsys, "machines", "--json").data["machines"]
    assert [one["name"] for one in found] == list(library.names())
    assert all(set(one) == {"name", "title", "kind"} and all(one.values()) for one in found)


@pytest.mark.parametrize("name", library.names())
def test_check_finds_nothing_in_the_library(name: str, capsys: Capture) -> None:
    """The machines that come with the package have no problems."""
    ended = run(capsys, "check", name, "--json")
    assert (ended.code, ended.data, ended.err) == (0, {"problems": []}, "")


def test_check_places_a_problem(tmp_path: Path, capsys: Capture) -> None:
    """A file that names an unknown part type ends with 3, the place, and the nearest name."""
    place = tmp_path / "mine.yaml"
    text = library.text("vented-dryer").replace("type: idler", "type: idlr").replace("type: belt,", "type: bellt,")
    place.write_text(text, encoding="utf-8")
    ended = run(capsys, "check", str(place), "--json")
    (problem,) = ended.data["problems"]
    assert ended.code == 3
    assert set(problem) == {"file", "line", "column", "message", "remedy"}
    assert text.splitlines()[problem["line"] - 1].lstrip().startswith("belt:")
    assert "Did you mean 'belt'" in problem["remedy"]
    assert "bellt" in ended.err


def test_check_lists_faults(capsys: Capture) -> None:
    """Faults have names that are unique, rates above 0 and a repair."""
    found = run(capsys, "check", "vented-dryer", "--faults", "--json").data["faults"]
    names = [one["fault"] for one in found]
    assert len(set(names)) == len(names) > 400
    assert all(set(one) == {"fault", "rate", "repair"} and one["rate"] > 0 and one["repair"] for one in found)
    assert {"cut-off: open", "heater: both coils open", "vent duct: clogged"} <= set(names)


def test_faults_of_one_machine_only(capsys: Capture) -> None:
    """Faults of two machines at once are wrong use."""
    assert run(capsys, "check", "vented-dryer", "water-heater", "--faults").code == 2


def expect(capsys: Capture, *words: str) -> Any:
    """The document of `expect` on the dryer."""
    return run(capsys, "expect", "vented-dryer", *words, "--json").data


def test_expect_volts(capsys: Capture) -> None:
    """Leg to leg is 240 V, within a range; with one pole of the breaker tripped it shows none."""
    leads = ("--red", "terminal block.L1", "--black", "terminal block.L2", "--meter", "volts")
    found = expect(capsys, *leads, "--set", "high heat")
    reading = found["reading"]
    assert set(reading) == READING_FIELDS
    assert (reading["unit"], reading["low"] < reading["value"] < reading["high"]) == ("V", True)
    assert 230 < reading["value"] < 241
    lost = {one["fault"]: one for one in found["faults"]}["breaker: half-tripped, L2 dead"]
    assert set(lost) == READING_FIELDS | {"fault"}
    assert lost["value"] < 2


def test_expect_over_range(capsys: Capture) -> None:
    """An open cut-off shows over range: the value is null."""
    leads = ("--red", "cut-off.1", "--black", "cut-off.2", "--meter", "ohms", "--lift", "cut-off.1")
    found = expect(capsys, *leads)
    blown = {one["fault"]: one for one in found["faults"]}["cut-off: open"]
    assert found["reading"]["value"] < 0.5
    assert (blown["value"], blown["shown"], blown["low"], blown["high"]) == (None, "OL", None, None)
    same = expect(capsys, *leads, "--fault", "cut-off: open")["reading"]
    assert (same["value"], same["shown"]) == (None, "OL")


def test_expect_lists_only_what_differs(capsys: Capture) -> None:
    """No listed fault's range touches that of the healthy reading; a clogged duct is not listed."""
    leads = ("--red", "heater.common", "--black", "heater.front", "--meter", "ohms", "--lift", "heater.common")
    found = expect(capsys, *leads, "--set", "heat=low")
    low, high = found["reading"]["low"], found["reading"]["high"]
    assert 20 < low < 21.7 < high < 23
    assert found["faults"]
    for one in found["faults"]:
        assert one["value"] is None or one["value"] > high or one["value"] < low, one
    assert "vent duct: clogged" not in [one["fault"] for one in found["faults"]]


def test_a_named_setting_is_the_same_as_its_controls(capsys: Capture) -> None:
    """`--set "high heat"` stands for all of its controls."""
    leads = ("--red", "motor.heat 1", "--black", "terminal block.N", "--meter", "volts")
    named = expect(capsys, *leads, "--set", "high heat")
    spelled = expect(capsys, *leads, *("--set", "cycle=timed", "--set", "heat = high", "--set", "start=pressed"))
    assert named == spelled


def test_continuity_says_beep_or_not(capsys: Capture) -> None:
    """A closed fuse beeps; the same with the fuse open does not."""
    leads = (
        "--red",
        "thermal fuse.1",
        "--black",
        "thermal fuse.2",
        "--meter",
        "continuity",
        "--lift",
        "thermal fuse.1",
    )
    assert expect(capsys, *leads)["reading"]["shown"] == "beeps"
    assert expect(capsys, *leads, "--fault", "thermal fuse: open")["reading"]["shown"] == "no beep"


def test_all_that_expect_does_not_know_is_told_at_once(capsys: Capture) -> None:
    """The function of the meter, a lead, a setting and a fault that are not there, each with the nearest name."""
    leads = ("--red", "heater.comon", "--black", "heater.front")
    ended = run(
        capsys, "expect", "vented-dryer", "--meter", "oms", *leads, "--set", "heat=hihg", "--fault", "belt: brokn"
    )  # fmt: skip
    assert ended.code == 2
    for said in ("'ohms'", "'heater.common'", "'high'", "'belt: broken'"):
        assert said in ended.err


def test_diagnose_by_the_contract(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Candidates come best first and sum with `unexplained` to 1; findings are echoed with nothing left out."""
    ended = run(capsys, "diagnose", "vented-dryer", findings(COLD), "--json")
    found = ended.data
    assert (ended.code, ended.err) == (0, "")
    probabilities = [one["probability"] for one in found["candidates"]]
    assert probabilities == sorted(probabilities, reverse=True)
    assert math.isclose(sum(probabilities) + found["unexplained"], 1.0, abs_tol=1e-9)
    assert found["candidates"][0]["faults"] == ["heater: both coils open"]
    assert set(found["candidates"][0]) == {"faults", "probability", "repair", "root_cause"}
    assert found["enough"]["known"] is True
    assert found["enough"]["repair"] == "replace heater"
    last = found["findings"][-1]["reading"]
    assert (last["isolated"], last["set"]["heat"], last["note"]) == ("yes", "high", "wiggled it")


def test_what_diagnose_echoes_says_the_same(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Findings as echoed, given again, weigh the same."""
    first = run(capsys, "diagnose", "vented-dryer", findings(COLD), "--json").data
    again = run(capsys, "diagnose", "vented-dryer", findings(json.dumps(first["findings"])), "--json").data
    assert again == first


@pytest.mark.parametrize("command", ["diagnose", "closing"])
def test_a_word_that_counts_as_something_else_is_told(
    command: str, capsys: Capture, findings: Callable[[str], str]
) -> None:  # fmt: skip
    """On stderr in one line, with the words that would say more; known words are not spoken of."""
    place = findings("- look: {at: heater, sees: melted}\n- look: {at: heater.common, sees: Burnt}\n")
    ended = run(capsys, command, "vented-dryer", place, "--json")
    said = "'melted' at heater is noted, and counts as something else. Known there: fine, broken, sagging."
    assert (ended.code, ended.err) == (0, f"{place}: {said}\n")
    if command == "diagnose":
        assert [one["look"]["sees"] for one in ended.data["findings"]] == ["melted", "burnt"]


def test_why_speaks_of_every_finding(capsys: Capture, findings: Callable[[str], str]) -> None:
    """By its faults or by its place a candidate's reasons are told, the open coil's reading foremost."""
    place = findings(COLD)
    by_name = run(capsys, "diagnose", "vented-dryer", place, "--why", "heater: both coils open", "--json").data["why"]
    by_place = run(capsys, "diagnose", "vented-dryer", place, "--why", "1", "--json").data["why"]
    assert by_name == by_place
    assert by_name[0]["finding"]["reading"]["value"] == "OL"
    assert by_name[0]["bits"] > 3


def test_why_of_a_repair_is_told_to_people(capsys: Capture, findings: Callable[[str], str], tmp_path: Path) -> None:
    """Below the repair that is due, where why is asked, once each: the second trip is not told by a line of its own."""
    van = tmp_path / "van.yaml"
    van.write_text("format: halfsplit pace 1\nvan: []\n", encoding="utf-8")
    asked = ["diagnose", "vented-dryer", findings(COLD), "--pace", str(van)]
    known = run(capsys, *asked, "--why", "1", "--json").data["enough"]
    assert known["known"]
    said = run(capsys, *asked, "--why", "1").out
    assert all(f"\n  {sentence}\n" in said for sentence in known["why"])
    assert said.count("Not on the van") == 1
    plain = run(capsys, *asked).out
    assert plain.count("Not on the van") == 1
    assert "an hour." not in plain


@pytest.mark.parametrize("why", ["0", "9999999", "heater: both coils opn", "²"])
def test_why_of_nothing_known(why: str, capsys: Capture, findings: Callable[[str], str]) -> None:
    """A candidate that is none is wrong use, with the nearest names."""
    ended = run(capsys, "diagnose", "vented-dryer", findings(COLD), "--why", why)
    assert ended.code == 2
    assert "No possible cause" in ended.err


def test_no_findings_leave_the_rates(capsys: Capture, findings: Callable[[str], str]) -> None:
    """An empty list of findings gives what was believed before the first, and nothing fits badly."""
    found = run(capsys, "diagnose", "vented-dryer", findings("[]"), "--json").data
    assert found["worst_fit"] is None
    assert found["enough"]["known"] is False


def test_impossible_findings_name_the_worst(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Readings that no fault explains end in something the file does not say, with one of them named."""
    odd = """
- reading: {meter: ohms, red: heater.common, black: heater.front, lift: [heater.common], set: {heat: low}, value: 333}
- reading: {meter: ohms, red: thermal fuse.1, black: thermal fuse.2, lift: [thermal fuse.1], value: 4.7k}
- reading: {meter: ohms, red: drum lamp.1, black: drum lamp.2, lift: [drum lamp.1], value: 9.9k}
- reading: {meter: volts, red: terminal block.L1, black: terminal block.L2, value: 700 V}
"""
    found = run(capsys, "diagnose", "vented-dryer", findings(odd), "--json").data
    assert found["unexplained"] > 0.9
    assert found["worst_fit"] in found["findings"]
    diagnose._for_people(found)
    assert "Take this finding again: reading, " in capsys.readouterr().out


def test_after_a_repair_nothing_wrong_is_a_cause_like_others(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Asked why by its name it is answered; a repair that fits worst is not taken again, its effect is looked at."""
    repair = "- repair: {made: replace upper element, cured: no}"
    told = findings(f"- symptom: {{what: water gets hot, value: no}}\n{repair}")
    asked = run(capsys, "diagnose", "water-heater", told, "--why", "nothing is wrong")
    assert asked.code in (0, 1)
    assert "replace upper element: not cured" in asked.out
    said = diagnose._again({"repair": {"made": "replace fuse", "cured": "yes"}})
    assert said == "See again whether what was complained of is gone: replace fuse fits worst."


def test_people_see_tables(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Without --json the same is told in a table and sentences, with nothing on stderr."""
    ended = run(capsys, "diagnose", "vented-dryer", findings(COLD), "--why", "1")
    assert ended.err == ""
    assert re.search(r"1 +heater: both coils open +99.\d %", ended.out)
    assert "Enough is known: replace heater" in ended.out
    assert "to the odds of that possible cause" in ended.out
    assert re.search(r"heater.common to heater.front: OL +over 1000 times the odds|OL +\d+ times the odds", ended.out)
    assert "bits" not in ended.out


def test_why_tells_people_what_the_next_step_costs(capsys: Capture, findings: Callable[[str], str]) -> None:
    """Below the first next step, with --why: its reason and what its minutes go into, as --json has them; else not."""
    place = findings("- symptom: {what: air is warm, value: no}")
    words = ("diagnose", "vented-dryer", place, "--cannot", "owner")
    first, second, *_ = run(capsys, *words, "--json").data["next"]
    plain, asked = (" ".join(run(capsys, *words, *why).out.split()) for why in ((), ("--why", "1")))
    assert first["spent"]
    assert f"{first['text']} {first['reason']} {first['spent']}" in asked
    assert f"{second['text']} {second['reason']}" not in asked
    assert first["reason"] not in plain
    assert first["spent"] not in plain


def test_completion_scripts_name_the_command(capsys: Capture) -> None:
    """Each shell gets a script that asks this command for completions."""
    for shell in ("bash", "zsh", "fish"):
        ended = run(capsys, "completion", shell)
        assert ended.code == 0
        assert "_HALFSPLIT_COMPLETE" in ended.out
        assert "%(" not in ended.out


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (["chec"], "check"),
        (["check", "water"], "water-heater"),
        (["expect", "vented-dryer", "--red", "heater.c"], "heater.common"),
        (["export", "vented-dryer", "--fault", "cut-off: o"], "cut-off: open"),
        (["export", "vented-dryer", "--set", "heat=h"], "heat=high"),
    ],
)
def test_tab_completes(words: list[str], offered: str) -> None:
    """Commands, machines, terminals, faults and settings are offered."""
    from click.shell_completion import ShellComplete

    from halfsplit.cli.app import app

    found = ShellComplete(app, {}, "halfsplit", "_HALFSPLIT_COMPLETE").get_completions(words[:-1], words[-1])
    assert offered in [item.value for item in found]
