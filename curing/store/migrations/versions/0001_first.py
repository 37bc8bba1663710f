"""Revisions of the plan, record, decisions, and whose state it is."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "revision",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("parent", sa.Integer()),
        sa.Column("as_of", sa.String(27), nullable=False),
        sa.Column("saved_at", sa.String(27), nullable=False),
        sa.Column("job_uid", sa.Text(), nullable=False),
        sa.Column("plan", sa.LargeBinary(), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("number", name="revision_pk"),
        sa.ForeignKeyConstraint(["parent"], ["revision.number"], name="revision_parent"),
        sa.CheckConstraint("coalesce(parent, 0) = number - 1", name="revision_follows_parent"),
    )
    op.create_table(
        "record",
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("at", sa.String(27), nullable=False),
        sa.Column("received", sa.String(27), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("face", sa.Text()),
        sa.Column("data", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="record_pk"),
        sa.UniqueConstraint("key", name="record_key"),
    )
    op.create_table(
        "decision",
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("at", sa.String(27), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="decision_pk"),
        sa.UniqueConstraint("key", name="decision_key"),
    )
    op.create_table(
        "state",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="state_pk"),
    )
