"""Numbers as people type them, to plain decimal text. Knows no units.

A number can be read in no way, in one or in two: ``readings`` returns all of them and leaves the asking to
others. Grouping and decimal signs are those of ISO 80000-1 (space groups, comma or dot decimals), with the
English comma groups beside them.
"""

from __future__ import annotations

import re
from decimal import Decimal

__all__ = ["last_digit", "readings", "split"]

_LEADING = re.compile(r"[-+]?\s*[0-9.,][0-9., ]*(?:[eE][-+]?[0-9]{1,3}(?![0-9]))?(?! ?/)")
_PLAIN = re.compile(r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+")
_COMMA_GROUPS = re.compile(r"[0-9]{1,3}(?:,[0-9]{3}){2,}|[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+")
_DOT_GROUPS = re.compile(r"[0-9]{1,3}(?:\.[0-9]{3}){2,}|[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+")
_SPACE_GROUPS = re.compile(r"[0-9]{1,3}(?: [0-9]{3})+(?:[.,][0-9]+)?")
_COMMA_EITHER = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_COMMA_DECIMAL = re.compile(r"[0-9]*,[0-9]+")
_LONE_ONE = re.compile(r"1 ?\.")


def split(text: str) -> tuple[str, str]:
    """The number that the text begins with ("" if none) and what follows it.

    >>> split("9.2 kohm")
    ('9.2', 'kohm')
    """
    match = _LEADING.match(text)
    if match is None:
        return "", text
    return match.group().strip(), text[match.end() :].strip()


def readings(number: str) -> tuple[str, ...]:
    """All that a typed number can mean, as plain decimal text; "OL" is one meaning of a lone "1." on a meter.

    >>> readings("23,4"), readings("1,200"), readings("1 200"), readings("5 2"), readings("1 .")
    (('23.4',), ('1200', '1.200'), ('1200',), (), ('1', 'OL'))
    """
    sign = "-" if number.startswith("-") else ""
    body, letter, power = number.lstrip("+- ").replace("E", "e").partition("e")
    return tuple(value if value == "OL" else sign + value + letter + power for value in _unsigned(body))


def _unsigned(body: str) -> tuple[str, ...]:
    if _LONE_ONE.fullmatch(body):
        return "1", "OL"
    if _PLAIN.fullmatch(body):
        return (body.rstrip("."),)
    if _COMMA_GROUPS.fullmatch(body):
        return (body.replace(",", ""),)
    if _DOT_GROUPS.fullmatch(body):
        return (body.replace(".", "").replace(",", "."),)
    if _SPACE_GROUPS.fullmatch(body):
        return (body.replace(" ", "").replace(",", "."),)
    if _COMMA_EITHER.fullmatch(body):
        return body.replace(",", ""), body.replace(",", ".")
    return (body.replace(",", "."),) if _COMMA_DECIMAL.fullmatch(body) else ()


def last_digit(plain: str) -> Decimal:
    """The worth of the last digit of a plain decimal text.

    >>> last_digit("9.20"), last_digit("1200")
    (Decimal('0.01'), Decimal('1'))
    """
    exponent = Decimal(plain).as_tuple().exponent
    return Decimal(1).scaleb(int(exponent))
