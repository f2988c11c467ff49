"""Told sentences turned back into doings, by patterns of this file's own.

Knows the facts of a machine's file (the names of its bays, parts and controls) and the words that were seen on the
screen; imports no word of the guide. A sentence that no pattern knows is a doing of its own, UNKNOWN, so that new words
have to be taught here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

from halfsplit.machine import model

UNKNOWN = "unknown"
PROVED = r"\(meter proved before and after, on a source known to be live\)"
DURATION = r"some [\d.]+ (?:min|s|h)(?: from cold)?"


@dataclass(frozen=True)
class Doing:
    """One thing that a person is told to do, or a claim that the account has to bear out. `at`: the bay, terminal,
    part, control or place; `to`: the position, the other lead, or what is said of it."""

    kind: str
    at: str = ""
    to: str = ""
    said: str = ""


Rule = tuple[re.Pattern[str], Callable[[re.Match[str]], Iterator[Doing]]]


def parted(text: str) -> list[str]:
    """The sentences of a paragraph; no name in a file ends with a full stop.

    >>> parted("Open the top (2 x PH2). Meter at ohms: red on limit.1, black on limit.3. Read.")
    ['Open the top (2 x PH2).', 'Meter at ohms: red on limit.1, black on limit.3.', 'Read.']
    """
    return [one for one in re.split(r"(?<=[.?!])\s+(?=[A-Z\d])", text) if one]


class Words:
    """The patterns for one machine."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine = machine

    def doings(self, text: str) -> Iterator[Doing]:
        """All that a paragraph tells, in order."""
        text = text.strip()
        for pattern, made in self._whole:
            if match := pattern.fullmatch(text):
                yield from made(match)
                return
        if ahead := self._setting_ahead(text):
            yield Doing("called", ahead[0])
            text = ahead[1][:1].upper() + ahead[1][1:]
        for sentence in parted(text):
            yield from self._of(sentence)

    def _setting_ahead(self, text: str) -> tuple[str, str] | None:
        """The name of a setting in front of a sentence of the proof run, and the rest."""
        for name in self.machine.settings:
            if text.casefold().startswith(f"{name.casefold()}: ") and not text[len(name) + 2 :][:1].isdigit():
                return name, text[len(name) + 2 :]
        return None

    def _of(self, sentence: str) -> Iterator[Doing]:
        """One sentence; what stands in front of it, that it comes first or only perhaps, is taken off."""
        said = re.sub(r"^First: ", "", sentence)
        if where := re.match(r"Where (.+?) may be (?:open or )?off still: ", said):
            yield Doing("perhaps", where[1], said=sentence)
            said = said[where.end() :]
        if not re.match(r"First (?:let it come|set:)", said):
            said = re.sub(r"^(?:First|Then) (?=[a-z])", "", said)
        said = said[:1].upper() + said[1:]
        for pattern, made in self._sentences:
            if match := pattern.fullmatch(said):
                yield from (Doing(one.kind, one.at, one.to, one.said or sentence) for one in made(match))
                return
        yield Doing(UNKNOWN, said=sentence)

    # ---- patterns -----------------------------------------------------------------------------------------------

    @cached_property
    def _whole(self) -> list[Rule]:
        """Paragraphs that are read as one."""
        return [
            rule(r"Ask the owner: .+ From memory: nobody touches machine, plug or breaker for it\.", "ask"),
            rule(r"STOP\. Switch it off at the breaker, touch no metal of it, and let nobody use it\. .+", "untouched"),
            rule(r"STOP\. Touch no switch, plug or telephone, .+", "untouched"),
            rule(r"STOP\. Breaker first; never walk through water .+", "wet"),
            rule(r"STOP\. Switch it off at the breaker, and touch plug and receptacle no more: .+", "stays off"),
            rule(r"STOP\. .+", "stop"),
            rule(r"Repair: (.+)\. [\d.]+ \w+, \d+ \w+ for parts\.", "repair"),
            rule(r"Repair: (.+)\. Cures with [<> ]*[\d.]+ %; .+\.", lambda m: iter([Doing("repair", m[1])])),
        ]

    @cached_property
    def _sentences(self) -> list[Rule]:
        return [*self._power(), *self._covers(), *self._wires(), *self._controls(), *self._gas(), *self._read(),
                *self._seen(), *self._said()]  # fmt: skip

    def _power(self) -> list[Rule]:
        end = r"(?: at [\w -]+?)?(?:: .+? each pair)?\."
        later = r"; closed, nothing of it is bare: it is proved dead where the first cover comes off\."
        return [
            rule(rf"Isolate the machine \(([^)]+)\) and prove it dead {PROVED}{end}", _isolate("dead")),
            rule(rf"Isolate the machine \(([^)]+)\)(?:\.|{later})", _isolate("")),
            rule(r"This meter cannot prove it dead: touch nothing in it but its covers\.", "unproved"),
            rule(rf"Prove it dead(?: there too)? {PROVED}{end}", "dead"),
            rule(r"Prove the meter first on a source that you know to be live\.", "meter"),
            rule(r"Take the leads off, clear your hands, and bring the power back\.", "leads off", "all on"),
            rule(r"Bring the power back\.", "all on"),
            rule(r"Power last\.", "all on"),
            rule(r"Power last, hands clear: (plug|breaker) (?:in|on)\.", "power last"),
            rule(r"Only now, hands clear: .+\.", "panel"),
            rule(r"Only where it is safe to use as it is, hands clear: (?:plug in|breaker on)\.", "judged on"),
            rule(r"Else leave it isolated, and tag it\.", "note"),
            rule(r"No power: (plug|breaker) (?:off|out), with a tag on it: do not switch on; .+\.", "tag"),
            rule(r"Pull the plug\.", "plug out"),
            rule(r"Plug it in again, but not where it is burnt\.", "plug in"),
            rule(r"The receptacle stays live\.", "note"),
            rule(r"Pull the plug, clear your hands, and switch the breaker on: the receptacle is live, the machine is "
                 r"not\.", "plug out", "breaker on"),
            rule(r"Switch the breaker off again, and lock it\.", "breaker off"),
            rule(r"Let it cool: .+ after it last ran\.", "cool"),
            rule(r"Discharge (.+?): hold a resistor of .+ across (.+?) and .+", "discharge"),
            rule(r"If it shows more, hold the resistor on again\.", "note"),
        ]  # fmt: skip

    def _covers(self) -> list[Rule]:
        bay = "|".join(re.escape(one) for one in sorted(self.machine.bays, key=len, reverse=True))
        how = r"(?: \((?:two|\d+) people\))?(?:: .+| \(.+\))?\."
        still = rf"Still dead(?:, set (.+?))?: (?:open the ({bay}(?: and the (?:{bay}))*)(?: \([^)]*\))*, )?"
        return [
            rule(rf"Open the ({bay}){how}", lambda m: iter([Doing("open", m[1])])),
            rule(rf"Close the ({bay}){how}", lambda m: iter([Doing("close", m[1])])),
            rule(rf"{still}(let it cool: .+? after it last ran; )?(prove it dead there too {PROVED}: .+? each pair; )?"
                 r"(ohms from .+)\.", self._still_dead),
            rule(r"Set it back\.", "set back as it was"),
            rule(r"Photograph the connectors of (.+), then pull them\.", "hands"),
            rule(r"Plug the connectors? of (.+) in again(?: for it)?, if (?:it is|they are) not\.", "hands"),
            rule(r"The machine does not run with the .+ open\.", "note"),
            rule(r"With the .+ open the .+ (?:is|are) off\.", "note"),
            rule(r"No cover stays off over live parts while the machine runs that long\.", "note"),
            rule(r"To close the .+ again takes .+: have help there before you begin\.", "note"),
            rule(r"(?:Ground screw at .+|The .+ from .+ to the frame): .*on and tight\.", "hands"),
            rule(r"No .+ from .+ to the frame: see that none was put in\.", "hands"),
            rule(r"Put right again: .+\.", "hands"),
            rule(r"[A-Z][\w -]+ back on [\w /-]+\.", "hands"),
            rule(r"Count: .+ in all \(.+\); none is left over\.", "note"),
            rule(r"This meter reads no volts, so nobody can prove the machine dead: put no hands in it\.", "note"),
            rule(r"The electrician has to reach the receptacle\.", "note"),
            rule(r"Leave as it is, and write down for who takes over: .+\.", "left so"),
        ]  # fmt: skip

    def _wires(self) -> list[Rule]:
        return [
            rule(r"Photograph (.+) before its first wire comes off \((.+)\)\.", lambda m: _each("photo", m[1], m[2])),
            rule(r"Take the wires off (\S.*)\.", "lift"),
            rule(r"Put the wires back on (\S.*)\.", "refit"),
            rule(r"Wires back on ([^:]+): .+; as on the photograph, each holds when pulled\.", "refit"),
            rule(r"Lift the (.+) out\.", "lift out"),
            rule(r"Plug the (.+) in again\.", "plug part in"),
            rule(r"Plug the (.+) in, or the new one in its place\.", "plug part in"),
            rule(r"Swap the (.+) and the (.+)\.", "swap"),
            rule(r"Put the (.+) and the (.+) back, each in its own place\.", "swap back"),
            rule(r"Put (.+) and (.+) back, each in its own place; a new part goes where the old one belongs\.",
                 "swap back"),
            rule(r"Go by the place: .+ holds the .+ now\.", "note"),
            rule(r"For the old (.+): .+\.", "hands"),
            rule(r"The new (.+) in its place(?:: .+)?\.", "fasten"),
            rule(r"Shut the water off \(.+\).* until .+\.", "drain"),
            rule(r"A tray under the .+ for what is left\.", "note"),
            rule(r"Shut the .+, hose off\.", "note"),
            rule(r"The .+ as it was, tight\.", "note"),
            rule(r"Its own valve lets none in before the power: pour in by hand until .+\.", "note"),
            rule(r"Fill it: water on \(.+\), .+ open until it runs free of air, then shut\.", "fill"),
            rule(r"Water on \(.+\)\.", "fill"),
            rule(r"An element fed dry burns out\.", "note"),
            rule(r"(?:Full and under pressure, wipe|Wipe) round the .+ dry, wait 5 minutes and look again: no drip\.",
                 "note"),
        ]  # fmt: skip

    def _controls(self) -> list[Rule]:
        def listed(kind: str) -> Callable[[re.Match[str]], Iterator[Doing]]:
            return lambda m: self._positions(kind, m[1])

        control = "|".join(re.escape(one) for one in sorted(self.machine.controls, key=len, reverse=True))
        return [
            rule(r"Set: (.+)\.", listed("set")),
            rule(r"Set again: (.+)\.", listed("set")),
            rule(r"(?:Set back first|(?:Last, s|S)et back|Set back what the proof run has set): (.+)\.",
                 listed("set back")),
            rule(rf"If ({control}) was turned behind the .+: turn it back to (.+) there, dead, before that goes on\.",
                 lambda m: iter([Doing("set back", m[1], m[2])])),
            rule(r"Still set: (.+)\.", listed("stands")),
            rule(rf"Set ({control}) back to (.+)\.", lambda m: iter([Doing("set back", m[1], m[2])])),
            rule(rf"Turn ({control}) (?:back )?to (.+?)(?: \(.+\))?\.", lambda m: iter([Doing("turn", m[1], m[2])])),
            rule(rf"First let it come to '(.+?)'(?:, {DURATION})?, closed and with the power on\.", "warm closed"),
            rule(rf"First let it come to '(.+?)'(?:, {DURATION})?, as it stands with the power on\.", "warm up"),
            rule(rf"First set: (.+); let it come to '(.+?)'(?:, {DURATION})?, (closed and|as it stands) with the power "
                 r"on; then set it back\.", self._warmed),
            rule(rf"Have ({control}) held for the whole reading, by a helper or with tape; take the tape off before "
                 r"anything else\.", "hold"),
            rule(r"Press the (.+) in and keep it so, by hand or with tape; take the tape off after it\.", "hold"),
            rule(r"Hold the (.+) as the (.+) does, by hand or with tape; take the tape off after it\.", "hold"),
            rule(r"After it: (.+)\.", listed("after it")),
            rule(r"Read it at '(.+)' only(?: \(.+\))?: else a good one shows otherwise\.", "note"),
            rule(r"Switch it off \((.+)\) and wait until it stands; only then set it so\.", listed("set back")),
            rule(r"Wait until it stands; only then set it so\.", "note"),
        ]  # fmt: skip

    def _gas(self) -> list[Rule]:
        return [
            rule(r"Shut the gas cock \(.+\)(?:, and leave it shut)?\.", "gas off"),
            rule(r"Leave the gas shut at the cock \(.+\): see that it is\.", "gas stays off"),
            rule(r"Open the gas cock \(.+\), nothing lit\.", "gas on"),
            rule(r"Join the gas pipe\.", "join"),
            rule(r"Brush leak solution on every joint that was apart .+: no bubble grows\.", "leak test"),
            rule(r"If one does, shut the cock and stop\.", "note"),
        ]

    def _read(self) -> list[Rule]:
        shake = r"(?:.+ and what is wired to it|the cord and all else outside)"
        return [
            rule(r"Ohms from (.+) to (.+): below 1 ohm; else leave the power off\.", "bond"),
            rule(r"Before the power: ohms from (.+) to (.+), below 1 ohm\.", "bond"),
            rule(r"Any ohms not so: leave the power off, go back to the search\.", "note"),
            rule(r"With the power on, meter at ([\w -]+): red on (.+), black on (.+)\.", _reading("live")),
            rule(r"At the wall, meter at ([\w -]+): red on (.+), black on (.+)\.", _reading("wall")),
            rule(r"Meter at amps: close the clamp (round .+)\.", "clamp"),
            rule(r"Meter at ([\w -]+): red on (.+), black on (.+)\.", _reading("dead")),
            rule(r"(?:Read|Clip them on|Note what differs from a steady reading|It must stay steady)\.", "note"),
            rule(rf"Shake ({shake}), and watch the meter\.", "shake"),
            rule(r"Turn (.+) slowly by hand, once round, and watch the meter\.", "shake"),
            rule(r"Clear away lint and dust\.", "note"),
            rule(r"Warm (.+) with hot air, slowly, and watch the meter; mind your fingers, and let it cool after\.",
                 "shake"),
            rule(r"Keep the air off (.+): what opens there stays open\.", "note"),
            rule(r"Its contact must (?:close|open) within two minutes: note what it shows while it is hot\.", "note"),
            rule(r"Before anything else is read let it cool until it is (?:open|closed) again\.", "note"),
            rule(r"Let it run with the heaviest load on for five minutes, hands off\.", "load"),
            rule(r"Let it go on with the heaviest load\.", "load"),
            rule(r"A smell, smoke, a crackle, a hot plug or receptacle: switch the breaker off, and stop\.", "note"),
            rule(r"Watch the display while it draws that load: .+\.", "note"),
            rule(r"If it does not read as on a good machine: .+ may have opened just now; read again .+\.", "note"),
            rule(r"It must be near .+ now\.", "note"),
            rule(r"(?:Take the leads off|Take the meter, its clips.* and every tool off the machine)\.", "leads off"),
            rule(r"Take the meter and every tool away that lies outside it; what is clipped, taped or lies in it "
                 r"stays\.", "leads off"),
        ]  # fmt: skip

    def _seen(self) -> list[Rule]:
        return [
            rule(r"Look (?:closely )?at (.+?): .+\?", "look"),
            rule(r"Once more, with a lamp and from all sides\.", "note"),
            rule(r"Pull at each wire\.", "touch"),
            rule(r"Turn or move it by hand\.", "touch"),
            rule(rf"See for yourself, once it has run {DURATION}: (.+)", "see"),
            rule(r"See for yourself: (.+)", "see"),
            rule(rf"Once it has run {DURATION}: (.+)", "see"),
            rule(r"Once only: if it trips, leave it off\.", "note"),
            rule(r"It must be (?:yes|no|[\d.]+ ?\S+ to [\d.]+ ?\S+|OL)\.", "note"),
            rule(r"Heat left from the setting before does not count: it must fall\.", "note"),
            rule(r"Healthy, it shows what .+ showed, within .+: the two are alike\.", "note"),
        ]

    def _said(self) -> list[Rule]:
        """What is said and nothing to do."""
        return [
            rule(r"The .+ was switched off for this work, which is the repair: .+", "note"),
            rule(r"What may have made it trip: .+\.", "note"),
            rule(r"See to that too, else it trips again\.", "note"),
        ]

    def _positions(self, kind: str, text: str) -> Iterator[Doing]:
        """Controls with their positions, as listed after Set."""
        controls = sorted(self.machine.controls, key=len, reverse=True)
        for one in text.split(", "):
            if match := re.fullmatch(r"let it come to '(.+)'", one):
                yield Doing("warm", match[1])
            elif match := re.fullmatch(r"do not touch (.+)", one):
                continue
            elif match := re.fullmatch(r"(.+) still at (.+)", one):
                yield Doing("stands", match[1], match[2])
            elif control := next((name for name in controls if one.startswith(f"{name} ")), None):
                yield Doing(kind, control, one[len(control) + 1 :])
            elif not re.fullmatch(DURATION, one):
                yield Doing(UNKNOWN, said=text)

    def _warmed(self, match: re.Match[str]) -> Iterator[Doing]:
        """Controls set for it to get warm, and set back."""
        yield from self._positions("set", match[1])
        yield Doing("warm closed" if match[3].startswith("closed") else "warm up", match[2])
        yield Doing("set back as it was")

    def _still_dead(self, match: re.Match[str]) -> Iterator[Doing]:
        """Ohms to the frame on the list for putting together, what is opened and set for them."""
        used, opened, cooled, proved, ohms = match.groups()
        yield from self._positions("set", used) if used else ()
        yield from (Doing("open", bay) for bay in opened.split(" and the ")) if opened else ()
        yield from [Doing("cool")] if cooled else ()
        yield from [Doing("dead")] if proved else ()
        for read in ohms.split("; "):
            if match_ := re.fullmatch(r"ohms from (.+?)(?:, one by one,)? to (.+?): .+", read):
                yield from (Doing("dead read", red, match_[2]) for red in match_[1].split(" and "))
            else:
                yield Doing(UNKNOWN, said=read)


