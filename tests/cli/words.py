"""How the tests of the command line call it: the same entry as the installed command."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import pytest

from halfsplit.cli import main


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The one JSON document on stdout."""
        return json.loads(self.out)


def run(capsys: pytest.CaptureFixture[str], *words: str) -> Ended:
    """Runs a command in this process."""
    capsys.readouterr()
    code = main(list(words))
    out, err = capsys.readouterr()
    return Ended(code, out, err)
