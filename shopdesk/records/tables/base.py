"""What every table shares: names for constraints, UTC times, JSON as canonical text."""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime, Dialect, MetaData, String, Text, TypeDecorator
from sqlalchemy.exc import DontWrapMixin
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.sql.operators import OperatorType
from sqlalchemy.types import TypeEngine

from shopdesk.errors import BadInput, RecordFault

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    metadata = MetaData(naming_convention=NAMING)


class TooLong(BadInput, DontWrapMixin):
    """Text that its column has no room for."""


class Words(TypeDecorator[str]):
    """Text of at most so many characters: more is refused on both databases alike, though SQLite
    by itself would take it. What is only looked for may be as long as it likes."""

    impl = String
    cache_ok = True

    def __init__(self, most: int) -> None:
        super().__init__(most)
        self.most = most

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        if value is not None and len(value) > self.most:
            raise TooLong(
                f"read {len(value)} characters, {value[:20]!r} and so on; there is room for "
                f"{self.most}, so nothing was recorded: say it shorter"
            )
        return value

    def coerce_compared_value(self, op: OperatorType | None, value: Any) -> TypeEngine[Any]:
        return String()


class UtcTime(TypeDecorator[datetime]):
    """An aware time, stored as UTC on both databases; a naive one is refused."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without its zone cannot be recorded")
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def result_processor(
        self, dialect: Dialect, coltype: object
    ) -> Callable[[Any], datetime | None]:
        """Straight from the driver's value: a list of jobs has hundreds of times to read."""
        return _from_sqlite if dialect.name == "sqlite" else _from_postgresql


def _from_sqlite(value: str | None) -> datetime | None:
    try:
        return None if value is None else datetime.fromisoformat(value + "+00:00")
    except (TypeError, ValueError) as error:
        raise RecordFault(
            f"A time in the record reads {value!r}: it was changed by hand. Keep the file as it is "
            "and go back to the last backup."
        ) from error


def _from_postgresql(value: datetime | None) -> datetime | None:
    return None if value is None else value.astimezone(UTC)


class JsonText(TypeDecorator[Any]):
    """JSON kept as canonical text, so that the same value has the same bytes to hash."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        return None if value is None else canonical(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        return None if value is None else json.loads(value)


_ENCODER = json.JSONEncoder(
    sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
)


def canonical(value: Any) -> str:
    """JSON with sorted keys, no spaces, no NaN."""
    return _ENCODER.encode(value)
