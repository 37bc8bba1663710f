"""A job file set up by forms: opened, changed in a few lines, judged whole, and only then written.

Whatever is typed, the file on the disk is either the old one or one that reads. One that has faults
already may be mended a fault at a time: then it is written with fewer of them, never with a new one.
"""

from __future__ import annotations

import os
import re
import tempfile
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path

from curing.errors import FileError, OutputError, Problem
from curing.model.job import Job
from curing.model.plan import Plan
from curing.sources.job_edit import Add, Edit, FieldProblem, Put, edited, fields_of, value_fault
from curing.sources.job_edit_text import FileText, read_file
from curing.sources.jobfile import job_of, judge_document
from curing.sources.yaml_nodes import Document, compose
from curing.workflow.opening import NOTHING, Said, facts

_WRITING = threading.Lock()
"""Two forms of one server are taken one after the other."""


@dataclass(frozen=True)
class Known:
    """What plan and record know of the job: nothing of it may be lost by an edit."""

    parent: Plan | None = None
    said: Said = NOTHING


NOBODY_KNOWS = Known()


@dataclass(frozen=True)
class JobSetup:
    """A job file as it stood when a form was drawn.

    Attributes
    ----------
    path
        The file.
    digest
        Of its bytes; goes into the form, and comes back with it.
    document
        Its data and where each part stands.
    problems
        What is wrong with it already.
    """

    path: Path
    file: FileText
    document: Document
    problems: tuple[FieldProblem, ...]

    @property
    def digest(self) -> str:
        """The sha256 of the file's bytes."""
        return self.file.digest


@dataclass(frozen=True)
class Saved:
    """What became of some edits.

    Attributes
    ----------
    written
        Whether the file was changed. Not so where there are problems, or nothing differs.
    problems
        Why nothing was written; or, of a file that had faults before, what is still wrong.
    lost
        Whether the problem is that plan or record know something that would not be there any more.
    stale
        Whether the file was changed since the form was drawn.
    """

    written: bool
    problems: tuple[FieldProblem, ...] = ()
    lost: bool = False
    stale: bool = False


def open_setup(path: Path, today: date) -> JobSetup:
    """Return a job file to be set up.

    Parameters
    ----------
    path
        The job file.
    today
        As in :func:`curing.sources.jobfile.read_job`.

    Raises
    ------
    FileError
        It can't be read as YAML, or only by an editor's help: anchors, tags, keys that stand twice.
    """
    file, document = _read(path)
    return JobSetup(path, file, document, _judged(document, path.parent, today))


def _read(path: Path) -> tuple[FileText, Document]:
    file = read_file(path)
    document = compose(file.text, str(path))
    if document.problems:
        raise FileError(document.problems)
    return file, document


def _judged(document: Document, folder: Path, today: date) -> tuple[FieldProblem, ...]:
    problems = judge_document(document, folder, today=today)
    in_order = sorted(dict.fromkeys(problems), key=lambda one: (one.place is not None, one.place))
    return tuple(fields_of(in_order, document))


def save(
    path: Path, digest: str, edits: Sequence[Edit], today: date, known: Known = NOBODY_KNOWS, *, trial: bool = False
) -> Saved:
    """Change a job file, or say why not; it is written whole or stays as it was.

    Parameters
    ----------
    path
        The job file.
    digest
        Of the file that the form showed.
    edits
        What the form changes.
    today
        As in :func:`curing.sources.jobfile.read_job`.
    known
        Plan and record.
    trial
        Judge only: ``written`` tells whether it would be.

    Raises
    ------
    FileError
        The file can't be read at all.
    OutputError
        It can't be written; the old one is whole.
    """
    with _WRITING:
        file, old = _read(path)
        if file.digest != digest:
            return Saved(False, (_at_head(_changed_meanwhile(path)),), stale=True)
        if faults := _values_faults(edits):
            return Saved(False, faults)
        try:
            text = edited(file.text, edits, str(path))
        except FileError as error:
            return Saved(False, tuple(fields_of(error.problems, old)))
        if text == file.text:
            return Saved(False)
        document, raw = compose(text, str(path)), file.with_text(text)
        try:
            job = _job(document, path, raw, today)
        except FileError:
            problems = _judged(document, path.parent, today)
            before = _judged(old, path.parent, today)
            if not _only_old(problems, before):
                return Saved(False, _new_first(problems, before))
        else:
            problems = _lost(job, known)
            if problems:
                return Saved(False, problems, lost=True)
        if not trial:
            write_over(path, raw, digest)
        return Saved(True, problems)


