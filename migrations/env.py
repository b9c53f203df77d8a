"""Alembic's way in: it runs on the connection the book hands it, or makes one from COOPERAGE_CELLAR."""

import os

from alembic import context

from cooperage.book.store.engine import make_engine
from cooperage.book.store.naming import cellar_url
from cooperage.book.store.tables import METADATA


def run(connection) -> None:
    context.configure(connection=connection, target_metadata=METADATA, render_as_batch=True)
    with context.begin_transaction():
        context.run_migrations()


handed = context.config.attributes.get("connection")
if handed is not None:
    run(handed)
else:
    with make_engine(cellar_url(os.environ["COOPERAGE_CELLAR"])).connect() as own:
        run(own)
        own.commit()
