"""A reason in one line, as the record keeps it."""

from shopdesk.errors import BadInput

LONGEST = 400


def maybe(typed: str) -> str:
    """A reason that need not be given, "" where it is not. Raises BadInput as ``said``."""
    return said(typed, "") if typed.strip() else ""


def said(typed: str, question: str) -> str:
    """The reason typed. Raises BadInput: with the question where nothing was typed, or for what
    does not fit one printable line."""
    text = " ".join(typed.split())
    if not text:
        raise BadInput(question)
    if len(text) > LONGEST or not text.isprintable():
        raise BadInput(
            f"read a reason of {len(text)} signs; expected at most {LONGEST} printable ones"
        )
    return text
