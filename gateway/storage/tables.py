"""The tables, in SQL that SQLite and PostgreSQL both take.

Times are UTC microseconds since 1970 in BIGINT (sorts and indexes alike on both); JSON is text; every row carries its
site, so that gateways may share one database. Changed only together with a migration.
"""

from sqlalchemy import BigInteger, Boolean, Column, ForeignKey, Index, Integer, MetaData, String, Table, Text

metadata = MetaData()
Id = BigInteger().with_variant(Integer, "sqlite")

arrivals = Table(
    "arrivals",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", String(120), nullable=False),
    Column("key", String(64), nullable=False),
    Column("memory", String(8), nullable=False),
    Column("slot", Integer),
    Column("pdu", Text, nullable=False),
    Column("number", String(40), nullable=False, default=""),
    Column("heard_at", BigInteger, nullable=False),
    Column("freed", Boolean, nullable=False, default=False),
    Index("arrivals_key", "site", "key"),
    Index("arrivals_slot", "site", "memory", "slot", "freed"),
)

parts = Table(
    "parts",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", String(120), nullable=False),
    Column("arrival", ForeignKey("arrivals.id"), nullable=False),
    Column("number", String(40), nullable=False),
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
    Column("site", String(120), nullable=False),
    Column("way", String(3), nullable=False),
    Column("number", String(40), nullable=False),
    Column("contact", String(120)),
    Column("controller", String(120)),
    Column("text", Text, nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("known_at", BigInteger, nullable=False),
    Column("state", String(10), nullable=False),
    Column("segments", Integer, nullable=False, default=1),
    Column("tries", Integer, nullable=False, default=0),
    Column("event", ForeignKey("events.id")),
    Column("import_key", String(64)),
    Column("urgent", Boolean, nullable=False, default=False),
    Column("subject", String(12), nullable=False, default="tanks"),
    Column("call_out", ForeignKey("call_outs.id")),
    Column("not_before", BigInteger),
    Column("possible_repeat", Boolean, nullable=False, default=False),
    Column("handed_at", BigInteger),
    Index("texts_at", "site", "at"),
    Index("texts_heard", "site", "controller", "at"),
    Index("texts_state", "site", "way", "state"),
    Index("texts_handed", "site", "handed_at"),
    Index("texts_call_out", "site", "call_out"),
    Index("texts_import", "site", "import_key", unique=True),
)

segments = Table(
    "segments",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", String(120), nullable=False),
    Column("text", ForeignKey("texts.id"), nullable=False),
    Column("segment", Integer, nullable=False),
    Column("number", String(40), nullable=False),
    Column("reference", Integer, nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("outcome", String(10), nullable=False, default=""),
    Index("segments_reference", "site", "reference", "number", "outcome"),
    Index("segments_text", "text"),
)

events = Table(
    "events",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", String(120), nullable=False),
    Column("kind", String(20), nullable=False),
    Column("at", BigInteger, nullable=False),
    Column("heard_at", BigInteger, nullable=False),
    Column("known_at", BigInteger, nullable=False),
    Column("tank", String(120)),
    Column("controller", String(120)),
    Column("input", String(40)),
    Column("text", Text),
    Column("sender", String(40)),
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
    Column("site", String(120), nullable=False),
    Column("opened_at", BigInteger, nullable=False),
    Column("closed_at", BigInteger),
    Column("data", Text, nullable=False),
    Index("call_outs_open", "site", "closed_at"),
)

pauses = Table(
    "pauses",
    metadata,
    Column("id", Id, primary_key=True),
    Column("site", String(120), nullable=False),
    Column("tank", String(120), nullable=False),
    Column("since", BigInteger, nullable=False),
    Column("until", BigInteger, nullable=False),
    Column("by", String(120)),
    Column("ended", Boolean, nullable=False, default=False),
    Index("pauses_open", "site", "ended"),
)

marks = Table(
    "marks",
    metadata,
    Column("site", String(120), primary_key=True),
    Column("key", String(200), primary_key=True),
    Column("value", Text, nullable=False),
)
