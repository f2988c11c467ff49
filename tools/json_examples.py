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

REFUSED = 3
"""The greatest exit code with which a command ends that prints a document."""

FILES = {
    "cold.yaml": "- symptom: {what: hot water lasts, value: no}\n",
    "good.yaml": "- symptom: {what: hot water lasts, value: yes, by: repairer, set: {warmth: hot tank}}\n",
    "wet.yaml": "- symptom: {what: water on the floor, value: yes}\n",
    "tingles.yaml": "- symptom: {what: jacket tingles, value: yes}\n",
    "trips.yaml": "- symptom: {what: breaker trips, value: yes}\n",
    "rumbles.yaml": "- symptom: {what: rumbles, value: yes}\n",
    "mild.yaml": "- symptom: {what: water scalds, value: no}\n",
    "dark.yaml": """\
- symptom: {what: water gets hot, value: no}
- reading: {meter: volts, red: breaker.line L1, black: breaker.line L2, value: 0.1 V}
""",
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
- cannot: {what: help}
""",
    "burners.yaml": """\
- symptom: {what: left front glows, value: no}
- symptom: {what: right rear glows, value: no, by: repairer, set: {right rear: high},
    exchange: [left front burner, right rear burner]}
- reading: {meter: ohms, red: left front burner.1, black: left front burner.2, set: {left front: off, right rear: off},
    exchange: [left front burner, right rear burner], value: OL}
""",
    "free.yaml": """\
like: water-heater
machine: Storage water heater, a free dip tube
parts:
  dip tube: {type: moving part, title: dip tube, in: top fittings, price: 0 USD, replace: 30 min, fails: 3}
""",
    "alone.yaml": """\
- symptom: {what: left front glows, value: no}
- symptom: {what: right rear glows, value: yes}
- symptom: {what: left rear glows, value: yes}
- symptom: {what: right front glows, value: yes}
""",
    "two things.yaml": """\
- symptom: {what: water gets hot, value: no}
- symptom: {what: water scalds, value: yes}
""",
    "changed over.yaml": """\
- symptom: {what: water gets hot, value: no}
- symptom: {what: hot water lasts, value: no}
- symptom: {what: breaker trips, value: yes}
- reading: {meter: ohms, red: upper element.1, black: jacket.metal, lift: [upper element.1, upper element.2], value: OL}
- look: {at: limit, sees: fine}
- reading: {red: limit.3, black: jacket.metal, lift: [], value: OL}
- reading: {red: upper element.1, black: upper element.2, value: 0.3}
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


def _cannot(*what: str) -> str:
    return " ".join(f"--cannot {one}" for one in what)


HARDLY = _cannot("owner", "ohms", "continuity", "volts", "amps")
BLIND = f"{HARDLY} {_cannot('low-impedance_volts')}"
"""Nobody to ask, and no meter."""
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
    _one("diagnose water-heater cold.yaml --alongside --cannot owner"),
    _one("diagnose coil-cooktop burners.yaml --alongside --cannot owner"),
    _one("diagnose water-heater trips.yaml --cannot owner"),
    _one("diagnose water-heater changed_over.yaml --why 1"),
    _one("diagnose water-heater changed_over.yaml --cannot upper_cover"),
    _one("visit water-heater changed_over.yaml --tree --boxes 4"),
    _one("diagnose water-heater mild.yaml --alongside --cannot owner"),
    _one(f"diagnose coil-cooktop alone.yaml {HARDLY} {_cannot('top', 'front_panel')}"),
    _one(f"diagnose coil-cooktop alone.yaml {BLIND} {_cannot('top', 'front_panel')}"),
    _one("visit water-heater cold.yaml --tree --boxes 8 --cannot lower_cover"),
    _one(f"visit water-heater cold.yaml --tree --boxes 4 --least 5 {HARDLY} {_cannot('power')}"),
    _one("visit water-heater dark.yaml --tree --boxes 4"),
    _one("visit water-heater two_things.yaml --tree --boxes 6 --least 5"),
    _one("visit free.yaml cold.yaml"),
    _one("visit water-heater wet.yaml --tree --boxes 8"),
    _one("visit water-heater tingles.yaml --tree"),
    _one(f"visit water-heater rumbles.yaml --tree {_cannot('amps')}"),
    _one("visit water-heater good.yaml --tree --boxes 8"),
    _one("visit water-heater all_kinds.yaml"),
    _one("closing water-heater all_kinds.yaml --open upper_cover"),
    _one("closing vented-dryer --open drum_housing"),
    _one("draw vented-dryer --set high_heat --circuit motor --fault motor:_hold_contact_open"),
    _one("draw water-heater --bays"),
    _one("draw water-heater --face limit"),
    _one("draw vented-dryer --chart timer"),
    _one("export vented-dryer --set high_heat --fault motor:_hold_contact_open --to spice"),
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
    """The document of one example. Raises ValueError where it prints none, or is refused unasked."""
    typed = mock.patch.object(sys, "stdin", io.StringIO(example.typed))
    with typed, contextlib.redirect_stdout(io.StringIO()) as out, contextlib.redirect_stderr(io.StringIO()) as err:
        code = cli.main([*example.line, "--json"])
    refused = code > 1 and example.line[0] != "check"
    if code > REFUSED or refused != (example.document == REFUSAL):
        raise ValueError(f"{' '.join(example.line)} ends with {code}: {err.getvalue()}")
    return json.loads(out.getvalue())
