"""``curing systems``: coat systems there are, and all rules of one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from curing.cli.printing import say_page, say_problems
from curing.publish.terminal_systems import system_page, systems_page
from curing.publish.words import Words
from curing.workflow.viewing import view_systems


def systems(
    system: Annotated[
        str | None, typer.Argument(metavar="ID", help="A coat system, to see all of it.", show_default=False)
    ] = None,
) -> None:
    """List the built-in coat systems and those in a folder "systems" here, or all rules of one."""
    found = view_systems(Path(), system)
    if system is not None:
        say_page(system_page(found.systems[system], Words()))
        return
    say_page(systems_page(found.systems, {name: str(path) for name, path in found.own.items()}, Words()))
    if found.problems:
        say_problems(found.problems)
        raise typer.Exit(1)
