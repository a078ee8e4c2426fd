"""When a message arrived, as far as the network says: how long people wait to be told is counted to then, not until the network took it."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """One transaction."""
    op.add_column("texts", sa.Column("delivered_at", BIG))
