"""The first schema: arrivals, parts, texts, segments, events, call-outs, pauses, marks.

Frozen as it landed: later tables and columns get revisions of their own.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
ID = BIG


def upgrade() -> None:
    """Makes everything."""
    op.create_table(
        "events",
        sa.Column("id", ID, primary_key=True),
        sa.Column("site", sa.String(120), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("at", BIG, nullable=False),
        sa.Column("heard_at", BIG, nullable=False),
        sa.Column("known_at", BIG, nullable=False),
        sa.Column("tank", sa.String(120)),
        sa.Column("controller", sa.String(120)),
        sa.Column("input", sa.String(40)),
        sa.Column("text", sa.Text()),
        sa.Column("sender", sa.String(40)),
        sa.Column("detail", sa.Text(), nullable=False),
    )
    op.create_index("events_at", "events", ["site", "at", "id"])
    op.create_index("events_controller", "events", ["site", "controller", "at"])
    op.create_index("events_kind", "events", ["site", "kind", "at"])
    op.create_index("events_tank", "events", ["site", "tank", "kind", "at"])
    op.create_table(
        "call_outs",
        sa.Column("id", ID, primary_key=True),
        sa.Column("site", sa.String(120), nullable=False),
        sa.Column("opened_at", BIG, nullable=False),
        sa.Column("closed_at", BIG),
        sa.Column("data", sa.Text(), nullable=False),
    )
    op.create_index("call_outs_open", "call_outs", ["site", "closed_at"])
    op.create_table(
        "arrivals",
        sa.Column("id", ID, primary_key=True),
        sa.Column("site", sa.String(120), nullable=False),
        sa.Column("key", sa.String(64), nullable=False),
        sa.Column("memory", sa.String(8), nullable=False),
        sa.Column("slot", sa.Integer()),
        sa.Column("pdu", sa.Text(), nullable=False),
        sa.Column("number", sa.String(40), nullable=False),
        sa.Column("heard_at", BIG, nullable=False),
        sa.Column("freed", sa.Boolean(), nullable=False),
    )
    op.create_index("arrivals_key", "arrivals", ["site", "key"])
    op.create_index("arrivals_slot", "arrivals", ["site", "memory", "slot", "freed"])
    op.create_table(
        "parts",
        sa.Column("id", ID, primary_key=True),
        sa.Column("site", sa.String(120), nullable=False),
        sa.Column("arrival", BIG, sa.ForeignKey("arrivals.id"), nullable=False),
        sa.Column("number", sa.String(40), nullable=False),
        sa.Column("reference", sa.Integer(), nullable=False),
        sa.Column("part", sa.Integer(), nullable=False),
        sa.Column("total", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("stamp", BIG),
        sa.Column("heard_at", BIG, nullable=False),
    )
    op.create_index("parts_of", "parts", ["site", "number", "reference", "total"])
    op.create_table(
        "texts",
        sa.Column("id", ID, primary_key=True),
        sa.Column("site", sa.String(120), nullable=False),
        sa.Column("way", sa.String(3), nullable=False),
        sa.Column("number", sa.String(40), nullable=False),
        sa.Column("contact", sa.String(120)),
        sa.Column("controller", sa.String(120)),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("at", BIG, nullable=False),
        sa.Column("known_at", BIG, nullable=False),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("segments", sa.Integer(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("event", BIG, sa.ForeignKey("events.id")),
        sa.Column("import_key", sa.String(64)),
        sa.Column("urgent", sa.Boolean(), nullable=False),
        sa.Column("subject", sa.String(12), nullable=False),
        sa.Column("call_out", BIG, sa.ForeignKey("call_outs.id")),
        sa.Column("not_before", BIG),
        sa.Column("possible_repeat", sa.Boolean(), nullable=False),
        sa.Column("handed_at", BIG),
    )
    op.create_index("texts_at", "texts", ["site", "at"])
    op.create_index("texts_call_out", "texts", ["site", "call_out"])
    op.create_index("texts_handed", "texts", ["site", "handed_at"])
    op.create_index("texts_heard", "texts", ["site", "controller", "at"])
    op.create_index("texts_import", "texts", ["site", "import_key"], unique=True)
    op.create_index("texts_state", "texts", ["site", "way", "state"])
    op.create_table(
        "segments",
        sa.Column("id", ID, primary_key=True),
        sa.Column("site", sa.String(120), nullable=False),
        sa.Column("text", BIG, sa.ForeignKey("texts.id"), nullable=False),
        sa.Column("segment", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(40), nullable=False),
        sa.Column("reference", sa.Integer(), nullable=False),
        sa.Column("at", BIG, nullable=False),
        sa.Column("outcome", sa.String(10), nullable=False),
    )
    op.create_index("segments_reference", "segments", ["site", "reference", "number", "outcome"])
    op.create_index("segments_text", "segments", ["text"])
    op.create_table(
        "pauses",
        sa.Column("id", ID, primary_key=True),
        sa.Column("site", sa.String(120), nullable=False),
        sa.Column("tank", sa.String(120), nullable=False),
        sa.Column("since", BIG, nullable=False),
        sa.Column("until", BIG, nullable=False),
        sa.Column("by", sa.String(120)),
        sa.Column("ended", sa.Boolean(), nullable=False),
    )
    op.create_index("pauses_open", "pauses", ["site", "ended"])
    op.create_table(
        "marks",
        sa.Column("site", sa.String(120), primary_key=True),
        sa.Column("key", sa.String(200), primary_key=True),
        sa.Column("value", sa.Text(), nullable=False),
    )
