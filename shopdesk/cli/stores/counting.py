"""``shopdesk stores count`` and ``approve-count``."""

from typing import Any

import click

from shopdesk.cli.signing import CLERK, signed, typed_sign
from shopdesk.cli.stores.printing import database_option, opened

_SIGN = "Initials and PIN; asked for where they are needed."


@click.command()
@click.argument("part")
@click.argument("lot")
@click.argument("pieces", type=int)
@click.option("--reason", default="", help="Where it differs from the ledger: what happened.")
@click.option("--at", "time", default="", help="When it was counted, today: 10:05.")
@click.option("--sign", help=_SIGN)
@database_option
def count(
    part: str,
    lot: str,
    pieces: int,
    reason: str,
    time: str,
    sign: str | None,
    database: str | None,
) -> None:
    """Record that PIECES of LOT of PART were counted; beyond the shop's tolerance somebody else
    counts again, and a manager approves."""
    from shopdesk.desk import counting

    with opened(database) as shop:
        who = signed(shop, sign, CLERK)
        at = counting.moment_of(time, shop.clock())
        done = counting.count(shop, who, part, lot, pieces, reason, at=at)
    click.echo(f"lot {lot.strip().upper()}: {counting.told(done, pieces)}")


@click.command("approve-count")
@click.argument("part")
@click.argument("lot")
@click.option("--reason", required=True, help="Why the ledger is wrong, or is to be looked at.")
@click.option("--anew", is_flag=True, help="Have it counted anew instead.")
@click.option("--sign", help="A manager's initials and PIN; asked for where they are needed.")
@database_option
def approve_count(
    part: str, lot: str, reason: str, anew: bool, sign: str | None, database: str | None
) -> None:
    """Take what the recount of LOT of PART found, though it is beyond the shop's tolerance."""
    from shopdesk.desk import counting

    with opened(database) as shop:
        typed = typed_sign(sign, CLERK)
        difference = counting.approve(shop, typed, part, lot, reason, yes=not anew)
    said = "to be counted anew" if anew else f"approved, {difference:+d}"
    click.echo(f"lot {lot.strip().upper()}: {said}")


COMMANDS: tuple[Any, ...] = (count, approve_count)
