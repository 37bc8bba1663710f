"""The same form sent twice counts once, in any order, from any number of phones at the same time."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from raw_asking import SHORT, Heard, form, served, token_of
from serving import Site, copied, drawn_key, words
from serving import at as instant

from curing.model.record import RecordKind
from curing.model.record_data import KIT
from curing.workflow.planning import plan_job

LONG = settings.get_current_profile_name() == "new draws"
AT = instant("24 07:04").isoformat()
MISSED = ["1-out.finish.2027-05-23.late", "2-out.finish.2027-05-23.late"]
VISITS = ["1-out.finish.2027-05-24.early", "2-out.finish.2027-05-24.early"]


@dataclass(frozen=True)
class Sent:
    """One form, as a phone sends it again and again."""

    who: str
    page: str
    fields: Mapping[str, Any]

    @property
    def name(self) -> str:
        return self.page


def forms_of() -> list[Sent]:
    """Return one form of each kind that keeps something, each with a key of its own."""
    seen = {
        "walked": "2027-05-23",
        "walked_with": "noor",
        "first": "2027-05-29",
        "last": "2027-05-30",
        "signed": "Saar",
    }
    raw = [
        Sent("wil", "tick", {"visit": VISITS[0], "what": "misted"}),
        Sent("noor", "tick", {"visit": VISITS[1], "what": "could-not", "why": "locked"}),
        Sent("wil", "round", {"visit": MISSED, "what": "misted"}),
        Sent("wil", "work", {"booking": "3-out.base", "what": "started"}),
        Sent("noor", "work", {"booking": "1-out", "what": "sound"}),
        Sent("tijn", "work", {"booking": "2-out", "what": "up"}),
        Sent("wil", "hold", {"hold": "4-out.base-dry", "what": "refused", "note": "dusty"}),
        Sent("wil", "test", {"face": "4-out", "hollows": "passed", "dust": "failed"}),
        Sent("wil", "note", {"face": "1-out", "text": "gate code 12"}),
        Sent("noor", "rain", {"face": "1-out"}),
        Sent("wil", "reading/7", {"out-low": "31", "out-middle": "32", "out-top": "30", "basis": "dry"}),
        Sent("noor", "weigh/7", {"weight": "12.4", "of": "block"}),
        Sent("wil", "pass-on", {"to": "noor", "first": "2027-05-25", "last": "2027-05-25"}),
        Sent("saar", "take-over", {**seen, "kit": KIT}),
        Sent("wil", "people/give-rounds", {"to": "tijn", "first": "2027-05-26", "last": "2027-05-26", "slot": "early"}),
        Sent("wil", "decide", {"what": "assign", "day": "2027-05-27", "to": "noor", "why": "near"}),
    ]
    return [Sent(one.who, one.page, {"key": drawn_key(), "at": AT, **one.fields}) for one in raw]


METER = """
meters:
  - { id: probe, name: Probe, basis: dry, least: 5 %, most: 60 % }
