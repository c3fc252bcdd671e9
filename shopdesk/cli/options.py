"""Kinds of value the commands take."""

from datetime import date

import click


def day(context: click.Context, param: click.Parameter, value: str | None) -> date | None:
    """Callback of an option: a day in ISO form."""
    if value is None:
        return None
    try:
        return date.fromisoformat(value.strip())
    except ValueError:
        said = f"{value[:40]!r} is not a date; write it as 2026-03-14"
        raise click.BadParameter(said, context, param) from None
