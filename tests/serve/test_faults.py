"""What goes wrong round a served job, in this process: its file, its planner, its clock, others who write."""

from __future__ import annotations

import json
import sqlite3
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from live import ahead, until
from raw_asking import SHORT, ask, form, served, token_of
from serving import PlanHere, Site, copied, drawn_key, words

from curing import clock
from curing.errors import StateError
from curing.serve import planner
from curing.serve import served as serve_served
from curing.serve.planner import Outcome, plan_once
from curing.store import PlannedMeanwhile
from curing.workflow import one_writer
from curing.workflow.open_job import OpenJob
from curing.workflow.planning import plan_job

VISIT = "1-out.finish.2027-05-24.early"


@pytest.fixture
def own(made: Path, tmp_path: Path) -> Iterator[Site]:
    with served(copied(made, tmp_path)) as one:
        yield one


def page(site: Site, name: str = "today") -> str:
    heard = ask(site, f"/s/{token_of(site)}/{name}")
    assert heard.broke is None
    assert heard.status == 200
    return words(heard.text)


def tick(site: Site, **more: object) -> int:
    fields = {"visit": VISIT, "what": "misted", "key": drawn_key(), "at": clock.now().isoformat(), **more}
    return form(site, f"/s/{token_of(site)}/tick", fields, headers=[SHORT]).status


def test_a_wrong_job_file_is_told_with_its_line_on_every_page_until_it_is_mended(own: Site) -> None:
    job = own.job.job_file
    good = job.read_text()
    bad = good.replace("height: 2.9 m", "height: 2.9 parsecs", 1)
    job.write_text(bad)
    assert own.job.reread()
    line = 1 + next(number for number, text in enumerate(bad.splitlines()) if "parsecs" in text)
    for name in ("today", "walls", "wall/4", "job", "moved", "calendar", "people", "pass-on", "reading/7"):
        assert f"court.yaml:{line}:" in page(own, name), name
    client = ask(own, f"/s/{token_of(own, 'owners')}/client")
    assert client.status == 200
    assert "parsecs" not in client.text  # a client can mend nothing
    assert tick(own) == 200
    job.write_text(good.replace("name: north gable", "name: north gable end"))
    assert own.job.reread()
    assert "parsecs" not in page(own)
    assert "north gable end" in page(own, "reading/4")
    job.unlink()
    assert own.job.reread()
    assert "Until this is mended" in page(own)
    job.write_bytes(b"\xff\xfe\x00")
    assert own.job.reread()
    assert "Until this is mended" in page(own)
    job.write_text(good.replace("3f6b0a52", "aaaaaaaa"))
    assert own.job.reread()
    assert "put the old uid back" in page(own)
    job.write_text(good)
    assert own.job.reread()
    assert "Until this is mended" not in page(own)


