"""``shopdesk stores``: the lists, traces, files and money of the stores."""

import click

from shopdesk.cli.stores import counting, due, interchange, lists, matched, money, trade

__all__ = ["stores"]


@click.group()
def stores() -> None:
    """What the stores hold, owe and have to order; files in and out."""


for part in (lists, counting, due, interchange, matched, money, trade):
    for command in part.COMMANDS:
        stores.add_command(command)
