"""What Alembic runs to apply revisions, on a connection and in its transaction."""

from alembic import context

from inkaccord.shelf.schema import metadata, versions

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,  # its way of naming constraints
    version_table=versions.name,
)
context.run_migrations()
