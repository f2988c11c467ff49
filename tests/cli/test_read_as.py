"""A reading that was taken otherwise than may have been meant is told of: in a findings file and in the talk."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.cli.test_cautions import COOKTOP
from tests.cli.typed import talk_from
from tests.cli.words import run

Capture = pytest.CaptureFixture[str]
Write = Callable[[str], str]
LEADS = "meter: ohms, red: heater.front, black: heater.common"


def test_what_a_file_has_is_told_once(findings: Write, capsys: Capture) -> None:
    """Milli that may be meant as mega, and a tolerance, also at an end of a range; each once; else nothing."""
    text = "".join(f"- reading: {{{LEADS}, value: {value}}}\n" for value in ("5m", "5m", "9.2k ± 5 %", "9 ± 1 to 1.2k"))
    for command in ("diagnose", "visit"):
        said = run(capsys, command, "vented-dryer", findings(text)).err
        assert said.count("'5m': 'm' was read as milli; mega is a capital M.") == 1
        assert said.count("'9.2k ± 5 %': its tolerance does not count, a meter shows none.") == 1
        assert said.count("'9 ± 1': its tolerance does not count") == 1
    assert run(capsys, "diagnose", "vented-dryer", findings(f"- reading: {{{LEADS}, value: 9.2k}}\n")).err == ""


def test_what_is_typed_in_the_talk_is_told_of(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    """Below the answer, before what is believed now."""
    said = talk_from(monkeypatch, capsys, "what the meter shows] >", ["118 ± 5 %", "stop"], *COOKTOP)
    note = "'118 ± 5 %': its tolerance does not count, a meter shows none."
    assert said.count(note) == 1
    assert said.index(note) < said.index("Likeliest now")
