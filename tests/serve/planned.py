"""The plan of a served job made anew here, as the planning process would, and taken in."""

from __future__ import annotations

from serving import Site

from curing import clock
from curing.serve.planner import plan_once


def planned(site: Site) -> None:
    """Plan the job now, and let the pages know."""
    made = plan_once(site.job.job_file, site.job.state)
    assert not made.problems, made.problems
    site.job.planned(made.warnings, made.questions)
    site.served.planned_at = clock.now()
