"""Kinds of value the commands take."""

from datetime import date

import click


class Day(click.ParamType[date]):
    """A day in ISO form."""

    name = "date"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value).strip())
        except ValueError:
            self.fail(f"{str(value)[:40]!r} is not a date; write it as 2026-03-14", param, ctx)
