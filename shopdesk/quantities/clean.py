"""Typed or pasted text made plain: one kind of digit, space, minus, quote and micro sign."""

import re
import unicodedata

from shopdesk.errors import BadQuantity

LONGEST = 80
"""Characters; no quantity people write comes near it."""

_SHOWN = 32
_SPACES = "\u00a0\u202f\u205f\u3000" + "".join(map(chr, range(0x2000, 0x200B)))
_THIN = "\u00a0\u2007\u2009\u202f"
_MINUS = "\u2010\u2011\u2012\u2013\u2212\ufe63\uff0d"
_PLAIN = {
    **{chr(code): chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)},
    **dict.fromkeys(_SPACES, " "),
    **dict.fromkeys(_MINUS, "-"),
    **dict.fromkeys("\u22c5\u2219\u2022\u30fb\u0387", "·"),
    **dict.fromkeys("\u2032\u2018\u2019\u00b4", "'"),
    **dict.fromkeys("\u2033\u201c\u201d\u201e", '"'),
    "\u03bc": "µ", "\u2206": "Δ", "\u03b4": "Δ", "\u00ba": "°", "\u02da": "°",
    "\u2044": "/", "\u2215": "/", "\u2103": "°C", "\u2109": "°F", "\u212a": "K",
}  # fmt: skip
_TABLE = str.maketrans(_PLAIN)
_GROUPED = re.compile(rf"(?<=[0-9])[{_THIN}](?=[0-9]{{3}}(?![0-9]|\s*[/⁄∕]))")
_STRANGE = re.compile(r"""[^A-Za-z0-9 .,/+\-'"°µ·Δ²³*()^]""")


def quoted(text: str) -> str:
    """``text`` in quotes, shortened and printable, for a sentence."""
    short = text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."
    printable = "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii")
        for sign in short
    )
    return f'"{printable}"'


def cleaned(text: str) -> str:
    """``text`` in the plain signs the readers know.

    Raises BadQuantity for text that is too long, holds control characters, or a sign that no
    quantity is written with (brackets of markup, letters of other scripts).
    """
    if len(text) > LONGEST:
        raise BadQuantity(
            f"{quoted(text)} is {len(text)} characters long; a quantity has at most {LONGEST}."
        )
    stripped = text.strip(" \t\r\n" + _SPACES)
    if any(unicodedata.category(sign) == "Cc" for sign in stripped):
        raise BadQuantity(
            f"{quoted(stripped)} holds a control character; type the number and its unit again."
        )
    plain = _fractions(_GROUPED.sub("", stripped)).translate(_TABLE).replace("''", '"')
    strange = _STRANGE.search(plain)
    if strange:
        raise BadQuantity(
            f"{quoted(stripped)} holds {quoted(strange.group())}, which no quantity is written "
            "with; type a number and its unit."
        )
    return re.sub(" {2,}", " ", plain).strip()


def _fractions(text: str) -> str:
    """``3½`` as ``3 1/2``: normalising alone would make it 31/2, and ``½5`` 1/25."""
    return "".join(
        f" {unicodedata.normalize('NFKC', sign)} "
        if unicodedata.decomposition(sign).startswith("<fraction>")
        else sign
        for sign in text
    )
