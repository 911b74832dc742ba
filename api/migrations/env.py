"""What Alembic runs: the migrations, on the connection that run.py opened."""

from alembic import context

from api.storage.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transactional_ddl=True,
)
context.run_migrations()
