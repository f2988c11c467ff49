"""Commands that together bring out every field of the JSON documents, and what they print, run in this process.

Knows commands and small files; not what a field says.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple
from unittest import mock

from halfsplit import cli

REFUSAL = "refusal"
"""The document of a command that is refused; each other one is called as its command."""

FILES = {
    "cold.yaml": "- symptom: {what: hot water lasts, value: no}\n",
    "good.yaml": "- symptom: {what: hot water lasts, value: yes, by: repairer, set: {warmth: hot tank}}\n",
    "wet.yaml": "- symptom: {what: water on the floor, value: yes}\n",
    "tingles.yaml": "- symptom: {what: tank tingles, value: yes}\n",
    "proved.yaml": """\
- symptom: {what: hot water lasts, value: no}
- repair: {made: replace lower element, cured: yes}
""",
    "all kinds.yaml": """\
- symptom: {what: hot water lasts, value: no, by: repairer, set: {warmth: hot tank}, note: slow, took: 6 min}
- symptom: {what: water gets hot, value: yes, taken back: yes}
- symptom: {what: turns lukewarm soon, by: repairer, set: {warmth: hot tank}, taken back: yes}
- look: {at: upper element, sees: fine, note: clean, took: 2 min}
- look: {at: upper element, sees: fine, closely: yes}
- look: {at: lower element, taken back: yes}
- reading: {meter: ohms, red: lower element.1, black: lower element.2, lift: [lower element.1], value: OL, took: 4 min}
- reading: {red: limit.1, black: limit.2, lift: [], provoke: shake limit, value: 0.2, note: dead}
- reading: {meter: amps, red: upper element.1, taken back: yes}
- repair: {made: replace lower element, cured: yes, well: no, note: it hums, took: 65 min}
- repair: {made: replace upper element, cured: no}
- closed: {power: off, note: left for the night, took: 12 min}
- closed: {power: on}
""",
    "burners.yaml": """\
- symptom: {what: left front glows, value: no}
- symptom: {what: right rear glows, value: no, by: repairer, set: {right rear: high},
    exchange: [left front burner, right rear burner]}
- reading: {meter: ohms, red: left front burner.1, black: left front burner.2, set: {left front: off, right rear: off},
    exchange: [left front burner, right rear burner], value: OL}
""",
    "bad.yaml": "format: halfsplit machine 1\nmachine: Nothing\n",
}  # fmt: skip


class Example(NamedTuple):
    """A command line, what is typed while it runs, and the document that it prints ("": that of its command)."""

    line: tuple[str, ...]
    typed: str = ""
    document: str = ""


def _one(line: str, typed: str = "", document: str = "") -> Example:
    return Example(tuple(word.replace("_", " ") for word in line.split()), typed, document)


ENTER = "\n" * 200
EXAMPLES = (
    _one("guide water-heater --seed 3 --no-further", ENTER),
    _one("guide water-heater --own --no-further"),
    _one("machines"),
    _one("check bad.yaml"),
    _one("check water-heater --faults"),
    _one("expect water-heater --meter volts --red upper_element.1 --black upper_element.2"),
    _one("expect water-heater --meter ohms --red lower_element.1 --black lower_element.2 --lift lower_element.1"),
    _one("diagnose water-heater cold.yaml --why 1 --alongside"),
    _one("diagnose water-heater all_kinds.yaml"),
    _one("diagnose water-heater good.yaml"),
    _one("diagnose water-heater tingles.yaml"),
    _one("diagnose water-heater proved.yaml"),
    _one("diagnose coil-cooktop burners.yaml --alongside"),
    _one("visit water-heater cold.yaml --tree --boxes 12"),
    _one("visit water-heater wet.yaml --tree --boxes 8"),
    _one("visit water-heater tingles.yaml --tree"),
    _one("visit water-heater good.yaml --tree --boxes 8"),
    _one("visit water-heater all_kinds.yaml"),
    _one("closing water-heater all_kinds.yaml --open upper_cover"),
    _one("closing vented-dryer --open drum_housing"),
    _one("draw water-heater --set tank_cold"),
    _one("draw water-heater --bays"),
    _one("draw water-heater --face limit"),
    _one("draw vented-dryer --chart timer"),
    _one("export water-heater --set tank_cold --to spice"),
    _one("rehearse water-heater"),
    _one("rehearse water-heater --faults two"),
    _one("pace water-heater all_kinds.yaml"),
    _one("pace water-heater all_kinds.yaml --van limit"),
    _one("completion bash"),
    _one("expect water-heater --meter volts --red nowhere.1", document=REFUSAL),
    _one("diagnose water-heater bad.yaml", document=REFUSAL),
)


def documents() -> Iterator[tuple[str, Any]]:
    """What each example prints, and the name of the document."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        for name, text in FILES.items():
            Path(name).write_text(text, encoding="utf-8")
        for example in EXAMPLES:
            yield example.document or example.line[0], printed(example)


def printed(example: Example) -> Any:
    """The document of one example. Raises ValueError where it prints none."""
    typed = mock.patch.object(sys, "stdin", io.StringIO(example.typed))
    with typed, contextlib.redirect_stdout(io.StringIO()) as out, contextlib.redirect_stderr(io.StringIO()) as err:
        cli.main([*example.line, "--json"])
    try:
        return json.loads(out.getvalue())
    except ValueError:
        raise ValueError(f"{' '.join(example.line)} prints no document: {err.getvalue()}") from None
