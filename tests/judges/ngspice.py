"""The circuit simulator ngspice as a judge: runs a deck in batch and reads what it prints."""

from __future__ import annotations

import re
import shutil
import subprocess

_PRINTED = re.compile(r"^(\S+) = (\S+?)(?:,\s*(\S+))?\s*$")


def present() -> bool:
    """Whether ngspice is installed here."""
    return shutil.which("ngspice") is not None


def run(deck: str, seconds: float = 60.0) -> dict[str, complex]:
    """Every `name = value` or `name = re,im` that the deck prints; v(label) is entered as label.

    The deck sets its own digits (`set numdgt=16` prints a double whole). Raises RuntimeError with the
    simulator's own words where it fails or complains.
    """
    done = subprocess.run(
        ["ngspice", "-b", "/dev/stdin"],
        input=deck,
        capture_output=True,
        text=True,
        timeout=seconds,
        check=False,
    )
    words = done.stdout + done.stderr
    if done.returncode or re.search(r"singular|^Error", words, re.IGNORECASE | re.MULTILINE):
        raise RuntimeError(f"ngspice ended with {done.returncode}:\n{complaint(words)}")
    found = (_PRINTED.match(line) for line in done.stdout.splitlines())
    return {_name(m[1]): complex(float(m[2]), float(m[3] or 0)) for m in found if m and _is_number(m[2])}


def complaint(words: str) -> str:
    """The lines that complain, at most ten, or else the last ten."""
    lines = [line for line in words.splitlines() if line.strip()]
    told = [line for line in lines if re.search(r"singular|error|warning", line, re.IGNORECASE)]
    return "\n".join(told[:10] or lines[-10:])


def _name(printed: str) -> str:
    inner = re.fullmatch(r"v\((.*)\)", printed)
    return inner[1] if inner else printed


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
