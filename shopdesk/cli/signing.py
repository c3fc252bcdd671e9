"""Who does it, at the command line: from an option, else asked for at the terminal."""

import sys
from typing import TYPE_CHECKING

import click

from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop

CLERK = ("who does it?", "SK 2690")
TAKES_IN = ("who takes it in?", "SK 2690")
MANAGER = ("who signs for it?", "OB 7314")
"""What is asked, and an example of the answer."""


def typed_sign(sign: str | None, asked: tuple[str, str]) -> str:
    """Initials and PIN as typed. Raises BadInput with the question where nobody can be asked."""
    question, example = asked
    if sign is None and not sys.stdin.isatty():
        raise BadInput(f'{question} --sign "{example}": initials and PIN')
    return sign or str(click.prompt("Initials and PIN", hide_input=True, err=True))


def signed(shop: "Shop", sign: str | None, asked: tuple[str, str]) -> str:
    """The initials of who signs."""
    from shopdesk.desk import signing

    return signing.sign_in(shop, typed_sign(sign, asked)).initials
