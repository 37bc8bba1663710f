"""``curing plan``: plan a job, keep the plan, and say what needs a person."""

from __future__ import annotations

from pathlib import Path
from time import perf_counter
from typing import Annotated

import typer

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import Progress, say_bytes, say_page
from curing.publish.terminal import Outcome, plan_page
from curing.publish.words import Words
from curing.workflow.exporting import CALENDARS
from curing.workflow.opening import instant
from curing.workflow.planning import Planned, plan_job
from curing.workflow.viewing import written_plan


def plan(
    ctx: typer.Context,
    job: JobFile,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Write plan.json and the calendars into this folder.", show_default=False),
    ] = None,
    state: State = None,
    as_of: AsOf = None,
    today_too: Annotated[
        bool, typer.Option("--today-too", help="Let what stands today and tomorrow move as well.")
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="Print plan.json and nothing else.")] = False,
    trial: Annotated[bool, typer.Option("--try", help="Save and write nothing.")] = False,
    afresh: Annotated[bool, typer.Option("--afresh", help="Plan without regard to what people were told.")] = False,
) -> None:
    """Plan a job and print what needs a person first."""
    with Progress() as watch:
        made = plan_job(
            job, out=out, state=state, as_of=as_of, today_too=today_too, trial=trial, afresh=afresh, watch=watch
        )
    if json:
        say_bytes(written_plan(made).encode())
        return
    now = instant(as_of, made.plan.sites[0].zone)
    outcome = Outcome(
        job=str(job),
        saved=made.saved,
        news=made.news,
        trial=trial,
        written=() if trial else _written(made, out),
        notes=made.notes,
        seconds=perf_counter() - ctx.obj,
    )
    say_page(plan_page(made.plan, outcome, Words(made.job.file.units), now))


def _written(made: Planned, out: Path | None) -> list[tuple[str, str]]:
    """Return what was kept and written, in order: the key of its sentence and the place."""
    kept = [("state", str(made.state))] if made.saved else []
    if out is None:
        return kept
    calendars = out / CALENDARS
    names = ", ".join(sorted(path.name for path in calendars.glob("*.ics")))
    return [*kept, ("plan", str(out / "plan.json")), ("calendars", f"{calendars}: {names}")]
