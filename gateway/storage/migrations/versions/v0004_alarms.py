"""One alarm for one matter, with a life of its own, instead of several in a call-out; and who was told of each by which message.

What stood in an open call-out goes on as it was: taken by whom, told to whom, at which turn. A closed one says nothing that its events do
not. A key that cannot be read is left out of the alarms and stays in its call-out's row.
"""

import json
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)
BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
SUBJECT_COLUMNS = {"tanks": "tank", "controllers": "controller"}
NEWEST_MESSAGE = sa.text(
    "SELECT max(id) FROM texts WHERE site = :site AND call_out = :call_out AND contact = :contact AND event = :event"
)


def upgrade() -> None:
    """One transaction."""
    alarms, told = _create_tables()
    connection = op.get_bind()
    rows = connection.execute(sa.text("SELECT id, site, data FROM call_outs WHERE closed_at IS NULL ORDER BY id")).all()
    for call_out, site, data in rows:
        try:
            made = list(_alarms_of(site, json.loads(data)))
        except (KeyError, TypeError, ValueError, AttributeError):
            continue
        for alarm, told_at in made:
            event = connection.execute(
                sa.text("SELECT at FROM events WHERE id = :id AND site = :site"), {"id": alarm["event"], "site": site}
            ).first()
            values = {
                **alarm,
                "since": event[0] if event else alarm["raised_at"],
                "event": alarm["event"] if event else None,
            }
            (id,) = connection.execute(sa.insert(alarms).values(**values)).inserted_primary_key or (None,)
            for contact, at in told_at.items():
                which = {"site": site, "call_out": call_out, "contact": contact, "event": alarm["event"]}
                text = connection.execute(NEWEST_MESSAGE, which).scalar()
                connection.execute(
                    sa.insert(told).values(site=site, alarm=id, contact=contact, text=text, at=at, why="first")
                )


def _create_tables() -> tuple[sa.Table, sa.Table]:
    alarms = op.create_table(
        "alarms",
        sa.Column("id", BIG, primary_key=True),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("tank", sa.Text()),
        sa.Column("controller", sa.Text()),
        sa.Column("priority", sa.Text(), nullable=False),
        sa.Column("at_stake", sa.Boolean(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("since", BIG, nullable=False),
        sa.Column("raised_at", BIG, nullable=False),
        sa.Column("over_at", BIG),
        sa.Column("event", BIG, sa.ForeignKey("events.id")),
        sa.Column("folded_in", BIG),
        sa.Column("round_at", BIG, nullable=False),
        sa.Column("turn", sa.Integer(), nullable=False),
        sa.Column("turn_at", BIG, nullable=False),
        sa.Column("judged", sa.Boolean(), nullable=False),
        sa.Column("reminders", sa.Integer(), nullable=False),
        sa.Column("reminded_at", BIG, nullable=False),
        sa.Column("asked_first", sa.Text()),
        sa.Column("taken_by", sa.Text()),
        sa.Column("taken_at", BIG),
        sa.Column("back_at", BIG),
        sa.Column("dry_early", BIG),
        sa.Column("warn_at", BIG),
    )
    op.create_index("alarms_standing", "alarms", ["site", "over_at"])
    told = op.create_table(
        "alarm_tellings",
        sa.Column("id", BIG, primary_key=True),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("alarm", BIG, sa.ForeignKey("alarms.id"), nullable=False),
        sa.Column("contact", sa.Text(), nullable=False),
        sa.Column("text", BIG, sa.ForeignKey("texts.id")),
        sa.Column("at", BIG, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("answered_at", BIG),
    )
    op.create_index("alarm_tellings_alarm", "alarm_tellings", ["site", "alarm"])
    op.create_index("alarm_tellings_text", "alarm_tellings", ["site", "text"])
    return alarms, told


def _alarms_of(site: str, call_out: Mapping[str, Any]) -> Iterator[tuple[dict[str, Any], dict[str, int]]]:
    """Each matter of a call-out as a row of `alarms`, and when each contact was told of it."""
    told = {contact: _micros(at) for contact, at in call_out["told"].items()}
    column = SUBJECT_COLUMNS.get(call_out["subject"])
    for key, kind, event in call_out["matters"]:
        family, about = key.split(":", 1)
        yield (
            {
                "site": site,
                "key": key,
                "kind": kind,
                "tank": about if column == "tank" else None,
                "controller": about if column == "controller" else None,
                "priority": "urgent",  # only what was urgent stood in a call-out
                "at_stake": family == "low",
                "state": call_out["state"],
                "raised_at": _micros(call_out["opened_at"]),
                "event": event,
                "round_at": _micros(call_out["opened_at"]),
                "turn": call_out["turn"],
                "turn_at": _micros(call_out["turn_at"]),
                "judged": call_out.get("judged", False),
                "reminders": 0,
                "reminded_at": _micros(call_out["reminded_at"]),
                "taken_by": call_out["taken_by"],
                "taken_at": _micros(call_out["taken_at"]) if call_out["taken_at"] else None,
            },
            told,
        )


def _micros(written: str) -> int:
    return (datetime.fromisoformat(written) - EPOCH) // MICROSECOND
