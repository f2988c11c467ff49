"""The physical state of a machine by told words alone, and what becomes of it with each thing that is told.

Every fact is the set of what it may be: where nobody knows whether a step was begun, both. Knows the facts of the
machine's file; no rule of the guide is asked.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from halfsplit.machine import model
from tests.cli.told_doings import Doing

May = frozenset[str]
YES, NO, EITHER = frozenset({"yes"}), frozenset({"no"}), frozenset({"yes", "no"})
AS_LEFT = "as its owner left it"
PLAIN: Mapping[str, Mapping[str, object]] = {
    "unproved": {"barred": True}, "meter": {"meter": True}, "cool": {"hot": False}, "discharge": {"charged": False},
    "swap": {"swapped": YES}, "swap back": {"swapped": NO}, "bond": {"bonded": True}, "gas on": {"cock": YES},
    "gas off": {"cock": NO}, "gas stays off": {"cock": NO}, "join": {"joined": True}, "leak test": {"tested": True},
    "left so": {"in_parts": True},
}  # fmt: skip
"""What becomes of facts that hang on nothing else."""
NO_HANDS = ("breaker", "show the owner")
"""Repairs that begin so are made outside the machine."""
SWITCHES = {
    "plug out": ("plug", NO), "plug in": ("plug", YES), "breaker off": ("breaker", NO), "stays off": ("breaker", NO),
    "breaker on": ("breaker", YES), "panel": ("breaker", YES),
}  # fmt: skip


@dataclass(frozen=True)
class Account:
    """How it stands. `open`, `off`: bays and terminals (or parts that plug in) by whether they are; `set`: controls by
    where they stand; `joined`: the gas pipe; `told`: the cautions of this power state."""

    plug: May = YES
    breaker: May = YES
    open: Mapping[str, May] = field(default_factory=dict)
    off: Mapping[str, May] = field(default_factory=dict)
    set: Mapping[str, May] = field(default_factory=dict)
    swapped: May = NO
    dead: bool = False
    meter: bool = False
    barred: bool = False
    """Whether no meter proves it dead."""
    bonded: bool = True
    """Whether the frame's bond was measured since a cover or a wire was off."""
    cock: May = YES
    joined: bool = True
    tested: bool = True
    hot: bool = True
    charged: bool = True
    tagged: bool = False
    told: frozenset[str] = frozenset()
    photos: frozenset[str] = frozenset()
    """The terminals that were photographed for a repair, whose wires come off with it."""
    repaired: bool = False
    unsure: bool = False
    """Whether something was taken back or set aside since the power was told off: it is told off once more then."""
    doubt: frozenset[str] = frozenset()
    """What a step that was set aside told open or off: told closed or back once more, it is no contradiction."""
    in_parts: bool = False
    """Whether the words leave something as it is, open or off, for who takes over."""

    @property
    def on(self) -> May:
        """Whether there is power in it."""
        if self.plug == NO or self.breaker == NO:
            return NO
        return YES if self.plug == YES and self.breaker == YES else EITHER

    def opened(self) -> list[str]:
        """The bays that may be open."""
        return [bay for bay, may in self.open.items() if "yes" in may]

    def is_open(self, bay: str) -> May:
        """Whether a bay is open."""
        return self.open.get(bay, NO)

    def is_off(self, what: str) -> May:
        """Whether a wire, or what plugs in, is off."""
        return self.off.get(what, NO)


def either(one: Account, other: Account) -> Account:
    """Where nobody knows which of two it is."""

    def both(a: Mapping[str, May], b: Mapping[str, May], rest: May) -> dict[str, May]:
        return {name: a.get(name, rest) | b.get(name, rest) for name in {**a, **b}}

    return replace(
        one,
        plug=one.plug | other.plug, breaker=one.breaker | other.breaker,
        open=both(one.open, other.open, NO), off=both(one.off, other.off, NO),
        set=both(one.set, other.set, frozenset({AS_LEFT})),
        swapped=one.swapped | other.swapped,
        dead=one.dead and other.dead, meter=one.meter and other.meter, bonded=one.bonded and other.bonded,
        cock=one.cock | other.cock, joined=one.joined and other.joined, tested=one.tested and other.tested,
        hot=one.hot or other.hot, charged=one.charged or other.charged, tagged=one.tagged and other.tagged,
        told=one.told & other.told, unsure=one.unsure or other.unsure,
        doubt=one.doubt | other.doubt, repaired=one.repaired or other.repaired,
    )  # fmt: skip


