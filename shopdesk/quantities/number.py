"""The number at the head of a quantity, in the ways people write one."""

import re

from shopdesk.errors import BadQuantity

from .clean import quoted

_SIGN = re.compile(r"(?P<sign>[+-]|minus\b|plus\b)\s*", re.IGNORECASE)
_FRACTION = re.compile(
    r"(?:(?P<whole>[0-9]+)(?:-|\s+(?:and\s+)?))?(?P<above>[0-9]+)\s*/\s*(?P<below>[0-9]+)(?![0-9.,/])"
)
_DECIMAL = re.compile(r"(?P<digits>[0-9][0-9.,]*|[.,][0-9][0-9.,]*)(?P<power>[eE][+-]?[0-9]+)?")
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = (
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
)
_SMALL = _DIGITS + _TEENS
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_WORD = re.compile(
    rf"(?:(?P<tens>{'|'.join(_TENS)})(?:[\s-]+(?P<ones>{'|'.join(_DIGITS[1:])}))?"
    rf"|(?P<small>{'|'.join(_SMALL)}))\b",
    re.IGNORECASE,
)
_GROUPS = r"[1-9][0-9]{{0,2}}(?:{0}[0-9]{{3}})+"


def take_number(text: str) -> tuple[float, str] | None:
    """The number ``text`` begins with, and what follows it; None where it begins with none.

    Read are ``.312``, ``0,312``, ``5/16``, ``3 5/16``, ``2-3/8``, ``1e-5``, ``twenty-five``, each
    with a sign. Raises BadQuantity for a number that can be taken two ways or makes no sense.
    """
    sign = _SIGN.match(text)
    body = text[sign.end() :] if sign else text
    negative = sign is not None and sign["sign"].lower() in ("-", "minus")
    for reader in (_fraction, _decimal, _word):
        read = reader(body)
        if read is not None:
            value, rest = read
            return (-value if negative else value), rest.strip()
    return None


def _fraction(text: str) -> tuple[float, str] | None:
    match = _FRACTION.match(text)
    if match is None:
        return None
    above, below = int(match["above"]), int(match["below"])
    if below == 0:
        raise BadQuantity(f"{quoted(match.group())} divides by zero; write the fraction again.")
    whole = int(match["whole"] or 0)
    if match["whole"] and above >= below:
        raise BadQuantity(
            f"{quoted(match.group())} is no mixed fraction: the part after the whole number must "
            "be less than one."
        )
    return whole + above / below, text[match.end() :]


def _decimal(text: str) -> tuple[float, str] | None:
    match = _DECIMAL.match(text)
    if match is None:
        return None
    written = _point(match["digits"])
    return float(written + (match["power"] or "")), text[match.end() :]


def _point(digits: str) -> str:
    """``digits`` with a decimal point and no grouping."""
    if re.fullmatch(r"[0-9]*\.?[0-9]*", digits):
        return digits
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", digits):
        head, tail = digits.split(",")
        raise BadQuantity(
            f"{quoted(digits)} can be taken two ways: write {head}{tail} or {head}.{tail}."
        )
    if re.fullmatch(r"[0-9]*,[0-9]+", digits):
        return digits.replace(",", ".")
    if re.fullmatch(_GROUPS.format(",") + r"(?:\.[0-9]*)?", digits):
        return digits.replace(",", "")
    if re.fullmatch(_GROUPS.format(r"\.") + r",[0-9]+", digits):
        return digits.replace(".", "").replace(",", ".")
    raise BadQuantity(
        f"{quoted(digits)} is not one number; write it with one decimal point, like 1500.5."
    )


def _word(text: str) -> tuple[float, str] | None:
    match = _WORD.match(text)
    if match is None:
        return None
    if match["small"]:
        value = _SMALL.index(match["small"].lower())
    else:
        ones = _SMALL.index(match["ones"].lower()) if match["ones"] else 0
        value = 10 * (_TENS.index(match["tens"].lower()) + 2) + ones
    return float(value), text[match.end() :]
