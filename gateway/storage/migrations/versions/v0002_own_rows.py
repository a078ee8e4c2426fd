"""Words of any length on PostgreSQL; indexes only over the rows they are for.

SQLite never minded a word longer than its column says; PostgreSQL refuses it, and with it the text. Of the texts few are
messages of a call-out, fewer are imported, and none that came in was handed over: what is not in an index is not written either.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

WORDS = {
    "events": ("site", "kind", "tank", "controller", "input", "sender"),
    "call_outs": ("site",),
    "arrivals": ("site", "key", "memory", "number"),
    "parts": ("site", "number"),
    "texts": ("site", "way", "number", "contact", "controller", "state", "import_key", "subject"),
    "segments": ("site", "number", "outcome"),
    "pauses": ("site", "tank", "by"),
    "marks": ("site", "key"),
}
PARTIAL = (
    ("texts_call_out", "call_out", False),
    ("texts_handed", "handed_at", False),
    ("texts_import", "import_key", True),
)


def upgrade() -> None:
    """One transaction."""
    for name, column, unique in PARTIAL:
        op.drop_index(name, "texts")
        there = sa.text(f"{column} IS NOT NULL")
        op.create_index(name, "texts", ["site", column], unique=unique, sqlite_where=there, postgresql_where=there)
    if op.get_bind().dialect.name == "postgresql":
        for table, columns in WORDS.items():
            for words in columns:
                op.alter_column(table, words, type_=sa.Text())
