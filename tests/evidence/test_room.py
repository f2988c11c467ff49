"""The room is as its own words have it: every file is named, and its numeric half knows no machine."""

from __future__ import annotations

import re
from pathlib import Path

from halfsplit import evidence

FILES = sorted(path for path in Path(evidence.__file__).parent.glob("*.py") if path.stem != "__init__")
KNOWS_MACHINES = re.compile(r"^from halfsplit\.(?:machine|modes|operate|predict(?!\.moments))\b", re.MULTILINE)


def test_every_file_is_named_in_its_half() -> None:
    """Once, and none that is not there; the numeric ones import nothing that knows a machine."""
    first, _, numeric = (evidence.__doc__ or "").partition("The rest is numeric")
    named, alone = (re.findall(r"``(\w+)``", half) for half in (first, numeric))
    assert sorted(named + alone) == [path.stem for path in FILES]
    knowing = {path.stem for path in FILES if KNOWS_MACHINES.search(path.read_text(encoding="utf-8"))}
    assert not knowing & set(alone)