def _values_faults(edits: Sequence[Edit]) -> tuple[FieldProblem, ...]:
    values = ((edit.steps, value_fault(edit.value)) for edit in edits if isinstance(edit, Put | Add))
    return tuple(FieldProblem(steps, Problem(None, fault)) for steps, fault in values if fault)


def _at_head(text: str) -> FieldProblem:
    return FieldProblem((), Problem(None, text))


def _changed_meanwhile(path: Path) -> str:
    return (
        f"{path.name}: was changed in the meantime, by an editor or another form; nothing is written: "
        "look at what stands there now, and make your change again"
    )


def _only_old(problems: Sequence[FieldProblem], old: Sequence[FieldProblem]) -> bool:
    """Tell whether nothing is wrong that was not wrong before."""
    return {_said(one) for one in problems} <= {_said(one) for one in old}


def _new_first(problems: Sequence[FieldProblem], old: Sequence[FieldProblem]) -> tuple[FieldProblem, ...]:
    before = {_said(one) for one in old}
    return tuple(sorted(problems, key=lambda one: _said(one) in before))


def _said(one: FieldProblem) -> str:
    return re.sub(r"\bline \d+", "line", one.problem.text)


def _lost(job: Job, known: Known) -> tuple[FieldProblem, ...]:
    """Return what plan or record know and this job does not any more."""
    try:
        facts(job, known.parent, known.said)
    except FileError as error:
        return tuple(FieldProblem((), problem) for problem in error.problems)
    return ()


def _job(document: Document, path: Path, raw: bytes, today: date) -> Job:
    return job_of(document, path.parent, raw, years=range(today.year, today.year + 2), today=today)


def write_over(path: Path, raw: bytes, digest: str) -> None:
    """Put other bytes in the place of a file's, aside and renamed, with the rights it had.

    Parameters
    ----------
    path
        The file, or a link to it.
    raw
        What it is to hold.
    digest
        Of what it holds now; another, and nothing is written.

    Raises
    ------
    OutputError
        It is read-only, its folder is, the disk is full, or it was changed: the old one is whole.
    """
    real, aside = Path(os.path.realpath(path)), None
    try:
        facts_now = real.stat()
        if not facts_now.st_mode & 0o222 or not os.access(real, os.W_OK):
            raise OutputError(f"{path}: is read-only and is left as it is; allow writing to it, or ask whose it is")
        handle, name = tempfile.mkstemp(prefix=f".{real.name}.", suffix=".aside", dir=real.parent)
        aside = Path(name)
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(aside, facts_now.st_mode & 0o7777)
        if (facts_now.st_uid, facts_now.st_gid) != (os.geteuid(), os.getegid()):
            _own_again(aside, facts_now)
        if aside.read_bytes() != raw:
            raise OutputError(
                f"{path}: the disk gave back other than was written; nothing is changed, look at the disk"
            )
        if sha256(real.read_bytes()).hexdigest() != digest:
            raise OutputError(_changed_meanwhile(path))
        os.replace(aside, real)
        _settle(real.parent)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise OutputError(f"{path}: can't be written ({why}); it is as it was: free some space, check rights") from None
    finally:
        if aside is not None:
            aside.unlink(missing_ok=True)


def _own_again(aside: Path, facts_before: os.stat_result) -> None:
    try:
        os.chown(aside, facts_before.st_uid, facts_before.st_gid)
    except OSError:  # who may write the file need not be its owner: it is the writer's then
        return


def _settle(folder: Path) -> None:
    """Let the disk keep the new name, where it can be asked to."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        return
    finally:
        os.close(handle)
