"""``curing check``: everything that is wrong with a job and its saved plan."""

from __future__ import annotations

import typer

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import say_page
from curing.publish.terminal_check import check_page
from curing.publish.words import Words
from curing.workflow.viewing import judge_job


def check(job: JobFile, state: State = None, as_of: AsOf = None) -> None:
    """Read a job and its coat systems, and judge its saved plan; exit 1 if anything is wrong."""
    found = judge_job(job, state=state, as_of=as_of)
    file = found.job.file
    say_page(
        check_page(
            len(file.walls),
            sum(len(wall.faces) for wall in file.walls),
            Words(file.units),
            revision=found.plan.revision if found.plan else None,
            edited=found.edited,
            faults=[(fault.where, fault.text, fault.rule) for fault in found.faults],
        )
    )
    if found.faults:
        raise typer.Exit(1)
