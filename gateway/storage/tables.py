"""The store's tables, described once: a new store is made from them, every statement is built on them, and a test holds the migrations
against them.

Every row carries its site, so that gateways may share one database; what a column holds is in `column_types.py`. Text has no
length: SQLite never minded one, and PostgreSQL would refuse what is longer. Changed only together with a migration.
"""

from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    ColumnElement,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    Select,
    String,
    Table,
    Text,
    bindparam,
    select,
)

from gateway.storage.column_types import BIG, Json, UtcMicros

HEAD = "0009"
"""The newest revision in migrations/versions, whose tables these are."""

metadata = MetaData()


def _site() -> Column[str]:
    return Column("site", Text, nullable=False)


def _id() -> Column[int]:
    return Column("id", BIG, primary_key=True)


events = Table(
    "events",
    metadata,
    _id(),
    _site(),
    Column("kind", Text, nullable=False),
    Column("at", UtcMicros, nullable=False),
    Column("heard_at", UtcMicros, nullable=False),
    Column("known_at", UtcMicros, nullable=False),
    Column("tank", Text),
    Column("controller", Text),
    Column("input", Text),
    Column("text", Text),
    Column("sender", Text),
    Column("detail", Json, nullable=False),
    Index("events_at", "site", "at", "id"),
    Index("events_controller", "site", "controller", "at"),
    Index("events_kind", "site", "kind", "at"),
    Index("events_tank", "site", "tank", "kind", "at"),
)

arrivals = Table(
    "arrivals",
    metadata,
    _id(),
    _site(),
    Column("key", Text, nullable=False),
    Column("memory", Text, nullable=False),
    Column("slot", Integer),
    Column("pdu", Text, nullable=False),
    Column("number", Text, nullable=False),
    Column("heard_at", UtcMicros, nullable=False),
    Column("freed", Boolean, nullable=False),
    Index("arrivals_key", "site", "key"),
    Index("arrivals_slot", "site", "memory", "slot", "freed"),
)
"""PDUs as the modem held them. `key`: the hash of the TPDU, by which a repeat is known; it stays when `pdu` is erased."""

parts = Table(
    "parts",
    metadata,
    _id(),
    _site(),
    Column("arrival", BIG, ForeignKey("arrivals.id"), nullable=False),
    Column("number", Text, nullable=False),
    Column("reference", Integer, nullable=False),
    Column("part", Integer, nullable=False),
    Column("total", Integer, nullable=False),
    Column("text", Text, nullable=False),
    Column("stamp", UtcMicros),
    Column("heard_at", UtcMicros, nullable=False),
    Index("parts_of", "site", "number", "reference", "total"),
)

