"""Runs the steps on the connection it is handed, in the transaction that is open there."""

from alembic import context

from tapewright.book.store.open import VERSION_TABLE

context.configure(connection=context.config.attributes["connection"], version_table=VERSION_TABLE)
context.run_migrations()
