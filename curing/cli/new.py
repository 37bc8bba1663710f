"""``curing new``: asks for a job, one thing at a time, and writes its file."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

import typer

from curing.errors import CuringError, Place, Problem
from curing.publish.terminal_layout import width, wrap
from curing.sources.yaml_nodes import read_text
from curing.workflow.interview import Question, WrongAnswerError
from curing.workflow.new_job import NewJob

LEFT = 1
STOPPED = 130
ROOM = 24
"""Cells that are left for an answer on the line of its question."""


class Answers:
    """Answers from a terminal, a pipe or a file, and what is said to whoever gives them.

    Parameters
    ----------
    lines
        Answers to give first, one a line; None: there are none.
    """

    def __init__(self, lines: list[tuple[int, str]] | None, name: str) -> None:
        self._lines, self._name = lines, name
        self._typed = sys.stdin.isatty()
        self.count, self.asked, self._others = 0, "", 0
        if self._typed:
            with contextlib.suppress(ImportError):
                import readline  # noqa: F401  (arrow keys and history for input)

    @property
    def given(self) -> bool:
        """Whether answers of a file are still to come."""
        return bool(self._lines)

    @property
    def patient(self) -> bool:
        """Whether somebody sits at a terminal."""
        return self._typed and not self.given

    @property
    def only_file(self) -> bool:
        """Whether every answer so far came from a file."""
        return self._lines is not None and not self._others

    @property
    def place(self) -> Place:
        """Where the answer stood that was given last."""
        return Place(self._name, self.count, 1)

    def ask(self, question: Question[Any]) -> str:
        """Return an answer; EOFError after the last."""
        default, self.asked = question.default, question.ask
        shown = "" if default is None else f" [{default or 'none'}]"
        *before, last = wrap(f"{question.ask}{shown}:", "", "  ")
        if width(last) > 80 - ROOM:
            before, last = [*before, last], " "
        self._say([*before])
        return self._read(f"{last} ")

    def _read(self, prompt: str) -> str:
        try:
            if self._lines:
                self.count, text = self._lines.pop(0)
                self._say([f"{prompt}{text}".rstrip()])
                return text
            text = input(prompt) if self._typed else self._line(prompt)
        except OSError:  # the terminal is gone
            raise EOFError from None
        except UnicodeDecodeError:
            raise WrongAnswerError(f"answer {self.count + 1}: is not UTF-8; send it as UTF-8") from None
        self.count += 1
        self._others += 1
        return text

    def _line(self, prompt: str) -> str:
        """Return the next line of a pipe, and show it as if it had been typed."""
        line = sys.stdin.readline()
        text = line.rstrip("\r\n")
        self._say([f"{prompt}{text}"])
        if not line:
            raise EOFError
        return text

    def say(self, text: str, *, indent: str = "", heading: bool = False) -> None:
        """Show sentences, each on lines of its own."""
        lines = [line for part in text.split("\n") for line in wrap(part, indent)]
        self._say(["", *lines] if heading else lines)

    def show(self, lines: Sequence[str]) -> None:
        """Show lines, broken where they are too long."""
        self._say([part for line in lines for part in ([line] if width(line) <= 80 else wrap(line, "", "  "))])

    def leave(self, kept: str) -> None:
        """Say what is kept when somebody leaves; the terminal may be gone."""
        with contextlib.suppress(EOFError):
            self._say(["", *wrap(kept, "", "  ", whole=True)])

    @staticmethod
    def _say(lines: Sequence[str]) -> None:
        try:
            for line in lines:
                print("".join(sign if sign.isprintable() else " " for sign in line).rstrip())
            sys.stdout.flush()
        except OSError:
            raise EOFError from None


def new(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="The job file to write; else named after the job.", show_default=False),
    ] = None,
    walls: Annotated[
        Path | None,
        typer.Option(metavar="FILE.csv", help="Take the walls from a table of a spreadsheet.", show_default=False),
    ] = None,
    units: Annotated[
        Literal["metric", "us"] | None,
        typer.Option(metavar="metric|us", help="Measures in the plan.", show_default=False),
    ] = None,
    answers: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Take answers from a file, one a line, then ask.", show_default=False),
    ] = None,
) -> None:
    """Ask for a job in the words of the trade and write its file, with comments."""
    talk = Answers(_lines(answers) if answers else None, str(answers or "answers"))
    job = NewJob(file, walls, units, from_file=answers is not None)
    try:
        job.run(talk)
    except (KeyboardInterrupt, EOFError) as end:
        kept = _kept(job, forget=talk.only_file)
        if isinstance(end, KeyboardInterrupt) or talk.patient:
            talk.leave(kept)
            raise typer.Exit(STOPPED if isinstance(end, KeyboardInterrupt) else LEFT) from None
        raise CuringError(
            [Problem(talk.place, job.words.say("new.ended", ask=talk.asked)), Problem(None, kept)]
        ) from None
    except WrongAnswerError as error:
        fault = Problem(talk.place, error.problems[0].text)
        raise CuringError([fault, Problem(None, _kept(job, forget=talk.only_file))]) from None
    except CuringError as error:
        if job.memory.answers:  # something was answered: it is not lost
            error.problems = (*error.problems, Problem(None, _kept(job, forget=talk.only_file)))
        raise


def _kept(job: NewJob, *, forget: bool) -> str:
    """Return what is kept of a job that is not written; of answers from a file alone, that file."""
    memory, words = job.memory, job.words
    if forget:
        memory.forget()
    if forget or not memory.answers or memory.path is None:
        return words.say("new.left.nothing")
    answers = words.count("new.left.answers", len(memory.answers))
    command = f"curing new {job.file}" + (f" --walls {job.walls}" if job.walls else "")
    return words.say("new.left", answers=answers, kept=memory.path, command=command)


def _lines(path: Path) -> list[tuple[int, str]]:
    """Return the answers of a file with their lines; a line that begins with # is none."""
    text = read_text(path)
    lines = list(enumerate(text.removesuffix("\n").split("\n"), 1))
    return [(number, line) for number, line in lines if not line.startswith("#")]
