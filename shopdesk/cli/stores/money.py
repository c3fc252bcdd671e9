"""``shopdesk stores value``, ``in-work``, ``job-cost``, ``cores``, ``pool`` and ``yield``."""

import dataclasses
import json
from typing import TYPE_CHECKING, Any

import click

from shopdesk.cli.stores.printing import listed, listing, opened, show

if TYPE_CHECKING:
    from shopdesk.views.costs import JobMoney


@click.command()
@listing
def value(database: str | None, shape: str | None) -> None:
    """What the shop's money lies in today: stock, orders, open jobs, cores; negative is owed."""
    from shopdesk.views import costs

    today = _today()
    listed(database, shape, lambda db: costs.position(db, today), none="nothing")


@click.command("in-work")
@listing
def in_work(database: str | None, shape: str | None) -> None:
    """Every open job with what it has cost so far, the dearest first."""
    from shopdesk.views import costs

    listed(database, shape, costs.in_work, none="no job is open")


@click.command("job-cost")
@click.argument("job")
@listing
def job_cost(job: str, database: str | None, shape: str | None) -> None:
    """What JOB (J-1047) cost line by line, against its quote, and what made the difference."""
    from shopdesk.cli.papers import number_of
    from shopdesk.views import costs

    number = number_of(job)
    with opened(database) as shop, shop.read() as db:
        found = costs.job(db, number)
    if shape == "json":
        click.echo(json.dumps(dataclasses.asdict(found), default=str, ensure_ascii=False))
        return
    show(found.lines, shape, none="nothing has been spent on it")
    if shape is None:
        click.echo("\n".join(_summary(found)))


def _summary(found: "JobMoney") -> list[str]:
    from shopdesk.rules.shop import money

    said = [f"{found.job} {found.model} cost {money(found.cost_cents, found.currency)}"]
    if found.quoted_cents:
        said.append(
            f"quoted {money(found.quoted_cents, found.currency)} "
            f"({found.answer or 'not answered'}), handling {money(found.margin_cents)} in it; "
            f"{money(found.left_cents)} left"
        )
        said += [
            f"  {cause}: {money(abs(cents))} {'more' if cents > 0 else 'less'}"
            for cause, cents in found.causes
        ]
    return said


@click.command()
@click.option("--settled", is_flag=True, help="Those settled too.")
@listing
def cores(settled: bool, database: str | None, shape: str | None) -> None:
    """Cores owed for exchange units, those back and to be judged, credits due."""
    from shopdesk.views import cores as views

    today = _today()
    listed(
        database,
        shape,
        lambda db: views.deposits(db, today, settled=settled),
        none="no core is owed, either way",
    )


@click.command()
@listing
def pool(database: str | None, shape: str | None) -> None:
    """Units ready on the exchange shelf."""
    from shopdesk.views import cores as views

    listed(database, shape, views.pool, none="the exchange shelf is empty")


@click.command("yield")
@listing
def yield_(database: str | None, shape: str | None) -> None:
    """How many cores of each model became units again."""
    from shopdesk.views import cores as views

    listed(database, shape, views.yields, none="no job is closed yet")


def _today() -> Any:
    from shopdesk.desk.shop import utc_now

    return utc_now().astimezone().date()


COMMANDS: tuple[Any, ...] = (value, in_work, job_cost, cores, pool, yield_)