def rule(pattern: str, *made: str | Callable[[re.Match[str]], Iterator[Doing]]) -> Rule:
    """A pattern, and the kinds of doing that it tells, or what makes them."""
    first = made[0]
    if callable(first):
        return re.compile(pattern), first

    def named(match: re.Match[str]) -> Iterator[Doing]:
        at, to = ((*match.groups(), "", "")[:2]) if len(made) == 1 else ("", "")
        yield from (Doing(str(kind), at or "", to or "") for kind in made)

    return re.compile(pattern), named


def _isolate(dead: str) -> Callable[[re.Match[str]], Iterator[Doing]]:
    def made(match: re.Match[str]) -> Iterator[Doing]:
        for how in re.split(r", | and ", match[1]):
            if how not in ("locked", "locked and tagged", "tagged"):
                yield Doing(how)
        yield from [Doing(dead)] if dead else []

    return made


def _reading(kind: str) -> Callable[[re.Match[str]], Iterator[Doing]]:
    """Where red and black go; the meter's function tells a dead reading from a live one."""

    def made(match: re.Match[str]) -> Iterator[Doing]:
        dead = kind == "dead" and match[1] in ("ohms", "capacitance", "continuity")
        yield Doing(f"{kind} read" if dead or kind != "dead" else UNKNOWN, match[2], match[3])

    return made


def _each(kind: str, part: str, landed: str) -> Iterator[Doing]:
    """A doing for each terminal of a part that is named in front of its colours."""
    for one in landed.split(", "):
        yield Doing(kind, f"{part}.{re.sub(r'(?: [A-Z]+)+$', '', one)}")
