#!/usr/bin/env python3
"""Sets Halfsplit up in .venv beside this file and runs it. Needs Python 3.11 or later and pip, nothing else.

    python3 start.py              the guided diagnosis
    python3 start.py test         lint, types, import contract and all tests
    python3 start.py WORDS...     any command of halfsplit, as in: python3 start.py machines

Knows only the standard library and the project's files. The first run installs; later runs compare a hash of
the project file and the locks with that of the last install, and start at once where nothing changed.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
STAMP = VENV / "halfsplit-installed.txt"
LOCKS = {"run": "requirements.lock", "test": "requirements-test.lock"}
WHAT = {"run": ".", "test": ".[test]"}
JUDGES = ("ngspice", "chromium")
CHECKS = (
    ("lint", ["ruff", "check", "."]),
    ("types", ["mypy"]),
    ("import contract", ["lint-imports", "--no-logo"]),
    ("tests", ["pytest", "-n", "auto", "--dist", "loadfile"]),
)


def main(words: list[str]) -> int:
    """Sets up what the words ask for, runs it, and returns its exit code."""
    if sys.version_info < (3, 11):  # noqa: UP036 - an older Python may well run this file
        return complain("Python 3.11 or later is needed.", "Install it and run start.py with it.")
    kind = "test" if words == ["test"] else "run"
    if not set_up(kind):
        return 1
    return run_checks() if kind == "test" else call(["-m", "halfsplit", *(words or ["guide"])])


def complain(what: str, remedy: str) -> int:
    """Says on stderr what is wrong and what to do; the exit code to end with."""
    print(f"start.py: {what} {remedy}", file=sys.stderr)
    return 1


def venv_python() -> Path:
    """The interpreter inside .venv, by the layout of this system."""
    return VENV / "Scripts" / "python.exe" if os.name == "nt" else VENV / "bin" / "python"


def tool(name: str) -> str:
    """A command that an installed package has put beside that interpreter."""
    return str(venv_python().with_name(f"{name}.exe" if os.name == "nt" else name))


def call(arguments: list[str]) -> int:
    """Runs the interpreter of .venv in the foreground; its exit code."""
    return subprocess.call([str(venv_python()), *arguments])


def fingerprint(kind: str) -> str:
    """A hash of all that decides what has to be installed."""
    digest = hashlib.sha256(sys.version.encode())
    for name in ("pyproject.toml", LOCKS[kind]):
        digest.update((ROOT / name).read_bytes() if (ROOT / name).exists() else b"none")
    return f"{kind} {digest.hexdigest()}"


def set_up(kind: str) -> bool:
    """Makes .venv and installs, unless the last install was the same; says whether all is in place.

    What another kind installed of other files is forgotten: both kinds share .venv, and it has been written over.
    """
    done = STAMP.read_text().splitlines() if STAMP.exists() else []
    now = {one: fingerprint(one) for one in LOCKS}
    if venv_python().exists() and now[kind] in done:
        return True
    print("Setting up .venv, once ...", file=sys.stderr)
    make = [sys.executable, "-m", "venv", "--without-pip", str(VENV)]
    if not venv_python().exists() and subprocess.call(make) != 0:
        complain("no .venv could be made.", "Its own words are above; mend that and try again.")
        return False
    pip = find_pip()
    if not pip:
        complain("no pip was found.", "Install it (on Debian: apt-get install python3-pip) and try again.")
        return False
    if not install(pip, kind):
        complain("the install did not end well.", "Its own words are above; mend that and try again.")
        return False
    STAMP.write_text("".join(f"{one}\n" for other, one in now.items() if other == kind or one in done))
    return True


def find_pip() -> list[str]:
    """The command of a pip that can fill .venv: this Python's, .venv's own, or one that ensurepip brings."""
    inside = [str(venv_python()), "-m", "pip"]
    if importlib.util.find_spec("pip") and pip_release() >= (22, 3):
        return [sys.executable, "-m", "pip", "--python", str(venv_python())]
    if quiet([*inside, "--version"]) or quiet([str(venv_python()), "-m", "ensurepip", "--default-pip"]):
        return inside
    return []


def pip_release() -> tuple[int, int]:
    """Major and minor release of this Python's pip; ``--python`` came with 22.3."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        major, minor = version("pip").split(".")[:2]
        return int(major), int(minor)
    except (PackageNotFoundError, ValueError):
        return (0, 0)


def quiet(command: list[str]) -> bool:
    """Runs a command unseen; says whether it ended well."""
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


def install(pip: list[str], kind: str) -> bool:
    """Installs the locked packages by their hashes, then this project over them."""
    options = ["install", "--quiet", "--disable-pip-version-check"]
    lock = ROOT / LOCKS[kind]
    if lock.exists() and subprocess.call([*pip, *options, "--require-hashes", "-r", str(lock)]) != 0:
        return False
    return subprocess.call([*pip, *options, "-e", WHAT[kind]], cwd=ROOT) == 0


def run_checks() -> int:
    """Runs every check, also after one has failed, and names those that did; 1 if any did."""
    for judge in JUDGES:
        if not shutil.which(judge):
            print(f"{judge} is not installed: the tests that need it will say so.", file=sys.stderr)
    failed = []
    for name, arguments in CHECKS:
        print(f"== {name}", flush=True)
        if subprocess.call([tool(arguments[0]), *arguments[1:]], cwd=ROOT) != 0:
            failed.append(name)
    print(f"failed: {', '.join(failed)}" if failed else "all checks passed")
    return 1 if failed else 0


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