class Course:
    """Applies doings to an account, one after the other, paragraph after paragraph."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine = machine
        self.isolates = dict(machine.supply.isolates)
        self.perhaps = self.proved = False
        """Whether this paragraph tells of what may be open or off, and whether the meter is proved in it."""
        self.block: list[Doing] = []
        self.cautions: frozenset[str] = frozenset()
        self.stood: dict[str, May] = {}
        """How controls stood before this paragraph."""

    def begins(self, doings: list[Doing], cautions: frozenset[str]) -> None:
        """A paragraph is told, of these doings, with these cautions before it."""
        self.block, self.cautions, self.perhaps, self.proved = doings, cautions, False, False
        self.stood = {}

    def then(self, now: Account, doing: Doing) -> Account:
        """How it stands after it is done."""
        self.perhaps |= doing.kind == "perhaps"
        self.proved |= doing.kind in ("dead", "meter")
        if doing.kind in PLAIN:
            return replace(now, **PLAIN[doing.kind])  # type: ignore[arg-type]
        if doing.kind in SWITCHES:
            name, to = SWITCHES[doing.kind]
            return self._switched(now, replace(now, **{name: to}))  # type: ignore[arg-type]
        by_kind = {
            "all on": self._all_back, "power last": self._last_on, "judged on": self._power_on, "tag": self._tagged,
            "dead": self._dead,
            "open": self._opened, "close": self._closed, "lift": self._lifted, "lift out": self._lifted,
            "photo": self._photographed, "refit": self._refitted, "plug part in": self._refitted,
            "repair": self._repaired, "set": self._set, "after it": self._set, "turn": self._set, "set back": self._set,
            "set back as it was": self._set_again, "see": self._ran, "live read": self._ran, "clamp": self._ran,
            "warm closed": self._ran, "warm up": self._ran, "load": self._ran,
        }  # fmt: skip
        return by_kind[doing.kind](now, doing) if doing.kind in by_kind else now

    def all_on(self, now: Account) -> Account:
        """With its plug in, or its breaker on, whichever isolates it."""
        return replace(now, **dict.fromkeys(self.isolates, YES))  # type: ignore[arg-type]

    def _all_back(self, now: Account, _: Doing) -> Account:
        """The power is back, whatever was off: the breaker that was left off and tagged too."""
        return self._switched(now, replace(now, plug=YES, breaker=YES, tagged=False))

    def _last_on(self, now: Account, doing: Doing) -> Account:
        """The plug in, or the breaker on; a tag hangs at the breaker."""
        tagged = now.tagged and doing.at != "breaker"
        return self._switched(now, replace(now, tagged=tagged, **{doing.at: YES}))  # type: ignore[arg-type]

    def _power_on(self, now: Account, _: Doing) -> Account:
        return self._switched(now, self.all_on(now))

    def _tagged(self, now: Account, doing: Doing) -> Account:
        return replace(self._switched(now, replace(now, **{doing.at: NO})), tagged=True)  # type: ignore[arg-type]

    def _dead(self, now: Account, _: Doing) -> Account:
        return replace(now, dead=True, meter=True)

    def _opened(self, now: Account, doing: Doing) -> Account:
        bonded, dead = now.bonded and not self.machine.frame, now.dead and not self._lands(doing.at)
        freed = {name: frozenset({AS_LEFT}) for name in self.machine.bays[doing.at].frees if name in now.set}
        return replace(now, open={**now.open, doing.at: YES}, bonded=bonded, dead=dead, set={**now.set, **freed})

    def _closed(self, now: Account, doing: Doing) -> Account:
        return replace(now, open={**now.open, doing.at: NO})

    def _lifted(self, now: Account, doing: Doing) -> Account:
        return replace(now, off={**now.off, doing.at: YES}, bonded=not self.machine.frame)

    def _photographed(self, now: Account, doing: Doing) -> Account:
        return replace(now, photos=now.photos | {doing.at})

    def _refitted(self, now: Account, doing: Doing) -> Account:
        return replace(now, off={**now.off, doing.at: NO})

    def _repaired(self, now: Account, doing: Doing) -> Account:
        """All wires of a part that is replaced come off, as photographed."""
        replaced = re.split(" and ", doing.at)
        own = [one for one in now.photos if f"replace {one.split('.')[0]}" in replaced]
        off = {**now.off, **dict.fromkeys(own, YES)}
        gas = self.machine.gas.parts if self.machine.gas else ()
        whole = not any(f"replace {part}" in replaced for part in gas)
        bonded = now.bonded if doing.at.startswith(NO_HANDS) else not self.machine.frame
        return replace(now, repaired=True, bonded=bonded, off=off, photos=frozenset(),
                       joined=now.joined and whole, tested=now.tested and whole)  # fmt: skip

    def _set(self, now: Account, doing: Doing) -> Account:
        if doing.kind == "set":
            self.stood[doing.at] = now.set.get(doing.at, frozenset({AS_LEFT}))
        return replace(now, set={**now.set, doing.at: frozenset({doing.to})})

    def _set_again(self, now: Account, _: Doing) -> Account:
        return replace(now, set={**now.set, **self.stood})

    def _ran(self, now: Account, _: Doing) -> Account:
        return replace(now, hot=bool(self.machine.hot_bays))

    def _switched(self, was: Account, now: Account) -> Account:
        """The power changed: what was proved counts no more, and cautions are those of this paragraph."""
        anew = was.breaker != now.breaker and "yes" in now.breaker
        if was.on == now.on:
            return replace(now, dead=False) if anew else now
        return replace(now, dead=False, meter=self.proved, told=self.cautions, charged=now.charged or now.on != NO)

    def _lands(self, bay: str) -> bool:
        """Whether what is isolated at the breaker comes into a bay: dead is proved there anew."""
        if "plug" in self.isolates:
            return False
        ends = self.machine.supply.meets
        return any(self.machine.parts[end.split(".")[0]].bay == bay for end in ends if end != self.machine.frame)
