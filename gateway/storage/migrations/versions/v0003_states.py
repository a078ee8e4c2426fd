"""Durable state as typed values with a version, instead of JSON under string keys.

Every key that a program ever wrote becomes a row of `states`. One that none of them knows, or whose value cannot be read, is kept as it
is under the kind `mark`: nothing asks for it, and nothing is lost.
"""

import json
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

TROUBLES = (
    *("modem-lost", "sim-trouble", "signal-lost", "signal-weak", "clock-untrusted", "disk-low", "backup-failed"),
    *("outbox-waits", "credit-low", "credit-unread"),
)
Fields = Callable[[Any], dict[str, Any]]


def _field(name: str) -> Fields:
    """The whole value is that one field."""
    return lambda value: {name: value}


def _fields(*required: str, **optional: Any) -> Fields:
    """The same fields; what an older program did not write yet is what it stood for then."""

    def of(value: Any) -> dict[str, Any]:
        return {name: value[name] for name in required} | {name: value.get(name, was) for name, was in optional.items()}

    return of


def _silence(value: Any) -> dict[str, Any]:
    return {"since": value["since"], "flagged_at": value.get("flagged", value["since"])}


def _outage(value: Any) -> dict[str, Any]:
    return {"since": value["from"], **{name: value[name] for name in ("off_s", "cleanly", "surely")}}


def _early(value: Any) -> dict[str, Any]:
    names = ("reference", "number", "outcome", "status")
    return {"reports": [dict(zip(names, report, strict=True)) for report in value]}


def _published(value: Any) -> dict[str, Any]:
    return {"configuration": json.dumps(value, ensure_ascii=False)}


def _sent_by(value: Any) -> dict[str, Any]:
    """The end of that local day wherever it ends last, for the zone is not known here: not sent twice that day, and due the next week."""
    ended = datetime.combine(date.fromisoformat(value) + timedelta(days=1), time(12), tzinfo=UTC)
    return {"at": ended.isoformat()}


RUNS: dict[str, tuple[str, Fields]] = {
    "credit:next": ("credit", _fields("at")),  # by now the value of `credit:last`, see `_as_runs`
    "weekly:sent": ("weekly", _sent_by),
}
"""The job of the calendar whose last run a key tells."""
BY_KEY: dict[str, tuple[str, Fields]] = {
    "watch:since": ("watched-together", _field("since")),
    "gateway:weak-since": ("weak-signal", _field("since")),
    "gateway:condition": (
        "modem-condition",
        _fields("at", signal_percent=None, registered=None, operator=None, sim="unknown"),
    ),
    "gateway:modem": ("modem-identity", _fields("model", memories=[], announces=True, notes=[])),
    "gateway:outage": ("outage", _outage),
    "gateway:odd-told": ("mistake-told", _field("at")),
    "house": ("published-site", _published),
    "credit:failed": ("credit-failures", _field("times")),
    "credit:last": ("credit-answer", _fields("at", said=None, amount=None, why="")),
    "reports:early": ("early-reports", _early),
    "limit:told": ("day-limit-told", _field("day")),
    "pin-tried": ("pin-tried", _field("fingerprint")),
    "concatenation-reference": ("concatenation-reference", _field("number")),
}
BY_BEGINNING: dict[str, tuple[str, Fields]] = {
    "silent:": ("silence", _silence),
    "asked:": ("asked", _field("at")),
    "watched:": ("watched", _field("since")),
    "power:": ("power-lost", _fields("since")),
    "battery:": (
        "battery-episode",
        _fields(low_since=None, last_volts=None, last_at=None, back_at=None, well_since=None, relapsed=False),
    ),
    "float:": (
        "float-memory",
        _fields("state", since=None, pending=None, pending_at=None, pending_due=None, pending_text=None),
    ),
    "chatter:float:": ("float-chatter", _fields("changes", restless=False)),
    "supply-weaker:": ("supply-weaker", _field("told_at")),
    "talk:": ("recent-texts", _field("heard")),
    "not-understood:": ("not-understood", _field("answered_at")),
}


def upgrade() -> None:
    """One transaction."""
    states = op.create_table(
        "states",
        sa.Column("site", sa.Text(), primary_key=True),
        sa.Column("kind", sa.Text(), primary_key=True),
        sa.Column("subject", sa.Text(), primary_key=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
    )
    rows = op.get_bind().execute(sa.text('SELECT site, "key", value FROM marks')).all()
    if rows:
        op.bulk_insert(states, [{"site": site, **_state_of(key, value)} for site, key, value in _as_runs(rows)])
    op.drop_table("marks")
    op.drop_index("segments_text", "segments")
    op.create_index("segments_text", "segments", ["site", "text"])


def _as_runs(rows: Sequence[Any]) -> list[tuple[str, str, str]]:
    """When the credit is asked next follows from when its last answer came. Without one it is asked at the next start."""
    answers = {site: value for site, key, value in rows if key == "credit:last"}
    return [(site, key, answers.get(site, value) if key == "credit:next" else value) for site, key, value in rows]


def _state_of(key: str, value: str) -> dict[str, Any]:
    known = _known(key)
    if known is not None:
        kind, subject, fields = known
        try:
            made = json.dumps(fields(json.loads(value)), ensure_ascii=False, separators=(",", ":"))
            return {"kind": kind, "subject": subject, "version": 1, "value": made}
        except (KeyError, TypeError, ValueError, AttributeError):
            pass  # kept as it is, below
    return {"kind": "mark", "subject": key, "version": 0, "value": value}


def _known(key: str) -> tuple[str, str, Fields] | None:
    """The kind, subject and fields that a key stands for."""
    if key in RUNS:
        subject, fields = RUNS[key]
        return "calendar-run", subject, fields
    if key in BY_KEY:
        kind, fields = BY_KEY[key]
        return kind, "", fields
    if key.startswith("gateway:") and key.removeprefix("gateway:") in TROUBLES:
        return "trouble", key.removeprefix("gateway:"), _field("since")
    for beginning, (kind, fields) in BY_BEGINNING.items():
        if key.startswith(beginning):
            return kind, key.removeprefix(beginning), fields
    return None
