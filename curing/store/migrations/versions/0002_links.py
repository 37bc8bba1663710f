"""People's links: the hash of each, never the link itself."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "link",
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("generation", sa.Integer(), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sa.Column("made", sa.String(27), nullable=False),
        sa.Column("revoked", sa.String(27)),
        sa.Column("fetched", sa.String(27)),
        sa.PrimaryKeyConstraint("person", "generation", name="link_pk"),
        sa.UniqueConstraint("hash", name="link_hash"),
    )
