"""Weather: forecast runs as they came, how services were asked, and hours past."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "forecast",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("issued", sa.String(27)),
        sa.Column("fetched", sa.String(27), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("id", name="forecast_pk"),
    )
    op.create_index("forecast_site_fetched", "forecast", ["site", "fetched"])
    op.create_table(
        "asking",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("standing", sa.Text(), nullable=False),
        sa.Column("tried", sa.String(27)),
        sa.Column("trouble", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("site", name="asking_pk"),
    )
    op.create_table(
        "past_hour",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("hour", sa.String(27), nullable=False),
        sa.Column("lead", sa.Integer(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("values", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("site", "hour", name="past_hour_pk"),
    )
