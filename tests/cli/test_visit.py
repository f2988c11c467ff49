"""The sheet before a visit, and the list of putting together, by the outside contract."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from halfsplit.cli import off_the_sheet, paper
from halfsplit.cli.lines import Line, ticked
from halfsplit.cli.output import percent
from halfsplit.service import machines, naming
from tests.cli.words import run

Capture = pytest.CaptureFixture[str]
Write = Callable[[str], str]
COLD = "- symptom: {what: drum turns, value: yes}\n- symptom: {what: air is warm, value: no}\n"
HEATER = "- symptom: {what: water gets hot, value: no}\n"


def boxes(made: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Every box of a plan."""
    yield made
    for outcome in made["outcomes"]:
        if outcome["then"]:
            yield from boxes(outcome["then"])


def printed(capsys: Capture, folder: Path, *words: str) -> tuple[dict[str, Any], str]:
    """The document and the text of one visit, worked out once; the text on one line, without its frames."""
    place = folder / "plan.txt"
    found = run(capsys, "visit", *words, "--json", "-o", str(place)).data
    return found, " ".join(place.read_text(encoding="utf-8").replace("|", " ").split())


def test_the_sheet_as_a_document(findings: Write, capsys: Capture) -> None:
    """Questions and parts come sorted by saving with all their terms; without --tree there is no plan."""
    found = run(capsys, "visit", "vented-dryer", findings(COLD), "--json").data
    assert found["tree"] is None
    assert found["claims"] is None
    plain = [one for one in found["questions"] if not one["danger"]]
    for rows in (plain, found["parts"]):
        assert [one["saving"] for one in rows] == sorted((one["saving"] for one in rows), reverse=True)
        assert all(one["saving"] == pytest.approx(sum(one["saves"].values())) for one in rows)
    assert {one["part"] for one in found["parts"][:2]} == {"heater", "cut-off"}
    assert all(sum(a["probability"] for a in one["answers"]) == pytest.approx(1) for one in found["questions"])
    assert sum(found["van"].values()) + found["unexplained"] == pytest.approx(1)
    assert [one["symptom"]["what"] for one in found["findings"]] == ["drum turns", "air is warm"]


def test_dangers_are_asked_first(findings: Write, capsys: Capture) -> None:
    """A tingling cabinet and water on the floor stand above all other questions and say what a yes means."""
    dryer = run(capsys, "visit", "vented-dryer", findings(COLD), "--json").data["questions"]
    assert dryer[0]["what"] == "cabinet tingles"
    assert "electrician" in dryer[0]["answers"][0]["stop"]
    heater = run(capsys, "visit", "water-heater", findings(HEATER), "--json").data["questions"]
    assert {one["what"] for one in heater if one["danger"]} == {"jacket tingles", "water on the floor"}
    assert [one["danger"] for one in heater] == sorted((one["danger"] for one in heater), reverse=True)


def test_an_answer_may_be_put_into_the_findings(findings: Write, capsys: Capture, tmp_path: Path) -> None:
    """The finding of an answer, added as it is told, is accepted and moves the probabilities to those foretold."""
    first = run(capsys, "visit", "vented-dryer", findings(COLD), "--json").data
    question = next(one for one in first["questions"] if one["what"] == "air flows at the vent")
    no = next(one for one in question["answers"] if one["value"] == "no")
    place = tmp_path / "more.json"
    place.write_text(json.dumps([*first["findings"], no["finding"]]), encoding="utf-8")
    second = run(capsys, "visit", "vented-dryer", str(place), "--json").data
    best = {tuple(one["faults"]): one["probability"] for one in second["causes"]}
    for cause in no["causes"]:
        assert best[tuple(cause["faults"])] == pytest.approx(cause["probability"], abs=1e-6)
    assert "air flows at the vent" not in {one["what"] for one in second["questions"]}


