"""The documents of the command line are current, and what they show can be run."""

from __future__ import annotations

import importlib.util
import io
import re
import shlex
from pathlib import Path

import pytest

from halfsplit.cli.app import app
from tests.cli.words import run

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "reference" / "commands.md"
HOW_TO = ROOT / "docs" / "how-to"


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
    """Every command shown on a how-to page ends with 0, with the files that the page shows."""
    text = (HOW_TO / page).read_text(encoding="utf-8")
    for name, body in re.findall(r"`([\w-]+\.yaml)`:\n```yaml\n(.*?)```", text, re.DOTALL):
        (tmp_path / name).write_text(body, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    words = shlex.split(re.split(r" >>? | \| ", line)[0])
    assert run(capsys, *words[1:]).code == 0
