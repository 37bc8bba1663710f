"""``curing changes``: what moved in a revision."""

from __future__ import annotations

from typing import Annotated

import typer

from curing.cli.options import JobFile, State
from curing.cli.printing import say_page
from curing.publish.terminal_changes import changes_page
from curing.workflow.viewing import view_changes, words_of


def changes(
    job: JobFile,
    state: State = None,
    revision: Annotated[
        int | None,
        typer.Option(metavar="N", min=1, max=10**9, help="Another revision than the newest.", show_default=False),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="List all revisions.")] = False,
) -> None:
    """Print what moved in the newest revision, and why."""
    seen = view_changes(job, state=state, revision=revision, every=every)
    revisions = [(header.number, header.as_of, moved) for header, moved in seen.headers]
    say_page(changes_page(seen.plan, words_of(seen.plan), revisions, seen.numbers))
