"""The set-up script: what it decides, with every process replaced by a list of what was asked for."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """A fresh start.py that believes to stand in an empty project folder with a .venv in it."""
    spec = importlib.util.spec_from_file_location("start_under_test", ROOT / "start.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    monkeypatch.setattr(module, "ROOT", tmp_path)
    monkeypatch.setattr(module, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(module, "STAMP", tmp_path / ".venv" / "stamp.txt")
    module.venv_python().parent.mkdir(parents=True)
    module.venv_python().touch()
    return module


@pytest.fixture
def asked(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """The commands that would have been run, each taken to end well."""
    commands: list[list[str]] = []

    def call(command: list[str], **_: object) -> int:
        commands.append(command)
        return 0

    monkeypatch.setattr(start.subprocess, "call", call)
    monkeypatch.setattr(start, "find_pip", lambda: ["pip"])
    return commands


def test_the_second_run_installs_nothing(start: ModuleType, asked: list[list[str]]) -> None:
    """After an install the same project goes straight to work; another project file installs again, and so does the
    first one then, since the other's packages lie over its own."""
    assert start.main([]) == 0
    first = len(asked)
    assert start.main(["machines"]) == 0
    assert asked[first:] == [[str(start.venv_python()), "-m", "halfsplit", "machines"]]
    project = start.ROOT / "pyproject.toml"
    before = project.read_text()
    for text in ("[project]\nname = 'x'\n", before):
        project.write_text(text)
        begun = len(asked)
        start.main([])
        assert any("install" in command for command in asked[begun:])
        assert len(start.STAMP.read_text().splitlines()) == 1


def test_each_kind_keeps_one_line(start: ModuleType, asked: list[list[str]]) -> None:
    """Tests and runs of one project stand side by side; what one installs of another project counts for both."""
    assert start.set_up("run")
    assert start.set_up("test")
    done = len(asked)
    assert start.set_up("run")
    assert start.set_up("test")
    assert len(asked) == done
    assert [line.split()[0] for line in start.STAMP.read_text().splitlines()] == ["run", "test"]
    project = start.ROOT / "pyproject.toml"
    before = project.read_text()
    project.write_text("[project]\nname = 'x'\n")
    assert start.set_up("run")
    project.write_text(before)
    done = len(asked)
    assert start.set_up("test")
    assert len(asked) > done


def test_the_lock_is_installed_by_hash_and_first(start: ModuleType, asked: list[list[str]]) -> None:
    """The locked packages come before the project, and only with their hashes."""
    (start.ROOT / "requirements.lock").write_text("")
    assert start.set_up("run")
    assert "--require-hashes" in asked[0]
    assert asked[1][-2:] == ["-e", "."]


def test_no_words_start_the_guided_diagnosis(start: ModuleType, asked: list[list[str]]) -> None:
    """The plain command is the main job."""
    start.main([])
    assert asked[-1][1:] == ["-m", "halfsplit", "guide"]


def test_test_runs_every_check_though_one_fails(
    start: ModuleType, asked: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A failed lint does not hide the tests, and the exit code tells."""
    start.set_up("test")
    asked.clear()

    def call(command: list[str], **_: object) -> int:
        asked.append(command)
        return int("ruff" in command[0])

    monkeypatch.setattr(start.subprocess, "call", call)
    assert start.main(["test"]) == 1
    assert [Path(command[0]).stem for command in asked] == ["ruff", "mypy", "lint-imports", "pytest"]


def test_an_install_that_failed_is_not_remembered(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """A broken install is an error with a remedy, and is tried again next time."""
    monkeypatch.setattr(start, "find_pip", lambda: ["pip"])
    monkeypatch.setattr(start.subprocess, "call", lambda *_, **__: 1)
    assert start.main([]) == 1
    assert not start.STAMP.exists()


def test_an_old_python_is_told_so(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An interpreter that is too old gets a sentence, not a traceback."""
    monkeypatch.setattr(sys, "version_info", (3, 9, 2))
    assert start.main([]) == 1
    assert "3.11" in capsys.readouterr().err


def test_a_missing_pip_is_told_with_a_remedy(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without this Python's pip, the one in .venv and ensurepip, the person hears what to install."""
    monkeypatch.setattr(start.importlib.util, "find_spec", lambda _: None)
    monkeypatch.setattr(start, "quiet", lambda _: False)
    assert start.main([]) == 1
    assert "python3-pip" in capsys.readouterr().err