def test_the_plan_on_paper(findings: Write, capsys: Capture) -> None:
    """Every box that is gone to is there once, no line is wider than the sheet, what is left out is said."""
    ended = run(capsys, "visit", "water-heater", findings(HEATER), "--tree")
    assert ended.code == 0
    numbers = [int(n) for n in re.findall(r"^\+--\[ (\d+) \]", ended.out, re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))
    gone = [int(n) for n in re.findall(r"go to (\d+)", ended.out)]
    assert sorted(gone) == numbers[1:]
    assert max(map(len, ended.out.splitlines())) <= 78
    assert "If you see something else" in ended.out
    assert "Put together, in this order:" in ended.out
    assert "Local codes and licensed trades rule" in " ".join(ended.out.split())


def test_after_a_repair_the_owner_is_asked_of_dangers_alone(findings: Write, capsys: Capture) -> None:
    """They know the machine as it was; before it they are asked what tells most."""
    before, after = (
        run(capsys, "visit", "water-heater", findings(text), "--json").data["questions"]
        for text in (HEATER, f"{HEATER}\n- repair: {{made: replace upper element, cured: no}}")
    )
    assert not all(one["danger"] for one in before)
    assert after
    assert all(one["danger"] for one in after)


def test_low_ohms_that_the_sheet_does_not_follow_keep_the_power_off(
    findings: Write, capsys: Capture, tmp_path: Path
) -> None:
    """Where a box reads a line conductor to the frame, and there alone, the sheet says so beside what it leaves out."""
    told = findings("- symptom: {what: left front never rests, value: yes}")
    found, said = printed(capsys, tmp_path, "coil-cooktop", told, "--tree")
    steps = [box for box in boxes(found["tree"]) if box["kind"] == "step"]
    framed = [box for box in steps if box["to_frame"]]
    assert framed
    assert len(framed) < len(steps)
    for box in steps:
        ends = {str(box["red"]), str(box["black"])}
        framed_here = bool(ends & {"receptacle.prong PE", "cabinet.metal"})
        assert box["to_frame"] == (box["meter"] == "ohms" and framed_here), ends
    assert said.count("ohms that are low lead to the frame, leave the power off; weigh anew") == len(framed)


def test_what_every_repair_is_proved_by_stands_once(findings: Write, capsys: Capture, tmp_path: Path) -> None:
    """After the last box, in blocks by setting; each repair points there, and its own data has all of it."""
    found, said = printed(capsys, tmp_path, "water-heater", findings(HEATER), "--tree", "--boxes", "20")
    lasts = "Does the hot water last as long as it used to? It must be yes."
    assert said.count(lasts) == 1
    assert said.index("THE PROOF RUN After every repair") < said.index(lasts)
    made = [box["repair"] for box in boxes(found["tree"]) if box["kind"] == "repair"]
    assert said.count("Proof run: all of THE PROOF RUN below.") == len(made) > 1
    assert all(any(lasts in text for text in repair["proof"]) for repair in made)
    assert "Before the power, as the list" not in said


def test_who_leaves_the_sheet_knows_how_to_leave_the_machine_and_what_to_write(
    findings: Write, capsys: Capture, tmp_path: Path
) -> None:
    """Each box from which a way leads off says what is set, open or off, and has its finding in the words of the file;
    once, at the end, what is done before the machine is left."""
    told = findings("- symptom: {what: left front glows, value: no}")
    found, said = printed(capsys, tmp_path, "coil-cooktop", told, "--tree")
    first = next(boxes(found["tree"]))
    off = "set left front back to off; breaker off, with a tag: do not switch on"
    assert first["leave"] == off
    assert f"weigh anew, see below. Before you leave it here: {off}. write: - reading:" in said
    assert first["write"] == [
        "- reading: {meter: ohms, red: receptacle.prong L1, black: receptacle.prong L2, set: {left front: low}, "
        "value: ___}"
    ]
    assert first["write"][0] in said
    assert "write: - repair: {made: replace left front burner, cured: no}" in said
    assert said.count("Before you leave the machine: its controls off, plug out or breaker off") == 1
    assert said.count("A tag on it: do not switch on") == 1


