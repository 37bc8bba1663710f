"""``curing record``: what was done on a face, read and decided; or all entries of a job."""

from __future__ import annotations

from typing import Annotated

import typer

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import say_bytes, say_page
from curing.errors import UsageError
from curing.publish.record_json import record_json
from curing.publish.terminal_record import record_page
from curing.publish.terminal_record_list import record_list
from curing.publish.words import Words
from curing.workflow.face_entries import of_face
from curing.workflow.face_record import face_record
from curing.workflow.record_view import find_face, job_record, see_record

LAST = 20
"""So many entries of a job are shown where nobody says how many."""


def record(
    job: JobFile,
    face: Annotated[
        str | None,
        typer.Argument(metavar="FACE", help='A side of a wall, "3-out"; none: the whole job.', show_default=False),
    ] = None,
    last: Annotated[
        int | None,
        typer.Option(
            metavar="N", min=0, help=f"Of the job, the last N; 0: all.  [default: {LAST}]", show_default=False
        ),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print all entries as JSON and nothing else.")] = False,
    state: State = None,
    as_of: AsOf = None,
) -> None:
    """Print the curing record of a face, or the entries of a job; nothing is changed."""
    if last is not None and (face is not None or json):
        raise UsageError("--last: is for the list of a whole job; leave out --last, or the face and --json")
    seen = see_record(job, state=state, as_of=as_of)
    words = Words(seen.job.file.units)
    name = find_face(seen, face) if face is not None else None
    if json:
        told = job_record(seen)
        about = (name, seen.roots.face_root(name)) if name is not None else None
        told = of_face(seen, told, name) if name is not None else told
        say_bytes(record_json(told, words, seen.roots.people_now, face=about).encode())
    elif name is not None:
        say_page(record_page(face_record(seen, name), words))
    else:
        say_page(record_list(job_record(seen), words, LAST if last is None else last))
