"""One exception tree: every fault a person can cause or mend is a :class:`CuringError`.

A message says: where, which thing, what (value and unit), the limit and its
rule, what to do. All problems of one file travel together.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Place:
    """A place in a file; lines and columns count from 1, 0 means the whole file."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        if not self.line:
            return self.file
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, order=True)
class Problem:
    """One thing that is wrong.

    Parameters
    ----------
    place
        File, line and column, or None when no file is at fault.
    text
        ``which thing: what, value and unit; the limit and its rule; what to do``.

    Examples
    --------
    >>> print(Problem(Place("alder-court.yaml", 31, 18), 'wall "3": no area; add "area: 10 m2"'))
    alder-court.yaml:31:18: wall "3": no area; add "area: 10 m2"
    """

    place: Place | None
    text: str

    def __str__(self) -> str:
        return f"{self.place}: {self.text}" if self.place else self.text


class CuringError(Exception):
    """Something a person can mend. ``exit_code`` is what the command line returns."""

    exit_code = 1

    def __init__(self, problems: str | Problem | Iterable[Problem]) -> None:
        if isinstance(problems, str):
            problems = Problem(None, problems)
        if isinstance(problems, Problem):
            problems = (problems,)
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))


class FileError(CuringError):
    """A job, coat-system, settings or plan file is wrong; holds all its problems."""


class PlanError(CuringError):
    """The job can't be planned; names the task and the rule that bind."""


class RecordError(CuringError):
    """Something may not go into the record or the decisions: no right, not yet, not there."""


class StateError(CuringError):
    """The state folder is locked, read-only, full, from a newer version, or another job's."""


class OutputError(CuringError):
    """The output folder can't be written."""


class WeatherError(CuringError):
    """A weather service did not answer, or what it says can't be used."""


class UsageError(CuringError):
    """The command was called with words it does not take."""

    exit_code = 2
