"""``shopdesk stores``: the lists, traces, files and money of the stores."""

import click

from shopdesk.cli.stores import counting, lists, money, trade

__all__ = ["stores"]


@click.group()
def stores() -> None:
    """What the stores hold, owe and have to order; files in and out."""


for command in (*lists.COMMANDS, *counting.COMMANDS, *money.COMMANDS, *trade.COMMANDS):
    stores.add_command(command)
