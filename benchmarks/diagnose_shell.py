"""How long one `diagnose` with twenty findings on the dryer takes from the shell, and where the time goes.

    python benchmarks/diagnose_shell.py [--runs N]

Prints the best and the median of N runs of the whole command (start-up, imports, weighing, pairs, next steps,
printing): for a machine that was never seen, for a known machine of which none of these readings was asked before, and
once more; and the share of a bare interpreter and of the imports. The aim is 0.7 s on one core. The cache folder is
the benchmark's own.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

FINDINGS = """
- symptom: {what: drum turns, value: yes}
- symptom: {what: air is warm, value: no}
- symptom: {what: time passes, value: yes}
- symptom: {what: drum lamp lights, value: yes}
- symptom: {what: breaker trips, value: no}
- symptom: {what: motor hums, value: no}
- symptom: {what: air flows at the vent, value: yes}
- look: {at: lint screen, sees: fine}
- look: {at: terminal block.L1, sees: fine}
- look: {at: terminal block.L2, sees: fine}
- reading: {meter: volts, red: terminal block.L1, black: terminal block.L2, value: 239 V}
- reading: {red: terminal block.L1, black: terminal block.N, value: 119 V}
- reading: {red: terminal block.L2, black: terminal block.N, value: 120 V}
- reading: {red: terminal block.N, black: cabinet.metal, value: 0.1 V}
- reading: {red: terminal block.L1, black: motor.heat 1, set: {cycle: timed, heat: high, start: held}, value: 238}
- reading: {red: motor.heat 1, black: terminal block.N, value: 119 V}
- reading: {meter: ohms, red: heater.common, black: heater.front, lift: [heater.common], value: 11.1}
- reading: {red: control thermostat.1, black: control thermostat.2, lift: [], value: 0.3}
- reading: {red: thermal fuse.1, black: thermal fuse.2, value: 0.2}
- reading: {red: cut-off.1, black: cut-off.2, value: OL}
"""


def main() -> None:
    """Runs and reports."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=7)
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as folder:
        place, known, cache = Path(folder) / "findings.yaml", Path(folder) / "known", Path(folder) / "cache"
        place.write_text(FINDINGS, encoding="utf-8")
        halfsplit = [sys.executable, "-m", "halfsplit"]
        whole = [*halfsplit, "diagnose", "vented-dryer", str(place), "--json"]
        imports = [sys.executable, "-c", "import halfsplit.service.diagnosing, halfsplit.service.machines"]
        report("bare interpreter", [sys.executable, "-c", "pass"], cache, runs)
        report("halfsplit --help", [*halfsplit, "--help"], cache, runs)
        report("imports of diagnose", imports, cache, runs)
        report("20 findings, machine never seen", whole, cache, 1, start=Path(folder) / "nothing")
        timed([*halfsplit, "diagnose", "vented-dryer", str(nothing_found(Path(folder))), "--json"], known)
        report("20 findings, none read before", whole, cache, runs, start=known)
        report("20 findings, weighed again", whole, cache, runs)


def nothing_found(folder: Path) -> Path:
    """A findings file without findings: with it the machine becomes known and no reading does."""
    place = folder / "none.yaml"
    place.write_text("[]", encoding="utf-8")
    return place


def report(what: str, command: list[str], cache: Path, runs: int, start: Path | None = None) -> None:
    """One line: best and median of the runs, each with the cache as in `start` where that is given."""
    seconds = []
    for _ in range(runs):
        if start is not None:
            shutil.rmtree(cache, ignore_errors=True)
            shutil.copytree(start, cache) if start.exists() else None
        seconds.append(timed(command, cache))
    print(f"{what:<32} best {min(seconds):.3f} s   median {statistics.median(seconds):.3f} s")


def timed(command: list[str], cache: Path) -> float:
    """Seconds of one run."""
    begun = time.perf_counter()
    environment = os.environ | {"HALFSPLIT_CACHE": str(cache)}
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True, env=environment)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
