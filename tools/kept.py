"""Jobs that were played, one a line, so that a run that was cut goes on where it stopped.

Knows lines of JSON; not what a job is.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any


class Kept:
    """The jobs of one kind in a folder; with none given nothing is kept.

    >>> Kept(None, "dryer").jobs
    []
    """

    def __init__(self, folder: Path | None, name: str) -> None:
        self.place = folder / f"{name}.jsonl" if folder else None
        self.jobs: list[Any] = []
        if self.place and self.place.exists():
            self._read(self.place)

    def _read(self, place: Path) -> None:
        """What a run that was killed left half written is dropped, and played again."""
        lines = place.read_text(encoding="utf-8").splitlines(keepends=True)
        whole = [line for line in lines if line.endswith("\n")]
        if len(whole) < len(lines):
            place.write_text("".join(whole), encoding="utf-8")
        self.jobs = [json.loads(line) for line in whole]

    def add(self, job: Any) -> None:
        """One job more."""
        self.jobs.append(job)
        if self.place:
            self.place.parent.mkdir(parents=True, exist_ok=True)
            with self.place.open("a", encoding="utf-8") as file:
                file.write(json.dumps(job) + "\n")
