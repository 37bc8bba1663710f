"""The command ``curing``: each command is a module of its own, imported only when it is named."""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Mapping
from difflib import get_close_matches
from time import perf_counter
from typing import Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from curing import __version__
from curing.cli.printing import say_problems
from curing.errors import CuringError, UsageError

COMMANDS: Mapping[str, tuple[str, str]] = {
    "new": ("curing.cli.new", "Ask for a new job and write its file."),
    "plan": ("curing.cli.plan", "Plan a job, keep the plan, and tell what needs you."),
    "today": ("curing.cli.today", "What to do today at the walls, and what waits."),
    "materials": ("curing.cli.materials", "What to order and make by when; what each coat and week takes."),
    "log": ("curing.cli.log", "Say what happened: finished, misted, a reading, a hold met."),
    "assign": ("curing.cli.decisions", "Say who takes the rounds of a day or a weekend."),
    "keep": ("curing.cli.decisions", "Keep a coat on its day against a rule, with a reason."),
    "move": ("curing.cli.decisions", "Move a coat to another day."),
    "record": ("curing.cli.record", "What was done on a face, read and decided."),
    "weather": ("curing.cli.weather", "The next three days at each face, and what may be laid."),
    "changes": ("curing.cli.changes", "What moved in the newest plan: from, to, because."),
    "reminders": ("curing.cli.reminders", "What reminders went out, how they were answered, what comes."),
    "serve": ("curing.cli.serve", "Pages to tick off and calendars to subscribe to, for phones."),
    "remind": ("curing.cli.remind", "Send reminders alone, where no pages are served."),
    "check": ("curing.cli.check", "Tell everything that is wrong with a job and its saved plan."),
    "systems": ("curing.cli.systems", "Coat systems there are, or all rules of one."),
    "schema": ("curing.cli.schema", "JSON Schema of a job, a coat system or a plan, for editors."),
}
"""Command → the module whose function has its name, and one line of help."""

INTERRUPTED = 130
"""Exit code after Ctrl-C: 128 and the number of the signal."""


class _Command(TyperCommand):
    """A command whose usage names its arguments plainly: ``JOB``."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        return [piece.strip("{}") for piece in super().collect_usage_pieces(ctx)]


class _Commands(TyperGroup):
    """The commands, which are imported when they are named and not before."""

    def list_commands(self, ctx: Any) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        if cmd_name not in COMMANDS:
            near = get_close_matches(cmd_name, COMMANDS, n=1)
            hint = f'did you mean "{near[0]}"?' if near else f"use one of {', '.join(COMMANDS)}"
            raise UsageError(f'"{cmd_name}" is no command; {hint}')
        module, line = COMMANDS[cmd_name]
        one = typer.Typer(add_completion=False, rich_markup_mode=None)
        loaded = importlib.import_module(module)
        name = cmd_name.replace("-", "_")
        one.command(
            cmd_name, cls=_Command, help=line, epilog=getattr(loaded, "EPILOG", None), context_settings=_SETTINGS
        )(getattr(loaded, name))
        return typer.main.get_command(one)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])

    def invoke(self, ctx: Any) -> Any:
        ctx.obj = perf_counter()
        try:
            return super().invoke(ctx)
        except CuringError as error:
            say_problems(error.problems)
            raise typer.Exit(error.exit_code) from None
        except KeyboardInterrupt:
            print("stopped; what was saved before is whole", file=sys.stderr)
            raise typer.Exit(INTERRUPTED) from None


_SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 80}

app = typer.Typer(
    cls=_Commands,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings=_SETTINGS,
    no_args_is_help=True,
)


def _version(asked: bool) -> None:
    if asked:
        print(f"curing {__version__}")
        raise typer.Exit()


@app.callback()
def curing(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version and exit.")
    ] = False,
) -> None:
    """Plan the coats, misting and hold points of clay-lime plaster on straw-clay walls.

    JOB is one text file that lists the walls in the order you walk them.
    """


def main() -> None:
    """Run the command line; the exit code says how it went: 0 well, 1 something to mend, 2 wrongly called."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed by who called: say nothing, to nobody
            setattr(sys, name, open(os.devnull, "w"))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal that lacks a sign shows ? and goes on
    app(prog_name="curing")
