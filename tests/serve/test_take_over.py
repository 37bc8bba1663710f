"""Rounds taken over: read, walked once together, signed; then given by who decides, once."""

from __future__ import annotations

from typing import Any

import pytest
from planned import planned
from serving import Site, drawn_key, words

from curing.model.plan import Kind
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import KIT, Handover, Text, said

FIRST, LAST = "2027-06-01", "2027-06-08"


def signed(**other: Any) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "walked": "2027-05-23", "walked_with": "wil", "first": FIRST, "last": LAST, "signed": "Saar de Vries",
        "kit": list(KIT),
    }  # fmt: skip
    return {**fields, **other}


def notes(site: Site) -> list[RecordEntry]:
    return [one for one in site.job.sight().said.record if one.kind is RecordKind.NOTE]


def test_the_page_says_all_that_somebody_alone_at_a_wall_must_know(site: Site) -> None:
    text = site.text("saar", "take-over")
    assert "Sprayer with a fog nozzle" in text
    assert "Common practice, no source" in text
    assert "The lead, Wil: the number is on the site board" in text
    assert "Pale patches" in text
    for caution in (
        "Wet lime burns. Goggles and gloves. Wet boot, glove, knee: off at once. In the eye: water at once, then a "
        "doctor; see the safety sheet.",
        "whoever is not of the crew mists from the ground only",
        "Local codes and the maker's data sheet come first.",
    ):
        assert caution in text


def test_faces_out_of_reach_are_named_for_who_mists_from_the_ground(site: Site) -> None:
    # 3 m from the ground (rule visit.ground_reach): a face of 5 m is the crew's.
    text = site.job.job_file.read_text(encoding="utf-8")
    site.job.job_file.write_text(text.replace("height: 2.7 m", "height: 5.2 m", 1), encoding="utf-8")
    site.job.reread()
    page = site.text("saar", "take-over")
    assert "Never these: their top is higher than 3 m" in page
    assert "1 out: top at 5.2 m" in page
    assert "1 out" not in page.split("from the ground:")[1].split("Never these")[0]
    assert "Never these" not in site.text("wil", "take-over"), "the crew has a scaffold"


def test_signing_is_kept_with_what_was_said_and_gives_no_round(site: Site) -> None:
    assert site.post("saar", "take-over", signed()).status_code == 303
    (note,) = notes(site)
    data = said(note)
    assert isinstance(data, Handover)
    assert (note.by, str(data.first), str(data.last), str(data.walked)) == ("saar", FIRST, LAST, "2027-05-23")
    assert (data.walked_with, data.signed, data.kit) == ("wil", "Saar de Vries", KIT)
    sight = site.job.sight()
    assert not sight.said.decisions
    assert not sight.evidence.turns
    assert "The lead has not given the rounds yet" in site.text("saar", "take-over")


def test_the_same_form_sent_twice_counts_once(site: Site) -> None:
    fields = signed(key=drawn_key())
    for _ in range(2):
        assert site.post("saar", "take-over", fields).status_code == 303
    assert len(notes(site)) == 1


def test_the_lead_sees_it_and_one_press_gives_the_rounds_once(site: Site) -> None:
    site.post("saar", "take-over", signed())
    page = site.text("wil", "people")
    assert "Saar signed to mist Tue 1 June to Tue 8 June." in page
    assert "Walked one round with Wil on Sun 23 May; the whole kit is in hand; signed “Saar de Vries”." in page
    assert "Give the rounds" in page
    (note,) = notes(site)
    for person in ("wil", "wil", "ines"):
        assert site.post(person, "people/give-signed", {"entry": note.key}).status_code == 303
    (decision,) = site.job.sight().said.decisions
    assert (decision.by, decision.data["to"], decision.data["first"], decision.data["last"]) == (
        "wil", "saar", FIRST, LAST,
    )  # fmt: skip
    assert "The rounds were given." in site.text("wil", "people")
    assert "The rounds were given" in site.text("saar", "take-over")
    planned(site)
    plan = site.job.sight().plan
    assert plan is not None
    ours = [one for one in plan.rounds if one.kind is Kind.ROUND and one.id.startswith("2027-06-02.")]
    assert ours
    assert {who for one in ours for who in one.who} == {"saar"}


def test_who_does_not_decide_gives_nothing_and_what_was_taken_back_is_not_given(site: Site) -> None:
    site.post("saar", "take-over", signed())
    (note,) = notes(site)
    assert site.post("noor", "people/give-signed", {"entry": note.key}).status_code == 403
    site.post("saar", "undo", {"entry": note.key, "page": "take-over"})
    assert "signed to mist" not in site.text("wil", "people")
    refused = site.post("wil", "people/give-signed", {"entry": note.key})
    assert refused.status_code == 409
    assert "was taken back" in words(refused.text)
    assert not site.job.sight().said.decisions


@pytest.mark.parametrize(
    ("other", "told"),
    [
        ({"kit": [one for one in KIT if one != "goggles"]}, "kit: not ticked: goggles"),
        ({"kit": []}, "kit: not ticked: sprayer, water, goggles, gloves, cards, thermometer"),
        ({"walked": "2027-05-25"}, "walked 2027-05-25: lies ahead (it is 2027-05-24)"),
        ({"walked_with": "saar"}, "nobody shows a round to himself"),
        ({"walked_with": "owners"}, "is a client, who only reads"),
        ({"walked_with": "ghost"}, "nobody of this job has that id"),
        ({"first": LAST, "last": FIRST}, "lies before 2027-06-08"),
        ({"first": "2027-05-20", "last": "2027-05-23"}, "is over (it is 2027-05-24)"),
        ({"first": "2027-06-01", "last": "2027-07-31"}, "more than 60 days"),
        ({"signed": "  "}, "no name is typed"),
        ({"first": "June"}, "is no day"),
    ],
)
def test_what_is_missing_is_said_and_nothing_typed_is_lost(site: Site, other: dict[str, Any], told: str) -> None:
    answer = site.post("saar", "take-over", signed(**other))
    assert answer.status_code == 422
    assert told in words(answer.text)
    assert 'class="error"' in answer.text
    if "signed" not in other:
        assert 'value="Saar de Vries"' in answer.text
    if "kit" not in other:
        assert answer.text.count(" checked") == len(KIT)
    assert not notes(site)


def test_sixty_days_may_be_signed_but_not_one_more(site: Site) -> None:
    # 1 June to 30 July are 30 + 30 days.
    assert site.post("saar", "take-over", signed(last="2027-07-31")).status_code == 422
    assert site.post("saar", "take-over", signed(last="2027-07-30")).status_code == 303


def test_the_crew_the_architect_and_the_client_sign_nothing(site: Site) -> None:
    assert "You are of the crew" in site.text("noor", "take-over")
    assert site.post("noor", "take-over", signed()).status_code == 403
    assert site.post("ines", "take-over", signed()).status_code == 422
    assert site.post("owners", "take-over", signed()).status_code == 403
    assert site.get("owners", "take-over").status_code == 403
    assert not notes(site)


def test_plain_notes_are_read_as_before(site: Site) -> None:
    now = site.job.sight().heads
    entry = RecordEntry("k", *(2 * (_now(),)), "wil", RecordKind.NOTE, None, {"text": "tap at the gate is off"})
    site.job.enter(entry, _now())
    assert site.job.sight().heads.record == now.record + 1
    assert said(entry) == Text(text="tap at the gate is off")


def _now() -> Any:
    from curing import clock

    return clock.now()
