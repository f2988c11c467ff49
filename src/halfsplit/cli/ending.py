"""The end of the talk of `halfsplit guide`: the repair, putting together, the proof run; or that nothing is left to do.

Knows sentences; decides nothing about faults.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from halfsplit.cli.cards import Named
from halfsplit.cli.offering import Offers
from halfsplit.cli.output import percent
from halfsplit.cli.talking import Back, Stop, Talk
from halfsplit.errors import NotUnderstood
from halfsplit.evidence import finding as f
from halfsplit.machine import model
from halfsplit.modes.fault import Repair
from halfsplit.quantity.display import duration
from halfsplit.service import acting, after_repair, answers, closing, doubting, naming, proving, read_as
from halfsplit.service import tasks as tasks_said
from halfsplit.service.advising import Advice
from halfsplit.service.guiding import Guided
from halfsplit.service.proof_cards import FIRST, Check, ProofRun
from halfsplit.service.repairing import Work
from halfsplit.work import stopping
from halfsplit.work.hazards import PROVING_DEAD
from halfsplit.work.together import Closing


def tell_repairs(talk: Talk, guided: Guided, work: Work, whole: bool) -> None:
    """The repairs with their price and minutes, how the machine is put together, what the proof run must show: the
    whole of it, or what stands before its first card."""
    _repair(talk, work)
    tell_proof(talk, guided, work.closed, work.proof, whole)


def tell_proof(talk: Talk, guided: Guided, closed: Closing, proof: ProofRun, whole: bool) -> None:
    """How the machine is put together, and what the proof run must show."""
    put_together(talk, guided, closed)
    talk.say("Prove it:", 2)
    in_short = not whole and proof.ran
    for sentence in (*proof.dead, *proof.head) if in_short else proof.sentences():
        talk.say(sentence, 4)


def _repair(talk: Talk, work: Work) -> None:
    """What is done, in the order in which it is done: the machine made safe and opened first."""
    for sentence in work.first:
        talk.say(sentence, 2)
    talk.say(f"Repair: {work.name}. {duration(work.minutes)}, {work.price:.0f} {work.currency} for parts.", 2)
    if work.when:
        talk.say(f"{work.when[:1].upper()}{work.when[1:]}", 2)
    if work.trip:
        talk.say(f"Not on the van: a second trip ({duration(work.trip)}).", 2)
    for trade in work.by:
        if trade != "repairer":
            talk.say(f"This is the work of: {trade}. Local codes rule.", 2)


def tell_stop(talk: Talk, guided: Guided, advice: Advice) -> None:
    """What comes with a stop: why, and where the machine is left the likeliest causes and how it is closed."""
    talk.say(advice.reason, 2)
    for one in stopping.ending(guided.machine, guided.findings):
        talk.say(f"Found: {one.label}.", 2)
    if guided.leaves:
        talk.say("Likeliest:", 2)
        tell_causes(talk, guided, 3)


def put_together(talk: Talk, guided: Guided, closed: Closing) -> None:
    """How the machine is put together."""
    talk.say(IN_ORDER, 2)
    _in_order(talk, guided, closed)


IN_ORDER = "Put together, in this order:"
LEFT_NOW = "If you leave the machine as it is now, put it together, in this order:"


def tell_left(talk: Talk, guided: Guided) -> None:
    """How the machine is left by who stops here, where anything is undone or the power has to stay off; at a danger,
    that nothing more is done."""
    if guided.in_danger and guided.advice and not guided.leaves:
        talk.say(guided.advice.text)
        return
    tell_undone(talk, guided, LEFT_NOW, guided.always)


def tell_undone(talk: Talk, guided: Guided, heading: str = IN_ORDER, always: Sequence[str] = ()) -> None:
    """How the machine is put together, what is to be minded first (`always`: at whatever is done); nothing where
    nothing is undone."""
    closed = proving.left_as_it_is(guided)
    if any(task.kind != "meter" for task in closed.tasks):
        for one in (*always, *closing.acknowledge(closed)):
            talk.say(one, 2)
        talk.say(heading)
        _in_order(talk, guided, closed)


def _in_order(talk: Talk, guided: Guided, closed: Closing) -> None:
    numbers = tasks_said.numbered(task.kind for task in closed.tasks)
    for number, sentence in zip(numbers, closing.sentences(guided.machine, closed), strict=True):
        talk.say(f"{number:>2}  {sentence}", 4)


MAKE = "[Enter: repair it; or why]"
"""What is asked at a repair where the machine answers by itself."""
AT_MAKE = "Press Enter, and the machine answers; or type why, causes, further, take, cannot, undo or stop."


def is_made(talk: Talk, asked: Callable[[str], bool]) -> str:
    """What is said of a repair before the machine answers by itself: "" to make it, "undo", "cannot", or "take" for
    what was offered instead. `asked`: tells what was asked for; whether it was that."""
    while typed := talk.ask(MAKE):
        if typed.lower() in ("undo", "take", "cannot"):
            return typed.lower()
        if not asked(typed):
            talk.say(f"{answers.quoted(typed)} is no answer to a repair. {AT_MAKE}")
    return ""


def as_it_must_be(talk: Talk, guided: Guided, named: Named, offers: Offers, asked: Callable[[str], bool]) -> str:
    """Whether all was as it must be after the repair: "yes" or "no", with what was `named` by its number; "undo",
    "cannot", or "take" for what was offered instead of it. Enter tells card after card. `asked`: as above."""
    while True:
        typed = talk.ask(named.question())
        said = typed.lower()
        if said in ("undo", "take", "cannot"):
            return said
        if asked(typed):
            continue
        if typed and named.proof.checks and all(word.isdigit() for word in typed.replace(",", " ").split()):
            named.typed = typed
            return "no"
        if (typed or named.card or not offers.tell(guided)) and (answered := _answered(talk, guided, named, typed)):
            return answered


UNMADE = "Put it together first, by the list above to its last line; then type yes."
"""Said where nothing is read after a repair, and the machine is not together yet."""


def _answered(talk: Talk, guided: Guided, named: Named, typed: str) -> str:
    """What was said of the whole proof run; "" where it goes on, as with yes at a card, which is of that card, where
    a card that was not shown was not done, and where nothing was read that could be wrong."""
    if not typed and named.proof.ran:
        return named.go_on(talk)
    try:
        well = answers.yes(typed)
    except NotUnderstood as refusal:
        wanted = "Type yes if all was as it must be, no if anything was not." if named.proof.checks else UNMADE
        meant = refusal if typed else wanted
        talk.say(f"{meant} Or undo, to take the last thing back, why, causes, further, cannot, or stop.")
        return ""
    if named.card if well else named.claimed:
        return named.go_on(talk)
    if well:
        return "yes" if named.all_so() else ""
    if named.proof.checks or after_repair.left_wet(guided, (), named.ran):
        return "no"
    talk.say(f"{UNMADE} Or undo, if it was not begun.", 2)
    return ""


IF_BEGUN = (
    "If you have begun the step shown above ({step}): isolate the machine, prove it dead, {discharge}put back what you "
    "opened, took off, turned or exchanged for it, and leave the power as it was before."
)
"""Told where a step is set aside that may have moved covers, wires or the power."""


def if_begun(machine: model.Machine, step: str) -> str:
    """The same in words of a machine: one that holds a charge is discharged first."""
    return IF_BEGUN.format(step=step, discharge="discharge its capacitor, " if machine.stored else "")


PERHAPS_DONE = "Whatever was opened for it stays on the list for putting together, and nothing counts as proved dead."
"""Told where a finding is taken back whose step hands may have done."""
CLOSED_BY_NOW = {
    True: "Is the machine put together by now, and the power on? (yes / no: the repair was not begun / begun)",
    False: "Is the machine put together by now? (yes / no: the repair was not begun / begun)",
}
"""What is asked where a repair is taken back that was told to its end, by whether its power was to be on."""
BEGUN = "begun"
TO_THE_END = "Then put it together first, by the list above to its last line; what follows takes it to be so."


def is_closed_by_now(talk: Talk, ran: bool) -> bool:
    """Whether the machine was put together as the list says, or is now, before the repair was taken back."""
    while True:
        typed = talk.ask(CLOSED_BY_NOW[ran])
        if typed.lower() == BEGUN:
            talk.say(TO_THE_END, 2)
            return True
        try:
            return answers.yes(typed)
        except NotUnderstood as refusal:
            talk.say(f"{refusal} Or {BEGUN}, or stop.")


LEFT_SO = "Was the machine put together by the list told before undo, to its line {last}? (yes / no)"
"""What is asked where a list is taken back that may have scrolled off the screen."""


def is_left_so(talk: Talk, closed: Closing) -> bool:
    """Whether the machine was put together by the list that was told; not asked where no hand does anything."""
    if not any(task.kind in ("cover", "wires") for task in closed.tasks):
        return False
    last = sum(task.kind != tasks_said.NOTE for task in closed.tasks)
    while True:
        try:
            return answers.yes(talk.ask(LEFT_SO.format(last=last)))
        except NotUnderstood as refusal:
            talk.say(str(refusal))
        except Stop:
            talk.say(IF_LIST_BEGUN)
            raise


IF_LIST_BEGUN = "If anything of that list was begun: go on with it to its last line."
"""Told who stops where nobody has said whether that was done."""
IF_REPAIR_BEGUN = "If anything of the repair was begun: put the machine together by its list above, to the last line."
"""Told who stops where nobody has said how the machine stands."""
LEFT = "The search goes on from what is left: what this repair cures is taken to be good now."
STANDS = {
    True: "If a cover is off still: isolate the machine, prove it dead, put that on, and bring the power back. What "
    "follows takes every cover to be on, and the machine in use.",
    False: "Go on with the list for putting together to its last cover, and leave the power off: what follows takes "
    "every cover to be on.",
}
"""How the machine is taken to stand after a proof run, by whether it was run."""
FRAMED = (
    "Something leads to the frame. Read it once more; then look where hands were ({bays}): a wire pinched by a cover "
    "or a screw, a bare end, a terminal that leans on metal."
)
"""Said where low ohms to the frame are read after a repair; common practice, no source."""
DEAD_FIRST = f"{PROVING_DEAD[0]}: {PROVING_DEAD[1]}"
"""Told before hands go to a machine that may be live."""
WRONG_BEFORE = "Wrong before"
NAMED = "Which numbers were not as they must be, also when looked at again? "
"""How it is asked which; then an example, and what else may be typed."""


def ask_what_is_wrong(talk: Talk, guided: Guided, named: Named) -> None:
    """Asks what was not as it must be, and of what was wrong before. Raises Back for undo."""
    _ask_numbers(talk, guided, named)
    _ask_back(talk, guided, named)


def _ask_numbers(talk: Talk, guided: Guided, named: Named) -> None:
    proof = named.proof
    numbers = [one.number for one in proof.checks]
    while numbers:
        example = "2 4" if max(numbers) >= 4 else str(max(numbers))
        typed = named.typed or talk.ask(f"{NAMED}(as in: {example}; Enter: no more to say / undo)")
        named.typed = ""
        if typed.lower() == "undo":
            raise Back
        try:
            told = answers.numbers(typed, max(numbers), min(numbers))
        except NotUnderstood as refusal:
            talk.say(f"{refusal} Or undo, or stop.")
            continue
        asked = named.meant(talk, told)
        before = [one for one in asked if one.number == FIRST]
        named.ran = proof.ran and not before
        right = [check for check in asked if _is_right(talk, guided, check, named)]
        named.ran = proof.ran and all(check in right for check in before)
        if named.found or not told or not named.ran:
            return


def _is_right(talk: Talk, guided: Guided, check: Check, named: Named) -> bool:
    """Whether what was named is as it must be after all; if it was read and is not, it is found."""
    found = _as_found(talk, guided, check)
    if found is None:
        return False
    if not check.is_right(guided.bench, found):
        named.found[check] = found
        return False
    talk.say(f"{check.number}: {found.label}: that is as it must be, so it is not taken to be wrong.", 2)
    return True


def tell_framed(talk: Talk, guided: Guided, repairs: Sequence[Repair], shown: Sequence[f.Finding]) -> None:
    """Where to look first, where something was read to lead to the frame after these repairs."""
    bays = after_repair.where_hands_were(guided, repairs, shown)
    if bays:
        talk.say(FRAMED.format(bays=", ".join(bays)), 2)


def _ask_back(talk: Talk, guided: Guided, named: Named) -> None:
    """How what was wrong before is now, there still or not; nothing of what was not looked at."""
    numbers = {(one.step.at, one.step.condition): one.number for one in named.proof.checks if one.seen}
    for one in after_repair.asked_for(guided, named.shown(guided), named.ran):
        number = numbers.get((one.what, one.condition))
        listed = f" ({number} in the list)" if number else ""
        asked = naming.told(guided.machine, acting.seeing(guided.machine, one.what))
        there = _yes_or_unseen(talk, f"{WRONG_BEFORE}{listed}: {asked} Now: yes / no (Enter: not looked at / undo)")
        named.seen += [] if there is None else [replace(one, there=there)]


def _yes_or_unseen(talk: Talk, asked: str) -> bool | None:
    """Yes or no; None for Enter."""
    while typed := talk.ask(asked):
        if typed.lower() == "undo":
            raise Back
        try:
            return answers.yes(typed)
        except NotUnderstood as refusal:
            talk.say(f"{refusal} Or undo, or stop.")
    return None


def _as_found(talk: Talk, guided: Guided, check: Check) -> f.Finding | None:
    """What was found wrong at one check: the contrary of what was to be seen, or what the meter showed; None where it
    was not read: who finds something wrong before it runs need not go on. Raises Back for undo."""
    if check.seen:
        return check.found(False)
    assert check.step.probe is not None
    meter = "clamp" if check.step.probe.meter == "amps" else "meter"
    way = f" ({check.at.provoke})" if check.at.provoke else ""
    at = naming.told(guided.machine, naming.place(guided.machine, check.step.probe.red))
    asked = f"{check.number}: what does the {meter} show at {at}{way}? (Enter: not read)"
    while True:
        typed = talk.ask(asked)
        if typed.lower() == "undo":
            raise Back
        if not typed:
            return None
        try:
            found = answers.understood(guided.bench.predictor, check.step, typed)
        except NotUnderstood as refusal:
            talk.say(f"{refusal} Or undo, or stop.")
            continue
        for said in read_as.sentences([found]):
            talk.say(said, 2)
        return found


def tell_causes(talk: Talk, guided: Guided, count: int = 8) -> None:
    """The possible causes."""
    for one in guided.ranked[:count]:
        talk.say(f"{percent(one.probability):>8}  {' + '.join(one.faults) or 'nothing is wrong'}", 2)


def causes(talk: Talk, guided: Guided) -> None:
    """The possible causes, and how probable it is that it is none of the file's."""
    tell_causes(talk, guided)
    talk.say(f"{percent(guided.weighed.unsaid):>8}  {naming.UNSAID}", 2)


def tell_nothing_left(talk: Talk, guided: Guided) -> None:
    """No step tells more, and no repair is sure enough."""
    talk.say("No further step would tell more. What is known:")
    tell_causes(talk, guided)
    worst = doubting.to_take_again(guided.weighed)
    if worst is not None:
        talk.say(f"If something must be wrong, take this finding again: {worst.label}", 2)
