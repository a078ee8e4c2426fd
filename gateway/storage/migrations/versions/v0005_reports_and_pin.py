"""A segment knows by which stamp it was reported, so that a report that comes twice is no other message's; what told the SIM's PIN is erased.

A network stamps each segment when it takes it, and says so in every report of it. Programs before this one kept a hash of the PIN that
was tried, and of ten thousand PINs the right one is found from it within a second.
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """One transaction."""
    op.add_column("segments", sa.Column("stamp", BIG))
    op.get_bind().execute(sa.text("DELETE FROM states WHERE kind = 'pin-tried'"))
