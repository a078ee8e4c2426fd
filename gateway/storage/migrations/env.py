"""Alembic runs this: revisions on the connection that `gateway.storage.schema` opened, in its transaction."""

from alembic import context

from gateway.storage.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transactional_ddl=False,
)
context.run_migrations()
