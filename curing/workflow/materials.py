"""What a job takes, from its plan as it stands now: for the terminal, a spreadsheet, another program."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from curing.errors import OutputError
from curing.model.plan import Material, Plan, Supply, Walked
from curing.planning.materials import walked
from curing.publish.materials_csv import materials_csv
from curing.publish.plan_fields import form_of
from curing.publish.plan_values import Context
from curing.publish.words import Words
from curing.workflow.exporting import write_file
from curing.workflow.viewing import Viewed, view_job, words_of

MATERIALS_FORMAT = 1
"""Version of what ``--json`` prints."""


@dataclass(frozen=True)
class Needed:
    """A plan and what it takes."""

    seen: Viewed
    plan: Plan
    """The plan as planning now would have it; the saved one where that is the same."""
    saved: bool
    """Whether that is the plan people were told."""
    walked: tuple[Walked, ...]
    today: date
    """At the first site."""


def view_materials(job_file: Path, *, state: Path | None = None, as_of: str | None = None) -> Needed:
    """Return what the coats of a job take, by its plan as it stands; nothing is saved.

    Raises
    ------
    FileError, PlanError, StateError, UsageError
        As :func:`curing.workflow.viewing.view_job`.
    """
    seen = view_job(job_file, state=state, as_of=as_of)
    plan = seen.present
    first = plan.sites[0]
    today = seen.now.astimezone(ZoneInfo(first.zone)).date()
    same = seen.saved and plan.revision == seen.plan.revision
    return Needed(seen, plan, same, walked(plan, today), today)


def written_materials(needed: Needed) -> str:
    """Return the materials, supplies and rounds of a plan as JSON, in SI units."""
    plan = needed.plan
    where = Context("UTC", {}, lambda _: "")
    data: dict[str, Any] = {
        "format": MATERIALS_FORMAT,
        "job": plan.job,
        "name": plan.name,
        "revision": plan.revision if needed.saved else None,
        "today": needed.today.isoformat(),
        "materials": [form_of(Material).write(one, where) for one in plan.materials],
        "supplies": [form_of(Supply).write(one, where) for one in plan.supplies],
        "rounds": [form_of(Walked).write(one, where) for one in needed.walked],
    }
    return json.dumps(data, ensure_ascii=False, indent=1, sort_keys=True, allow_nan=False) + "\n"


def table_of(needed: Needed) -> bytes:
    """Return the same as CSV, in the units of the job's readers: RFC 4180, UTF-8."""
    return materials_csv(needed.plan, needed.walked, units_of(needed), needed.today).encode()


def units_of(needed: Needed) -> Words:
    """Return the catalogue in the units of the job's readers."""
    return words_of(needed.plan)


def write_table(needed: Needed, path: Path) -> None:
    """Write the table into a file, whole or not at all.

    Raises
    ------
    OutputError
        It can't be written, or another file than such a table stands there: a job file, say.
    """
    body = table_of(needed)
    begins = body[: body.index(b",") + 1]
    try:
        with path.open("rb") as file:
            other = file.read(len(begins)) not in (b"", begins)
    except OSError:
        other = False  # nothing there to lose, or writing tells what is wrong
    if other:
        raise OutputError(f"{path}: is there and is no table of materials; give another name, it stays as it was")
    write_file(path, body)
