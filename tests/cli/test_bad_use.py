"""Bad files and wrong words end with 2 or 3 and a sentence; nothing ends with a traceback."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import click
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halfsplit.circuit.network import NetworkError
from halfsplit.cli import failures
from halfsplit.cli.app import app
from halfsplit.evidence import findings_file
from tests.cli.words import Ended, run
from tests.depth import tried

Capture = pytest.CaptureFixture[str]
FEW = settings(max_examples=tried(10, 60), suppress_health_check=[HealthCheck.function_scoped_fixture])

BOMB = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(f"b{n}: &b{n} [*a,*a,*a,*a,*a,*a,*a,*a]\n" for n in range(9))
FIELDS = sorted({name for names in findings_file.KINDS.values() for name in names})
KINDS = [*findings_file.KINDS, "readin", ""]
WORDS = [
    "ohms", "volts", "amps", "continuity", "temperature", "capacitance", "dc volts", "heater.common", "heater.front",
    "heater", "cabinet.metal", "air is warm", "yes", "no", "OL", "0.L", "9.2k", "23,4", "1,234", "NaN", "nan", ".inf",
    "1e999", "-5 V", "9" * 80, "155", "155F", "5 ± 1", "-5 V to 5 V", "shake motor", "load the supply", "on", "untried",
    "beeps", "null", "~", "", "fine", "burnt", "replace heater",
    "!!python/object:os.system", "\u0000", "é",
]  # fmt: skip


def sentence(ended: Ended, *codes: int) -> None:
    """A command ended with one of these codes and, unless that is 0, says something; never a traceback."""
    assert ended.code in codes, ended
    assert "Traceback" not in ended.err + ended.out
    assert "mistake of Halfsplit" not in ended.err
    assert ended.code == 0 or ended.err.strip()


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"\xff\xfe\x00", "UTF-8"),
        (BOMB.encode(), "alias"),
        (b"- " * 5000 + b"x", "deep"),
        (b"[" * 100_000, ""),
        (b"- reading: {meter: ohms, red: heater.comon, black: heater.front, value: 5}", "heater.common"),
        (b"- reading: {meter: ohms, red: heater.common, black: heater.front, value: .nan}", "nan"),
        (b"- reading: {meter: volts, red: heater.common, black: heater.front, value: 1e999 V}", "reason"),
        (b"- reading: {meter: ohms, red: heater.common, black: heater.front, isolated: no, value: 5}", "isolated"),
        (b"- reading: {meter: ohms, red: heater.common, black: heater.front, set: {heat: hihg}, value: 5}", "'high'"),
        (b"- reading: {red: heater.common, black: heater.front, set: [1], value: 5}", "mapping"),
        (b"- symptom: {what: air is wram, value: no}", "air is warm"),
        (b"- symptom: {what: air is warm, value: maybe}", "yes or no"),
        (b"- symptom: {what: {a: b}, value: no}", "one text"),
        (b"- look: {at: heeter, sees: burnt}", "heater"),
        (b"- look: [1, 2]", "fields"),
        (b"reading: 5", "list"),
        (b"- 5", "one of"),
        (b"- symptom: {what: air is warm, what: air is warm, value: no}", "wice"),
        (b"x" * 2_000_000, ""),
    ],
)  # fmt: skip
def test_bad_findings(raw: bytes, says: str, tmp_path: Path, capsys: Capture) -> None:
    """Findings that cannot be read end with 3, the place, and what is wrong; the document says the same."""
    place = tmp_path / "findings.yaml"
    place.write_bytes(raw)
    ended = run(capsys, "diagnose", "vented-dryer", str(place), "--json")
    sentence(ended, 3)
    assert says.lower() in ended.err.lower()
    assert ended.data["problems"]
    assert all(problem["file"] == str(place) and problem["message"] for problem in ended.data["problems"])


def test_all_problems_at_once(tmp_path: Path, capsys: Capture) -> None:
    """Three mistakes in three findings are told together, each with its line."""
    place = tmp_path / "findings.yaml"
    place.write_text(
        "- look: {at: heeter, sees: fine}\n- symptom: {what: x, value: yes}\n- looks: {}\n", encoding="utf-8"
    )
    problems = run(capsys, "diagnose", "vented-dryer", str(place), "--json").data["problems"]
    assert [problem["line"] for problem in problems] == [1, 2, 3]


@FEW
@given(raw=st.binary(max_size=400))
def test_any_bytes(raw: bytes, tmp_path: Path, capsys: Capture) -> None:
    """Whatever bytes are given as findings and as a machine, a sentence comes back."""
    place = tmp_path / "any.yaml"
    place.write_bytes(raw)
    sentence(run(capsys, "diagnose", "water-heater", str(place), "--json"), 0, 3)
    sentence(run(capsys, "check", str(place)), 3)


def _findings() -> st.SearchStrategy[str]:
    """Findings as a tired hand may write them: known and unknown fields, values of any kind."""
    import json

    value = st.recursive(
        st.sampled_from(WORDS) | st.integers() | st.floats() | st.booleans() | st.none(),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(WORDS), inner, max_size=3),
        max_leaves=4,
    )
    fields = st.dictionaries(st.sampled_from(FIELDS), value, max_size=7) | value
    return st.lists(st.dictionaries(st.sampled_from(KINDS), fields, max_size=2), max_size=4).map(json.dumps)


@FEW
@given(text=_findings())
def test_any_findings(text: str, tmp_path: Path, capsys: Capture) -> None:
    """Findings of wrong types, unknown names and strange numbers are weighed or refused with a sentence."""
    place = tmp_path / "any.json"
    place.write_text(text, encoding="utf-8")
    sentence(run(capsys, "diagnose", "vented-dryer", str(place), "--json"), 0, 3)


OPTIONS = [
    "--red", "--black", "--meter", "--set", "--isolated", "--lift", "--fault", "--json", "--to", "--why", "--bogus",
    "--", "-o", "spice", "heat=high", "heat=", "=", "==", "high heat", "cut-off: open", "cut-off: opn", "vented-dryer",
    "no-such", "",
]  # fmt: skip


@FEW
@given(
    command=st.sampled_from(
        [*(name for name in app.list_commands(click.Context(app)) if name != "guide"), "nonsense", ""]
    ),
    words=st.lists(st.sampled_from(OPTIONS + WORDS) | st.text(max_size=8), max_size=8),
)
def test_any_words(
    command: str, words: list[str], tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is typed after a command, it ends with 0 to 3 and a sentence; the guide goes on asking, and is tried
    elsewhere."""
    monkeypatch.chdir(tmp_path)
    words = [word for word in words if not word.startswith("-o")]
    ended = run(capsys, command, *(word for word in words if word != "-"))
    sentence(ended, 0, 1, 2, 3)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["expect", "vented-dryer", "--red", "heater.comon", "--black", "x", "--meter", "oms"], "'ohms'"),
        (["expect", "vented-dryer", "--red", "heater.common", "--meter", "volts"], "--black"),
        (
            ["expect", "vented-dryer", "--red", "heater.common", "--black", "heater.front", "--meter", "amps"],
            "no black lead",
        ),
        (["export", "vented-dryer", "--to", "spice", "--fault", "cut-off: opne"], "'cut-off: open'"),
        (["export", "vented-dryer", "--to", "spice", "--set", "heat=hihg"], "'high'"),
        (["export", "vented-dryer", "--to", "spice", "--set", "hihg heat"], "'high heat'"),
        (["export", "vented-drier", "--to", "spice"], "'vented-dryer'"),
        (["export", "vented-dryer"], "--to"),
        (["diagnos", "vented-dryer"], "diagnose"),
    ],
)
def test_unknown_names_get_a_remedy(words: list[str], says: str, capsys: Capture) -> None:
    """Unknown words end with 2 and the nearest known one."""
    ended = run(capsys, *words)
    sentence(ended, 2)
    assert says in ended.err


