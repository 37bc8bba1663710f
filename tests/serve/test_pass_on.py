"""Rounds passed on: one, a weekend, some days; taken back; moved to the other after planning."""

from __future__ import annotations

from planned import planned
from serving import Site, drawn_key, words

from curing.model.record import RecordKind

SATURDAY, SUNDAY = "2027-05-29", "2027-05-30"


def walkers(site: Site, day: str) -> dict[str, list[str]]:
    """Return slot → who walks it."""
    plan = site.job.sight().plan
    assert plan is not None
    found: dict[str, list[str]] = {}
    for one in plan.rounds:
        if one.id.startswith(f"{day}.") and one.slot is not None:
            found.setdefault(one.slot.value, []).extend(one.who)
    return found


def test_own_rounds_are_listed_with_minutes_and_whole_weekends_are_offered(site: Site) -> None:
    text = site.text("saar", "pass-on")
    assert "Sat 29 May + Sun 30 May 4 rounds" in text
    assert "Sat 29 May, early round 08:00-" in text
    assert " min " in text
    assert "Mon 24 May" not in text.split("Your rounds")[1], "the crew's rounds are not hers"


def test_one_round_passed_on_moves_to_the_others_page_after_planning(site: Site) -> None:
    fields = {"to": "noor", "first": SATURDAY, "last": SATURDAY, "slot": "early"}
    assert site.post("saar", "pass-on", fields).status_code == 303
    before = site.text("saar", "pass-on")
    assert "early rounds passed on to Noor, Sat 29 May" in before
    assert "Given to Noor; the plan follows" in before
    planned(site)
    assert walkers(site, SATURDAY) == {"early": ["noor"], "late": ["saar"]}
    assert "Sat 29 May, early round" not in site.text("saar", "pass-on")
    theirs = site.text("noor", "pass-on")
    assert "Sat 29 May, early round" in theirs
    assert "Saar, Mon 24 May 07:10: early rounds passed on to Noor" in theirs


def test_a_weekend_goes_whole(site: Site) -> None:
    site.post("saar", "pass-on", {"to": "noor", "first": SATURDAY, "last": SUNDAY})
    planned(site)
    assert walkers(site, SATURDAY) == walkers(site, SUNDAY) == {"early": ["noor"], "late": ["noor"]}


def test_taken_back_it_is_ones_own_again_and_both_entries_stay(site: Site) -> None:
    site.post("saar", "pass-on", {"to": "noor", "first": SATURDAY, "last": SATURDAY})
    planned(site)
    key = site.job.sight().said.record[-1].key
    assert f'value="{key}"' not in site.get("noor", "pass-on").text, "who got it does not take it back"
    assert f'value="{key}"' in site.get("saar", "pass-on").text
    back = site.post("saar", "undo", {"entry": key, "page": "pass-on"})
    assert back.headers["location"].endswith("/pass-on")
    assert "passed on to Noor" not in site.text("saar", "pass-on")
    assert [one.kind for one in site.job.sight().said.record[-2:]] == [RecordKind.PASSED_ON, RecordKind.CORRECTION]
    planned(site)
    assert walkers(site, SATURDAY) == {"early": ["saar"], "late": ["saar"]}


def test_the_same_form_sent_twice_counts_once(site: Site) -> None:
    fields = {"to": "noor", "first": SATURDAY, "last": SATURDAY, "key": drawn_key()}
    for _ in range(2):
        assert site.post("saar", "pass-on", fields).status_code == 303
    assert len(site.job.sight().said.record) == 1


def test_what_can_not_be_passed_on_is_refused_in_words(site: Site) -> None:
    for person, fields, told in (
        ("saar", {"to": "saar", "first": SATURDAY, "last": SATURDAY}, "nobody passes a round on to himself"),
        ("saar", {"to": "owners", "first": SATURDAY, "last": SATURDAY}, "does not mist"),
        ("saar", {"to": "noor", "first": SUNDAY, "last": SATURDAY}, "lies before"),
        ("saar", {"to": "noor", "first": "2027-05-22", "last": "2027-05-23"}, "is over"),
        ("saar", {"to": "noor", "first": "2027-06-12", "last": "2027-06-14"}, "is away"),
        ("ines", {"to": "noor", "first": SATURDAY, "last": SATURDAY}, "does not mist"),
    ):
        answer = site.post(person, "pass-on", fields)
        assert answer.status_code == 409
        assert told in words(answer.text)
    assert site.post("saar", "pass-on", {"to": "noor", "first": "soon", "last": SATURDAY}).status_code == 422
    assert site.post("owners", "pass-on", {"to": "noor", "first": SATURDAY, "last": SATURDAY}).status_code == 403
    assert list(site.job.sight().said.record) == []


def test_who_mists_nothing_is_told_so(site: Site) -> None:
    assert "You mist no rounds in this job" in site.text("ines", "pass-on")
