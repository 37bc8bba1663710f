"""``curing assign``, ``curing keep`` and ``curing move``: what the lead or the architect decides."""

from __future__ import annotations

from typing import Annotated

import typer

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import say_page
from curing.errors import UsageError
from curing.model.decisions import DecisionKind
from curing.model.times import parse_date, parse_date_range
from curing.publish.terminal_log import decision_page
from curing.publish.words import Words
from curing.workflow.called import called_of
from curing.workflow.deciding import Taken, decide

By = Annotated[str, typer.Option("--by", metavar="PERSON", help="Who decides: lead or architect.", show_default=False)]
Why = Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why; it stays in the record.", show_default=False)]
Key = Annotated[
    str | None,
    typer.Option("--key", metavar="KEY", help="Your own key: sent twice, it counts once.", show_default=False),
]
Coat = Annotated[
    str, typer.Argument(metavar="COAT", help="A face (its next coat), or a coat: 3-out.finish.", show_default=False)
]


def _say(taken: Taken, job: str) -> None:
    called, words = called_of(taken.job, taken.roots), Words(taken.job.file.units)
    say_page(decision_page(taken.decision, taken.already, called, words, job, taken.notes))


def assign(
    job: JobFile,
    person: Annotated[str, typer.Argument(metavar="PERSON", help="Who takes the rounds.", show_default=False)],
    days: Annotated[
        str,
        typer.Argument(metavar="DAYS", help="2027-06-12, or 2027-06-12..2027-06-13.", show_default=False),
    ],
    part: Annotated[
        str | None,
        typer.Argument(metavar="ROUND", help="early, midday or late; without it, all.", show_default=False),
    ] = None,
    by: By = "",
    why: Why = "",
    key: Key = None,
    state: State = None,
    as_of: AsOf = None,
) -> None:
    """Say who takes the rounds of a day, a weekend, a spell."""
    if part not in (None, "early", "midday", "late"):
        raise UsageError(f'round: "{part}" is none; say early, midday or late, or leave it out for all')
    try:
        span = parse_date_range(days)
    except ValueError as error:
        raise UsageError(f"days: {error}") from None
    taken = decide(
        job, DecisionKind.ASSIGN, person, by=by, days=span, slot=part, why=why, key=key, state=state, as_of=as_of
    )
    _say(taken, str(job))


def keep(
    job: JobFile,
    coat: Coat,
    by: By = "",
    why: Why = "",
    key: Key = None,
    state: State = None,
    as_of: AsOf = None,
) -> None:
    """Keep a coat on its day although a rule is against it."""
    taken = decide(job, DecisionKind.KEEP, coat, by=by, why=why, key=key, state=state, as_of=as_of)
    _say(taken, str(job))


def move(
    job: JobFile,
    coat: Coat,
    day: Annotated[str, typer.Argument(metavar="DAY", help="The day it goes to: 2027-06-14.", show_default=False)],
    by: By = "",
    why: Why = "",
    key: Key = None,
    state: State = None,
    as_of: AsOf = None,
) -> None:
    """Move a coat to another day."""
    try:
        there = parse_date(day)
    except ValueError as error:
        raise UsageError(f"day: {error}") from None
    taken = decide(job, DecisionKind.MOVE, coat, by=by, days=(there, there), why=why, key=key, state=state, as_of=as_of)
    _say(taken, str(job))