def test_sheet_and_plan_go_around_what_cannot_be_done(findings: Write, capsys: Capture) -> None:
    """A cover that will not open is in no box and no repair; what lies behind it is handed over and claims no cure."""
    told = findings("- symptom: {what: hot water lasts, value: no}")
    words = ("visit", "water-heater", told, "--tree", "--boxes", "20")
    free, barred = (run(capsys, *words, *more, "--json").data for more in ((), ("--cannot", "lower cover")))
    opens = [{box["box"] for box in boxes(one["tree"]) if "lower cover" in json.dumps(box)} for one in (free, barred)]
    assert opens[0]
    assert not opens[1]
    assert barred["claims"]["cured"] < free["claims"]["cured"]
    handed = [box for box in boxes(barred["tree"]) if box["kind"] == "hand over" and box["text"]]
    assert any("replace lower element. You said that this cannot be reached here" in box["text"] for box in handed)
    assert not any("lower" in box["repair"]["name"] for box in boxes(barred["tree"]) if box["kind"] == "repair")
    ended = run(capsys, *words, "--cannot", "lower covr")
    assert (ended.code, "Did you mean 'lower cover'" in ended.err) == (2, True)


def test_what_is_to_be_minded_stands_with_its_check_in_the_block_of_its_setting() -> None:
    """A block begins where a card does; a danger on the way to a check begins none, nor what is closed after it; what
    stands before the cards is nothing to tick."""
    common = ["In all: 9 min, 2 cards.", "Card 1 of 2: a.", " 1  Hums?", "DANGER: live parts.", " 2  Clamp.",
              "Then close.", "Card 2 of 2: b.", " 3  Hums?", "Last, set back: c off."]  # fmt: skip
    head, *blocks = paper.proof_run(common)
    assert head.head == "THE PROOF RUN"
    assert [block.lines for block in blocks] == [
        (Line("In all: 9 min, 2 cards."),),
        (ticked("Card 1 of 2: a."), ticked(" 1  Hums?"), Line("DANGER: live parts."), ticked(" 2  Clamp."),
         ticked("Then close.")),
        (ticked("Card 2 of 2: b."), ticked(" 3  Hums?")),
        (ticked("Last, set back: c off."),),
    ]


def test_the_plan_as_a_document(findings: Write, capsys: Capture) -> None:
    """Boxes nest; each outcome has its finding; claims sum to 1; --boxes bounds their number."""
    found = run(capsys, "visit", "water-heater", findings(HEATER), "--tree", "--boxes", "9", "--json").data
    made = [*boxes(found["tree"])]
    assert 4 < len(made) <= 9
    assert sum(found["claims"].values()) == pytest.approx(1)
    for box in made:
        assert box["kind"] in ("step", "repair", "hand over", "stop")
        if box["outcomes"]:
            total = sum(one["probability"] for one in box["outcomes"]) + box["something_else"]
            assert total == pytest.approx(1)
        assert all(one["left_out"] == (one["then"] is None) and one["finding"] for one in box["outcomes"])
    within = [one["finding"] for box in made for one in box["outcomes"] if "to" in str(one["finding"]).split()]
    assert within
    assert run(capsys, "diagnose", "water-heater", findings(json.dumps(within)), "--json").code in (0, 1)


def test_it_is_written_to_be_printed(findings: Write, capsys: Capture, tmp_path: Path) -> None:
    """Text has page breaks and no box cut by one; HTML stands by itself and links the boxes, there and back."""
    text, page = tmp_path / "plan.txt", tmp_path / "plan.html"
    complaint = findings(HEATER)
    assert run(capsys, "visit", "water-heater", complaint, "--tree", "-o", str(text)).out == ""
    sheets = text.read_text("utf-8").split("\f")
    assert len(sheets) > 1
    assert all(len(sheet.splitlines()) <= 62 for sheet in sheets)
    assert all(sheet.count("+--[") * 2 == len(re.findall(r"^\+-", sheet, re.MULTILINE)) for sheet in sheets)
    run(capsys, "visit", "water-heater", complaint, "--tree", "--boxes", "9", "-o", str(page))
    written = page.read_text("utf-8")
    assert "http" not in written
    assert set(re.findall(r'href="#(\w+)"', written)) <= set(re.findall(r'id="(\w+)"', written))
    for link in ("go to", "from"):
        assert len(re.findall(rf'href="#box(\d+)">{link} \1<', written)) == len(re.findall(r'id="box\d+"', written)) - 1
    assert run(capsys, "visit", "water-heater", complaint, "-o", str(tmp_path / "no" / "x.txt")).code == 2


