"""``shopdesk stores``: its lists, and ``trace``."""

import dataclasses
import json
from typing import TYPE_CHECKING, Any

import click

from shopdesk.cli.stores.printing import listed, listing, opened, show

if TYPE_CHECKING:
    from shopdesk.views.trace import Trace


_MOST = "How many rows."


def _kind(_: click.Context, __: click.Parameter, kind: str) -> str:
    """A kind of the ledger's, looked up when it is asked for: naming them loads the rules."""
    from shopdesk.rules import ledger

    known = (*ledger.SHELF, *ledger.BESIDE)
    if kind and kind not in known:
        raise click.BadParameter(f"{kind!r} is not one of {', '.join(known)}.")
    return kind


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
    "--days", type=click.IntRange(0, 3650), help="How far ahead; without it what the shop says."
)
@listing
def shelf_life(days: int | None, database: str | None, shape: str | None) -> None:
    """Lots whose use-by day is over or comes soon, and open jobs' kits by their earliest lot."""
    from shopdesk.desk.shop import utc_now
    from shopdesk.views import expiring

    today = utc_now().astimezone().date()
    none = "no lot runs out in that time"
    listed(database, shape, lambda db: expiring.expiring(db, today, days), none=none)


@click.command()
@click.option("--part", default="", help="Of this part only.")
@click.option("--job", help="Of this job only: J-1047.")
@click.option("--kind", callback=_kind, default="", help="Of this kind only: issue, transfer …")
@click.option("--most", type=click.IntRange(1), default=200, show_default=True, help=_MOST)
@listing
def moves(
    part: str,
    job: str | None,
    kind: str,
    most: int,
    database: str | None,
    shape: str | None,
) -> None:
    """The newest moves of the stock ledger."""
    from shopdesk.cli.papers import number_of
    from shopdesk.views import ledger

    of = None if job is None else number_of(job)
    listed(
        database,
        shape,
        lambda db: ledger.moves(db, part=part, kind=kind, job=of, most=most),
        none="nothing moved",
    )


@click.command()
@click.option("--part", default="", help="Of this part only.")
@click.option("--most", type=click.IntRange(1), default=200, show_default=True, help=_MOST)
@listing
def counts(part: str, most: int, database: str | None, shape: str | None) -> None:
    """The newest steps of counts: what was counted, what the ledger said, what came of it."""
    from shopdesk.views import counting

    listed(
        database,
        shape,
        lambda db: counting.counts(db, part=part, most=most),
        none="nothing has been counted",
    )


@click.command("to-count")
@listing
def to_count(database: str | None, shape: str | None) -> None:
    """What is to be counted today: recounts and approvals first, then what is over its day."""
    from shopdesk.desk.shop import utc_now
    from shopdesk.views import counting

    none = "nothing is to be counted today"
    listed(database, shape, lambda db: counting.due(db, utc_now()).lots, none=none)


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
    if shape is None:
        for said in found.moved:
            click.echo(f"moved {said}")


COMMANDS: tuple[Any, ...] = (
    parts,
    lots,
    order_list,
    missing,
    shelf_life,
    moves,
    counts,
    to_count,
    trace,
)
