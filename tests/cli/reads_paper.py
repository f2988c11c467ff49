"""A reader of the plan on paper (`halfsplit visit --tree`): takes the text alone, follows every path from its first box
to where it ends or leaves the sheet, and says what is wrong with the words on it.

Each paragraph is on a line of its own. Knows how the paper is laid out; what is told is `telling`'s. Run by hand:
`python -m tests.cli.reads_paper MACHINE COMPLAINT [WHAT CANNOT BE DONE]...`.
"""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

import yaml

from halfsplit.cli import as_text, main
from halfsplit.machine import loading, model
from tests.cli.account import AS_LEFT, NO, YES
from tests.cli.telling import AROUND, CAUTION, Teller
from tests.cli.told_doings import Doing
from tests.cli.told_in_short import LEFT_OFF, in_short

UNWRAPPED = 10_000
"""So wide a sheet that every paragraph is a line of its own, as the reader wants them."""
WAY = re.compile(r"\[ \] (.+?) {2,}(?:< )?[\d.]+ %  go to (\d+)")
ELSE = re.compile(r"\[ \] If you see something else(?: \((.+)\))?, (?:< )?[\d.]+ %: (ohms that are low lead to the "
                  r"frame, leave the power off; )?weigh anew, see below\.")  # fmt: skip
STOPS_HERE = re.compile(r"\[ \] (.+?), (?:< )?[\d.]+ %: STOP: .+?\. (.+)")
LEAVE = re.compile(r"Before you leave it (here|then): (.+)\.")
IN_VAIN = re.compile(r"If the complaint is still there, or anything else is wrong: weigh anew, see below\. "
                     r"If you leave it so: (.+)\.")  # fmt: skip
STANDS = r"It is taken to stand as it was left: (.+?)\. Where it was put together since, write that .+\."
WET = "water on the floor"
FOUND_BY = {"reading": ("dead read", "live read", "wall read", "clamp"), "look": ("look",), "symptom": ("see",)}
"""Kinds of doing by the kind of finding that they bring."""
INFORMS = [
    *AROUND,
    r"",
    r"Where it cures, the owner was mistaken in: .+\.",
    r"Not on the van: a second trip \(.+\)\.",
    r"This is the work of: .+\. Local codes rule\.",
    r".+: not before the list says so\.",
    r".+: not while the power has to stay off\.",
    r"(?:< |> )?[\d.]+ %  .+",
    r"Put together, in this order:",
    r"Proof run:",
    r"In about \d+ of 100 something else, .+",
    r"At a yes to '.+\?': STOP: .+",
]
"""What a box says and tells nobody to do anything."""


@dataclass(frozen=True)
class Box:
    """A box of the paper: its number, what stands at its head, its lines."""

    number: int
    head: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Paper:
    """A paper in its parts: how the machine stands before the first box, boxes by number, the proof run of all repairs,
    what is left, how it is left at last."""

    stands: str
    boxes: dict[int, Box]
    proof: tuple[str, ...]
    left: tuple[str, ...]
    anew: tuple[str, ...]


def parted(text: str) -> Paper:
    """The plan, without the sheet before it."""
    heads = {"THE PROOF RUN": "proof", "WHAT IS LEFT": "left", "WEIGH ANEW": "anew"}
    parts: dict[str, list[str]] = {"proof": [], "left": [], "anew": []}
    boxes: dict[int, Box] = {}
    here: tuple[int, str, list[str]] | None = None
    at = ""
    for line in text[text.index("\nTHE PLAN\n") :].splitlines():
        if match := re.match(r"\+--\[ (\d+) \]-- (.+?) -*\+$", line):
            here = (int(match[1]), match[2], [])
        elif line.startswith("+--") and here:
            boxes[here[0]], here = Box(here[0], here[1], tuple(here[2])), None
        elif here:
            here[2].append(line[2:-2].strip())
        elif head := next((to for words, to in heads.items() if line.startswith(words)), None):
            at = head
        elif at:
            parts[at].append(line.strip())
    begun = re.search(rf"\n{STANDS}", text)
    return Paper(begun[1] if begun else "", boxes, *(tuple(parts[one]) for one in ("proof", "left", "anew")))


