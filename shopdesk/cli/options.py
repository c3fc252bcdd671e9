"""Kinds of value the commands take."""

from datetime import date

import click

NAMED = "DATABASE is a file, sqlite:///path or postgresql://user@host/name."


def url_of(database: str | None) -> str:
    """The record a command means, as ``settings.database_url`` finds it."""
    from shopdesk import settings

    return settings.database_url(database)


def counted(number: int, thing: str) -> str:
    """ "1 event", "2 events" """
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def day(context: click.Context, param: click.Parameter, value: str | None) -> date | None:
    """Callback of an option: a day in ISO form."""
    if value is None:
        return None
    try:
        return date.fromisoformat(value.strip())
    except ValueError:
        said = f"{value[:40]!r} is not a date; write it as 2026-03-14"
        raise click.BadParameter(said, context, param) from None
