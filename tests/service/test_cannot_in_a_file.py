"""What cannot be done on a job stands in its findings file: written and read again, the same is refused."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from halfsplit.cli import main
from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.plan import barring
from halfsplit.plan.steps import bays_needed
from halfsplit.service import diagnosing, refusing, replaying
from halfsplit.service.guiding import Guided
from halfsplit.work.refusals import CannotOpen, NoHelper, NoMeter, NoOwner
from tests.cli.typed import Capture, talk
from tests.rehearse.benches import adviser

NAMES = ["water-heater", "coil-cooktop"]
each_machine = pytest.mark.parametrize("name", NAMES)


def written(guided: Guided) -> str:
    """The file of a job."""
    return json.dumps([findings_file.written(one) for one in (*guided.all_findings, *guided.cannot)])


def again(guided: Guided, name: str) -> Guided:
    """The job taken up from its file."""
    return replaying.replayed(adviser(name), diagnosing.read_findings(guided.machine, written(guided), "job.yaml"))


@each_machine
def test_written_and_read_the_same_is_refused(name: str) -> None:
    """Whatever may be refused, alone and many at once, before a repair and after one."""
    job = Guided(adviser(name))
    known, drawn = refusing.choices(job.machine), random.Random(7)
    some = [[one] for one in known.values()]
    some += [drawn.sample(list(known.values()), drawn.randrange(2, len(known))) for _ in range(20)]
    repair = f.Tried(next(iter(job.bench.repairs)), False)
    for refused in some:
        begun = job
        for one in refused:
            begun = begun.without(one)
        assert begun.refused == again(begun, name).refused == frozenset(refused)
        assert again(begun, name).findings == ()
    mended = replaying.replayed(adviser(name), [repair], [NoHelper()])
    assert again(mended, name).refused == mended.refused == {NoHelper(), NoOwner()}
    assert [one.what for one in mended.cannot] == [refusing.HELPER]  # of the owner the repair speaks


@each_machine
def test_a_job_taken_up_from_its_file_opens_nothing_that_would_not_open(name: str) -> None:
    """No step behind that cover is offered, as before the break."""
    job = Guided(adviser(name))
    needed = {one: bays_needed(job.machine, one) for one in job.asked.steps.usual}
    bay = next(bay for bay in job.machine.bays if any(bay in bays for bays in needed.values()))
    behind = [one for one, bays in needed.items() if bay in bays]
    shut = again(job.without(CannotOpen(bay)), name).resumed()
    assert all(barring.bars(job.machine, shut.standing, one) for one in behind)


def test_it_changes_nothing_that_is_believed_or_done() -> None:
    """Wherever it stands: what later findings take over, what is weighed, and what hands did."""
    name, job = NAMES[0], Guided(adviser(NAMES[0]))
    lines = ["- symptom: {what: water gets hot, value: no}", "- cannot: {what: Upper Cover}",
             "- reading: {meter: ohms, red: limit.1, black: limit.3, value: OL}", "- cannot: {what: ohms}",
             "- reading: {value: 0.2}"]  # fmt: skip
    read = diagnosing.read_findings(job.machine, "\n".join(lines), "x")
    plain = diagnosing.read_findings(job.machine, "\n".join(line for line in lines if "cannot" not in line), "x")
    guided = replaying.replayed(adviser(name), read)
    assert guided.findings == tuple(plain)
    assert guided.refused == {CannotOpen("upper cover"), NoMeter("ohms")}
    assert job.bench.weigh(read).by_repair == job.bench.weigh(plain).by_repair


def test_a_word_that_means_nothing_is_told_with_its_place() -> None:
    """And with the one that may have been meant."""
    with pytest.raises(BadInput) as caught:
        diagnosing.read_findings(Guided(adviser(NAMES[0])).machine, "- cannot: {what: uper cover}\n- cannot: {}", "x")
    first, second = caught.value.problems
    assert (first.line, "upper cover" in first.remedy) == (1, True)
    assert "says no 'what'" in second.message


def test_the_guide_writes_it(capsys: Capture, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What was said to be in the way in a talk stands among the findings of --json, and what a file said stays."""
    path = tmp_path / "found.yaml"
    path.write_text("- symptom: {what: water gets hot, value: no}\n- cannot: {what: upper cover}\n")
    words = ("water-heater", "--found", str(path), "--no-further", "--json")
    found = talk(monkeypatch, capsys, ["cannot", "the owner", "stop"], *words).data["findings"]
    assert [one["cannot"]["what"] for one in found if "cannot" in one] == ["owner", "upper cover"]
    path.write_text(json.dumps(found))
    assert main(["diagnose", "water-heater", str(path)]) == 0
