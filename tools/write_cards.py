#!/usr/bin/env python3
"""Writes a card for each machine of the library: what its file comes to, so that a change shows as a difference.

    .venv/bin/python tools/write_cards.py

Everything on a card is computed from the machine file. Run it after a change of a machine, of the part types or of
the core; a test says when it is due. Takes some seconds a machine: the table of all steps is compiled anew.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np

from halfsplit.audit.survey import Survey
from halfsplit.machine import cautions, library, loading, model, primitives
from halfsplit.modes import listing
from halfsplit.modes.fault import Fault
from halfsplit.operate import condition as conditions
from halfsplit.plan import odd, steps, table
from halfsplit.predict import candidates
from halfsplit.predict.predictor import Predictor

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "reference" / "machines"
MADE = "Made by `tools/write_cards.py` from the machine file: do not edit it by hand."
CHANGED = 0.4
"""By so much a fault must move a symptom's probability to be counted as changing it."""


class Card:
    """One machine with all that its card needs."""

    def __init__(self, name: str) -> None:
        found, text, path = library.find(name)
        self.name = name
        self.sheet = loading.read_sheet(text, found, path)
        self.machine = self.sheet.machine
        self.survey = Survey(self.sheet)
        self.faults = listing.faults(self.machine)
        self.total = sum(fault.rate for fault in self.faults)
        self.candidates = candidates.singles(self.survey.built, self.faults)
        self.predictor = Predictor(self.survey.operation, self.candidates)

    def text(self) -> str:
        """The whole card."""
        sections = (self.head, self.counts, self.states, self.symptoms, self.bays, self.parts, self.all_faults)
        return "\n".join([*(line for section in sections for line in section()), *self.inseparable()]) + "\n"

    # ---- the machine --------------------------------------------------------------------------------------

    def head(self) -> Iterator[str]:
        """Title, what it is, and its supply."""
        machine, supply = self.machine, self.machine.supply
        yield from (f"# {machine.title}", MADE, "", f"`{self.name}`, {machine.kind}. {machine.about}")
        yield from ("", machine.provenance, "", "## Supply")
        given = ", ".join(f"{key} {value}" for key, value in self.sheet.file.supply.values.items())
        yield f"{supply.system}, {supply.hertz:g} Hz{', ' if given else ''}{given}. "
        meets = ", ".join(f"{end} at {terminal}" for end, terminal in self.sheet.file.supply.meets.items())
        isolates = " and ".join(f"{control} {position}" for control, position in supply.isolates)
        yield f"It meets the machine with {meets}. Isolated by: {isolates}."

    def counts(self) -> Iterator[str]:
        """How much of everything there is."""
        machine = self.machine
        own = [part for part in machine.parts.values() if not part.house]
        terminals = sum(len(part.reachable) for part in own)
        wires = sum(path[0] == "wires" for path in self.sheet.paths.values())
        yield from ("", "## Counts", *_row("parts", "terminals", "wires", "faults", "their sizes"), _rule("rrrrr"))
        yield from _row(len(own), terminals, wires, len(self.faults), len(self.candidates.variants) - 1)
        yield "\nParts, terminals and wires are of the machine itself; single faults, those of the house among them."

    def states(self) -> Iterator[str]:
        """What is fed, runs and is closed in each named setting."""
        at = self.survey.named
        runs = [self.survey.operation.settle(one, (self.predictor.found_effects[0],))[0] for one in at]
        names = ["at rest", *self.machine.settings]
        yield from ("", "## States", "What the healthy machine does once its settings have been made and all is still.")
        if self.machine.settings:
            yield ""
        yield from (f"- **{name}**: {_setting(items)}" for name, items in self.machine.settings.items())
        yield from ("", *_row("", *names), _rule("l" + "l" * len(names)))
        for index, load in enumerate(self.survey.loads):
            volts = [float(self.survey.across(run.volts[0])[index]) for run in runs]
            yield from _row(load.name, *(f"{v:.0f} V" if v >= self.survey.fed_volts else "" for v in volts))
        for device in self.machine.devices.values():
            if isinstance(device, primitives.Motor):
                yield from _row(f"{device.part} runs", *("yes" if device.name in r.other else "" for r in runs))
        for contact in self.survey.own_contacts:
            yield from _row(contact.name, *("closed" if contact.name in r.state.closed else "" for r in runs))

    def symptoms(self) -> Iterator[str]:
        """What can be asked, what a healthy machine answers, and how many faults change it."""
        yield from ("", "## Symptoms", *_row("symptom", "question", "healthy", "faults that change it"), _rule("lllr"))
        usual = conditions.condition(self.machine, next(iter(self.machine.settings.values()), ()))
        for name, symptom in self.machine.symptoms.items():
            there = self.predictor.symptom_itself(name, usual, self.predictor.found_effects)
            rows = np.flatnonzero(np.abs(there - there[0]) > CHANGED).tolist()
            faults = {self.candidates.variants[row].faults for row in rows}
            yield from _row(name, symptom.question, "yes" if there[0] > 0.5 else "no", len(faults))

    def bays(self) -> Iterator[str]:
        """How it comes apart, the first to open first."""
        yield from ("", "## Bays", *_row("bay", "behind", "open", "close", "fasteners", "cautions", "parts in it"))
        yield _rule("llrrlll")
        for bay in _in_order(self.machine.bays.values()):
            inside = [part.name for part in self.machine.parts.values() if part.bay == bay.name]
            notes = [*map(_caution, bay.cautions), *(f"unplug {one}" for one in bay.unplugs)]
            notes += [] if bay.runs else ["cannot run while this is open"]
            minutes = (f"{bay.open_minutes:g} min", f"{bay.close_minutes:g} min")
            yield from _row(bay.name, bay.behind, *minutes, bay.fasteners, "; ".join(notes), ", ".join(inside))

    def parts(self) -> Iterator[str]:
        """The machine's own parts: where, how dear, how long, how often they are the fault."""
        yield from ("", "## Parts", *_row("part", "type", "bay", "price", "replace", "share", "caution"))
        yield _rule("lllrrrl")
        for part in self.machine.parts.values():
            if not part.house:
                share = sum(fault.rate for fault in self.faults if fault.subject == part.name)
                price = f"{part.price:g} {self.machine.currency}" if part.price else ""
                cells = (part.type, part.bay, price, f"{part.minutes:g} min", self._share(share), part.caution)
                yield from _row(part.title, *cells)

    # ---- faults -------------------------------------------------------------------------------------------

    def all_faults(self) -> Iterator[str]:
        """Faults of parts one by one; those of joints, wires, settings and earlier hands by kind."""
        yield from ("", "## Faults", "Shares are of all single faults by rate. Joints and wires are put together.", "")
        yield from (*_row("fault", "share", "looks", "repair", "by"), _rule("lrlll"))
        for fault in self.faults:
            if fault.subject in self.machine.parts and not fault.earlier_hand:
                repair = fault.repair
                yield from _row(fault.name, self._share(fault.rate), fault.looks, repair.name, repair.by)
        yield from ("", *_row("kind", "faults", "share"), _rule("lrr"))
        for kind, faults in _by_kind(self.machine, self.faults).items():
            yield from _row(kind, len(faults), self._share(sum(fault.rate for fault in faults)))

    def inseparable(self) -> Iterator[str]:
        """Faults that show alike in every step, looks included."""
        groups = list(self._alike())
        silent = next(group for group in groups if not group[0])
        named = [[fault for fault in group if fault] for group in groups if group[0] and len(group) > 1]
        named.sort(key=lambda group: (not _differ(group), -sum(f.rate for f in group)))
        torn = sum(f.rate for group in named if _differ(group) for f in group)
        lost = sum(fault.rate for fault in silent if fault)
        yield from ("", "## What no finding can tell apart")
        yield "Faults that read, look and show alike in every step. What comes and goes is marked *: only that tells it"
        yield f"from what stays. By rate, {self._share(torn) or 'none'} read like a fault of another repair,"
        yield f"and {self._share(lost) or 'none'} like a healthy machine."
        yield from ("", f"As a healthy machine: {'; '.join(_names(silent[1:])) or 'none'}.", "")
        yield from (*_row("alike", "repairs", "share"), _rule("llr"))
        yield from self._alike_rows(named)

    def _alike_rows(self, groups: list[list[Fault]]) -> Iterator[str]:
        """A row a group; wires and joints whose own modes are alike stand in one row together."""
        own: dict[str, list[Fault]] = {}
        for group in groups:
            share = self._share(sum(fault.rate for fault in group))
            if len({fault.subject for fault in group}) == 1 and group[0].subject not in self.machine.parts:
                own.setdefault("; ".join(_marked(fault, fault.mode) for fault in group), []).extend(group)
            else:
                repairs = dict.fromkeys(fault.repair.name for fault in group)
                yield from _row("; ".join(_names(group)), "; ".join(repairs), share)
        for modes, faults in own.items():
            kind = faults[0].subject.split(" ")[0]
            count = len({fault.subject for fault in faults})
            cells = (f"{count} times one {kind}: {modes}", "one each", self._share(sum(f.rate for f in faults)))
            yield from _row(*cells)

    def _alike(self) -> Iterable[list[Fault | None]]:
        """Faults by what all their sizes show; None is the healthy machine."""
        offered, strange = steps.steps(self.machine), odd.odd_steps(self.machine)
        alike = table.compiled(self.predictor, offered, strange, wires_off=True).alike.tolist()
        columns: dict[tuple[int, ...], set[int]] = {}
        for variant, column in zip(self.candidates.variants, alike, strict=True):
            columns.setdefault(variant.faults, set()).add(column)
        groups: dict[frozenset[int], list[Fault | None]] = {}
        for faults, shown in columns.items():
            groups.setdefault(frozenset(shown), []).append(self.faults[faults[0]] if faults else None)
        return groups.values()

    def _share(self, rate: float) -> str:
        return f"{100 * rate / self.total:.2g} %" if rate else ""


