"""Reminders: what is to be told, to whom, on which channel, and how far it has come."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.create_table(
        "outbox",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("due", sa.String(27), nullable=False),
        sa.Column("until", sa.String(27), nullable=False),
        sa.Column("intent", sa.Text(), nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("faces", sa.Text(), nullable=False),
        sa.Column("values", sa.Text(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("made", sa.String(27), nullable=False),
        sa.Column("next", sa.String(27), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("begun", sa.String(27)),
        sa.Column("again", sa.Integer(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("answered", sa.String(27)),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("lease", sa.String(27)),
        sa.Column("owner", sa.Text()),
        sa.PrimaryKeyConstraint("id", name="outbox_pk"),
        sa.UniqueConstraint("key", "person", "channel", name="outbox_once"),
    )
    op.create_index("outbox_state_next", "outbox", ["state", "next"])
