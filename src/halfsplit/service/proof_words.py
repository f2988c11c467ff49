"""A setting of the proof run in words: how it is set, what stands still first, what is turned and closed for it.

Knows the machine and the walk of the proof run; neither numbers nor what was found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfsplit.evidence.weighing import Bench
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import MOMENTARY, WARMTH, Condition
from halfsplit.plan.proof_walk import Walked
from halfsplit.service import isolating, setting_back, tasks, wording
from halfsplit.work import refusals, together
from halfsplit.work.hazards import Kind


def word(there: bool) -> str:
    """Whether something must be there."""
    return "yes" if there else "no"


def must(there: bool) -> str:
    """The same as a sentence after a question."""
    return f"It must be {word(there)}."


def ranged(numbers: Sequence[int]) -> str:
    """Numbers, the smaller before the greater, in few words.

    >>> ranged([1, 2, 3]), ranged([2, 4]), ranged([7])
    ('1 to 3', '2 and 4', '7')
    """
    if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"{numbers[0]} to {numbers[-1]}"
    return " and ".join(filter(None, (", ".join(map(str, numbers[:-1])), str(numbers[-1]))))


def named(machine: model.Machine, at: Condition | None) -> str:
    """The name that the file gives a setting; "" where it gives none."""
    return next((name for name, given in machine.settings.items() if conditions.condition(machine, given) == at), "")


def setting(machine: model.Machine, at: Condition, was: Condition | None) -> str:
    """A setting in words: the name that the file gives it and how the controls stand, what springs back with it. `was`:
    how the machine stood before."""
    name = named(machine, at)
    usual = next(iter(machine.settings), "")
    base = conditions.condition(machine) if name else conditions.usual(machine)
    stood = {c: p for c, p in was.setting if c != WARMTH and not _springs(machine, c)} if was and name else {}
    moved = [(c, p) for c, p in at.setting if p != base.position(c) or p != stood.get(c, p)]
    inside = machine.inside
    still = [f"{c} still at {p}" for c, p in moved if c in inside and was and was.position(c) == p]
    moved = [(c, p) for c, p in moved if c not in inside]
    stands = ", ".join([*(_stand(machine, c, p) for c, p in moved), *still])
    again = [(c, p) for c, p in at.setting if _springs(machine, c) and p != MOMENTARY[0] and (c, p) not in moved]
    pressed = ", ".join(_stand(machine, c, p) for c, p in again)
    if name:
        return f"{name} ({stands})" if stands else name
    if not usual or not stands:
        return f"set {stands}" if stands else "as it is used"
    return f"as in {usual}, but {stands}{f' ({pressed})' if pressed else ''}"


def _springs(machine: model.Machine, control: str) -> bool:
    return control in machine.controls and machine.controls[control].momentary


def _stand(machine: model.Machine, control: str, position: str) -> str:
    """How one control stands; one that springs back and is not to be touched is named so."""
    if _springs(machine, control) and position == MOMENTARY[0]:
        return f"do not touch {control}"
    return wording.stand(machine, control, position)


def stands_first(healthy: Bench, was: Condition | None, at: Condition) -> str:
    """That the machine is switched off and stands first, where it runs still from the setting before and in this one
    what springs back is held otherwise, or not touched; "" where nothing has to stand."""
    machine = healthy.machine
    if was is None:
        return ""
    stood, wanted = dict(was.setting), dict(at.setting)
    sprung = [c for c in wanted if _springs(machine, c) and stood[c] not in (MOMENTARY[0], wanted[c])]
    runs = (name for name, one in machine.symptoms.items() if one.kind == "running" and not one.bay)
    if not sprung or not any(healthy.predictor.healthy_shows(name, was) for name in runs):
        return ""
    back = setting_back.at_rest(machine, was)
    off = f"switch it off ({back}) and " if back else ""
    return f"First {off}wait until it stands; only then set it so."


def turned_first(machine: model.Machine, walked: Walked) -> Iterator[str]:
    """How controls behind covers are turned for a setting, the machine isolated and closed again."""
    at = walked.step.condition if walked.step else None
    if walked.turned and at:
        bays = _behind(machine, walked.turned)
        told = " ".join(_turn(machine, control, at.position(control)) for control in walked.turned)
        yield f"First {_dead_and_back(machine, walked, bays, told)}"


def closed(machine: model.Machine, walked: Walked) -> str:
    """How what is open is closed; or a control behind a cover turned back, that opened for it."""
    told = " ".join(_turn(machine, control, machine.controls[control].rest, "back ") for control in walked.turned)
    return f"Then {_dead_and_back(machine, walked, walked.shut, told)}"


def _turn(machine: model.Machine, name: str, position: str, back: str = "") -> str:
    where = machine.controls[name].where
    return f"Turn {name} {back}to {position}{f' ({where})' if where else ''}."


def _behind(machine: model.Machine, turned: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(machine.turned_in(control) for control in turned))


def _dead_and_back(machine: model.Machine, walked: Walked, bays: Sequence[str], told: str) -> str:
    """The machine isolated, opened as far as it is not, something turned, closed, and the power back last; the gas shut
    for it, and on again, what is charged discharged."""
    before, kinds, volts = walked.before, walked.done.kinds, refusals.proving(walked.before.refused)
    shut = [bay for bay in bays if bay not in before.open_bays]
    how = (
        *setting_back.before_off(machine, before.condition),
        isolating.isolate(machine, shut, volts=volts),
        *wording.cooled(machine, kinds),
        *wording.gas(machine, {Kind.GAS_OFF} & kinds),
        *wording.opening(machine, before, tuple(shut)),
        *isolating.proved_dead(machine, shut, volts=volts),
        *wording.made_safe(machine, {*before.open_bays, *bays}, kinds),
        *((told,) if told else ()),
        *wording.gas(machine, {Kind.GAS_ON} & kinds),
        *tasks.sentences(machine, together.covers(machine, bays, True)),
        "Power last.",
    )
    first = wording.lowered(how[0].removeprefix("First "))
    return " ".join((first, *how[1:]))
