"""A reader of what stands on the screen of `halfsplit guide --own`: takes the text alone, follows what the words tell a
person to do, and says what is wrong with them.

Each paragraph is on a line of its own. Knows how the screen is laid out; sentences are `told_doings`', the state of the
machine is `account`'s. Run by hand on many sessions: `python -m tests.cli.reads_back MACHINE FIRST LAST`.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cached_property

from halfsplit.machine import loading, model
from tests.cli.account import AS_LEFT, NO, YES, Account, either
from tests.cli.telling import AROUND, CAUTION, Teller

ASKED = re.compile(r"(.*?[\])]) > (.*)")
HEADS = ("ENOUGH IS KNOWN (", "NO STEP IS WORTH ITS MINUTES ANY MORE (", "WHAT WAS THOUGHT FURTHER (",
         "MADE, AND NOT PROVED YET: ")  # fmt: skip
STEP = ("[yes or no", "[what you see", "[what the meter shows", "[undo if that", "[off", "[anyway")
INFORMS = [
    re.compile(pattern)
    for pattern in (
        *(rf" +{around}" for around in AROUND),
        r"",
        r".+ At any time type one of: .+",
        r"What does the owner say\? Which of these have you been told\?",
        r" *\d+  .+\?",
        r"  - .+",
        r"  Likeliest.*",
        r"No further step would tell more\. What is known:",
        r" +[<>]? ?[\d.]+ %  .+",
        r"  Found: .+",
        r"  Taken back: .+",
        r"  Planned around: .+",
        r"  (?:Set aside|Nothing is set aside)\.",
        r"  If something must be wrong, take this finding again: .+",
        r"  In about \d+ of 100 something else, .+",
        r"  \d  .+",
        r"  The search goes on from what is left: .+",
        r"      - .+",
        r"      If you read that too, type all in this order with ; between them, or the first alone\.",
        r"  There is no way around that here.*",
        r"  [\w -]+, .+ to .+: .+",
        r"  look (?:closely )?at .+: .+",
        r"  [\w ,()'-]+: (?:yes|no)",
        r"  Write down for who takes over:",
        r"    - .+",
        r"Stopped\..*",
        r"Type .+",
        r"  Not on the van: .+",
        r"  This is the work of: .+",
        r"    Before it runs, as the list for putting together says:",
        r"  \d+: .+: that is as it must be, so it is not taken to be wrong\.",
        r"  Something leads to the frame\. .+",
        r"  Then put it together first, by the list above to its last line; what follows takes it to be so\.",
        r"  .+: not before the list says so\.",
        r"  .+: not while the power has to stay off\.",
        r"  What is due (?:is another trade's work|wants hands in the machine): .+",
        r"  .+ does not fit what was found before \(.+\): read it again\? Type undo .+",
        r"  .+ fits nothing that the file knows \(.+\): read it again\? Type undo .+",
        r"  No step left is worth its minutes, and nothing that was found is unlike a healthy machine\.",
        r"  (?:Going on could hurt somebody|Nothing of what was found .+)\.",
        r"  This meter reads no volts, so nobody can prove the machine dead: put no hands in it\. .+",
        r"  You said that this .+",
        r"  You said that nobody is here to help, .+",
        r"  The owner also said: .+",
    )
]
"""What is said and tells nobody to do anything."""


class Reader(Teller):
    """Reads one session, line after line; `found`: what is wrong, each with the line where it was told."""

    def __init__(self, machine: model.Machine) -> None:
        super().__init__(machine)
        self.before: Account | None = None
        """How it stood before the step or the repair that is shown."""
        self.together = Account()
        self.cards: dict[str, Account] = {}
        """How it stood when a repair was put together, and before each card of its proof run."""
        self.done: list[Account] = []
        self.typed, self.mode, self.begun = "", "", False
        self.ended = self.listed = False

    def read(self, screen: str) -> list[str]:
        """All of a session."""
        for line in screen.splitlines():
            self._line(line)
        if not self.ended:
            self.found.append("the session has no end that the reader knows")
        return self.found

    # ---- lines --------------------------------------------------------------------------------------------------

    def _line(self, line: str) -> None:
        if asked := ASKED.fullmatch(line):
            self._asked(*asked.groups())
        elif CAUTION.match(line):
            self._caution(line.strip())
        elif line.startswith("NEXT  "):
            self._shown("step")
            self.tell(re.sub(r"  \([^()]+\)$", "", line[6:]))
        elif line.startswith(HEADS):
            self._shown("repair")
        elif line.startswith(("Stopped.", "Proved: ")):
            self._end(line)
        else:
            self._other(line)

    def _other(self, line: str) -> None:
        for pattern, takes in self._lines.items():
            if match := re.match(pattern, line):
                takes(match[match.lastindex or 0])
                return
        stops = {one.kind for one in self.words.doings(line.strip())}
        if not (self._in_mode(line) or stops & {"untouched", "wet"}):
            self.unknown(line.strip())

    @cached_property
    def _lines(self) -> dict[str, Callable[[str], None]]:
        """What is done with a line, by how it begins."""
        return {
            r" *(?:If you leave the machine as it is now, put it|Put) together, in this order:$": self._list_begins,
            r"  Prove it:$": self._proof_begins,
            r"  Card (\d+ of \d+: .+)": self._card,
            r"      While (?:the leads|you) are here: (.+)": self.alongside,
            r"  Planned around: the (.+) will not open\.": self._shut,
            r"  Planned around: the power has to stay off": self._left_off,
            r"  If you have begun the step shown above \(": self._perhaps_begun,
            r"  (Taken back: .+)": self._taken_back,
            r"  Whatever was opened for it stays on the list for putting together, and nothing counts": self._unproved,
            r"  (If a cover is off still: isolate the machine, prove it dead, put that on, and bring.+)": self._in_use,
            r"  (Go on with the list for putting together to its last cover, and leave the power.+)": self._kept_off,
            r"If anything of the repair was begun: put the machine together by its list above, to the": lambda _: None,
            r"    - ": lambda _: None,
        }

    def _in_mode(self, line: str) -> bool:
        """Takes a line by what it stands in; whether it was one that is known."""
        text, inner = line.strip(), line.startswith("    ")
        if self.mode == "list" and inner and re.match(r" +(?:\d+  |Note: )", line):
            self.task(text)
        elif (self.mode == "proof" and re.match(r"    +0  ", line)) or any(one.fullmatch(line) for one in INFORMS):
            return True
        elif not (self.mode == "card" and inner and self.check(text)):
            told = line.startswith("  ") and self.mode in ("repair", "list", "card", "proof")
            if told:
                self.tell(re.sub(r"^\d+  ", "", text))
            return told
        return True

    def _list_begins(self, _: str) -> None:
        self.mode, self.listed = "list", True

    def _proof_begins(self, _: str) -> None:
        self.mode, self.together, self.cards = "proof", self.now, {}

    def _left_off(self, _: str) -> None:
        self.now = replace(self.now, unsure=True)

    def _perhaps_begun(self, _: str) -> None:
        """What was shown is put back; of a proof run what a card has opened."""
        self.begun = self.mode == "step"
        if self.mode in ("card", "proof"):
            self.now = replace(self.together, dead=False, meter=False, unsure=True, set=self.now.set)

    def _in_use(self, text: str) -> None:
        self._stands(True, text)

    def _kept_off(self, text: str) -> None:
        self._stands(False, text)

    def _asked(self, prompt: str, typed: str) -> None:
        """What was typed, where it decides how the machine stands."""
        if prompt.startswith(STEP):
            self.typed = typed
        if prompt.startswith(("Done", "All so", "[undo if it can")):
            self.typed = typed
        if prompt.startswith("[undo if it can") and typed in ("undo", "cannot", "take") and self.before is not None:
            self.now = self.before  # it can be made after all, so it was not put together to be handed over
        if re.match("(?:Is|Was) the machine put together by ", prompt) and self.before is not None:
            self.now = self.before if typed == "no" else replace(self.now, unsure=True)
            if typed == "yes":  # the person says so, whatever the words have told
                self.now = replace(self.now, open={}, off={}, bonded=True)
            self.before = None
        if prompt.startswith("[Enter or ok") and typed in ("undo", "cannot") and self.mode == "step":
            self._resolved()

    def _caution(self, text: str) -> None:
        if self.mode == "step":
            self._resolved()
        self.minds(text)

    # ---- what becomes of what was shown -------------------------------------------------------------------------

    def _shown(self, mode: str) -> None:
        self._resolved()
        if self.minded:
            self.cautions, self.minded = set(), False
        self.before, self.mode, self.typed = self.now, mode, ""
        if mode == "repair":
            self.listed, self.now = False, replace(self.now, photos=frozenset())

    def _resolved(self) -> None:
        """A step that was shown was done by now, or set aside."""
        if self.before is None:
            return
        before, self.before = self.before, None
        word = self.typed.split()[0] if self.typed else ""
        if self.mode == "step" and word in ("skip", "cannot", "undo", "take", "anyway", "stop", "off"):
            aside = self._set_aside(before) if self.begun else replace(before, unsure=True)
            perhaps = replace(unknown_settings(either(before, self.now)), unsure=True, doubt=before.doubt | {"cock"})
            self.now = perhaps if word == "stop" else aside
            if word == "off":
                self.now = replace(self.now, breaker=NO)
        elif self.mode == "step":
            self.done += [before, *[self.now] * self.typed.count(";")]  # an answer for each that stood alongside
        self.begun, self.mode = False, ""

    def _set_aside(self, before: Account) -> Account:
        """All is as before, as the words say; what the step told opened or off may be told closed or back once more."""
        bays = [bay for bay, may in self.now.open.items() if may != before.is_open(bay)]
        wires = [what for what, may in self.now.off.items() if may != before.is_off(what)]
        other = {"power": self.now.on != before.on, "cock": self.now.cock != before.cock}
        other |= {"swapped": self.now.swapped != before.swapped}
        doubt = self.now.doubt | {*bays, *wires, *(name for name, differs in other.items() if differs)}
        return replace(before, dead=False, meter=False, unsure=True, doubt=doubt)

    def _taken_back(self, text: str) -> None:
        if self.before is not None and self.mode != "step":  # asked next is whether that repair was begun
            self.before = either(self.before, self.done.pop()) if self.done else self.before
            return
        self._resolved()
        if not re.search(r"what could not be done|what you chose instead|you would go on|the proof run has", text):
            was = either(self.now, self.done.pop()) if self.done else self.now
            self.now = replace(unknown_settings(was), doubt=was.doubt | {"cock"})

    def _shut(self, bay: str) -> None:
        """A bay that will not open was not opened for the step that is shown, and nothing behind it."""
        if self.before is None or self.mode != "step":
            return
        behind = [one.name for one in self.machine.bays.values() if bay in {one.name, one.behind}]
        behind += [one.name for one in self.machine.bays.values() if one.behind in behind]
        stood = {name: self.before.is_open(name) for name in behind}
        self.now = replace(self.now, open={**self.now.open, **stood})

    def _unproved(self, _: str) -> None:
        """Nothing counts as proved dead any more."""
        if self.before is not None:
            self.before = replace(self.before, dead=False, unsure=True)
        self.now = replace(self.now, dead=False, unsure=True)

    def _stands(self, power: bool, text: str) -> None:
        """How the machine is taken to stand after a proof run that showed something wrong, or was broken off, and what
        goes back for that."""
        on = dict.fromkeys(self.judge.isolates, YES if power else NO)
        self.now = replace(self.now, open={}, off={}, dead=False, meter=False, hot=True,
                           bonded=True, unsure=not power, **on)  # type: ignore[arg-type]  # fmt: skip
        self.before, self.mode, self.done = None, "", []
        if back := re.search(r"(?:Set back what the proof run has set: |If [^.:]+ was turned behind ).+", text):
            self.tell(back[0])

    def _end(self, line: str) -> None:
        if line.startswith("Stopped.") and self.mode == "step" and self.before is not None:
            self.typed = "stop"
        self._resolved()
        self.ended = True

    # ---- the proof run ------------------------------------------------------------------------------------------

    def _card(self, text: str) -> None:
        """The head of a card; told anew it is the same card."""
        number, head = text.split(": ", 1)
        self.mode, self.now = "card", self.cards.setdefault(number, self.now)
        self.card(head)


def unknown_settings(now: Account) -> Account:
    """Controls that a step which was perhaps not done has set: nothing is told of them, and nobody knows."""
    known = {name: may if len(may) == 1 else frozenset({AS_LEFT}) for name, may in now.set.items()}
    return replace(now, set=known)


def wrong_in(screen: str, machine: model.Machine) -> list[str]:
    """What is wrong in the words of a session, to its end."""
    reader = Reader(machine)
    found = reader.read(screen)
    if not reader.untouched:
        found += [f"{one} [the end]" for one in reader.judge.at_the_end(reader.now)]
    return found


if __name__ == "__main__":
    from tests.cli.person import session

    known = loading.load(sys.argv[1])
    for number in range(int(sys.argv[2]), int(sys.argv[3])):
        for one in wrong_in(session(sys.argv[1], number), known):
            print(number, one, flush=True)
