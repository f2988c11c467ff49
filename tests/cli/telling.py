"""What the guide's screen and the plan on paper tell alike: a paragraph that is done, a line of the list for putting
together, a card of the proof run, judged as the machine stands by the words before.

Knows no layout; sentences are `told_doings`', the state of the machine is `account`'s, what is wrong `judging`'s.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from halfsplit.machine import model
from tests.cli.account import NO, Account
from tests.cli.judging import Judge
from tests.cli.told_doings import UNKNOWN, Doing, Words

CAUTION = re.compile(r" *(DANGER|WARNING|CAUTION|NOTICE): ")
AROUND = (
    r"In all: some .+",
    r"Whether this repair holds is shown by .+",
    r"All through cards? .+",
    r"In days of use its owner sees: .+",
    r"Nothing is tried while the power has to stay off: .+",
    r"The frame's bond and the insulation cannot be measured with this meter: .+",
)
"""What stands round the cards of a proof run and tells nobody to do anything."""


class Teller:
    """A machine of which it is told what to do; `found`: what is wrong, each with the words that told it."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine, self.words, self.judge = machine, Words(machine), Judge(machine)
        self.now = Account()
        self.cautions: set[str] = set()
        self.minded = False
        """Whether something was told since these cautions: the next one begins anew."""
        self.untouched = False
        """Whether nobody goes to the machine any more."""
        self.found: list[str] = []

    def minds(self, text: str) -> None:
        """A caution before what it belongs to."""
        self.cautions = {text} if self.minded else self.cautions | {text}
        self.minded = False

    def tell(self, text: str, along: bool = False) -> None:
        """A paragraph with something to do; `along`: together with the one before."""
        doings = [*self.words.doings(text)]
        self.judge.begins([*(self.judge.block if along else ()), *doings], frozenset(self.cautions))
        before = self.now.on, self.now.plug, self.now.breaker
        if any(one.kind == "untouched" for one in doings):
            self.untouched = True
        for doing in doings:
            self.found += [f"{wrong} [{text[:400]}]" for wrong in self.judge.wrong(self.now, doing)]
            self.now = self.judge.then(self.now, doing)
        if before == (self.now.on, self.now.plug, self.now.breaker):
            self.now = replace(self.now, told=self.now.told | self.cautions)
        else:
            self.now = replace(self.now, told=frozenset(self.cautions))
        self.minded = True
        pulled = self.now.plug == NO and "plug out" in {one.kind for one in doings}
        proved = "dead" in {one.kind for one in doings}
        self.now = replace(self.now, unsure=(self.now.unsure or pulled) and not proved)

    def task(self, text: str) -> None:
        """A line of the list for putting together, without its number."""
        text = re.sub(r"^\d+  ", "", text)
        if not text.startswith("Note: "):
            self.tell(text)

    def alongside(self, text: str) -> None:
        """What is read or looked at in the same set-up; what comes behind a reading is of it."""
        if match := re.match(r"red on (.+), black on (.+) \(.+?\)\.", text):
            if more := text[match.end() :].strip():
                self.tell(more, True)
            self.one(Doing("dead read" if self.now.on == NO else "live read", match[1], match[2], text))
        else:
            self.tell(text[:1].upper() + text[1:], True)

    def one(self, doing: Doing) -> None:
        """A claim that belongs to the paragraph before, which changes nothing."""
        said = self.judge.block
        self.judge.begins([*said, doing], self.judge.cautions)
        self.found += [f"{wrong} [{doing.said}]" for wrong in self.judge.wrong(self.now, doing)]

    # ---- the proof run ------------------------------------------------------------------------------------------

    def card(self, head: str) -> None:
        """The head of a card without its number: how the controls stand, which covers are off."""
        setting, *more = head.removesuffix(".").split("; ")
        for doing in self.set_for(setting):
            if doing.kind == UNKNOWN:
                self.unknown(head)
            self.now = self.judge.then(self.now, doing)
        if "all covers on" in more:
            self.one(Doing("covers on", said=head))
        if any(not re.fullmatch(r"some .+|all covers on.*|.+ off for the clamp.*|.+ all through", one) for one in more):
            self.unknown(head)

    def set_for(self, text: str) -> Iterator[Doing]:
        """How the controls stand in a setting that the file names, or that says what is otherwise."""
        text = re.sub(r"^the clamp, set to ", "", text)
        if re.fullmatch(r"the clamp, in \d+ settings one after another", text) or text == "as it is used":
            return
        if match := re.fullmatch(r"as in (.+?), but (.+?)(?: \((.+)\))?", text):
            yield from self._named(match[1])
            yield from (*self._stood(match[2]), *self._stood(match[3] or ""))
        elif match := re.fullmatch(r"set (.+)", text):
            yield from self._stood(match[1])
        elif match := re.fullmatch(r"(.+?)(?: \((.+)\))?", text):
            if match[1] not in self.machine.settings:
                yield Doing(UNKNOWN, said=text)
            else:
                yield from (*self._named(match[1]), *self._stood(match[2] or ""))

    def _named(self, name: str) -> Iterator[Doing]:
        named = dict(self.machine.settings[name])
        yield from (Doing("set", c, p) for c, p in named.items() if c in self.machine.controls)

    def _stood(self, text: str) -> Iterator[Doing]:
        yield from (one for one in self.words.doings(f"Set: {text}.") if one.kind != "warm") if text else ()

    def check(self, text: str) -> bool:
        """A line of a card; whether it is one that the reader knows how to read."""
        text = re.sub(r"^\d+  ", "", text)
        if text.startswith("As before: ") or re.match(r"The same round .+: .+\.", text):
            return True
        named = re.match(r"(.+?): \d+ \S", text)
        if named and any(named[1].casefold().startswith(f"{one.casefold()}") for one in self.machine.settings):
            self.now = self._after(self.set_for(re.sub(r"^.", lambda m: m[0].lower(), named[1])))
            return True
        if re.match(r"(?:Once it has run|[A-Z].*\?)", text) and not re.search(r"See for yourself|Look", text):
            self.tell(text if text.startswith("Once it has run") else f"See for yourself: {text}")
            return True
        return False

    def _after(self, doings: Iterator[Doing]) -> Account:
        now = self.now
        for doing in doings:
            now = self.judge.then(now, doing)
        return now

    def unknown(self, text: str) -> None:
        """A sentence that nobody has taught here."""
        self.found.append(f"a sentence that the reader does not know: {text}")
