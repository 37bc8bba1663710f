"""Versions of the tables: alembic runs them when an older database is opened."""
