"""What a column holds: times are UTC microseconds since 1970, JSON is compact text, a row's number has 64 bits on both engines."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import BigInteger, Dialect, Integer, Text
from sqlalchemy.types import TypeDecorator, TypeEngine

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY_US, _SECOND_US = 86_400_000_000, 1_000_000
_to_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def micros(at: datetime) -> int:
    """An aware time → UTC microseconds since 1970."""
    since = at - _EPOCH
    return since.days * _DAY_US + since.seconds * _SECOND_US + since.microseconds


def moment(value: int) -> datetime:
    """UTC microseconds since 1970 → an aware time."""
    return _EPOCH + timedelta(microseconds=value)


class UtcMicros(TypeDecorator[datetime]):
    """An aware time ↔ its UTC microseconds in a column."""

    impl = BigInteger
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return BIG.dialect_impl(dialect)

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        return None if value is None else micros(value)

    def process_result_value(self, value: int | None, dialect: Dialect) -> datetime | None:
        return None if value is None else moment(value)


class Json(TypeDecorator[Any]):
    """A JSON value ↔ its compact text in a column."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str:
        return _to_json(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        return None if value is None else json.loads(value)


BIG = BigInteger().with_variant(Integer(), "sqlite")
"""SQLite counts rows by themselves only where the column is an INTEGER, which has 64 bits there."""
