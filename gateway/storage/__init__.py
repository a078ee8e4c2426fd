"""The durable record: tables, questions, migrations, backups, the lock. The one door to SQLAlchemy and Alembic."""

from gateway.storage.lock import Lock, hold, holder
from gateway.storage.store import SqlStore, open_store
from gateway.storage.urls import place, sqlite_file

__all__ = ["Lock", "SqlStore", "hold", "holder", "open_store", "place", "sqlite_file"]
