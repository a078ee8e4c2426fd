"""Texts are found by the event that came of them: where levels are thinned, each that goes was looked for in every text there is, twice."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """One transaction."""
    there = sa.text("event IS NOT NULL")
    op.create_index("texts_event", "texts", ["event"], sqlite_where=there, postgresql_where=there)
