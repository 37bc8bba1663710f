"""What a client is told besides the plan: how often a coat was kept damp, what a panel read last."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from curing.model.evidence import Evidence
from curing.model.plan import Care, HoldState, Plan
from curing.model.record_data import Probe, said
from curing.planning.effective import effective
from curing.planning.said_of_rounds import Answer, asked
from curing.planning.worktime import local, zone_of
from curing.publish.page_client import Facts, Kept, Read
from curing.workflow.sight import Sight

_SETTLED = (Answer.TENDED, Answer.COULD_NOT, Answer.MISSED)
"""Answers of visits that count as asked: one that was due an hour ago may still be told."""


@dataclass
class _Counted:
    times: int = 0
    of: int = 0
    cares: set[Care] = field(default_factory=set)


def client_facts(sight: Sight, plan: Plan, now: datetime) -> Facts:
    """Return what the client's page tells besides the plan.

    Parameters
    ----------
    plan
        What people were told.
    now
        The present instant, aware.
    """
    return Facts(
        kept=_kept(plan, sight.evidence, now),
        read=dict(_read(sight)),
        limits=dict(_limits(sight)),
        drying=frozenset(_drying(sight, plan)),
    )


def _kept(plan: Plan, evidence: Evidence, now: datetime) -> Mapping[str, Kept]:
    laid = {coat.booking: coat.laid for face in plan.faces for coat in face.coats if coat.laid is not None}
    laid |= {coat: closed.at for coat, closed in evidence.done.items()}
    found: dict[str, _Counted] = {}
    seen: set[str] = set()
    for one in asked(plan.rounds, evidence, laid, now):
        if one.visit.care is Care.LOOK or one.visit.id in seen or one.answer not in _SETTLED:
            continue
        seen.add(one.visit.id)
        counted = found.setdefault(f"{one.visit.face}.{one.visit.coat}", _Counted())
        counted.of += 1
        counted.times += one.answer is Answer.TENDED
        counted.cares.add(one.visit.care)
    return {coat: Kept(one.times, one.of, aired=one.cares == {Care.AIR}) for coat, one in found.items()}


def _read(sight: Sight) -> Iterator[tuple[str, Read]]:
    """Yield wall → the wettest reading of the last day on which its panel was read."""
    found: dict[str, Read] = {}
    for entry in effective(sight.said.record).entries:
        data = said(entry)
        wall = sight.roots.walls_now.get(entry.wall or "")
        if not isinstance(data, Probe) or wall is None:
            continue
        day: date = local(zone_of(sight.called.zone_of(entry)), entry.at)[0]
        before = found.get(wall)
        if before is None or day > before.day:
            found[wall] = Read(day, data.wet)
        elif day == before.day:
            found[wall] = Read(day, max(before.wet, data.wet))
    yield from found.items()


def _limits(sight: Sight) -> Iterator[tuple[str, float]]:
    """Yield face → the wettest reading that passes [%, wet basis], where a hold asks for readings."""
    for id_, _, face in sight.job.faces():
        system = sight.job.systems[face.system]
        asks = any(point.task is not None and point.task.kind == "reading" for point in system.holds)
        if asks:
            own = sight.job.rule_values.get(id_, {})
            yield id_, own.get("panel.wettest", system.values["panel.wettest"].value)


def _drying(sight: Sight, plan: Plan) -> Iterator[str]:
    """Yield the faces whose hold of the panel is not met."""
    points = {
        point.id
        for system in sight.job.systems.values()
        for point in system.holds
        if point.task is not None and point.task.kind == "reading"
    }
    for hold in plan.holds:
        fact = sight.evidence.holds.get(hold.id)
        met = hold.state is HoldState.MET if fact is None else fact.met is not None
        if hold.point in points and not met:
            yield from hold.faces