# ---- words ------------------------------------------------------------------------------------------------


def _row(*cells: object) -> tuple[str, ...]:
    return ("| " + " | ".join(str(cell).replace("|", "\\|") for cell in cells) + " |",)


def _rule(sides: Sequence[str]) -> str:
    return "|" + "|".join({"l": "---", "r": "--:"}[side] for side in sides) + "|"


def _marked(fault: Fault, name: str) -> str:
    """A name with the mark of what comes and goes."""
    return name + ("*" if fault.acting < 1 else "")


def _names(faults: Iterable[Fault | None]) -> list[str]:
    """The names of faults as the command line writes them, marked."""
    return [_marked(fault, fault.name) for fault in faults if fault]


def _differ(group: Iterable[Fault]) -> bool:
    """Whether the faults of a group need different repairs."""
    return len({fault.repair.name for fault in group}) > 1


def _setting(items: Iterable[tuple[str, str]]) -> str:
    return ", ".join(f"{control} {position}" for control, position in items)


def _in_order(bays: Iterable[model.Bay]) -> Iterator[model.Bay]:
    """Each bay after the one that it lies behind."""
    left, done = list(bays), {"outside"}
    while left:
        ready = [bay for bay in left if bay.behind in done] or left
        yield from ready
        done.update(bay.name for bay in ready)
        left = [bay for bay in left if bay not in ready]