class PaperReader(Teller):
    """Reads one paper along every path."""

    def __init__(self, machine: model.Machine, paper: Paper) -> None:
        super().__init__(machine)
        self.paper = paper
        self.gone: list[int] = []
        """The boxes that were come to."""
        self.ends = 0

    def read(self) -> list[str]:
        """Every path, then what stands behind the boxes."""
        if self.paper.stands:
            self._begun()
        self._path(1, ())
        unreached = sorted(set(self.paper.boxes) - set(self.gone))
        self.found += [f"box {number} is gone to from nowhere" for number in unreached]
        self._behind()
        return [*dict.fromkeys(self.found)]

    def _begun(self) -> None:
        """What hands have left open or off on another day; who knows whether the power was put on since."""
        said = dict(part.split(": ") for part in self.paper.stands.split("; "))
        stands = {how: dict.fromkeys(names.split(", "), YES) for how, names in said.items()}
        unsure = {how: dict.fromkeys(names, YES | NO) for how, names in stands.items()}
        self.now = replace(
            self.now, breaker=YES | NO, bonded=False,
            open={**unsure.pop("perhaps open", {}), **stands.pop("open", {})},
            off={**unsure.pop("perhaps wires off", {}), **stands.pop("wires off", {})},
            swapped=YES if "in each other's places" in said else NO,
        )  # fmt: skip

    # ---- paths --------------------------------------------------------------------------------------------------

    def _path(self, number: int, before: Sequence[Box]) -> None:
        """A box and all that follows it, as the machine stands when it is come to."""
        box = self.paper.boxes.get(number)
        if box is None or number in self.gone:
            self.found.append(f"box {number} is gone to and {'not there' if box is None else 'was come to already'}")
            return
        self.gone.append(number)
        self.cautions, self.minded = set(), False
        known = len(self.found)
        whence = re.search(r"from (\d+)$", box.head)
        if (int(whence[1]) if whence else 0) != (before[-1].number if before else 0):
            self.found.append("its head does not name the box that leads here")
        if box.head.startswith("REPAIR"):
            ways = self._repair(box, before)
        elif re.match("HAND OVER|STOP", box.head):
            ways = self._left_so(box, before)
        else:
            ways = self._step(box, before)
        self.found[known:] = [f"box {number}: {one}" for one in self.found[known:]]
        stands = self.now
        for to in ways:
            self.now = stands
            self._path(to, (*before, box))

    def _step(self, box: Box, before: Sequence[Box]) -> list[int]:
        """A step: what is told, then each outcome."""
        told = [line for line in box.lines if not line.startswith(("[ ]", "write:", "Before you leave"))]
        for line in told:
            self._line(line)
        live = {one.kind for line in told for one in self.words.doings(line)} & {"live read", "wall read", "clamp"}
        if bool(live) != ("LIVE" in box.head):
            self.found.append(f"its head says {'' if 'LIVE' in box.head else 'not '}LIVE, its words {live or 'not'}")
        self._wrote(box, [one for line in told for one in self.words.doings(line)])
        ways, shown, anew = [], [], False
        for at, line in enumerate(box.lines):
            if match := WAY.fullmatch(line):
                shown.append(match[1])
                ways.append(int(match[2]))
            elif match := STOPS_HERE.fullmatch(line):
                shown.append(match[1])
                self._stops(match[2], box.lines[at + 1])
            elif match := ELSE.fullmatch(line):
                shown += re.split("; ", match[1] or "")
                anew = True
                self._leaves(box.lines[at + 1] if at + 1 < len(box.lines) else "", before, box)
            elif line.startswith("[ ]"):
                self.unknown(line)
        self._outcomes(" ".join(told), shown, anew)
        return ways

    def _outcomes(self, told: str, shown: list[str], anew: bool) -> None:
        """Whether whatever is found has a place to go on to, and one only."""
        shown = [one for one in shown if one]
        if len(set(shown)) < len(shown):
            self.found.append(f"one outcome stands twice: {'; '.join(shown)}")
        if asked := re.search(r"Look (?:closely )?at .+?: (.+)\?", told):
            missing = set(asked[1].split(", ")) - set(shown)
            self.found += [f"no place to go on to where it shows {one}" for one in missing if not anew]
        elif "See for yourself" in told or "Once it has run" in told:
            self.found += [f"no place to go on to where it shows {x}" for x in {"yes", "no"} - set(shown) if not anew]
        elif not anew:
            self.found.append("no place to go on to where the meter shows something else")
        ranges = sorted(filter(None, map(span, shown)))
        for (_, high), (low, _) in pairwise(ranges):
            if low < high * 0.98:  # less is how they are rounded
                self.found.append(f"ranges overlap: {'; '.join(shown)}")

    def _leaves(self, line: str, before: Sequence[Box], box: Box) -> None:
        """Off the sheet: what was found can be written down, and the machine is left as it says."""
        self.ends += 1
        for one in (*before, box):
            if not any(text.startswith("write: ") for text in one.lines):
                self.found.append(f"the sheet is left, and box {one.number} does not say what to write")
        stands = self.now
        self._leave(line, "here")
        self.now = stands

    def _stops(self, text: str, line: str) -> None:
        """What was found ends the work: what is done then, and how the machine is left where anybody goes to it."""
        self.ends += 1
        stands, self.untouched = self.now, False
        self.tell(f"STOP. {text}")
        if not self.untouched:
            self._leave(line, "then")
        elif LEAVE.fullmatch(line) and LEAVE.fullmatch(line)[1] == "then":  # type: ignore[index]
            self.found.append("nobody goes to the machine any more, and it is said how it is left")
        self.now, self.untouched = stands, False

    def _leave(self, line: str, when: str) -> None:
        match = LEAVE.fullmatch(line)
        if not match or match[1] != when:
            self.found.append("the sheet is left, and nothing says how the machine is")
            return
        self._in_short(match[2])
        self._end()

    def _wrote(self, box: Box, told: list[Doing]) -> None:
        """What is to be written is what was told to be found out, and says of wires and controls what the words say."""
        line = next((text[7:] for text in box.lines if text.startswith("write: ")), "")
        written = yaml.load(line, yaml.BaseLoader)[0] if line else {}
        for kind, about in written.items():
            for name, position in (about.get("set") or {}).items():
                stands = self._stands(name)
                if stands and not stands & {position, AS_LEFT}:
                    self.found.append(f"written with {name} at {position}, told at {'/'.join(stands)}")
            places = [one.at for one in told if one.kind in FOUND_BY[kind]]
            at = str(about.get("red", about.get("at", "")))
            part = self.machine.parts.get(at.split(".")[0])
            if not places:
                self.found.append(f"a {kind} is to be written, and none is told")
            elif at and part and not part.house and not any(at in one for one in places):
                self.found.append(f"a {kind} at {at} is to be written, told is {'/'.join(places)}")
            gone = [what for what, may in self.now.off.items() if may == YES]
            off = {end for what in gone for end in self._ends_of(what) if end in self.machine.reachable}
            if "lift" in about and set(about["lift"]) != off:
                self.found.append(f"written with {', '.join(about['lift']) or 'no wire'} off, told: {off or 'no wire'}")

    def _stands(self, name: str) -> frozenset[str]:
        """Where a control stands by the words; nothing of one that hands move, or that stays as it is let go."""
        control = self.machine.controls.get(name)
        if control is None or control.momentary or control.hands or name in ("plug", "breaker"):
            return frozenset()
        return self.now.set.get(name, frozenset({control.rest}))

    def _ends_of(self, what: str) -> list[str]:
        """A terminal, or all of what is lifted out."""
        return [what] if "." in what else [f"{what}.{own}" for own in self.machine.parts[what].terminals]

    def _in_short(self, text: str) -> None:
        """What is made good before the machine is left, in one line."""
        for doings in in_short(self.machine, text, self.now):
            self.judge.begins(doings, frozenset(self.cautions))
            for doing in doings:
                self.found += [f"{wrong} [left: {text}]" for wrong in self.judge.wrong(self.now, doing)]
                if doing.kind == LEFT_OFF and self.now.on != NO:
                    self.found.append(f"told to be left off, and nothing has switched it off [left: {text}]")
                self.now = self.judge.then(self.now, doing)

    def _repair(self, box: Box, before: Sequence[Box]) -> list[int]:
        """A repair, the list for putting together, the proof run, and what is done where it was in vain."""
        self.now = replace(self.now, photos=frozenset())
        lines = [line for line in box.lines if not line.startswith(("write:", "If the complaint"))]
        common = "Proof run: all of THE PROOF RUN below." in lines
        at = next((n for n, line in enumerate(lines) if line.startswith("Proof run:")), None)
        if at is None:
            self.found.append("a repair without a proof run")
            at = len(lines)
        for line in lines[:at]:
            self._line(line)
        if not any("Take the meter" in line for line in lines[:at]):
            self.found.append("nothing is said of meter and tools before it is closed")
        self._proved([*(self.paper.proof if common else ()), *lines[at + 1 :]])
        self._end()
        self.ends += 1
        vain = [match[1] for line in box.lines if (match := IN_VAIN.fullmatch(line))]
        if not vain:
            self.found.append("nothing is said for a repair in vain")
        for one in (*before, box):
            if not any(text.startswith("write: ") for text in one.lines):
                self.found.append(f"a repair may be in vain, and box {one.number} does not say what to write")
        for text in vain:
            self._in_short(text)
            self._end()
        return []

    def _proved(self, lines: Sequence[str]) -> None:
        """The proof run: what is of all repairs, then what is of this one alone."""
        ends = [line for line in lines if line.startswith("At a yes to ")]
        for one in self.machine.symptoms.values():
            asked, grave = one.question or one.name, one.kind in ("smells", "tingles") or one.name == WET
            if grave and any(f" {asked} It must be no." in line for line in lines):
                self.found += [f"a yes to {asked} ends the work, and the proof run says nothing of it"
                               for _ in range(not any(f"'{asked}'" in line for line in ends))]  # fmt: skip
        cards = [int(x[1]) for x in map(re.compile(r"\[ \] Card (\d+) of \d+: ").match, lines) if x]
        if cards != list(range(1, len(cards) + 1)):
            self.found.append(f"cards of the proof run come in this order: {cards}")
        card = False
        for line in lines:
            text = re.sub(r"^\[ \] +", "", line)
            if re.match(r"\d+  ", text) and not re.search(r"It must |: [\d.]+ \S+ to |As before: ", text):
                self.found.append(f"a check that does not say what must be: {text}")
            if match := re.match(r"Card \d+ of \d+: (.+)", text):
                self.card(match[1])
                card = True
            elif any(re.fullmatch(around, text) for around in AROUND):
                continue
            elif not (card and not CAUTION.match(text) and self.check(text)):
                self._line(re.sub(r"^\d+  ", "", text), proof=True)

    def _left_so(self, box: Box, before: Sequence[Box]) -> list[int]:
        """Where the work is handed over, or stops."""
        lines = [line for line in box.lines if not line.startswith("write:")]
        anew = any("eigh anew" in line for line in lines)
        for line in lines:
            self._line(line)
        if not self.untouched:
            self._end()
        for one in before if anew else ():
            if not any(text.startswith("write: ") for text in one.lines):
                self.found.append(f"the sheet is left, and box {one.number} does not say what to write")
        self.untouched = False
        self.ends += 1
        return []

    def _line(self, line: str, proof: bool = False) -> None:
        """A line that cautions, informs, or tells something to do."""
        told = [
            r"After every repair, in this order; look again at what is not as it must be\.",
            r"Before you (?:hand over|leave it):",
            r"(?:.+ )?Likeliest:",
            r"To go on then: weigh anew, see below\. If you leave it, only when the breaker is off and it is dry:",
        ]
        text = re.sub(r"^\[ \] +", "", line)
        text = re.sub(r"^\d+  ", "", text) if text != line else text
        if CAUTION.match(text):
            self.minds(text)
        elif not any(re.fullmatch(one, text) for one in (*INFORMS, *told)):
            text, *minded = re.split(r" (?=(?:DANGER|WARNING|CAUTION|NOTICE): )", text)
            for one in minded:
                self.minds(one)
            self.task(text)

    def _end(self) -> None:
        self.found += [f"{one} [the end]" for one in self.judge.at_the_end(self.now)]

    # ---- behind the boxes ---------------------------------------------------------------------------------------

    def _behind(self) -> None:
        """What is left names boxes and outcomes that are there; how the machine is left is said."""
        said = " ".join(self.paper.left)
        wanted = {"controls off", "plug out or breaker off", "proved dead", "photograph before a wire comes off"}
        wanted |= {"gas shut"} if self.machine.gas else set()
        wanted |= {"what is hot cooled"} if self.machine.hot_bays else set()
        wanted |= {"a capacitor discharged"} if self.machine.stored else set()
        wanted |= {"water let out"} if self.machine.water else set()
        self.found += [f"what is left does not say: {one}" for one in sorted(wanted) if said and one not in said]
        for line in self.paper.left:
            if match := re.match(r"(\d+)  (.+)", line):
                self._way(int(match[1]), match[2])
        if self.ends and not any(one.startswith("Before you leave the machine: ") for one in self.paper.anew):
            self.found.append("nothing says how the machine is left at last")

    def _way(self, number: int, text: str) -> None:
        box = self.paper.boxes.get(number)
        if box is None:
            self.found.append(f"what is left names box {number}, which is not there")
            return
        said = "\n".join(box.lines)
        shows = text.split(": ")[0]
        if ", in vain: " in text:
            name = text.split(", in vain: ")[0]
            if f"Repair: {name}. " not in said:
                self.found.append(f"what is left names {name} in vain, box {number} has no such repair")
        elif shows != "here" and not re.search(rf"[(\s]{re.escape(shows)}[;):,]", said):
            self.found.append(f"what is left names {shows}, of which box {number} says nothing")
        stops = text.partition(": STOP: ")[2].partition(". ")[2]
        if stops and f"DANGER: {stops}" not in said and not re.search(rf"\[ \] {re.escape(shows)}, .+: STOP: ", said):
            self.found.append(f"where box {number} shows {shows} the work stops, and the box says otherwise")


