"""Which revision of a procedure comes after which."""

import re

from shopdesk.rules.refusals import Refusal

LONGEST = {"model": 40, "revision": 20, "name": 200}
_PIECE = re.compile(r"\d+|[A-Za-z]+")
_NAME = re.compile(r"[^\W_][\w.\-/]*")

Key = tuple[tuple[bool, int, str], ...]


def order(revision: str) -> Key:
    """Revisions in the order they come: letters as A, B … Z, AA, numbers by their size."""
    pieces = _PIECE.findall(revision)
    return tuple(
        (True, len(piece), piece.upper()) if piece.isalpha() else (False, int(piece), "")
        for piece in pieces
    )


def not_newer(model: str, revision: str, newest: str) -> Refusal | None:
    """Why ``revision`` cannot follow ``newest``; None where it does. A shop that numbers its
    revisions does not go on with letters, nor the other way."""
    new, old = order(revision), order(newest)
    if new and old and new[0][0] == old[0][0] and new > old:
        return None
    return Refusal(
        f"{model} rev {revision} is not newer than rev {newest}, the last one on record; give the "
        f"change the revision after it{_hint(newest)}"
    )


def _hint(newest: str) -> str:
    if newest.isascii() and newest.isdigit():
        return f", {int(newest) + 1}"
    if len(newest) == 1 and newest.isascii() and newest.isalpha() and newest not in "Zz":
        return f", {chr(ord(newest) + 1)}"
    return ""


def named_rightly(model: str, revision: str, name: str) -> Refusal | None:
    """Whether people can type and scan the names: one word for model and revision."""
    for what, said in (("model", model), ("revision", revision)):
        if not _NAME.fullmatch(said) or len(said) > LONGEST[what]:
            return Refusal(
                f"read the {what} {said[:50]!r}; expected one word of letters, digits, '-', '.' "
                f"or '/', at most {LONGEST[what]} signs"
            )
    if model != model.upper():
        return Refusal(f"read the model {model!r}; write it in capitals: {model.upper()}")
    if len(name) > LONGEST["name"]:
        return Refusal(f"read a name of {len(name)} signs, expected at most {LONGEST['name']}")
    return None