def _caution(one: cautions.Caution) -> str:
    """A caution, with when it is told."""
    return f"{one.told} (when {one.moment})" if one.moment else one.told


def _by_kind(machine: model.Machine, faults: Iterable[Fault]) -> dict[str, list[Fault]]:
    """Faults that are not of a part by itself."""
    kinds: dict[str, list[Fault]] = {}
    for fault in faults:
        if fault.earlier_hand:
            kinds.setdefault("what an earlier hand left", []).append(fault)
        elif fault.owner_only:
            kinds.setdefault("a control stood elsewhere", []).append(fault)
        elif fault.subject.startswith("joint "):
            kinds.setdefault(f"a joint {fault.mode}", []).append(fault)
        elif fault.subject not in machine.parts:
            kinds.setdefault(f"a wire: {fault.mode}", []).append(fault)
    return kinds


def index() -> str:
    """The page that lists the cards."""
    lines = ["# The machines of the library", MADE, "", *_row("card", "kind", "supply"), _rule("lll")]
    for name in library.names():
        machine = loading.load(name)
        lines += _row(f"[{machine.title}]({name}.md)", machine.kind, machine.supply.system)
    return "\n".join(lines) + "\n"


def outputs() -> dict[Path, str]:
    """Every generated file and what it must hold."""
    return {FOLDER / "README.md": index()} | {FOLDER / f"{n}.md": Card(n).text() for n in library.names()}


def main() -> int:
    """Writes those that are out of date, and removes those of machines that are gone."""
    wanted = outputs()
    for path, text in wanted.items():
        if not path.exists() or path.read_text("utf-8") != text:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
            print(f"wrote {path.relative_to(ROOT)}")
    for path in set(FOLDER.glob("*.md")) - set(wanted):
        path.unlink()
        print(f"removed {path.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