def test_why_shows_all_terms(findings: Write, capsys: Capture) -> None:
    """With --why each saving is taken apart, and the minutes that stand behind are named as a choice."""
    complaint = findings("- symptom: {what: food is cold, value: no}")
    said = " ".join(run(capsys, "visit", "refrigerator", complaint, "--why").out.split())
    for word in ("of steps on site", "better load of the van", "of asking", "second trip", "of carrying", "choice"):
        assert word in said, word


def test_a_stop_is_all_that_is_said(findings: Write, capsys: Capture) -> None:
    """Of a machine whose cabinet tingles nothing is asked and nothing taken along."""
    ended = run(capsys, "visit", "vented-dryer", findings("- symptom: {what: cabinet tingles, value: yes}"), "--tree")
    assert ended.code == 0
    assert "STOP" in ended.out
    assert "ASK" not in ended.out
    assert "PUT ON THE VAN" not in ended.out


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["visit", "vented-drier", "x.yaml"], 2, "vented-dryer"),
        (["visit", "vented-dryer"], 2, "FINDINGS"),
        (["visit", "vented-dryer", "no-such.yaml"], 3, "no-such.yaml"),
        (["visit", "vented-dryer", "a\0b"], 3, "name"),
        (["visit", "vented-dryer", "-", "--least", "0"], 2, "least"),
        (["closing", "vented-dryer", "--open", "rear covr"], 2, "Did you mean 'rear cover'"),
        (["closing", "vented-dryer", "--lift", "heater.comon"], 2, "Did you mean 'heater.common'"),
        (["closing", "vented-dryer", "--lift", "service.L1", "--set", "heat=hihg"], 2, "'high'"),
        (["closing", "vented-dryer", "no-such.yaml"], 3, "no-such.yaml"),
        (["closing", "vented-dryer", "--set", "heat=low", "--set", "heat=high"], 2, "'heat=low' and 'heat=high'"),
        (["closing", "vented-dryer", "--set", "low heat", "--set", "high heat"], 2, "'low heat' and 'high heat'"),
    ],
)
def test_wrong_words(
    words: list[str], code: int, says: str, capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Each mistake ends with its code and says what was meant."""
    monkeypatch.chdir(tmp_path)
    ended = run(capsys, *words, "--json")
    assert ended.code == code
    assert says in ended.err
    assert ended.data["problems"]


def test_all_that_closing_does_not_know_is_told_at_once(capsys: Capture) -> None:
    """Bays, wires, settings and positions that are not there, each with the nearest name."""
    settings = ("--set", "heat=hihg", "--set", "higg heat", "--set", "foo")
    words = ("--open", "rear covr", "--lift", "heater.comon", *settings)
    ended = run(capsys, "closing", "vented-dryer", *words)
    assert ended.code == 2
    for said in ("'rear cover'", "'heater.common'", "'high'", "'high heat'", "No setting 'foo'"):
        assert said in ended.err


# ---- putting together --------------------------------------------------------------------------------------


def test_closing_a_heater(capsys: Capture) -> None:
    """The dryer's drum housing with one wire off: wire, belt, three covers with connectors, count, ohms to the frame,
    earth, plug."""
    found = run(capsys, "closing", "vented-dryer", "--open", "drum housing", "--lift", "heater.common", "--json").data
    kinds = [task["kind"] for task in found["tasks"]]
    assert kinds == [
        "meter", "wires", "also", "cover", "connector", "connector", "cover", "cover", "count", "insulation", "earth",
        "power",
    ]  # fmt: skip
    assert [t["at"] for t in found["tasks"] if t["kind"] == "cover"] == ["drum housing", "drum space", "top"]
    assert found["tasks"][1]["wires"] == [{"colour": "BN", "from": "cut-off.2"}]
    assert {(one["kind"], one["count"]) for one in found["fasteners"]} == {("1/4 in hex", 10), ("PH2", 2)}
    assert found["minutes"] == 19
    assert found["proof"]


def test_closing_after_findings(findings: Write, capsys: Capture) -> None:
    """What the readings of a findings file had open and lifted is closed; the complaint, too, must be gone."""
    reading = "{meter: ohms, red: heater.common, black: heater.front, lift: [heater.common], value: OL}"
    text = f"{COLD}- reading: {reading}\n"
    found = run(capsys, "closing", "vented-dryer", findings(text), "--json").data
    assert [t["at"] for t in found["tasks"] if t["kind"] == "wires"] == ["heater.common"]
    assert [t["at"] for t in found["tasks"] if t["kind"] == "cover"] == ["drum housing", "drum space", "top"]
    assert sum("Does the air in the drum get warm? It must be yes." in one for one in found["proof"]) == 1
    said = run(capsys, "closing", "vented-dryer", findings(text)).out
    assert "CAUTION" in said
    assert "Proof run" in said


def test_a_test_setting_is_returned(capsys: Capture) -> None:
    """A timer turned behind a plate goes back before the plate does."""
    words = ("closing", "refrigerator", "--open", "kick plate", "--set", "defrost=defrost", "--json")
    kinds = [(t["kind"], t["at"]) for t in run(capsys, *words).data["tasks"]]
    assert kinds.index(("setting", "defrost")) < kinds.index(("cover", "kick plate"))


def test_what_is_left_stands_behind_the_boxes(findings: Write, capsys: Capture, tmp_path: Path) -> None:
    """Text, page and document say the same of each way off the sheet, in order, before WEIGH ANEW;
    what is to be minded stands once. Without a plan there is none."""
    words = ("water-heater", findings(HEATER), "--tree", "--boxes", "9")
    data, sheet = printed(capsys, tmp_path, *words)
    made = naming.for_people(machines.load("water-heater"), data["left"])
    assert run(capsys, "visit", *words[:2], "--json").data["left"] is None
    run(capsys, "visit", *words, "-o", str(tmp_path / "plan.html"))
    read = html.unescape(re.sub(r"<[^>]*>", " ", (tmp_path / "plan.html").read_text(encoding="utf-8")))
    for page in (sheet, read):
        said = " ".join(page.split())
        _, said = said.split("WHAT IS LEFT, where the sheet leaves you")
        said, _ = said.split("WEIGH ANEW, where the sheet leaves you")
        at = 0
        for way in made:
            found = f"{way['in_vain']}, in vain" if way["in_vain"] else way["shows"]
            names = [f"{one['name']} {percent(one['probability'])} (" for one in way["repairs"]]
            for text in (f"{way['box']} {found}: ", *names):
                at = said.index(text, at) + 1
        for caution in {caution for way in made for one in way["repairs"] for caution in one["cautions"]}:
            assert said.count(caution) == 1
    assert any(way["in_vain"] for way in made)
    assert any(way["shows"] for way in made)


def test_a_way_off_in_words() -> None:
    """Minutes and parts of ours, who makes what is not, what is out of reach; a stop alone; none where none is
    likely."""
    ours = {"name": "replace fan", "probability": 0.5, "minutes": 20.0, "price": 8.0, "currency": "USD",
            "by": ["repairer"], "barred": False, "why_barred": None, "cautions": ["CAUTION: blades"]}  # fmt: skip
    theirs = ours | {"minutes": None, "price": 0.0, "by": ["electrician"], "cautions": []}
    shut = theirs | {"by": ["repairer"], "barred": True, "why_barred": "takes two, and nobody is here to help"}
    way: dict[str, Any] = {"box": 3, "shows": "OL", "in_vain": None, "stop": None, "repairs": [], "all_else": 0.25}
    ways = [
        way | {"repairs": [ours, theirs, shut]}, way | {"shows": "burnt", "stop": "STOP: burnt."},
        way | {"shows": None, "in_vain": "replace fuse"}, way | {"shows": None},
    ]  # fmt: skip
    head, lines = off_the_sheet.blocks(ways)
    assert head.lines[0].text == "CAUTION: blades"
    assert [line.text for line in lines.lines] == [
        "OL: replace fan 50 % (20 min, 8 USD); then replace fan 50 % (the work of: electrician); then replace fan 50 % "
        "(takes two, and nobody is here to help). All else 25 %.",
        "burnt: STOP: burnt.",
        f"replace fuse, in vain: {off_the_sheet.NONE}",
        f"here: {off_the_sheet.NONE}",
    ]
    assert [*off_the_sheet.blocks([])] == []
