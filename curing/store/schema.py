"""The tables of the state."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    CheckConstraint,
    Column,
    Dialect,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

VERSIONS = ("0001", "0002", "0003", "0004")
"""Every version of the tables, oldest first: the names of the migrations."""

FORMAT = 1
"""Version of what stands inside the columns: JSON, its compression and digest."""


class UtcText(TypeDecorator[datetime]):
    """An instant as text of fixed width in UTC, so that text order is time order.

    Examples
    --------
    >>> UtcText().process_bind_param(datetime(2027, 5, 3, 5, 0, tzinfo=UTC), None)
    '2027-05-03T05:00:00.000000Z'
    """

    impl = String(27)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect | None) -> str | None:
        """Return the text of an aware instant; an instant without a zone is a ValueError."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"{value} has no time zone; give UTC")
        utc = value.astimezone(UTC).replace(tzinfo=None)
        return utc.isoformat(timespec="microseconds") + "Z"

    def process_result_value(self, value: str | None, dialect: Dialect | None) -> datetime | None:
        """Return the instant of a text."""
        return None if value is None else datetime.fromisoformat(value)


metadata = MetaData()

revision = Table(
    "revision",
    metadata,
    Column("number", Integer, nullable=False),
    Column("parent", Integer),
    Column("as_of", UtcText, nullable=False),
    Column("saved_at", UtcText, nullable=False),
    Column("job_uid", Text, nullable=False),
    Column("plan", LargeBinary, nullable=False),
    Column("digest", String(64), nullable=False),
    PrimaryKeyConstraint("number", name="revision_pk"),
    ForeignKeyConstraint(["parent"], ["revision.number"], name="revision_parent"),
    CheckConstraint("coalesce(parent, 0) = number - 1", name="revision_follows_parent"),
)

record = Table(
    "record",
    metadata,
    Column("seq", Integer, nullable=False),
    Column("key", Text, nullable=False),
    Column("at", UtcText, nullable=False),
    Column("received", UtcText, nullable=False),
    Column("by", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("face", Text),
    Column("data", Text, nullable=False),
    PrimaryKeyConstraint("seq", name="record_pk"),
    UniqueConstraint("key", name="record_key"),
)

decision = Table(
    "decision",
    metadata,
    Column("seq", Integer, nullable=False),
    Column("key", Text, nullable=False),
    Column("at", UtcText, nullable=False),
    Column("by", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("data", Text, nullable=False),
    PrimaryKeyConstraint("seq", name="decision_pk"),
    UniqueConstraint("key", name="decision_key"),
)

link = Table(
    "link",
    metadata,
    Column("person", Text, nullable=False),
    Column("generation", Integer, nullable=False),
    Column("hash", String(64), nullable=False),
    Column("made", UtcText, nullable=False),
    Column("revoked", UtcText),
    Column("fetched", UtcText),
    PrimaryKeyConstraint("person", "generation", name="link_pk"),
    UniqueConstraint("hash", name="link_hash"),
)

outbox = Table(
    "outbox",
    metadata,
    Column("id", Integer, nullable=False),
    Column("key", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("person", Text, nullable=False),
    Column("channel", Text, nullable=False),
    Column("due", UtcText, nullable=False),
    Column("until", UtcText, nullable=False),
    Column("intent", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("faces", Text, nullable=False),
    Column("values", Text, nullable=False),
    Column("step", Integer, nullable=False),
    Column("state", Text, nullable=False),
    Column("made", UtcText, nullable=False),
    Column("next", UtcText, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("begun", UtcText),
    Column("again", Integer, nullable=False),
    Column("answer", Text, nullable=False),
    Column("answered", UtcText),
    Column("text", Text, nullable=False),
    Column("lease", UtcText),
    Column("owner", Text),
    PrimaryKeyConstraint("id", name="outbox_pk"),
    UniqueConstraint("key", "person", "channel", name="outbox_once"),
    Index("outbox_state_next", "state", "next"),
)
"""Reminders, one row a person and channel; ``lease`` and ``owner`` say who is sending it now and until when."""

forecast = Table(
    "forecast",
    metadata,
    Column("id", Integer, nullable=False),
    Column("site", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("issued", UtcText),
    Column("fetched", UtcText, nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("digest", String(64), nullable=False),
    PrimaryKeyConstraint("id", name="forecast_pk"),
    Index("forecast_site_fetched", "site", "fetched"),
)
"""Forecast runs as they came, compressed; ``site`` is a root, ``fetched`` when the run was known here."""

asking = Table(
    "asking",
    metadata,
    Column("site", Text, nullable=False),
    Column("standing", Text, nullable=False),
    Column("tried", UtcText),
    Column("trouble", Text, nullable=False),
    PrimaryKeyConstraint("site", name="asking_pk"),
)
"""What stands between two questions to a weather service: marks of the last answer, and why the last try failed."""

past_hour = Table(
    "past_hour",
    metadata,
    Column("site", Text, nullable=False),
    Column("hour", UtcText, nullable=False),
    Column("lead", Integer, nullable=False),
    Column("source", Text, nullable=False),
    Column("values", Text, nullable=False),
    PrimaryKeyConstraint("site", "hour", name="past_hour_pk"),
)
"""Hours past, as the run with the least lead [h] told them: they outlive the runs, for the hours that count."""

state = Table(
    "state",
    metadata,
    Column("key", Text, nullable=False),
    Column("value", Text, nullable=False),
    PrimaryKeyConstraint("key", name="state_pk"),
)

alembic_version = Table(
    "alembic_version",
    metadata,
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)
"""Kept in the form alembic gives it, so that it can take over when a migration is due."""
