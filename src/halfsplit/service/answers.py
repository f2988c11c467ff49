"""What a person typed at a step, as a finding; what is not understood is answered in that person's words.

Knows steps and how readings are written; nothing of files or of what is believed. Each refusal says what was typed,
what is understood here, and an example; no field of a findings file is named.
"""

from __future__ import annotations

from collections.abc import Sequence

from halfsplit.errors import Ambiguous, NotUnderstood
from halfsplit.evidence import displayed, finding_fields
from halfsplit.evidence import finding as f
from halfsplit.modes import marks
from halfsplit.plan.steps import Step
from halfsplit.predict.predictor import Predictor
from halfsplit.service import acting, wording

EXAMPLES = {
    "ohms": "9.2k, 0.4 ohm or OL",
    "continuity": "beeps, silent or 12 ohm",
    "volts": "118 V, 0.3 or 85 mV",
    "low-impedance volts": "118 V, 0.3 or 85 mV",
    "dc volts": "24 V, 0.3 or 85 mV",
    "amps": "21.5 A, 0.2 or 350 mA",
    "capacitance": "12 µF, 35 uF or OL",
    "temperature": "155 F or 68 °C",
}
"""What may be typed at each function of the meter; all of it is understood."""
BETWEEN = ";"
"""Parts answers that are typed at once; a comma may be the decimal one."""
AT_ONCE = f"If you read that too, type all in this order with {BETWEEN} between them, or the first alone."
"""Said below what stands alongside a step."""
LONGEST = 40
"""So many letters of what was typed are repeated."""


def understood(predictor: Predictor, step: Step, typed: str) -> f.Finding:
    """A typed answer to a step as a finding, by the rules of a findings file. Raises NotUnderstood."""
    if step.kind == "look":
        word = seen(acting.seen(predictor, step.at), step.at, typed)
        return f.Look(step.at, word, closely=step.closely)
    if step.perceived:
        return f.Perceived(step.at, yes(typed), step.tells_of, "owner" if step.asks else "repairer")
    return reading(step, typed)


def all_understood(predictor: Predictor, steps: Sequence[Step], typed: Sequence[str]) -> tuple[f.Finding, ...]:
    """The typed answers to the first of some steps, in their order. Raises NotUnderstood, with all that is wrong; one
    answer is refused in its own words, of several it is said which."""
    if len(typed) == 1:
        return (understood(predictor, steps[0], typed[0]),)
    if len(typed) > len(steps):
        also = f"{len(steps)} are asked for here" if len(steps) > 1 else "only one is asked for here"
        raise NotUnderstood("; ".join(typed), f"{len(typed)} answers were typed, and {also}.", "None was taken.")
    found: list[f.Finding] = []
    wrong: list[str] = []
    for number, (step, answer) in enumerate(zip(steps, typed, strict=False), 1):
        try:
            found.append(understood(predictor, step, answer))
        except NotUnderstood as refusal:
            wrong.append(f"Answer {number}: {refusal}")
    if wrong:
        raise NotUnderstood("; ".join(typed), " ".join(wrong), "None was taken.")
    return tuple(found)


def parted(typed: str) -> tuple[str, ...]:
    """The answers that were typed at once, parted by semicolons; one at least.

    >>> parted("118 V; 0.3;"), parted("OL"), parted("")
    (('118 V', '0.3'), ('OL',), ('',))
    """
    return tuple(one.strip() for one in typed.strip().rstrip("; ").split(BETWEEN))


def yes(typed: str) -> bool:
    """Whether yes or no was typed. Raises NotUnderstood.

    >>> yes("Y"), yes("no")
    (True, False)
    >>> yes("perhaps")
    Traceback (most recent call last):
        ...
    halfsplit.errors.NotUnderstood: 'perhaps' is neither yes nor no. Type yes or no; y or n will do.
    """
    word = typed.strip().lower()
    if word not in finding_fields.YES | finding_fields.NO:
        raise NotUnderstood(typed, f"{quoted(typed)} is neither yes nor no.", "Type yes or no; y or n will do.")
    return word in finding_fields.YES


def numbers(typed: str, most: int, least: int = 1) -> tuple[int, ...]:
    """The numbers that were typed, each once; blanks, commas or "and" part them. Raises NotUnderstood.

    >>> numbers("4, 2 and 4", 5), numbers("", 5)
    ((4, 2), ())
    >>> numbers("6 x", 5)
    Traceback (most recent call last):
        ...
    halfsplit.errors.NotUnderstood: '6' and 'x' are no numbers from 1 to 5. Type those that you mean, as in: 2 4.
    """
    words = [word for word in typed.lower().replace(",", " ").replace(BETWEEN, " ").split() if word != "and"]
    wrong = [word for word in words if not word.isdecimal() or len(word) > 4 or not least <= int(word) <= most]
    if wrong:
        are = "is no number" if len(wrong) == 1 else "are no numbers"
        message = f"{' and '.join(map(quoted, wrong))} {are} from {least} to {most}."
        raise NotUnderstood(typed, message, "Type those that you mean, as in: 2 4.")
    return tuple(dict.fromkeys(map(int, words)))


def seen(known: Sequence[str], at: str, typed: str) -> str:
    """The word for what was seen: one that may be seen there, or another that is no slip in one and no answer of
    another kind. Raises NotUnderstood with all that may be seen there."""
    word = marks.word(typed, known)
    remedy = marks.meant(word, known)
    if remedy or not _is_a_word(word):
        message = f"{quoted(typed)} is not among what may be seen at {at}."
        raise NotUnderstood(typed, message, f"Type {listed(known)}. {remedy}".rstrip())
    return word


def _is_a_word(typed: str) -> bool:
    """Whether it may be a word for what was seen: no yes, no no, no number, and not what a meter shows over range."""
    told = typed.lower() in finding_fields.YES | finding_fields.NO | {"ol"}
    return not told and any(map(str.isalpha, typed)) and not any(map(str.isdigit, typed))


def reading(step: Step, typed: str) -> f.Reading:
    """A reading as the meter showed it. Raises NotUnderstood, Ambiguous where it may mean two things."""
    assert step.probe is not None
    assert step.condition is not None
    meter = step.probe.meter
    try:
        return f.Reading(step.probe, step.condition, *displayed.measured(typed, meter))
    except Ambiguous:
        raise
    except NotUnderstood as refusal:
        why = wording.lowered(refusal.message)
        message = f"{quoted(typed)} is not understood as what a meter shows at {meter}: {why}"
        raise NotUnderstood(typed, message, f"Type it as in {EXAMPLES[meter]} (OL: over range).") from None


def listed(words: Sequence[str]) -> str:
    """Words in a row, the last after "or".

    >>> listed(("fine", "burnt", "something else"))
    'fine, burnt or something else'
    """
    return f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else "".join(words)


def quoted(typed: str) -> str:
    """What was typed, so that it can be seen where it begins and ends; not all of what is very long."""
    return repr(typed if len(typed) <= LONGEST else f"{typed[:LONGEST]}...")