@pytest.mark.parametrize("typed", ["nan", "NaN", "inf", "-inf", "1e999"])
@pytest.mark.parametrize(
    "words", [("diagnose", "--worth"), ("guide", "--worth"), ("pace", "--hourly"), ("visit", "--least")]
)
def test_what_is_no_number_is_no_amount(words: tuple[str, str], typed: str, capsys: Capture) -> None:
    """It compares with nothing, or with everything, and would pass any range."""
    command, option = words
    ended = run(capsys, command, "vented-dryer", option, typed, *(() if command == "guide" else ("none.yaml",)))
    sentence(ended, 2)
    assert option in ended.err


def test_missing_files(tmp_path: Path, capsys: Capture) -> None:
    """A findings file or a machine file that is not there ends with 3 and its name; a folder as well."""
    missing = str(tmp_path / "none.yaml")
    for words in (
        ["diagnose", "vented-dryer", missing],
        ["check", missing],
        ["diagnose", "vented-dryer", str(tmp_path)],
    ):
        ended = run(capsys, *words)
        sentence(ended, 3)
        assert words[-1] in ended.err


def test_own_mistakes_are_told_without_traceback(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever goes wrong inside is a plain sentence with the way to report it, and a code of its own."""

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("the heater fell in the river")

    monkeypatch.setattr(app, "main", broken)
    ended = run(capsys, "machines")
    assert ended.code == failures.OWN_FAULT
    assert "fell in the river" in ended.err
    assert "report" in ended.err
    assert "Traceback" not in ended.err


def test_a_closed_pipe_is_no_mistake() -> None:
    """`halfsplit ... | head` ends quietly."""
    code = "import sys; from halfsplit.cli import main; sys.exit(main(['check', 'vented-dryer', '--faults']))"
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""


def test_help_loads_nothing_heavy() -> None:
    """The group and all its help come up without numerics, grammar or tables."""
    code = (
        "import sys; from halfsplit.cli import main; code = main(['diagnose', '--help']);"
        "heavy = {'numpy', 'scipy', 'pydantic', 'yaml', 'rich'} & set(sys.modules); sys.exit(code or bool(heavy))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0


def test_a_spoiled_cache_is_read_anew(tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    """A kept machine that is torn, hostile or in a folder that cannot be made does no harm."""
    import os
    import pickle

    class Hostile:
        def __reduce__(self) -> tuple[object, tuple[str]]:
            return os.mkdir, (str(tmp_path / "made by a pickle"),)

    monkeypatch.setenv("HALFSPLIT_CACHE", str(tmp_path / "cache"))
    whole = run(capsys, "check", "water-heater", "--faults", "--json").out
    (kept,) = (tmp_path / "cache").glob("*.kept")
    for spoiled in (b"", kept.read_bytes()[:100], pickle.dumps(Hostile()), pickle.dumps({"machine": 1})):
        kept.write_bytes(spoiled)
        assert run(capsys, "check", "water-heater", "--faults", "--json").out == whole
    assert not (tmp_path / "made by a pickle").exists()
    monkeypatch.setenv("HALFSPLIT_CACHE", str(kept / "no folder"))
    assert run(capsys, "check", "water-heater", "--faults", "--json").out == whole


def test_a_like_file_follows_the_other(tmp_path: Path, capsys: Capture) -> None:
    """A kept machine that is like another file is read anew when that other file changes."""
    from halfsplit.machine import library

    base, mine = tmp_path / "base.yaml", tmp_path / "mine.yaml"
    base.write_text(library.text("water-heater"), encoding="utf-8")
    mine.write_text("format: halfsplit machine 1\nlike: base\nmachine: Mine\n", encoding="utf-8")
    first = run(capsys, "check", str(mine), "--faults", "--json")
    assert first.code == 0
    base.write_text(library.text("vented-dryer"), encoding="utf-8")
    assert run(capsys, "check", str(mine), "--faults", "--json").out != first.out


def test_what_cannot_be_computed_is_no_mistake_of_halfsplit(capsys: Capture) -> None:
    """A network without a solution comes of the machine file: code 3, and where to look for the mistake in it."""

    def run_it() -> None:
        raise NetworkError(["branch 3 goes from a node to itself"])

    assert failures.guarded(run_it, as_json=False) == 3
    assert capsys.readouterr().err == (
        "halfsplit: the machine file cannot be computed (branch 3 goes from a node to itself). "
        "Look for the mistake in it with: halfsplit check FILE\n"
    )
