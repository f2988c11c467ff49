"""Jobs that were played, one a line, so that a run that was cut goes on where it stopped.

The first line of a file says under which code they were played; what was played under other code is refused and not
mixed in. Knows lines of JSON and the files of the code; not what a job is.
"""

from __future__ import annotations

import hashlib
import json
import subprocess
from pathlib import Path
from typing import Any

import halfsplit

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = Path(halfsplit.__file__).resolve().parent
FACES = ("audit", "cli", "drawing", "service")
"""Rooms of the package that tell and draw: no job comes out otherwise because of them."""
BESIDE = (
    *("benchmarks/orders.py", "benchmarks/tree.py", "benchmarks/ways.py", "tests/plan/plan_instances.py"),
    *("benchmarks/as_offered.py", "src/halfsplit/service/further.py"),
)
"""What draws and follows problems of arrays; what the guide offers."""
UNDER = "played under"
PLAYED = ROOT / "benchmarks" / "played"
"""The jobs that the tables of the documentation are made of, as they were last played."""


def code(package: Path = PACKAGE, beside: tuple[str, ...] = BESIDE) -> str:
    """A digest of all files that decide what a job comes to: the package and its data but no face, and BESIDE."""
    inside = (place.relative_to(package) for place in package.rglob("*") if place.suffix in (".py", ".yaml"))
    files = {str(place): package / place for place in inside if place.parts[0] not in FACES}
    files |= {name: ROOT / name for name in beside}
    made = hashlib.sha256()
    for name in sorted(files):
        made.update(name.encode() + b"\0" + hashlib.sha256(files[name].read_bytes()).digest())
    return made.hexdigest()[:16]


def commit() -> str:
    """The commit of that code, for people; "" where none can be told."""
    asked = ["git", "-C", str(PACKAGE), "rev-parse", "--short", "HEAD"]
    try:
        return subprocess.run(asked, capture_output=True, text=True, check=True).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return ""


LOADED = {"code": code(), "commit": commit()}
"""Told when this is loaded: files that change while a run is under way are not those that it runs."""


class Kept:
    """The jobs of one kind in a folder; with none given nothing is kept. asked: what else jobs depend on, as a seed.

    Ends the run with a sentence (SystemExit) where the file was played under other code or asked otherwise, and where
    another run writes to it. The commit is told to people; only the code counts. `as_played`: jobs are only read,
    whatever code played them; `under` says which.

    >>> Kept(None, "dryer").jobs
    []
    """

    def __init__(self, folder: Path | None, name: str, as_played: bool = False, **asked: Any) -> None:
        self.place = folder / f"{name}.jsonl" if folder else None
        self.under, self.asked, self.as_played = LOADED | asked, asked, as_played
        self.jobs: list[Any] = []
        self._size = 0
        if self.place and self.place.exists():
            self._read(self.place)

    def _read(self, place: Path) -> None:
        """What a run that was killed left half written is dropped, and played again."""
        lines = place.read_text(encoding="utf-8").splitlines(keepends=True)
        whole = [line for line in lines if line.endswith("\n")]
        if whole:
            self._check(place, json.loads(whole[0]))
        if len(whole) < len(lines) and not self.as_played:
            place.write_text("".join(whole), encoding="utf-8")
        self._size = place.stat().st_size
        self.jobs = [json.loads(line) for line in whole[1:]]

    def _check(self, place: Path, first: Any) -> None:
        under = first.get(UNDER) if isinstance(first, dict) else None
        if under is None:
            said = f"{place} does not say under which code its jobs were played."
        elif self.as_played and under.items() >= self.asked.items():
            self.under = under
            return
        elif under | {"commit": ""} != self.under | {"commit": ""}:
            said = f"The jobs in {place} were played under {_told(under)}; this run is {_told(self.under)}."
        else:
            return
        head = json.dumps({UNDER: self.under})
        raise SystemExit(
            f"{said} Give another folder. Where you know that they would come out alike, let its first line be {head}"
        )

    def add(self, job: Any) -> None:
        """One job more. Raises RuntimeError where jobs are only read."""
        if self.as_played:
            raise RuntimeError(f"{self.place} is read as it was played; nothing is added to it.")
        self.jobs.append(job)
        if self.place:
            self._write(self.place, ([] if self._size else [{UNDER: self.under}]) + [job])

    def _write(self, place: Path, lines: list[Any]) -> None:
        place.parent.mkdir(parents=True, exist_ok=True)
        with place.open("a", encoding="utf-8") as file:
            if file.tell() != self._size:
                raise SystemExit(f"Another run writes to {place}: let it end, or give this one another folder.")
            file.write("".join(json.dumps(line) + "\n" for line in lines))
            file.flush()
            self._size = file.tell()


def _told(under: dict[str, Any]) -> str:
    return ", ".join(f"{what} {value}" for what, value in under.items())