texts = Table(
    "texts",
    metadata,
    _id(),
    _site(),
    Column("way", Text, nullable=False),
    Column("number", Text, nullable=False),
    Column("contact", Text),
    Column("controller", Text),
    Column("text", Text, nullable=False),
    Column("at", UtcMicros, nullable=False),
    Column("known_at", UtcMicros, nullable=False),
    Column("state", Text, nullable=False),
    Column("segments", Integer, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("event", BIG, ForeignKey("events.id")),
    Column("import_key", Text),
    Column("urgent", Boolean, nullable=False),
    Column("subject", Text, nullable=False),
    Column("not_before", UtcMicros),
    Column("possible_repeat", Boolean, nullable=False),
    Column("handed_at", UtcMicros),
    Column("delivered_at", UtcMicros),
    Index("texts_at", "site", "at"),
    Index("texts_heard", "site", "controller", "at"),
    Index("texts_state", "site", "way", "state"),
)
"""Texts in and messages out, by `way`. Of all few are imported, and none that came in was handed over: what is not in an index is not
written either."""


def _partial_index(name: str, column: Column[Any], *, unique: bool = False) -> None:
    Index(name, texts.c.site, column, unique=unique, sqlite_where=column.is_not(None))


_partial_index("texts_handed", texts.c.handed_at)
_partial_index("texts_import", texts.c.import_key, unique=True)
Index("texts_event", texts.c.event, sqlite_where=texts.c.event.is_not(None))
"""Of the event alone: whether a text still refers to an event that is dropped is asked by its number, of whatever site."""

segments = Table(
    "segments",
    metadata,
    _id(),
    _site(),
    Column("text", BIG, ForeignKey("texts.id"), nullable=False),
    Column("segment", Integer, nullable=False),
    Column("number", Text, nullable=False),
    Column("reference", Integer, nullable=False),
    Column("at", UtcMicros, nullable=False),
    Column("outcome", Text, nullable=False),
    Column("stamp", UtcMicros),
    Index("segments_reference", "site", "reference", "number", "outcome"),
    Index("segments_text", "site", "text"),
)

pauses = Table(
    "pauses",
    metadata,
    _id(),
    _site(),
    Column("tank", Text, nullable=False),
    Column("since", UtcMicros, nullable=False),
    Column("until", UtcMicros, nullable=False),
    Column("by", Text),
    Column("ended", Boolean, nullable=False),
    Index("pauses_open", "site", "ended"),
)

states = Table(
    "states",
    metadata,
    Column("site", Text, primary_key=True),
    Column("kind", Text, primary_key=True),
    Column("subject", Text, primary_key=True),
    Column("version", Integer, nullable=False),
    Column("value", Text, nullable=False),
)
"""`kind`, `version` and `value` as `gateway.facts.states` declares them."""

alarms = Table(
    "alarms",
    metadata,
    _id(),
    _site(),
    Column("key", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("tank", Text),
    Column("controller", Text),
    Column("priority", Text, nullable=False),
    Column("at_stake", Boolean, nullable=False),
    Column("state", Text, nullable=False),
    Column("since", UtcMicros, nullable=False),
    Column("raised_at", UtcMicros, nullable=False),
    Column("over_at", UtcMicros),
    Column("event", BIG, ForeignKey("events.id")),
    Column("folded_in", BIG),
    Column("round_at", UtcMicros, nullable=False),
    Column("turn", Integer, nullable=False),
    Column("turn_at", UtcMicros, nullable=False),
    Column("judged", Boolean, nullable=False),
    Column("reminders", Integer, nullable=False),
    Column("reminded_at", UtcMicros, nullable=False),
    Column("asked_first", Text),
    Column("taken_by", Text),
    Column("taken_at", UtcMicros),
    Column("back_at", UtcMicros),
    Column("dry_early", UtcMicros),
    Column("warn_at", UtcMicros),
    Column("dry_likely", UtcMicros),
    Index("alarms_standing", "site", "over_at"),
)
"""Columns as `gateway.facts.alarms.Alarm` names them."""

alarm_tellings = Table(
    "alarm_tellings",
    metadata,
    _id(),
    _site(),
    Column("alarm", BIG, ForeignKey("alarms.id"), nullable=False),
    Column("contact", Text, nullable=False),
    Column("text", BIG, ForeignKey("texts.id")),
    Column("at", UtcMicros, nullable=False),
    Column("why", Text, nullable=False),
    Column("answered_at", UtcMicros),
    Index("alarm_tellings_alarm", "site", "alarm"),
    Index("alarm_tellings_text", "site", "text"),
)
"""Who was told of which alarm by which message. A message that names several stands here once for each of them."""

schema_version = Table(
    "alembic_version",
    metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)
"""As Alembic makes it: one row, the newest revision that was applied."""

SITE_TABLES = tuple(table for table in metadata.sorted_tables if "site" in table.c)
"""Every table of the record; one that refers to another stands after it."""


def here(table: Table) -> ColumnElement[bool]:
    """Rows of the site whose transaction it is (`TableReader` gives its name)."""
    return table.c.site == bindparam("here")


def this_row(table: Table) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    """The row of that id (`its_id`), if it is this site's."""
    return here(table), table.c.id == bindparam("its_id")


def newest_first(table: Table, *columns: Column[Any]) -> Select[Any]:
    """The site's rows by their ids, the newest first, without sorting them: ids are walked down until there are enough.

    The site is compared as an expression, for with the plain column SQLite takes an index by site and sorts all of its rows.
    """
    return select(*columns).where(table.c.site.concat("") == bindparam("here")).order_by(table.c.id.desc())
