"""The documents of the command line are current, and what they show can be run."""

from __future__ import annotations

import importlib.util
import re
import shlex
from pathlib import Path

import pytest

from halfsplit.cli.app import app
from tests.cli.typed import type_in
from tests.cli.words import run

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "reference" / "commands.md"
HOW_TO = ROOT / "docs" / "how-to"
TUTORIAL = ROOT / "docs" / "tutorial" / "cold-dryer.md"
HOUSE = ("breaker:", "service:", "receptacle:")
FEWER = ((r"--trials \d+", "--trials 1"), (r"--tree", "--tree --boxes 4"))
"""Of what takes long a little is made."""


def test_the_reference_is_current() -> None:
    """The page of commands says what the commands say; `tools/write_commands.py` writes it."""
    spec = importlib.util.spec_from_file_location("write_commands", ROOT / "tools" / "write_commands.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert PAGE.read_text(encoding="utf-8") == module.page(), "run tools/write_commands.py"


@pytest.mark.parametrize("name", app.commands)
def test_every_command_teaches(name: str) -> None:
    """Each command has an example in its help, takes --json, and describes every option."""
    command = app.commands[name]
    assert f"halfsplit {name}" in (command.help or "")
    options = {flag: param for param in command.params for flag in param.opts}
    assert "--json" in options
    assert all(getattr(param, "help", "") for flag, param in options.items() if flag.startswith("-"))


def examples() -> list[tuple[str, str]]:
    """The one-line commands of the how-to pages, with their page."""
    found = []
    for page in sorted(HOW_TO.glob("*.md")):
        text = page.read_text(encoding="utf-8").replace("\\\n", " ")
        found += [(page.name, line) for line in re.findall(r"^halfsplit .+$", text, re.MULTILINE)]
    return found


@pytest.mark.parametrize(("page", "line"), examples())
def test_how_to_examples_run(
    page: str, line: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every command shown on a how-to page ends with 0, with the files that the page shows; of many trials one is
    made, and of a plan the first boxes."""
    text = (HOW_TO / page).read_text(encoding="utf-8")
    for name, body in re.findall(r"`([\w-]+\.yaml)`:\n```yaml\n(.*?)```", text, re.DOTALL):
        (tmp_path / name).write_text(body, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    type_in(monkeypatch, [])
    for many, few in FEWER:
        line = re.sub(many, few, line)
    words = shlex.split(re.split(r" >>? | \| ", line)[0])
    assert run(capsys, *words[1:]).code == 0


def test_a_line_that_is_forgotten_is_told_as_the_page_says(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The draft of the page about machine files without its last wire: the check says what stands there."""
    text = (HOW_TO / "write-a-machine-file.md").read_text(encoding="utf-8")
    draft = re.search(r"`draft.yaml`:\n```yaml\n(.*?)```", text, re.DOTALL)
    told = re.search(r"Without the last wire the check says:\n```\n(.*?)```", text, re.DOTALL)
    assert draft
    assert told
    wires, bays, rest = draft[1].partition("bays:\n")
    (tmp_path / "draft.yaml").write_text(wires[: wires.rindex("  - ")] + bays + rest, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    result = run(capsys, "check", "draft.yaml")
    assert (result.code, f"{result.out}{result.err}".split()) == (1, told[1].split())


def test_the_tutorial_weighs_out_as_it_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its findings, file after file: how many causes, how likely, how many of them in the house, and what is next."""
    first, second = re.findall(r"```yaml\n(.*?)```", TUTORIAL.read_text(encoding="utf-8"), re.DOTALL)
    place = tmp_path / "cold.yaml"
    place.write_text(first, encoding="utf-8")
    told = run(capsys, "diagnose", "vented-dryer", str(place), "--json").data
    chances = {one["faults"][0]: one["probability"] for one in told["candidates"] if one["faults"]}
    assert 25 <= sum(chance >= 0.005 for chance in chances.values()) <= 35
    assert max(chances.values()) < 1 / 5
    house = sum(chance for fault, chance in chances.items() if fault.startswith(HOUSE))
    assert house == pytest.approx(1 / 14, abs=0.01)
    assert told["next"][0]["text"].startswith("Ask the owner: Is the stream of air at the vent outside strong?")

    place.write_text(first + second, encoding="utf-8")
    told = run(capsys, "diagnose", "vented-dryer", str(place), "--json").data
    one, two, *_ = told["candidates"]
    assert one["faults"][0].startswith("breaker: half-tripped")
    assert one["probability"] == pytest.approx(0.75, abs=0.05)
    assert two["faults"] == ["service: leg L2 lost"]
    own = [found for found in told["candidates"] if found["faults"] and not found["faults"][0].startswith(HOUSE)]
    assert max(found["probability"] for found in own) < 0.01
    assert {told["next"][0]["red"], told["next"][0]["black"]} == {"receptacle.L2", "receptacle.N"}


def test_the_tutorial_reads_and_is_led_as_it_says(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The misleading reading has the volts that it names; the first step stands, and covers are opened for one only."""
    text = TUTORIAL.read_text(encoding="utf-8")
    expect, guide = (re.search(rf"^halfsplit {name} .+$", text, re.MULTILINE) for name in ("expect", "guide"))
    volts = re.search(r"About (\d+) V to neutral", text)
    assert expect
    assert guide
    assert volts
    assert run(capsys, *shlex.split(expect[0])[1:]).out.startswith(volts[1])
    type_in(monkeypatch, ["further", *[""] * 60])
    said = " ".join(run(capsys, *shlex.split(guide[0])[1:]).out.split())
    assert "- one load dries in time: no" in said
    *before, last = said[: said.index("ENOUGH IS KNOWN")].split("NEXT ")[1:]
    assert "Thought further: what is shown stands." in before[0]
    assert not [step for step in before if "Open the" in step]
    assert "Open the top" in last
    assert "cured. Proved: " in said
    assert said.endswith("Nothing is left to do.")
