"""A job as it stands at one moment: what every page and feed is made from, and never changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from curing.errors import Problem
from curing.model.evidence import Evidence
from curing.model.job import Job
from curing.model.plan import Notice, Plan
from curing.planning.roots import Roots
from curing.publish.record_text import Called
from curing.store import Heads
from curing.workflow.opening import Said


@dataclass(frozen=True)
class Sight:
    """A job as it stands at one moment: what every page and feed is made from.

    Parameters
    ----------
    job
        As its file says it; the last valid form.
    plan
        The newest saved plan; None before the first.
    evidence
        What was recorded and decided, also since that plan.
    said
        Record and decisions as they came in.
    warnings, questions
        Of the last time it was planned: they change with the hour, without a new plan.
    trouble
        Why the job file as it lies there can't be used, or why the job can't be planned.
    heads
        How far revisions, record and decisions had come.
    """

    job: Job
    roots: Roots
    plan: Plan | None
    evidence: Evidence
    said: Said
    called: Called
    heads: Heads
    warnings: tuple[Notice, ...] = ()
    questions: tuple[Notice, ...] = ()
    trouble: tuple[Problem, ...] = ()
    numbers: Mapping[str, int] = field(default_factory=dict)
    """Key of an entry → its number."""
