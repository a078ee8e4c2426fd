"""An alarm knows the likely time too that was told of it: that it moved is told as that of the early edge is."""

import sqlalchemy as sa
from alembic import op

BIG = sa.BigInteger().with_variant(sa.Integer, "sqlite")

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """One transaction."""
    op.add_column("alarms", sa.Column("dry_likely", BIG))
