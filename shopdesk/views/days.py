"""The shop's days as the record's moments."""

from datetime import date, datetime, time


def midnight(day: date) -> datetime:
    """When the day begins in the shop."""
    return datetime.combine(day, time()).astimezone()
