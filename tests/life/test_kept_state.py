"""State folders that earlier versions wrote are read, planned on and recorded on, and nothing in them is lost."""

from __future__ import annotations

import json
import shutil
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest
from yard import Yard, coat, day

from curing.model.plan import State
from curing.model.record import RecordKind
from curing.model.record_data import said
from curing.store import KeptRun, open_state

KEPT = sorted(path for path in (Path(__file__).parent / "kept").iterdir() if path.is_dir())
UID = "5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11"


@pytest.fixture(params=KEPT, ids=lambda path: path.name)
def kept(request: pytest.FixtureRequest, tmp_path: Path) -> Yard:
    shutil.copytree(request.param, tmp_path / "yard")
    return Yard(tmp_path / "yard")


def test_every_kind_of_entry_and_decision_is_read(kept: Yard) -> None:
    with open_state(kept.state, UID) as store:
        entries, decisions = store.records(), store.decisions()
    assert {entry.kind for entry in entries} == set(RecordKind)
    assert {str(one.kind) for one in decisions} == {"assign", "keep", "move"}
    for entry in entries:
        said(entry)
    assert Counter(entry.kind for entry in entries)[RecordKind.READING] == 13
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))


def test_it_is_planned_on(kept: Yard) -> None:
    plan = kept.plan("2027-05-18 06:00")
    base, finish = coat(plan, "3-out.base"), coat(plan, "3-out.finish")
    assert (base.state, f"{base.start:%H:%M}", f"{base.end:%H:%M}") == (State.DONE, "05:20", "12:05")  # UTC
    assert (f"{day(finish)}", finish.state) == ("2027-05-20", State.FIRM)
    assert finish.reason.values["why"] == "promised to the owner"


def test_it_is_recorded_on_and_shown(kept: Yard) -> None:
    kept.say("plan", at="2027-05-18 06:00")  # who writes brings an older state forward; who only reads never does
    before = json.loads(kept.say("record", "--json", at="2027-05-18 06:00"))
    kept.say("log", "finished", "3-out", "finish", "--by", "ida", "--at", "13:00", at="2027-05-20 15:00")
    text = " ".join(kept.say("record", "3-out", at="2027-05-20 15:10").split())
    assert "gate locked" in text
    after = json.loads(kept.say("record", "--json", at="2027-05-20 15:10"))
    assert json.dumps(before["entries"])[:-1] in json.dumps(after["entries"])


def test_links_stay_and_reminders_too(kept: Yard, request: pytest.FixtureRequest) -> None:
    """The first form knew no links, the first two no reminders; what they had is there all the same."""
    with open_state(kept.state, UID) as store:
        links = [
            (one.person, one.generation, one.revoked is not None, one.fetched is not None) for one in store.links()
        ]
        looked, rows = store.open_rows(datetime(2020, 1, 1, tzinfo=UTC))
        before = ["trial|2027-05-17T11:00Z|ida"] if "0003" in request.node.name else []
        assert (looked, [row.key for row in rows]) == (None, before)
        key = store.add_trial("ida", datetime(2027, 5, 18, 4, 0, tzinfo=UTC))
    with open_state(kept.state, UID) as store:
        assert [row.key for row in store.rows_since(datetime(2020, 1, 1, tzinfo=UTC))] == [*before, key]
    assert links == (
        []
        if "0001" in request.node.name
        else [("ida", 1, False, True), ("near", 1, True, False), ("near", 2, False, False)]
    )


def test_weather_begins_empty_and_is_kept(kept: Yard) -> None:
    now = datetime(2027, 5, 18, 4, 0, tzinfo=UTC)
    with open_state(kept.state, UID) as store:
        assert (store.runs("site"), store.asking("site").tried, store.weather_head()) == ([], None, (0, ""))
        assert store.keep_run(KeptRun("site", "met-norway", now, now, b"{}"))
    with open_state(kept.state, UID) as store:
        assert [one.body for one in store.runs("site")] == [b"{}"]
