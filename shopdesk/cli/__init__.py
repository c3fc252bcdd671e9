"""The command line. Importing it loads click alone; each command loads what it needs."""

import click

from shopdesk.cli import (
    calc,
    claim,
    copies,
    database,
    house_rules,
    newshop,
    office,
    opening,
    papers,
    procedures,
    recall,
    sample,
    serving,
    stores,
)
from shopdesk.cli.shell import Shell

__all__ = ["main"]


@click.group(cls=Shell, invoke_without_command=True)
@click.version_option(package_name="shopdesk", message="shopdesk %(version)s")
@click.pass_context
def main(context: click.Context) -> None:
    """The record and the bench calculator of a shop that rebuilds gas-charged hydraulic units."""
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


main.add_command(opening.open_)
main.add_command(serving.serve)
main.add_command(sample.sample)
main.add_command(papers.paper)
main.add_command(newshop.new_shop)
main.add_command(database.new)
main.add_command(database.db)
main.add_command(database.verify)
main.add_command(copies.backup)
main.add_command(copies.restore)
main.add_command(copies.export)
main.add_command(copies.load)
main.add_command(procedures.procedure)
main.add_command(house_rules.rules)
main.add_command(stores.stores)
main.add_command(office.office)
main.add_command(recall.recall)
main.add_command(claim.claim)
main.add_command(calc.calc)
