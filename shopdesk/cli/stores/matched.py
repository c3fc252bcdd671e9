"""``shopdesk stores match`` and ``take-apart``."""

import click

from shopdesk.cli.signing import CLERK, signed
from shopdesk.cli.stores.printing import database_option, opened


@click.command()
@click.argument("number")
@click.argument("mates")
@click.option("--reason", required=True, help="Who lapped them to one another, or how it is known.")
@click.option("--sign", help="Initials and PIN; asked for where they are needed.")
@database_option
def match(number: str, mates: str, reason: str, sign: str | None, database: str | None) -> None:
    """Make pieces of several lots the matched set NUMBER: they stay together from now on.

    MATES says part and lot of each, with the pieces where they are more than one:
    "PLUNGER-40 lot L-2; BORE-40 lot L-3".
    """
    from shopdesk.desk import mating
    from shopdesk.rules.matched import picks

    chosen = picks(mates)
    with opened(database) as shop:
        made = mating.make_up(shop, signed(shop, sign, CLERK), number, chosen, reason)
    click.echo(f"matched set {number.strip().upper()}: {'; '.join(made)}")


@click.command("take-apart")
@click.argument("number")
@click.option("--reason", required=True, help="Why they are no set, or who says so.")
@click.option("--sign", help="Initials and PIN; asked for where they are needed.")
@database_option
def take_apart(number: str, reason: str, sign: str | None, database: str | None) -> None:
    """Take the matched set NUMBER apart: its pieces go each for itself, or into a new set."""
    from shopdesk.desk import mating

    with opened(database) as shop:
        mating.take_apart(shop, signed(shop, sign, CLERK), number, reason)
    click.echo(f"matched set {number.strip().upper()} is taken apart")


COMMANDS = (match, take_apart)