def test_a_planner_that_breaks_is_told_on_the_page_and_tried_again(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = True
    real = PlanHere.plan

    async def plan(self: PlanHere, job_file: Path, state: Path) -> Outcome:
        if broken:
            raise ZeroDivisionError("7 apples")
        return await real(self, job_file, state)

    monkeypatch.setattr(PlanHere, "plan", plan)
    monkeypatch.setattr(serve_served, "TRY_AGAIN", 0.5)
    with served(copied(made, tmp_path), plans=True) as site:
        until(lambda: "planning broke (ZeroDivisionError)" in page(site), 15, "told")
        assert "7 apples" not in page(site)
        assert tick(site) == 200
        broken = False
        until(lambda: "planning broke" not in page(site), 15, "tried again")


def test_a_plan_that_another_process_outran_is_made_again_at_once(own: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    turns: list[int] = []
    fails = planner.TRIES
    real = planner.plan_job

    def outrun(*args: object, **more: object) -> object:
        turns.append(1)
        if len(turns) < fails:
            raise PlannedMeanwhile("another process planned meanwhile")
        return real(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(planner, "plan_job", outrun)
    assert not plan_once(own.job.job_file, own.job.state).problems
    turns.clear()
    fails = planner.TRIES + 1
    assert plan_once(own.job.job_file, own.job.state).problems


def test_who_only_reads_waits_for_nobody_and_who_writes_not_without_end(
    own: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(one_writer, "PATIENCE", 0.3)
    token_of(own)
    holds, over = threading.Event(), threading.Event()

    def hold() -> None:
        with own.job.writing():
            holds.set()
            over.wait(20)

    other = threading.Thread(target=hold)
    other.start()
    holds.wait(5)
    try:
        began = time.monotonic()
        assert "Alder Court" in ask(own, f"/s/{token_of_known(own)}/today").text
        assert ask(own, f"/s/{token_of_known(own)}/calendar.ics").status == 200
        heard = form(own, f"/s/{token_of_known(own)}/note", {"key": drawn_key(), "at": clock.now().isoformat(),
                                                            "face": "1-out", "text": "x"}, headers=[SHORT])  # fmt: skip
        assert heard.status == 503
        assert json.loads(heard.text)["kept"] is False
        assert heard.headers["retry-after"]
        assert time.monotonic() - began < 5
    finally:
        over.set()
        other.join()
    assert own.job.store.records() == []
    assert tick(own) == 200


def token_of_known(site: Site) -> str:
    return site.job.token("wil", 1)


def test_a_locked_state_is_told_in_words_to_try_again(own: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a moment instead of after five seconds: the busy timeout of each connection is set down."""
    from sqlalchemy import event

    def soon(connection: sqlite3.Connection, *_: object) -> None:
        connection.execute("PRAGMA busy_timeout = 50")

    event.listen(own.job.store._engine, "checkout", soon)
    link = f"/s/{token_of(own)}/tick"
    other = sqlite3.connect(own.job.store.database, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    fields = {"visit": VISIT, "what": "misted", "key": drawn_key(), "at": clock.now().isoformat()}
    for headers in ([SHORT], []):
        heard = form(own, link, fields, headers=headers)
        assert heard.status == 503
        assert heard.headers["retry-after"]
        assert "nothing was changed" in (json.loads(heard.text)["text"] if headers else words(heard.text))
    assert "Mist, first of two today" in page(own)
    other.execute("ROLLBACK")
    other.close()
    assert own.job.store.records() == []
    assert form(own, f"/s/{token_of(own)}/tick", fields, headers=[SHORT]).status == 200


def test_the_same_is_never_taken_in_twice_from_another_process(own: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    """What another process decides between two looks at the database is read once."""
    store = own.job.store
    behind = own.job.sight().heads
    with OpenJob(own.job.job_file) as other:
        fields = {"first": "2027-05-26", "last": "2027-05-26", "to": "tijn", "slot": "early"}
        with served(own.job.job_file) as second:
            for number in (1, 2):
                key = {"key": f"{number:032d}"}
                assert form(second, f"/s/{token_of(second)}/people/give-rounds", {**fields, **key}).status == 303
        assert len(other.sight().said.decisions) == 2
    with monkeypatch.context() as patch:
        patch.setattr(store, "heads", lambda: behind._replace(decision=1))
        own.job.sight()
    assert len(own.job.sight().said.decisions) == 2
    assert own.job.sight().heads == store.heads()


def test_a_clock_that_is_set_back_two_hours_breaks_nothing(own: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    assert tick(own) == 200
    monkeypatch.setenv(clock.OFFSET_VARIABLE, str(ahead() - 7200))
    assert "misted 07:" in page(own)
    for name in ("moved", "job", "wall/1", "people", "pass-on", "take-over", "client"):
        page(own, name)
    assert ask(own, f"/s/{token_of(own)}/calendar.ics").status == 200
    assert tick(own, visit=VISIT.replace("1-out", "2-out")) == 200
    made = plan_job(own.job.job_file)
    assert made.plan.revision >= 1
    # a tick that was pressed before the clock was set: never lost, kept at the present time by the server
    late = {"visit": VISIT, "what": "damp", "at": "2027-05-24T07:12:00+02:00", "waited": "5"}
    assert tick(own, **late) in (200, 409)


def test_the_lock_says_in_words_that_others_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(one_writer, "PATIENCE", 0.05)
    turn = one_writer.OneWriter()
    told: list[str] = []

    def wait() -> None:
        try:
            with turn:
                told.append("in")
        except StateError as error:
            told.append(str(error))

    with turn, turn:  # who has it may take it again
        other = threading.Thread(target=wait)
        other.start()
        other.join(5)
    assert "nothing was changed" in told[0]
    wait()
    assert told[1] == "in"
