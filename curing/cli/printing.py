"""Writing to the terminal: pages to standard output, problems to standard error."""

from __future__ import annotations

import errno
import sys
from collections.abc import Iterable, Sequence

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


def say_problems(problems: Sequence[Problem]) -> None:
    """Write problems to standard error, each begun on a line of its own and broken at 80 cells."""
    for problem in problems[:MOST]:
        text = "".join(sign if sign.isprintable() else " " for sign in str(problem))
        for line in wrap(text, "", "  ", whole=True):
            print(line, file=sys.stderr)
    if len(problems) > MOST:
        print(f"and {len(problems) - MOST} more", file=sys.stderr)
