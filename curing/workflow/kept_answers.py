"""Answers kept beside a job file that is not written yet, so that nothing is asked twice.

A hidden file, written aside and renamed after every answer: whatever ends the program, it holds all
answers but perhaps the last. It goes when the job file is written.
"""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path
from typing import Any

from curing.errors import FileError, OutputError, Place, Problem
from curing.model.quantities import clip

FORM = 1
SUFFIX = ".answers"
MOST_BYTES = 4_000_000


class KeptAnswers:
    """The answers to the questions so far, and their file.

    Parameters
    ----------
    path
        Their file; None: they are not kept.
    answers
        What is known already.
    """

    def __init__(self, path: Path | None, answers: list[tuple[str, str]] | None = None) -> None:
        self.path = path
        self.answers: list[tuple[str, str]] = answers or []

    def keep(self) -> None:
        """Write the answers down.

        Raises
        ------
        OutputError
            The folder can't be written.
        """
        if self.path is None:
            return
        if not self.answers:
            self.forget()
            return
        body = json.dumps({"curing_answers": FORM, "answers": self.answers}, indent=0).encode()
        try:
            handle, aside = tempfile.mkstemp(prefix=f"{self.path.name}.", dir=self.path.parent)
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(body)
                    file.flush()
                    os.fsync(file.fileno())
                os.replace(aside, self.path)
            except BaseException:
                Path(aside).unlink(missing_ok=True)
                raise
        except OSError as error:
            what = f"{self.path.parent}: answers can't be kept there ({error.strerror}); free some space"
            raise OutputError(f"{what}, or name a job file in another folder") from None

    def forget(self) -> None:
        """Delete the file, and what a killed program left of writing it."""
        if self.path is None:
            return
        for path in (self.path, *self.path.parent.glob(f"{glob_safe(self.path.name)}.*")):
            path.unlink(missing_ok=True)


def glob_safe(name: str) -> str:
    """Return a file name whose signs mean themselves in a pattern.

    Examples
    --------
    >>> glob_safe("barn[1]")
    'barn[[]1]'
    """
    return "".join(f"[{sign}]" if sign in "*?[" else sign for sign in name)


def place_of(job_file: Path) -> Path:
    """Return where the answers of a job file are kept.

    Examples
    --------
    >>> place_of(Path("jobs/alder-court.yaml")).name
    '.alder-court.yaml.answers'
    """
    return job_file.with_name(f".{job_file.name}{SUFFIX}")


def job_files_begun(folder: Path) -> list[Path]:
    """Return the job files of a folder whose answers are kept and that are not written yet."""
    names = (path.name[1 : -len(SUFFIX)] for path in sorted(folder.glob(f".*{SUFFIX}")) if path.is_file())
    return [folder / name for name in names if name and not (folder / name).exists()]


def read_kept(job_file: Path) -> KeptAnswers:
    """Return the answers kept for a job file; none where there is no such file.

    Raises
    ------
    FileError
        The file is not one that was written here.
    """
    path = place_of(job_file)
    try:
        with open(path, "rb") as file:
            raw = file.read(MOST_BYTES)
    except FileNotFoundError:
        return KeptAnswers(path)
    except OSError as error:
        raise FileError(Problem(Place(str(path)), f"the kept answers can't be read ({error.strerror})")) from None
    answers = _answers(raw)
    if answers is None:
        what = f"these are no answers kept by this curing ({clip(raw[:30].decode(errors='replace'))})"
        raise FileError(Problem(Place(str(path)), f"{what}; delete the file and begin anew"))
    return KeptAnswers(path, answers)


def _answers(raw: bytes) -> list[tuple[str, str]] | None:
    try:
        said: Any = json.loads(raw)
    except (ValueError, RecursionError):
        return None
    if not isinstance(said, dict) or said.get("curing_answers") != FORM or not isinstance(said.get("answers"), list):
        return None
    answers: list[tuple[str, str]] = []
    for one in said["answers"]:
        if not isinstance(one, list) or len(one) != 2 or not all(isinstance(part, str) for part in one):
            return None
        answers.append((one[0], one[1]))
    return answers
