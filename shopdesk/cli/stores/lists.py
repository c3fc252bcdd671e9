"""``shopdesk stores``: its lists, and ``trace``."""

import dataclasses
import json
from typing import TYPE_CHECKING, Any

import click

from shopdesk.cli.stores.printing import listed, listing, opened, show

if TYPE_CHECKING:
    from shopdesk.views.trace import Trace


_MOST = "How many rows."


@click.command()
@click.argument("text", default="")
@listing
def parts(text: str, database: str | None, shape: str | None) -> None:
    """Parts whose number, description, size or bin contains TEXT."""
    from shopdesk.desk.shop import utc_now
    from shopdesk.views import stores

    most, today = 1_000_000, utc_now().astimezone().date()
    listed(database, shape, lambda db: stores.parts(db, today, text, most), none="no such part")


@click.command()
@click.argument("part", default="")
@listing
def lots(part: str, database: str | None, shape: str | None) -> None:
    """Lots with pieces left, of PART or of all; the one that goes first on top."""
    from shopdesk.views import ledger

    listed(database, shape, lambda db: ledger.lots(db, part), none="no lot on the shelf")


@click.command("order-list")
@listing
def order_list(database: str | None, shape: str | None) -> None:
    """What has to be ordered today, by supplier, and why."""
    from shopdesk.desk.shop import utc_now
    from shopdesk.views import ordering

    today = utc_now().astimezone().date()
    none = "nothing has to be ordered"
    listed(database, shape, lambda db: ordering.to_order(db, today), none=none)


@click.command()
@listing
def missing(database: str | None, shape: str | None) -> None:
    """What open jobs will not find on the day they are promised for, and when the next comes."""
    from shopdesk.desk.shop import utc_now
    from shopdesk.views import ordering

    today = utc_now().astimezone().date()
    none = "no open job will miss a part"
    listed(database, shape, lambda db: ordering.will_be_missing(db, today), none=none)


@click.command("shelf-life")
@click.option(
    "--days", type=click.IntRange(0, 3650), default=90, show_default=True, help="How far ahead."
)
@listing
def shelf_life(days: int, database: str | None, shape: str | None) -> None:
    """Lots whose time is over, or will be within --days."""
    from shopdesk.desk.shop import utc_now
    from shopdesk.views import ledger

    today = utc_now().astimezone().date()
    none = f"no lot runs out within {days} days"
    listed(database, shape, lambda db: ledger.expiring(db, today, days), none=none)


@click.command()
@click.option("--part", default="", help="Of this part only.")
@click.option("--job", help="Of this job only: J-1047.")
@click.option("--most", type=click.IntRange(1), default=200, show_default=True, help=_MOST)
@listing
def moves(part: str, job: str | None, most: int, database: str | None, shape: str | None) -> None:
    """The newest moves of the stock ledger."""
    from shopdesk.cli.papers import number_of
    from shopdesk.views import ledger

    of = None if job is None else number_of(job)
    listed(
        database,
        shape,
        lambda db: ledger.moves(db, part=part, job=of, most=most),
        none="nothing moved",
    )


@click.command()
@click.option("--part", default="", help="Of this part only.")
@click.option("--most", type=click.IntRange(1), default=200, show_default=True, help=_MOST)
@listing
def counts(part: str, most: int, database: str | None, shape: str | None) -> None:
    """The newest counts that differed from the ledger, with their reasons."""
    from shopdesk.views import ledger

    listed(
        database,
        shape,
        lambda db: ledger.moves(db, part=part, kind="count", most=most),
        none="no count has differed from the ledger",
    )


@click.command()
@click.argument("code")
@listing
def trace(code: str, database: str | None, shape: str | None) -> None:
    """Where CODE leads: a lot to its jobs and serials, a job (J-1047) to its lots, a part to the
    kits that ask for it and the jobs that have it."""
    from shopdesk.views import trace as traces

    with opened(database) as shop, shop.read() as db:
        found = traces.of(db, code)
    if shape == "json":
        click.echo(json.dumps(dataclasses.asdict(found), default=str, ensure_ascii=False))
    else:
        _print(found, shape)


def _print(found: "Trace", shape: str | None) -> None:
    if shape is None:
        click.echo(found.said)
    for rows in (found.places, found.fitted, found.uses):
        if rows:
            show(rows, shape, none="")


COMMANDS: tuple[Any, ...] = (
    parts,
    lots,
    order_list,
    missing,
    shelf_life,
    moves,
    counts,
    trace,
)
