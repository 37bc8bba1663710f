"""``curing log``: say what happened at the walls."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from textwrap import fill
from typing import Annotated

import typer

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import say_page
from curing.errors import UsageError
from curing.publish.terminal_log import Kept, log_page
from curing.publish.words import Words
from curing.sources.decision_line import DECIDED
from curing.sources.log_line import WHATS
from curing.workflow.called import called_of
from curing.workflow.recording import log as append
from curing.workflow.written_log import log_file


def log(
    job: JobFile,
    what: Annotated[
        str, typer.Argument(metavar="WHAT", help="What happened; below is how each is written.", show_default=False)
    ] = "",
    words: Annotated[
        list[str] | None, typer.Argument(metavar="WORDS", help="Where, and name=value.", show_default=False)
    ] = None,
    by: Annotated[str, typer.Option("--by", metavar="PERSON", help="Who says so.", show_default=False)] = "",
    at: Annotated[
        str | None,
        typer.Option(
            "--at", metavar="TIME", help='When: "14:50", "2027-05-03 14:50".  [default: now]', show_default=False
        ),
    ] = None,
    note: Annotated[
        str, typer.Option("--note", metavar="TEXT", help="A remark to keep with it.", show_default=False)
    ] = "",
    key: Annotated[
        str | None,
        typer.Option("--key", metavar="KEY", help="Your own key: sent twice, it counts once.", show_default=False),
    ] = None,
    written: Annotated[
        Path | None,
        typer.Option("--from", metavar="FILE", help="Take lines from a file: time, person, what.", show_default=False),
    ] = None,
    state: State = None,
    as_of: AsOf = None,
) -> None:
    """Append entries to the record."""
    if written is not None:
        if what or by or at or key or note:
            raise UsageError("--from: the file says what happened, when and by whom; leave out the rest of the line")
        made = log_file(job, written, state=state, as_of=as_of)
    elif not what:
        raise UsageError(f"log: what happened is not said; write one of {', '.join(WHATS)}")
    else:
        made = append(job, what, words or [], by=by, at=at, note=note, key=key, state=state, as_of=as_of)
    called, words_ = called_of(made.job, made.roots, made.record), Words(made.job.file.units)
    kept = Kept(made.entries, made.already, made.notes, made.decided_already, made.holds)
    say_page(log_page(kept, called, words_, str(job), whole=written is None))


def _forms(forms: Mapping[str, str]) -> str:
    """Return lines of the help, kept as they are, each no wider than a terminal."""
    lines = (
        fill(f"{what} {form}", 76, initial_indent="  ", subsequent_indent="      ") for what, form in forms.items()
    )
    return "\b\n" + "\n".join(lines)


EPILOG = (
    _forms({what: spec.form for what, spec in WHATS.items()})
    + "\n\n\b\nIn a file, what was decided stands among it:\n"
    + _forms(DECIDED).removeprefix("\b\n")
)
"""How each line is written, under the help."""
