"""``curing today``: what to do today at the walls."""

from __future__ import annotations

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import say_page
from curing.publish.terminal_today import Standing, today_page
from curing.workflow.viewing import view_job, words_of


def today(job: JobFile, state: State = None, as_of: AsOf = None) -> None:
    """Print the day as the latest saved plan has it; nothing is saved."""
    seen = view_job(job, state=state, as_of=as_of)
    standing = Standing(str(job), seen.saved, seen.edited, seen.recorded, seen.moves, seen.trouble is not None)
    say_page(today_page(seen.plan, seen.present, standing, words_of(seen.plan), seen.now, seen.evidence))