"""


def with_meter(made: Path, folder: Path) -> Path:
    job = copied(made, folder)
    job.write_text(job.read_text() + METER)
    return job


@pytest.fixture
def own(made: Path, tmp_path: Path) -> Iterator[Site]:
    with served(with_meter(made, tmp_path / "own")) as one:
        yield one


def send(site: Site, one: Sent, *, short: bool = True) -> Heard:
    return form(site, f"/s/{token_of(site, one.who)}/{one.page}", one.fields, headers=[SHORT] if short else [])


def kept(heard: Heard) -> bool:
    assert heard.broke is None, heard.broke
    if heard.headers.get("content-type", "").startswith("application/json"):
        return bool(json.loads(heard.text)["kept"])
    return heard.status == 303


def counted(site: Site) -> tuple[int, int]:
    heads = site.job.store.heads()
    return heads.record, heads.decision


def test_each_form_sent_again_counts_once_and_gets_the_same_answer(own: Site) -> None:
    for one in forms_of():
        first = send(own, one)
        assert kept(first), (one.page, first.text)
        after = counted(own)
        for short in (True, True, False):
            again = send(own, one, short=short)
            assert kept(again), (one.page, again.status, again.text)
            if short:
                assert (again.status, again.text) == (first.status, first.text), one.page
        assert counted(own) == after, one.page


def test_a_form_sent_again_after_the_plan_followed_counts_once(own: Site) -> None:
    sent = forms_of()
    firsts = [send(own, one) for one in sent]
    after = counted(own)
    plan_job(own.job.job_file)
    for one, first in zip(sent, firsts, strict=True):
        again = send(own, one)
        assert kept(again), (one.page, again.status, again.text)
        assert again.text == first.text or not first.text, one.page
    assert counted(own) == after


@settings(max_examples=60 if LONG else 2, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_any_order_of_forms_and_repeats_from_two_phones_counts_each_once(
    made: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    with served(with_meter(made, tmp_path_factory.mktemp("any"))) as site:
        sent = data.draw(st.permutations(forms_of()))[: 16 if LONG else 9]
        often = data.draw(st.lists(st.integers(2, 5), min_size=len(sent), max_size=len(sent)))
        order = data.draw(st.permutations([number for number, times in enumerate(often) for _ in range(times)]))
        answers: list[list[Heard]] = [[] for _ in sent]

        def phone(numbers: list[int]) -> None:
            for number in numbers:
                answers[number].append(send(site, sent[number]))

        phones = [threading.Thread(target=phone, args=(order[way::2],)) for way in (0, 1)]
        for one in phones:
            one.start()
        for one in phones:
            one.join()
        record = site.job.sight().said.record
        decisions = site.job.sight().said.decisions
        keys = [one.key for one in record] + [one.key for one in decisions]
        assert len(keys) == len(set(keys))
        for one, heard in zip(sent, answers, strict=True):
            under = [key for key in keys if key.partition("/")[0].startswith(one.fields["key"])]
            first = json.loads(heard[0].text) if heard[0].status != 303 else {"kept": True}
            assert all(kept(again) == first["kept"] for again in heard), (one.page, [again.text for again in heard])
            if first["kept"] and one.page not in ("round",):
                assert under, one.page
            if not first["kept"]:
                assert not under, one.page
        counts = {"reading/7": 3, "test": 2, "round": 2}
        for one in sent:
            under = [key for key in keys if key.startswith(one.fields["key"])]
            assert len(under) <= counts.get(one.page, 1), one.page


def test_two_people_who_tick_one_visit_in_the_same_instant_make_one_tick_and_one_question(own: Site) -> None:
    for number in range(6):
        visit = VISITS[number % 2]
        before = counted(own)[0]
        gate = threading.Barrier(2)
        heard: dict[str, Heard] = {}

        def tick(who: str, visit: str = visit, gate: threading.Barrier = gate, heard: dict[str, Heard] = heard) -> None:
            one = Sent(who, "tick", {"visit": visit, "what": "misted", "key": drawn_key(), "at": AT})
            path = f"/s/{token_of(own, who)}/tick"
            gate.wait()
            heard[who] = form(own, path, one.fields, headers=[SHORT])

        people = [threading.Thread(target=tick, args=(who,)) for who in ("noor", "tijn")]
        for one in people:
            one.start()
        for one in people:
            one.join()
        assert sorted(one.status for one in heard.values()) == [200, 409]
        asked = next(one for one in heard.values() if one.status == 409)
        first = next(who for who, one in heard.items() if one.status == 200)
        assert f"Already done 07:04 by {first.capitalize()}" in json.loads(asked.text)["text"]
        record = own.job.sight().said.record
        assert len(record) == before + 1
        undone = {"entry": record[-1].key, "key": drawn_key()}
        assert form(own, f"/s/{token_of(own, first)}/undo", undone).status == 303


def test_all_done_pressed_twice_ticks_each_wall_once(own: Site) -> None:
    for who in ("wil", "wil", "noor"):
        one = Sent(who, "round", {"visit": VISITS, "what": "misted", "key": drawn_key(), "at": AT})
        assert kept(send(own, one))
    assert [one.kind for one in own.job.sight().said.record] == [RecordKind.MISTED] * 2


def test_a_key_used_for_something_else_is_refused_for_good_in_words(own: Site) -> None:
    """Not told to wait: a phone would send it for ever."""
    key = drawn_key()
    first = Sent("wil", "tick", {"visit": VISITS[0], "what": "misted", "key": key, "at": AT})
    assert kept(send(own, first))
    for other in (
        Sent("wil", "tick", {"visit": VISITS[1], "what": "misted", "key": key, "at": AT}),
        Sent("wil", "tick", {"visit": VISITS[0], "what": "damp", "key": key, "at": AT}),
        Sent("noor", "tick", {"visit": VISITS[0], "what": "misted", "key": key, "at": AT}),
        Sent("wil", "work", {"booking": "1-out", "what": "sound", "key": key, "at": AT}),
        Sent("wil", "note", {"face": "1-out", "text": "hm", "key": key, "at": AT}),
        Sent("wil", "reading/7", {"out-low": "31", "basis": "dry", "key": f"{key}-0"[2:], "at": AT}),
    ):
        heard = send(own, other)
        if other.page.startswith("reading"):
            assert kept(heard)
            continue
        assert heard.status == 409, (other.page, other.fields, heard.text)
        assert "key" in json.loads(heard.text)["text"]
        page = send(own, other, short=False)
        assert page.status == 409
        assert "open the page anew" in words(page.text)
    assert len(own.job.sight().said.record) == 2


def test_links_given_renewed_and_withdrawn_twice_by_one_form(own: Site) -> None:
    wil = token_of(own)
    for page, then in (("give", 1), ("renew", 2), ("withdraw", 2)):
        generation = {"give": 0, "renew": 1, "withdraw": 2}[page]
        answers = [form(own, f"/s/{wil}/people/saar/{page}", {"generation": generation}) for _ in range(3)]
        assert [one.status for one in answers] == [303] * 3, page
        assert len({one.headers["location"] for one in answers}) == 1
        links = [one for one in own.job.store.links() if one.person == "saar"]
        assert len(links) == then, page
