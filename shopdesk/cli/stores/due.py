"""``shopdesk stores put-off`` and ``call-off``."""

from datetime import date
from typing import Any

import click

from shopdesk.cli.options import day
from shopdesk.cli.signing import CLERK, signed
from shopdesk.cli.stores.printing import database_option, opened


@click.command("put-off")
@click.argument("number", type=int)
@click.argument("due", metavar="DAY", callback=day)
@click.option("--reason", required=True, help="Who said so, and why.")
@click.option("--sign", help="Initials and PIN; asked for where they are needed.")
@database_option
def put_off(number: int, due: date, reason: str, sign: str | None, database: str | None) -> None:
    """Note another DAY (2027-03-14) that the supplier names for purchase NUMBER: what waits for it
    is forecast from it."""
    from shopdesk.desk import purchases

    with opened(database) as shop:
        was = purchases.put_off(shop, signed(shop, sign, CLERK), number, due, reason)
    click.echo(f"purchase {number} is due {due.isoformat()} now, not {was.isoformat()}")


@click.command("call-off")
@click.argument("number", type=int)
@click.argument("part")
@click.option("--reason", required=True, help="Why they will not come.")
@click.option("--sign", help="Initials and PIN; asked for where they are needed.")
@database_option
def call_off(number: int, part: str, reason: str, sign: str | None, database: str | None) -> None:
    """Note that what is still due of PART by purchase NUMBER will not come."""
    from shopdesk.desk import purchases

    with opened(database) as shop:
        off = purchases.call_off(shop, signed(shop, sign, CLERK), number, part, reason)
    click.echo(f"{off} of {part.strip().upper()} of purchase {number} called off")


COMMANDS: tuple[Any, ...] = (put_off, call_off)
