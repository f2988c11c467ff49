"""The kinds of field that the grammar is made of: names, texts, minutes, money, yes or no, lists.

Knows pydantic and the readers of amounts; knows no key of a machine file.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, WithJsonSchema
from pydantic_core import PydanticCustomError

from halfsplit.errors import WrongUse
from halfsplit.machine import amounts, cautions

__all__ = [
    "SCALAR", "Caution", "Cautions", "Count", "Minutes", "Money", "Name", "Names", "Section", "Setting", "Text",
    "YesNo", "read",
]  # fmt: skip

SCALAR: dict[str, Any] = {"type": ["string", "number", "boolean"]}
"""What an editor may take a bare word for: 1, yes and off are texts to us."""

_NAME = re.compile(r"[^\s.~*$#,\[\]{}:][^.~*$\n\[\]{}]{0,59}")


class Section(BaseModel):
    """A part of a machine file: its keys are those of its fields, with blanks for underscores."""

    model_config = ConfigDict(extra="forbid", frozen=True, alias_generator=lambda name: name.replace("_", " "))


def read(reader: Callable[[str], Any]) -> BeforeValidator:
    """A validator from a reader of texts; what the reader refuses keeps its sentence and remedy."""

    def validate(text: Any) -> Any:
        if not isinstance(text, str):
            raise PydanticCustomError("string_type", "a text")
        try:
            return reader(text)
        except WrongUse as error:
            raise unfit(error.message, error.remedy) from None

    return BeforeValidator(validate)


def unfit(message: str, remedy: str) -> PydanticCustomError:
    """What a validator raises: a sentence and what to do."""
    return PydanticCustomError("unfit", "{sentence}", {"sentence": message, "remedy": remedy})


def _said(text: str) -> str:
    if not text:
        raise unfit("Nothing is written here.", "Write something after the colon, or leave the key out.")
    if len(text) > 2000:
        raise unfit("This text is too long.", "At most 2000 characters are read.")
    return text


def _named(text: str) -> str:
    if not _NAME.fullmatch(text):
        sentence = f"'{text[:40]}' cannot be a name." if text else "A name is missing."
        raise unfit(sentence, "A name has 1 to 60 characters, and none of . ~ * $ [ ] { }.")
    return text


def _listed(found: Any) -> Any:
    return [found] if isinstance(found, str) else found


Text = Annotated[str, AfterValidator(_said), WithJsonSchema(SCALAR)]
"""A text that says something."""

Name = Annotated[str, AfterValidator(_named), WithJsonSchema(SCALAR)]
"""A name of a control, position, place, part, symptom, bay."""

Names = Annotated[
    tuple[Text, ...],
    BeforeValidator(_listed),
    WithJsonSchema({"anyOf": [SCALAR, {"type": "array", "items": SCALAR}]}),
]
"""One text, or a list of them."""

def _cautioned(text: str) -> cautions.Caution:
    return cautions.read(_said(text))


_CAUTION = cautions.as_schema(SCALAR)

Caution = Annotated[cautions.Caution, read(_cautioned), WithJsonSchema(_CAUTION)]
"""What to mind, with a signal word."""

Cautions = Annotated[
    tuple[Caution, ...],
    BeforeValidator(_listed),
    WithJsonSchema({"anyOf": [_CAUTION, {"type": "array", "items": _CAUTION}]}),
]
"""One caution, or a list of them."""

Minutes = Annotated[
    float, read(amounts.minutes), WithJsonSchema({"type": "string", "pattern": r"^[0-9.]+ ?(s|min|h)$"})
]
"""A time that work takes; minutes inside."""

Money = Annotated[
    tuple[float, str],
    read(amounts.money),
    WithJsonSchema({"type": "string", "pattern": r"^[0-9., ]+ ?[A-Z]{3}$"}),
]
"""A price with its currency."""

YesNo = Annotated[bool, read(amounts.truth), WithJsonSchema({"anyOf": [{"enum": ["yes", "no"]}, {"type": "boolean"}]})]
"""Yes or no."""


def _whole(text: str) -> int:
    found = amounts.number(text)
    if found != int(found) or not 1 <= found <= 9:
        raise unfit(f"'{text}' is no number of people.", "Write a whole number from 1 to 9.")
    return int(found)


Count = Annotated[int, read(_whole), WithJsonSchema({"type": ["integer", "string"]})]
"""A small whole number."""

Setting = dict[Name, Text]
"""Control: position."""
