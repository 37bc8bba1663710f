"""Writing to the terminal: pages to standard output, problems to standard error."""

from __future__ import annotations

import errno
import sys
from collections.abc import Iterable, Sequence
from datetime import date
from time import perf_counter

from curing.errors import OutputError, Problem
from curing.publish.terminal_layout import wrap

MOST = 100
"""So many problems are told; more would not help."""


def say_page(lines: Iterable[str]) -> None:
    """Write lines to standard output."""
    say_text("".join(f"{line}\n" for line in lines))


def say_text(text: str) -> None:
    """Write text to standard output as it is.

    Raises
    ------
    OutputError
        It can't be written, for instance because a disk is full.
    """
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except OSError as error:
        if error.errno == errno.EPIPE:  # whoever read it has seen enough
            raise
        raise OutputError(f"standard output: can't be written ({error.strerror}); free some space") from None


def say_bytes(body: bytes) -> None:
    """Write bytes to standard output: JSON is UTF-8 whatever the terminal speaks."""
    binary = getattr(sys.stdout, "buffer", None)
    if binary is None:
        say_text(body.decode())
        return
    try:
        sys.stdout.flush()
        binary.write(body)
        binary.flush()
    except OSError as error:
        if error.errno == errno.EPIPE:
            raise
        raise OutputError(f"standard output: can't be written ({error.strerror}); free some space") from None


class Progress:
    """One line on a terminal's standard error, redrawn, where planning takes longer than two seconds."""

    PATIENCE = 2.0
    """[s]"""

    def __init__(self) -> None:
        self._began, self._shown = perf_counter(), False

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._shown:
            print(f"\r{'':40}\r", end="", file=sys.stderr, flush=True)

    def __call__(self, day: date, dated: int, coats: int) -> None:
        """Show the day reached and how many coats have one."""
        if sys.stderr.isatty() and perf_counter() - self._began > self.PATIENCE:
            self._shown = True
            print(f"\rplanning {day:%b %Y}  {dated} of {coats} coats", end="", file=sys.stderr, flush=True)


def say_problems(problems: Sequence[Problem]) -> None:
    """Write problems to standard error, each begun on a line of its own and broken at 80 cells."""
    for problem in problems[:MOST]:
        text = "".join(sign if sign.isprintable() else " " for sign in str(problem))
        for line in wrap(text, "", "  ", whole=True):
            print(line, file=sys.stderr)
    if len(problems) > MOST:
        print(f"and {len(problems) - MOST} more", file=sys.stderr)
