"""Alembic runs this: revisions on the connection that `gateway.storage.migrate` opened, in its transaction."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    transactional_ddl=False,
)
context.run_migrations()
