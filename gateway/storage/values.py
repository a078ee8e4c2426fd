"""Aware datetimes and JSON ↔ what stands in a column."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY_US, _SECOND_US = 86_400_000_000, 1_000_000
_encode = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def micros(at: datetime) -> int:
    """UTC microseconds since 1970."""
    since = at - _EPOCH
    return since.days * _DAY_US + since.seconds * _SECOND_US + since.microseconds


def micros_or_none(at: datetime | None) -> int | None:
    """The same; None stays None."""
    return None if at is None else micros(at)


def moment(value: int) -> datetime:
    """The reverse of `micros`."""
    return _EPOCH + timedelta(microseconds=value)


def moment_or_none(value: int | None) -> datetime | None:
    """The same; None stays None."""
    return None if value is None else moment(value)


def to_json(value: Any) -> str:
    """Compact JSON."""
    return _encode(value)


def from_json(text: str) -> Any:
    """The reverse of `to_json`."""
    return json.loads(text)
