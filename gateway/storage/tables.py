"""The tables, in SQL that SQLite and PostgreSQL both take.

Times are UTC microseconds since 1970 in BIGINT (sorts and indexes alike on both); JSON is text; every row carries its
site, so that gateways may share one database. Changed only together with a migration.
"""

from typing import Any

from sqlalchemy import BigInteger, Boolean, Column, ForeignKey, Index, Integer, MetaData, Table, Text, text

metadata = MetaData()
Id = BigInteger().with_variant(Integer, "sqlite")


def _there(column: str) -> dict[str, Any]:
    """An index only over rows that have the column."""
    return {f"{engine}_where": text(f"{column} IS NOT NULL") for engine in ("sqlite", "postgresql")}


arrivals = Table(
    "arrivals",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("memory", Text, nullable=False),
    Column("slot", Integer),
    Column("pdu", Text, nullable=False),
    Column("number", Text, nullable=False, default=""),
    Column("heard_at", BigInteger, nullable=False),
    Column("freed", Boolean, nullable=False, default=False),
    Index("arrivals_key", "site", "key"),
    Index("arrivals_slot", "site", "memory", "slot", "freed"),
)

parts = Table(
    "parts",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", Text, nullable=False),
    Column("arrival", ForeignKey("arrivals.id"), nullable=False),
    Column("number", Text, nullable=False),
    Column("reference", Integer, nullable=False),
    Column("part", Integer, nullable=False),
    Column("total", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("stamp", BigInteger),
    Column("heard_at", BigInteger, nullable=False),
    Index("parts_of", "site", "number", "reference", "total"),
)

texts = Table(
    "texts",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", Text, nullable=False),
    Column("way", Text, nullable=False),
    Column("number", Text, nullable=False),
    Column("contact", Text),
    Column("controller", Text),
    Column("text", Text, nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("known_at", BigInteger, nullable=False),
    Column("state", Text, nullable=False),
    Column("segments", Integer, nullable=False, default=1),
    Column("tries", Integer, nullable=False, default=0),
    Column("event", ForeignKey("events.id")),
    Column("import_key", Text),
    Column("urgent", Boolean, nullable=False, default=False),
    Column("subject", Text, nullable=False, default="tanks"),
    Column("call_out", ForeignKey("call_outs.id")),
    Column("not_before", BigInteger),
    Column("possible_repeat", Boolean, nullable=False, default=False),
    Column("handed_at", BigInteger),
    Index("texts_at", "site", "at"),
    Index("texts_heard", "site", "controller", "at"),
    Index("texts_state", "site", "way", "state"),
    Index("texts_handed", "site", "handed_at", **_there("handed_at")),
    Index("texts_call_out", "site", "call_out", **_there("call_out")),
    Index("texts_import", "site", "import_key", unique=True, **_there("import_key")),
)

segments = Table(
    "segments",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", Text, nullable=False),
    Column("text", ForeignKey("texts.id"), nullable=False),
    Column("segment", Integer, nullable=False),
    Column("number", Text, nullable=False),
    Column("reference", Integer, nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("outcome", Text, nullable=False, default=""),
    Index("segments_reference", "site", "reference", "number", "outcome"),
    Index("segments_text", "text"),
)

events = Table(
    "events",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("heard_at", BigInteger, nullable=False),
    Column("known_at", BigInteger, nullable=False),
    Column("tank", Text),
    Column("controller", Text),
    Column("input", Text),
    Column("text", Text),
    Column("sender", Text),
    Column("detail", Text, nullable=False, default="{}"),
    Index("events_at", "site", "at", "id"),
    Index("events_kind", "site", "kind", "at"),
    Index("events_tank", "site", "tank", "kind", "at"),
    Index("events_controller", "site", "controller", "at"),
)

call_outs = Table(
    "call_outs",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", Text, nullable=False),
    Column("opened_at", BigInteger, nullable=False),
    Column("closed_at", BigInteger),
    Column("data", Text, nullable=False),
    Index("call_outs_open", "site", "closed_at"),
)

pauses = Table(
    "pauses",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", Text, nullable=False),
    Column("tank", Text, nullable=False),
    Column("since", BigInteger, nullable=False),
    Column("until", BigInteger, nullable=False),
    Column("by", Text),
    Column("ended", Boolean, nullable=False, default=False),
    Index("pauses_open", "site", "ended"),
)

marks = Table(
    "marks",
    metadata,
    Column("site", Text, primary_key=True),
    Column("key", Text, primary_key=True),
    Column("value", Text, nullable=False),
)