def span(shown: str) -> tuple[float, float] | None:
    """The range of an outcome; None where it is none.

    >>> span("up to 0.9 Ω"), span("1.24 to 1.47 kΩ"), span("OL")
    ((0.0, 0.9), (1240.0, 1470.0), None)
    """
    scale = {"k": 1e3, "M": 1e6, "m": 1e-3, "µ": 1e-6, "n": 1e-9}
    match = re.fullmatch(r"(?:(up to)|([\d.]+) to) ([\d.]+) ([kMmµn]?)(?:Ω|V|A|W|F|Hz)", shown)
    if not match:
        return None
    by = scale.get(match[4], 1.0)
    return (float(match[2]) * by if match[2] else 0.0), float(match[3]) * by


def paper(machine: str, complaint: str, cannot: Sequence[str] = (), more: Sequence[str] = ()) -> str:
    """The text of a plan on paper, unwrapped."""
    screen, wrong = io.StringIO(), io.StringIO()
    with TemporaryDirectory() as place, redirect_stdout(screen), redirect_stderr(wrong):
        findings = Path(place) / "complaint.yaml"
        findings.write_text(complaint, encoding="utf-8")
        refused = [word for one in cannot for word in ("--cannot", one)]
        with patch.object(as_text, "WIDTH", UNWRAPPED):
            code = main(["visit", machine, str(findings), "--tree", *refused, *more])
    assert code == 0, wrong.getvalue()
    return screen.getvalue()


def wrong_in(text: str, machine: model.Machine) -> list[str]:
    """What is wrong in the words of a paper."""
    return PaperReader(machine, parted(text)).read()


if __name__ == "__main__":
    for wrong in wrong_in(paper(sys.argv[1], sys.argv[2], sys.argv[3:]), loading.load(sys.argv[1])):
        print(wrong)
