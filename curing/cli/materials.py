"""``curing materials``: what to order and make by when, and how much each coat and week takes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from curing.cli.options import AsOf, JobFile, State
from curing.cli.printing import say_bytes, say_page
from curing.errors import UsageError
from curing.publish.terminal_materials import materials_page
from curing.publish.terminal_names import Names
from curing.publish.terminal_today import Standing
from curing.workflow.materials import table_of, units_of, view_materials, write_table, written_materials


def materials(
    job: JobFile,
    csv: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Write a table for spreadsheets; - prints it.", show_default=False),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print it as JSON and nothing else.")] = False,
    state: State = None,
    as_of: AsOf = None,
) -> None:
    """Print estimates of material, water and labour, and what to order and make by when; nothing is saved."""
    if csv == "-" and json:
        raise UsageError("--csv - and --json both print to standard output; leave one of them out")
    needed = view_materials(job, state=state, as_of=as_of)
    if csv == "-":
        say_bytes(table_of(needed))
        return
    if csv is not None:
        write_table(needed, Path(csv))
    if json:
        say_bytes(written_materials(needed).encode())
        return
    seen = needed.seen
    standing = Standing(str(job), needed.saved, seen.edited, seen.recorded, seen.moves, seen.trouble is not None)
    names = Names(needed.plan, units_of(needed), seen.now)
    say_page(materials_page(needed.plan, needed.walked, standing, names, needed.today, written=csv or ""))
