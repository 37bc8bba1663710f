"""Weather that is kept: forecast runs as they came, how services were asked, hours past.

A run is kept whole, compressed: what reads it may learn more of it later. The newest few of a site stay, so that
two can be laid beside one another; hours past outlive them.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection, delete, func, select
from sqlalchemy.dialects.sqlite import insert as insert_or

from curing.errors import StateError
from curing.model.past_hours import PastHour
from curing.store import schema
from curing.store.faults import fault

MOST_RUNS = 10
"""Runs of a site that are kept; with one every six hours, two days and a half."""
LONGEST = timedelta(days=14)
"""A run that came so long before the newest one is forgotten; the newest never is."""
MOST_BYTES = 5_000_000
"""A longer body is not kept: no forecast has it."""

_f, _a, _p = schema.forecast.c, schema.asking.c, schema.past_hour.c


@dataclass(frozen=True, slots=True)
class KeptRun:
    """A forecast run of a site, as it came.

    Parameters
    ----------
    site
        Root of the site.
    source
        Short name of the service.
    issued
        When it was made, where it says so.
    fetched
        When it was known here.
    body
        The answer.
    digest
        SHA-256 of the body, in hexadecimal digits.
    """

    site: str
    source: str
    issued: datetime | None
    fetched: datetime
    body: bytes = field(repr=False)
    digest: str = ""


@dataclass(frozen=True, slots=True)
class Asking:
    """How asking about a site stands.

    Parameters
    ----------
    standing
        Marks of the last answer, as whoever asks writes them; empty before the first.
    tried
        When it was last tried, well or not.
    trouble
        Why the last try brought nothing; empty: it went well.
    """

    standing: Mapping[str, str | None] = field(default_factory=dict)
    tried: datetime | None = None
    trouble: str = ""


def keep_run(connection: Connection, database: Path, run: KeptRun) -> bool:
    """Keep a run and forget the oldest; return whether it is a new one: the same body as the newest is not.

    Raises
    ------
    StateError
        The body is longer than any forecast is.
    """
    if len(run.body) > MOST_BYTES:
        raise fault(
            database,
            f"forecast: {len(run.body) / 1e6:.1f} MB; at most {MOST_BYTES / 1e6:g} MB are kept of a run; "
            "ask the service for this place alone",
        )
    digest = hashlib.sha256(run.body).hexdigest()
    of_site = _f.site == run.site
    known = connection.scalar(select(_f.id).where(of_site, _f.digest == digest, _f.fetched >= run.fetched).limit(1))
    newest = connection.execute(
        select(_f.id, _f.digest).where(of_site).order_by(_f.fetched.desc(), _f.id.desc()).limit(1)
    ).first()
    if known is not None or (newest is not None and newest.digest == digest):
        return False
    connection.execute(
        schema.forecast.insert().values(
            site=run.site,
            source=run.source,
            issued=run.issued,
            fetched=run.fetched,
            body=zlib.compress(run.body, 6),
            digest=digest,
        )
    )
    _forget(connection, run.site)
    return True


def _forget(connection: Connection, site: str) -> None:
    found = connection.execute(
        select(_f.id, _f.fetched).where(_f.site == site).order_by(_f.fetched.desc(), _f.id.desc())
    ).all()
    old = [row.id for n, row in enumerate(found) if n >= MOST_RUNS or row.fetched < found[0].fetched - LONGEST]
    if old:
        connection.execute(delete(schema.forecast).where(_f.id.in_(old)))


def runs(
    connection: Connection, database: Path, site: str, until: datetime | None = None, most: int = MOST_RUNS
) -> list[KeptRun]:
    """Return the runs of a site (root), the newest first; ``until``: only those that were known by then.

    Raises
    ------
    StateError
        One is damaged; says which.
    """
    query = select(schema.forecast).where(_f.site == site)
    if until is not None:
        query = query.where(_f.fetched <= until)
    found = connection.execute(query.order_by(_f.fetched.desc(), _f.id.desc()).limit(most))
    listed = []
    for row in found:
        try:
            body = zlib.decompress(row.body)
        except zlib.error:
            raise _damaged(database, row.id) from None
        if hashlib.sha256(body).hexdigest() != row.digest:
            raise _damaged(database, row.id)
        listed.append(KeptRun(row.site, row.source, row.issued, row.fetched, body, row.digest))
    return listed


def _damaged(database: Path, number: int) -> StateError:
    return fault(database, f"forecast: run {number} is damaged (its digest is another); put back a backup")


def head(connection: Connection) -> tuple[int, str]:
    """Return what changes whenever weather came in or was asked for: cheap, to see whether something is new."""
    newest = connection.scalar(select(func.coalesce(func.max(_f.id), 0)))
    tried = connection.scalar(select(func.max(_a.tried)))
    return int(newest or 0), tried.isoformat() if tried is not None else ""


def asking(connection: Connection, site: str) -> Asking:
    """Return how asking about a site (root) stands."""
    row = connection.execute(select(schema.asking).where(_a.site == site)).first()
    if row is None:
        return Asking()
    try:
        standing = json.loads(row.standing)
    except ValueError:
        standing = {}  # marks that can't be read cost one whole answer more
    return Asking(standing if isinstance(standing, dict) else {}, row.tried, row.trouble)


def keep_asking(connection: Connection, site: str, one: Asking) -> None:
    """Keep how asking about a site stands."""
    values = {"standing": json.dumps(dict(one.standing)), "tried": one.tried, "trouble": one.trouble}
    new = insert_or(schema.asking).values(site=site, **values)
    connection.execute(new.on_conflict_do_update(index_elements=["site"], set_=values))


def keep_hours(connection: Connection, site: str, hours: Sequence[PastHour]) -> None:
    """Keep hours past; one that is there stays unless it was told with a greater lead."""
    rows = [
        {
            "site": site,
            "hour": one.hour,
            "lead": one.lead,
            "source": one.source,
            "values": json.dumps(dict(one.values)),
        }
        for one in hours
    ]
    if not rows:
        return
    new = insert_or(schema.past_hour)
    better = new.excluded.lead < _p.lead
    names = ("lead", "source", "values")
    connection.execute(
        new.on_conflict_do_update(
            index_elements=["site", "hour"], set_={name: new.excluded[name] for name in names}, where=better
        ),
        rows,
    )


def hours(
    connection: Connection, database: Path, site: str, since: datetime, until: datetime | None = None
) -> list[PastHour]:
    """Return the hours past of a site that begin within a span, in their order."""
    query = select(schema.past_hour).where(_p.site == site, _p.hour >= since)
    if until is not None:
        query = query.where(_p.hour < until)
    try:
        return [
            PastHour(row.hour, row.lead, row.source, json.loads(row.values_))
            for row in connection.execute(
                query.with_only_columns(_p.hour, _p.lead, _p.source, _p["values"].label("values_")).order_by(_p.hour)
            )
        ]
    except ValueError:
        raise fault(database, "past_hour: an hour of the weather can't be read; put back a backup") from None
