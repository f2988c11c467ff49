"""How long one `diagnose` with twenty findings on the dryer takes from the shell, and where the time goes.

    python benchmarks/diagnose_shell.py [--runs N]

Prints the best and the median of N runs of the whole command (start-up, imports, weighing, printing), and the share
of a bare interpreter and of the imports. The aim is 0.7 s on one core; machines are kept in a cache folder of its own.
"""

from __future__ import annotations

import argparse
import os
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
        place = Path(folder) / "findings.yaml"
        place.write_text(FINDINGS, encoding="utf-8")
        halfsplit = [sys.executable, "-m", "halfsplit"]
        whole = [*halfsplit, "diagnose", "vented-dryer", str(place), "--json"]
        imports = [sys.executable, "-c", "import halfsplit.service.diagnosing, halfsplit.service.machines"]
        report("bare interpreter", [sys.executable, "-c", "pass"], folder, runs)
        report("halfsplit --help", [*halfsplit, "--help"], folder, runs)
        report("imports of diagnose", imports, folder, runs)
        report("diagnose, 20 findings", whole, folder, runs)


def report(what: str, command: list[str], folder: str, runs: int) -> None:
    """One line: best and median of the runs, the first one (which fills the cache) not counted."""
    seconds = [timed(command, folder) for _ in range(runs + 1)][1:]
    print(f"{what:<24} best {min(seconds):.3f} s   median {statistics.median(seconds):.3f} s")


def timed(command: list[str], folder: str) -> float:
    """Seconds of one run."""
    begun = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True, env=os.environ | {"HALFSPLIT_CACHE": folder})
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
