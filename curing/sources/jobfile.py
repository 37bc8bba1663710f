"""Reading a job file: everything that is wrong with it is told at once, each with its place."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Any

from curing.errors import FileError, Problem
from curing.model.job import JOB_FORMAT, BusySpan, Job, JobFile
from curing.model.quantities import clip
from curing.model.system import System
from curing.sources.busy import read_busy_plan
from curing.sources.holiday_calendar import non_working
from curing.sources.job_capacity import check_capacity
from curing.sources.job_dates import check_dates
from curing.sources.job_draft import Draft, take_apart
from curing.sources.job_holds import check_holds
from curing.sources.job_materials import check_at_hand
from curing.sources.job_order import check_order
from curing.sources.job_people import check_people
from curing.sources.job_references import check_references
from curing.sources.job_rules import OwnValues, read_rules
from curing.sources.job_stations import station_files
from curing.sources.job_systems import check_sides, read_systems
from curing.sources.panel_pores import check_panels
from curing.sources.validation import MOST_SHOWN, raise_problems
from curing.sources.yaml_nodes import Document, compose, read_text

_QUANTITY = {"type": "string", "description": "a quantity with its unit", "examples": ["13 mm", "14 d"]}


def read_job(path: Path, *, years: range, today: date) -> Job:
    """Read a job file with the coat systems, holidays and other plans it names.

    Parameters
    ----------
    path
        The job file; coat systems of its own stand in a folder ``systems`` beside
        it, and paths under ``busy:`` count from its folder.
    years
        Calendar years for which holidays are worked out.
    today
        Last day on which something can have been done or met.

    Raises
    ------
    FileError
        Everything that is wrong with the file, the coat systems and the plans,
        in the order of the file, as far as one fault does not hide another.

    Examples
    --------
    >>> read_job(Path("alder-cuort.yaml"), years=range(2027, 2029), today=date(2027, 4, 30))
    Traceback (most recent call last):
    ...
    curing.errors.FileError: alder-cuort.yaml: there is no such file; check the name and the folder
    """
    return job_of(compose(read_text(path), str(path)), path.parent, path.read_bytes(), years=years, today=today)


def job_of(document: Document, folder: Path, raw: bytes, *, years: range, today: date) -> Job:
    """Return the job of a document that may not be written yet.

    Parameters
    ----------
    document
        What stands, or would stand, in the job file.
    folder
        Where it lies.
    raw
        Its bytes, of which the job keeps the digest.
    years, today
        As in :func:`read_job`.

    Raises
    ------
    FileError
        As :func:`read_job`.
    """
    draft, own, digests, busy = _judged(document, folder, today)
    raise_problems(draft.problems)
    file = JobFile.model_validate(document.data)
    return Job(
        file=file,
        systems=draft.systems,
        rule_values=own.values,
        holidays=non_working(file.holidays, years),
        busy=busy,
        digests={"job": sha256(raw).hexdigest(), **digests},
    )


def judge_document(document: Document, folder: Path, *, today: date) -> list[Problem]:
    """Return everything that is wrong with a job file that may not be written yet.

    Parameters
    ----------
    document
        What would stand in it.
    folder
        Where it would lie: coat systems of its own stand in a folder ``systems`` there.
    today
        As in :func:`read_job`.

    Examples
    --------
    >>> document = compose("curing: 1\\nname: Barn\\n", "barn.yaml")
    >>> print(judge_document(document, Path(), today=date(2027, 4, 30))[0])
    barn.yaml:1:1: "uid" is missing; add "uid: ..."
    """
    try:
        return _judged(document, folder, today)[0].problems
    except FileError as error:
        return list(error.problems)


def _judged(
    document: Document, folder: Path, today: date
) -> tuple[Draft, OwnValues, dict[str, str], tuple[BusySpan, ...]]:
    """Return the pieces of a document with all its problems, own values, digests of what it names, hours given away."""
    _check_form(document)
    draft = take_apart(document)
    digests = {f"system {name}": digest for name, digest in read_systems(draft, folder, draft.problems).items()}
    own = read_rules(draft, draft.problems)
    draft.problems.extend(_checks(draft, own, today))
    busy, plans = _busy(draft, folder, draft.problems)
    tables = station_files(draft, folder, draft.problems)
    return draft, own, {**digests, **plans, **tables}, busy


def job_schema() -> dict[str, Any]:
    """Return the JSON Schema of a job file, for editors that check while one writes.

    Examples
    --------
    >>> sorted(job_schema()["required"])
    ['crews', 'curing', 'name', 'people', 'sites', 'uid', 'walls']
    """
    return _schema(JobFile, "curing job file")


def system_schema() -> dict[str, Any]:
    """Return the JSON Schema of a coat system.

    Examples
    --------
    >>> system_schema()["title"]
    'curing coat system'
    """
    schema = _schema(System, "curing coat system")
    rule = schema["$defs"]["Rule"]["properties"]
    rule |= dict.fromkeys(("value", "least", "most"), _QUANTITY)  # numbers once read, text in the file
    del rule["written"]
    return schema


def _schema(model: type[JobFile] | type[System], title: str) -> dict[str, Any]:
    schema = model.model_json_schema(mode="validation")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": title}


def _check_form(document: Document) -> None:
    """Refuse a file in a newer form: what looks wrong in it may be right there."""
    version, place = document.data.get("curing"), document.place(("curing",))
    if not isinstance(version, int) or isinstance(version, bool):
        return
    if version > JOB_FORMAT:
        text = f"curing: form {version} is newer than {JOB_FORMAT}, the newest that can be read here"
        raise FileError(Problem(place, f"{text}; install a newer curing"))
    if version < 1:
        document.problems.append(Problem(place, f'curing: there is no form {version}; write "curing: {JOB_FORMAT}"'))


def _checks(draft: Draft, own: OwnValues, today: date) -> Iterator[Problem]:
    """Yield what is wrong between the pieces: of each kind as many as are shown, since each may take its time."""
    for found in (
        check_references(draft),
        check_people(draft),
        check_sides(draft),
        check_order(draft),
        check_panels(draft),
        check_holds(draft, today),
        check_dates(draft, today),
        check_capacity(draft, own),
        check_at_hand(draft),
    ):
        yield from islice(found, MOST_SHOWN)


def _busy(draft: Draft, folder: Path, problems: list[Problem]) -> tuple[tuple[BusySpan, ...], dict[str, str]]:
    """Return the hours that other plans give away, and the digests of these plans."""
    spans: set[BusySpan] = set()
    digests: dict[str, str] = {}
    first = {draft.head.uid: "this job file"}
    people = frozenset(draft.known("people"))
    for number, written in enumerate(draft.head.busy):
        steps = ("busy", number)
        try:
            plan = read_busy_plan(folder / written, people)
        except FileError as error:
            texts = (f'busy: "{clip(written)}": {problem.text}' for problem in error.problems)
            problems.extend(draft.problem(steps, text) for text in texts)
            continue
        if plan.job in first:
            text = f'busy: "{clip(written)}" has the same uid as {first[plan.job]}; one uid in two jobs: change one'
            problems.append(draft.problem(steps, text))
        first.setdefault(plan.job, f'"{clip(written)}"')
        spans.update(plan.spans)
        digests[f"busy {written}"] = plan.digest
    return tuple(sorted(spans, key=lambda span: (span.start, span.end, span.person, span.job))), digests
