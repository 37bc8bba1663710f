"""``curing schema``: JSON Schema of the files, for editors that check while one writes."""

from __future__ import annotations

import json
from typing import Annotated, Literal

import typer

from curing.cli.printing import say_bytes
from curing.workflow import viewing


def schema(
    of: Annotated[Literal["job", "system", "plan"], typer.Argument(metavar="WHICH", help="Which file.")],
) -> None:
    """Print the JSON Schema (draft 2020-12) of a job file, a coat system or plan.json."""
    say_bytes((json.dumps(viewing.schema(of), ensure_ascii=False, indent=2) + "\n").encode())
