"""The day at the walls over HTTP: ticked, taken back, ticked again; what is refused."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

from freezegun import freeze_time
from invented_sky import write_sky
from planned import planned
from serving import Site, at, drawn_key, words

from curing import clock
from curing.model.record import RecordKind
from curing.workflow.weather_kept import keep_file

VISIT = "1-out.finish.2027-05-24.early"


def ticks(site: Site) -> list[tuple[RecordKind, str, str]]:
    return [(one.kind, one.by, f"{one.at:%H:%M}") for one in site.job.sight().said.record]


def test_a_tick_shows_on_the_page_with_time_and_name_and_undo(site: Site) -> None:
    page = site.get("wil", "today").text
    assert "Mist, first of two today" in words(page)
    assert (
        site.post("wil", "tick", {"visit": VISIT, "what": "misted", "at": at("24 07:08").isoformat()}).status_code
        == 303
    )
    after = site.text("wil", "today")
    assert "misted 07:08, Wil" in after
    assert "Undo" in after
    assert ticks(site) == [(RecordKind.MISTED, "wil", "05:08")]


def test_undo_opens_it_again_and_both_entries_stay(site: Site) -> None:
    site.post("wil", "tick", {"visit": VISIT, "what": "misted"})
    key = site.job.sight().said.record[0].key
    assert site.post("wil", "undo", {"entry": key}).status_code == 303
    assert "misted" not in site.text("wil", "today").replace("Undo", "")
    assert [kind for kind, *_ in ticks(site)] == [RecordKind.MISTED, RecordKind.CORRECTION]


def test_who_did_not_say_it_may_not_undo_it_but_the_lead_may(site: Site) -> None:
    site.post("noor", "tick", {"visit": VISIT, "what": "misted"})
    key = site.job.sight().said.record[0].key
    refused = site.post("tijn", "undo", {"entry": key})
    assert refused.status_code == 409
    assert "who said it corrects it" in words(refused.text)
    assert site.post("wil", "undo", {"entry": key}).status_code == 303


def test_the_same_form_sent_twice_counts_once(site: Site) -> None:
    fields = {"visit": VISIT, "what": "misted", "key": drawn_key()}
    first = site.post("wil", "tick", fields, json=True)
    again = site.post("wil", "tick", fields, json=True)
    assert first.json() == again.json()
    assert first.json()["kept"] is True
    assert len(ticks(site)) == 1


def test_a_second_person_is_told_who_did_it_and_may_keep_an_extra(site: Site) -> None:
    site.post("noor", "tick", {"visit": VISIT, "what": "misted", "at": at("24 07:04").isoformat()})
    asked = site.post("tijn", "tick", {"visit": VISIT, "what": "misted"})
    assert asked.status_code == 409
    assert "Already done 07:04 by Noor. Was yours an extra?" in words(asked.text)
    assert len(ticks(site)) == 1
    fields = dict(re.findall(r'name="([a-z]+)" value="([^"]*)"', asked.text[asked.text.index("<main") :]))
    assert site.post("tijn", "tick", {**fields}).status_code == 303
    assert [by for _, by, _ in ticks(site)] == ["noor", "tijn"]


def test_an_earlier_time_is_said_in_minutes_or_as_a_time(site: Site) -> None:
    site.post("wil", "tick", {"visit": VISIT, "what": "misted", "ago": "30"})
    site.post("wil", "tick", {"visit": VISIT.replace("1-out", "2-out"), "what": "misted", "clock": "06:05"})
    assert [clock for *_, clock in ticks(site)] == ["04:40", "04:05"]


def test_the_true_time_counts_although_the_phone_had_no_signal_and_a_wrong_clock(site: Site) -> None:
    pressed = at("24 06:30")
    fields = {"visit": VISIT, "what": "misted", "at": pressed.isoformat(), "waited": str(40 * 60)}
    assert site.post("wil", "tick", fields, json=True).json()["kept"]
    assert ticks(site)[0][2] == "04:30"
    entry = site.job.sight().said.record[0]
    assert f"{entry.received:%H:%M}" == "05:10"


def test_could_not_wants_a_reason_and_shows_it(site: Site) -> None:
    bare = site.post("wil", "tick", {"visit": VISIT, "what": "could-not"})
    assert bare.status_code == 422
    assert "why is not said" in words(bare.text)
    site.post("wil", "tick", {"visit": VISIT, "what": "could-not", "why": "no water"})
    assert "could not 07:10: no water, Wil" in site.text("wil", "today")


def test_all_done_ticks_what_has_no_answer_and_leaves_the_rest(site: Site) -> None:
    other = VISIT.replace("1-out", "2-out")
    site.post("wil", "tick", {"visit": VISIT, "what": "could-not", "why": "locked"})
    site.post("wil", "round", {"visit": [VISIT, other], "what": "misted"})
    said = site.job.sight().evidence.visits
    assert said[VISIT].kind is RecordKind.COULD_NOT
    assert said[other].kind is RecordKind.MISTED


def test_a_coat_closed_on_the_page_is_done_and_its_plan_follows(site: Site) -> None:
    assert "Finish 8 mm" in site.text("wil", "today")
    coat = next(
        one.id
        for one in site.job.sight().plan.bookings
        if one.task == "finish" and one.start.date() == at("24 07:00").date()
    )
    site.post("wil", "work", {"booking": coat, "what": "started", "at": at("24 07:05").isoformat()})
    assert "begun 07:05, Wil" in site.text("wil", "today")
    with freeze_time("2027-05-24 09:40:00", real_asyncio=True):
        assert site.post("wil", "work", {"booking": coat, "what": "finished"}).status_code == 303
        assert coat in site.job.sight().evidence.done
        assert "closed 11:40, Wil" in site.text("wil", "today")


def test_what_no_page_of_this_job_drew_is_refused_in_words(site: Site) -> None:
    for fields, status, told in (
        ({"visit": "9-out.finish.2027-05-24.early", "what": "misted"}, 409, "no face of this job"),
        ({"visit": "1-out.finish.2027-05-26.early", "what": "misted"}, 409, "can't have been on"),
        ({"visit": "1-out.base.2027-05-24.early", "what": "misted"}, 409, "finish was laid over its base"),
        ({"visit": VISIT, "what": "misted", "at": at("24 09:00").isoformat()}, 409, "lies ahead"),
        ({"visit": VISIT, "what": "painted"}, 409, "nothing is answered by that"),
        ({"visit": VISIT}, 400, 'lacks "what"'),
        ({"what": "misted"}, 400, 'lacks "visit"'),
        ({"visit": [VISIT, VISIT], "what": "misted"}, 400, "2 times"),
        ({"visit": VISIT, "what": "misted", "at": "yesterday"}, 400, "is no time with its zone"),
        ({"visit": VISIT, "what": "misted", "clock": "25:00"}, 422, "is not a time"),
        ({"visit": VISIT, "what": "misted", "ago": "1e9"}, 422, "no whole number"),
        ({"visit": VISIT, "what": "misted", "key": "x"}, 400, "was not drawn"),
        ({"visit": VISIT, "what": "could-not", "why_text": "x" * 501}, 422, "at most 500"),
        ({"visit": VISIT, "what": "could-not", "why_text": "a\x07b"}, 422, "control sign"),
    ):
        answer = site.post("wil", "tick", fields)
        assert answer.status_code == status, (fields, words(answer.text))
        assert told in words(answer.text), fields
        short = site.post("wil", "tick", fields, json=True)
        assert (short.status_code, short.json()["kept"]) == (status, False)
    assert ticks(site) == []


def test_get_changes_nothing(site: Site) -> None:
    before = site.job.store.heads()
    for page in (
        "today",
        "tick",
        "round",
        "undo",
        "walls",
        "wall/1",
        "moved",
        "job",
        "calendar",
        "reading/7",
        "day/2027-05-25",
    ):
        site.get("wil", page)
    assert site.job.store.heads() == before


def test_a_missed_mist_is_only_looked_at_while_the_weather_wants_no_water(site: Site, tmp_path: Path) -> None:
    warm, cold = datetime(2027, 5, 24, 12, tzinfo=UTC), datetime(2027, 5, 26, 12, tzinfo=UTC)
    made = datetime(2027, 5, 24, 5, tzinfo=UTC)
    keep_file(
        site.job.store, site.job.job, write_sky(tmp_path / "sky.json", made, cold=((warm, cold, 2.0),)), clock.now()
    )
    planned(site)
    with freeze_time(at("24 14:40"), tick=True):
        block = words(site.get("wil", "today").text.partition(f'id="{VISIT}"')[2].partition("</li>")[0])
    assert "No tick yet: look now, no water" in block
    assert "Now no water" in block
    assert "mist now" not in block.lower()
