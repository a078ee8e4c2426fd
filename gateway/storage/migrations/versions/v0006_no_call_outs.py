"""What kept call-outs before there were alarms goes; what such a program called a low tank when its taps ran dry is an alarm of the house.

Until revision 0004 dry taps and a low tank were one matter (`low:house`). Its alarm went on under that key, and a tank that went low later was
taken for the same matter, of which everybody knew.
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
DRY_TAPS = "UPDATE alarms SET key = 'dry:' || substr(key, 5) WHERE kind = 'ran-dry' AND key LIKE 'low:%'"
INDEXES = (
    ("texts_at", ("site", "at"), None),
    ("texts_handed", ("site", "handed_at"), "handed_at"),
    ("texts_heard", ("site", "controller", "at"), None),
    ("texts_import", ("site", "import_key"), "import_key"),
    ("texts_state", ("site", "way", "state"), None),
)
"""Name, columns, and the column that must be there for a row to stand in it."""


def upgrade() -> None:
    """One transaction."""
    op.execute(DRY_TAPS)
    op.drop_index("texts_call_out", "texts")
    if op.get_bind().dialect.name == "postgresql":
        op.drop_column("texts", "call_out")
    else:
        _make_texts_anew()
    op.drop_index("call_outs_open", "call_outs")
    op.drop_table("call_outs")


def _make_texts_anew() -> None:
    """SQLite drops no column that refers to another table. The rows wait in a table of their own meanwhile: what refers to them is then
    looked for again when they come back, and nothing may be missing at the end of the transaction."""
    op.execute("PRAGMA defer_foreign_keys=ON")
    columns = _columns()
    names = ", ".join(f'"{column.name}"' for column in columns)
    op.execute(f"CREATE TABLE texts_kept AS SELECT {names} FROM texts")
    op.drop_table("texts")
    op.create_table("texts", *columns)
    op.execute(f"INSERT INTO texts ({names}) SELECT {names} FROM texts_kept")
    op.drop_table("texts_kept")
    for name, indexed, there in INDEXES:
        where = None if there is None else sa.text(f"{there} IS NOT NULL")
        op.create_index(name, "texts", list(indexed), unique=name == "texts_import", sqlite_where=where)


def _columns() -> list[sa.Column[object]]:
    return [
        sa.Column("id", BIG, primary_key=True),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("way", sa.Text(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("contact", sa.Text()),
        sa.Column("controller", sa.Text()),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("at", BIG, nullable=False),
        sa.Column("known_at", BIG, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("segments", sa.Integer(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("event", BIG, sa.ForeignKey("events.id")),
        sa.Column("import_key", sa.Text()),
        sa.Column("urgent", sa.Boolean(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("not_before", BIG),
        sa.Column("possible_repeat", sa.Boolean(), nullable=False),
        sa.Column("handed_at", BIG),
    ]
