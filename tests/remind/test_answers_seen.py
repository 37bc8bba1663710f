"""What counts as the answer to what somebody was asked to decide: what was said after it was asked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from sending import DAY, HOUR, MINUTE
from test_sender_scene import MORNING, YARD

from curing import clock
from curing.model.evidence import Cause, Decided, Failed
from curing.model.record import RecordEntry, RecordKind
from curing.model.reminders import Kind, Outbox, Row, RowState
from curing.publish.reminder_rows import Answered
from curing.publish.words import Words
from curing.workflow.open_job import OpenJob
from curing.workflow.planning import plan_job
from curing.workflow.reminders_seen import seen_of
from curing.workflow.sight import Sight

COAT, NOW = "3-out.finish", MORNING + DAY


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[OpenJob]:
    monkeypatch.setenv("CURING_CLOCK_OFFSET_SECONDS", str(int((MORNING - clock.now()).total_seconds())))
    file = tmp_path / "court.yaml"
    file.write_text(YARD)
    plan_job(file, as_of="2027-05-24 05:00")
    with OpenJob(file) as opened:
        yield opened


def row(id_: int, due: datetime, notice: str = "weather_off") -> Row:
    values = {"notice": notice, "of_coat": COAT, "of_day": "2027-05-26", "of_was": "2027-05-24"}
    return Row(
        id=id_, key=f"decide|{id_}", kind=Kind.DECIDE, person="ida", channel="email", due=due, until=due + DAY,
        intent="2027-05-24 07:00", about=(COAT,), faces=("3-out",), values=values, step=0, state=RowState.SENT,
        made=due, next=due, answered=due,
    )  # fmt: skip


def answers(sight: Sight, *rows: Row) -> list[Answered | None]:
    return [one.answered for one in seen_of(sight, None, rows, Outbox(), Words("metric"), NOW).told]


def test_a_decision_answers_what_was_asked_before_it_alone(job: OpenJob) -> None:
    sight, said = job.sight(), MORNING + 4 * HOUR
    cause = Cause("m", "move", said, "ida", "Ida")
    decided = replace(sight.evidence, decided={COAT: Decided("move", MORNING.date(), "rain", cause)})
    before, after = row(1, MORNING + 2 * HOUR), row(2, said + 8 * HOUR)
    assert answers(sight, before, after) == [Answered(0, 1), Answered(0, 1)]
    assert answers(replace(sight, evidence=decided), before, after) == [Answered(1, 1, said, "Ida"), Answered(0, 1)]


def test_that_it_could_not_be_laid_that_day_answers_whenever_it_was_said(job: OpenJob) -> None:
    sight, said = job.sight(), MORNING + 4 * HOUR
    cause = Cause("c", "could-not", said, "ida", "Ida")
    for day, whole in (("2027-05-26", True), ("2027-05-25", False)):
        failed = {COAT: Failed(datetime.fromisoformat(day).date(), "rain", cause)}
        (found,) = answers(
            replace(sight, evidence=replace(sight.evidence, could_not=failed)), row(1, said + HOUR, "was_it_laid")
        )
        assert found is not None
        assert found.whole is whole


@pytest.mark.parametrize("notice", ["inspect", "inspect_frost"])
def test_a_look_over_the_face_answers_the_question_for_one(job: OpenJob, notice: str) -> None:
    asked = MORNING + 2 * HOUR
    looked = asked + 30 * MINUTE
    assert answers(job.sight(), row(1, asked, notice)) == [Answered(0, 1)]
    job.store.append_record(RecordEntry("i", looked, looked, "ida", RecordKind.INSPECTION, "3-out", {"sound": False}))
    assert answers(job.sight(), row(1, asked, notice), row(2, looked + HOUR, notice)) == [
        Answered(1, 1, looked, "Ida"),
        Answered(0, 1),
    ]
