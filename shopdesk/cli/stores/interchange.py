"""``shopdesk stores interchange``, ``propose-interchange``, ``approve-interchange``,
``withdraw-interchange`` and ``hold``."""

from typing import Any

import click

from shopdesk.cli.signing import CLERK, MANAGER, signed, typed_sign
from shopdesk.cli.stores.printing import database_option, listed, listing, opened

_SIGN = "Initials and PIN; asked for where they are needed."
_MANAGER = "A manager's initials and PIN; asked for where they are needed."


@click.command()
@click.argument("part", default="")
@click.option("--all", "gone", is_flag=True, help="Those turned down or withdrawn too.")
@listing
def interchange(part: str, gone: bool, database: str | None, shape: str | None) -> None:
    """What may stand in for PART and for what it may, or all there is; one way each."""
    from shopdesk.views import interchange as views

    none = "nothing may stand in" + (f" for {part.upper()}, nor it for another" if part else "")
    listed(database, shape, lambda db: views.listed(db, part, gone=gone), none=none)


@click.command("propose-interchange")
@click.argument("part")
@click.argument("stand_in", metavar="STAND-IN")
@click.option("--reason", required=True, help="Why it may stand in.")
@click.option(
    "--only-in",
    default="",
    help='Where alone: models, each with a kit line where it is for that, "PA-016, DA-007 screw".',
)
@click.option("--sign", help=_SIGN)
@database_option
def propose(
    part: str, stand_in: str, reason: str, only_in: str, sign: str | None, database: str | None
) -> None:
    """Propose that STAND-IN may stand in for PART, not the other way round; a manager approves."""
    from shopdesk.desk import interchange as desk
    from shopdesk.rules.interchange import differs
    from shopdesk.views import interchange as views

    with opened(database) as shop:
        who = signed(shop, sign, CLERK)
        made = desk.propose(shop, who, part, stand_in, reason, only_in=only_in)
        with shop.read() as db:
            other = differs(views.spec(db, made.part), views.spec(db, made.stand_in))
    click.echo(
        f"{made.named}: {made.stand_in} in place of {made.part}, {made.where}; waits for a manager"
    )
    for said in other:
        click.echo(f"  {said}")


@click.command("approve-interchange")
@click.argument("number", type=int)
@click.option("--reason", default="", help="What it was judged by; why, where it is turned down.")
@click.option("--turn-down", is_flag=True, help="Turn it down instead.")
@click.option("--sign", help=_MANAGER)
@database_option
def approve(
    number: int, reason: str, turn_down: bool, sign: str | None, database: str | None
) -> None:
    """Approve interchange NUMBER, or turn it down."""
    from shopdesk.desk import interchange as desk

    with opened(database) as shop:
        typed = typed_sign(sign, MANAGER)
        answer = desk.turn_down if turn_down else desk.approve
        click.echo(answer(shop, typed, number, reason))


@click.command("withdraw-interchange")
@click.argument("number", type=int)
@click.option("--reason", required=True, help="Why it may stand in no more.")
@click.option("--sign", help=_MANAGER)
@database_option
def withdraw(number: int, reason: str, sign: str | None, database: str | None) -> None:
    """Withdraw interchange NUMBER: what is held by it goes back, what was issued is named."""
    from shopdesk.desk import interchange as desk

    with opened(database) as shop:
        click.echo(desk.withdraw(shop, typed_sign(sign, MANAGER), number, reason))


@click.command()
@click.argument("job")
@click.argument("part")
@click.argument("stand_in", metavar="STAND-IN")
@click.option("--sign", help=_SIGN)
@database_option
def hold(job: str, part: str, stand_in: str, sign: str | None, database: str | None) -> None:
    """Hold for JOB (J-1047) in pieces of STAND-IN what it is short of PART."""
    from shopdesk.cli.papers import number_of
    from shopdesk.desk import interchange as desk

    number = number_of(job)
    with opened(database) as shop:
        click.echo(desk.hold(shop, signed(shop, sign, CLERK), number, part, stand_in))


COMMANDS: tuple[Any, ...] = (interchange, propose, approve, withdraw, hold)
