"""What the holds of a wall still ask for, so that a page can ask for just that."""

from __future__ import annotations

from datetime import datetime

from curing.model.evidence import Cause
from curing.planning.effective import effective
from curing.planning.hold_facts import HoldFacts
from curing.workflow.sight import Sight


def tests_asked(sight: Sight, wall: str, now: datetime) -> dict[str, tuple[str, ...]]:
    """Return hold id → the tests it asks for that have not passed, for the holds of a wall and its faces."""
    walls = tuple(one for one in sight.job.file.walls if one.id == wall)
    near = sight.job.model_copy(update={"file": sight.job.file.model_copy(update={"walls": walls})})

    def cause(entry: object) -> Cause:
        raise AssertionError(entry)

    facts = HoldFacts(near, sight.roots, sight.evidence.done, cause)
    entries = effective(sight.said.record).entries
    found = {}
    for point in facts.points():
        task = point.point.task
        if task is not None and task.needs:
            missing = facts.missing_tests(point, facts.listed(point, entries), now)
            if missing:
                found[point.id] = tuple(missing)
    return found
