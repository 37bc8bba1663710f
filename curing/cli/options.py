"""Arguments and options that several commands take."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file.", show_default=False)]

State = Annotated[
    Path | None,
    typer.Option(metavar="DIR", help="Folder that keeps the job's plans.  [default: JOB.state]", show_default=False),
]

AsOf = Annotated[
    str | None,
    typer.Option("--as-of", metavar="TIME", help='Take this for now: "2027-05-03 06:40".', show_default=False),
]
