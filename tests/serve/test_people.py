"""People and their links: given, shown, renewed, withdrawn; who decides gives rounds."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from freezegun import freeze_time
from planned import planned
from serving import Site, drawn_key, words

from curing import clock
from curing.model.decisions import DecisionKind
from curing.model.plan import Slot

ADDRESS = re.compile(r'value="(http[^"]*/s/[^"]+/)"')


def generation(site: Site, person: str) -> dict[str, str]:
    """Return what the form of a person's link is drawn with now."""
    link = site.job.links().get(person)
    return {"generation": str(link.generation if link is not None else 0)}


def block(site: Site, person: str, reader: str = "wil") -> str:
    """Return what stands on the page of somebody."""
    page = site.get(reader, "people").text
    return words(page[page.index(f'id="p-{person}"') :].split("</section>")[0])


def shown(site: Site, person: str) -> str:
    """Return the path of a person's link, as the page shows it to the lead."""
    found = ADDRESS.search(site.get("wil", f"people/{person}").text)
    assert found is not None
    return "/s/" + found[1].rstrip("/").rpartition("/")[2]


def test_everybody_is_listed_with_roles_and_whether_they_have_a_link(site: Site) -> None:
    site.home("ines")
    assert "lead, mists" in block(site, "wil")
    assert "you" in block(site, "wil")
    assert "No link yet." in block(site, "saar")
    assert "Give a link" in block(site, "saar")
    assert "Link given today 07:10." in block(site, "ines")
    assert "client, reads only" in block(site, "owners")
    assert f"{site.home('wil')}/setup/people" in site.get("wil", "people").text


def test_a_link_that_is_given_opens_the_pages_of_that_person(site: Site) -> None:
    assert site.post("wil", "people/saar/give", generation(site, "saar")).status_code == 303
    path = shown(site, "saar")
    page = site.client.get(f"{path}/pass-on").text
    assert "This link is Saar's." in words(page)


def test_the_page_of_a_link_has_a_code_and_a_copy_button_and_no_style(site: Site) -> None:
    site.post("wil", "people/saar/give", generation(site, "saar"))
    page = site.get("wil", "people/saar").text
    address = ADDRESS.search(page)
    assert address is not None
    assert f'data-copy="{address[1]}"' in page
    assert "<title>QR code of the link</title>" in page
    assert " style=" not in page


def test_giving_twice_gives_one_link(site: Site) -> None:
    drawn = generation(site, "saar")
    for _ in range(2):
        assert site.post("wil", "people/saar/give", drawn).status_code == 303
    assert site.job.links()["saar"].generation == 1


def test_a_renewed_link_ends_the_old_one_on_page_and_feed_and_the_new_one_opens(site: Site) -> None:
    old = site.home("saar")
    assert site.client.get(f"{old}/calendar.ics").status_code == 200
    asked = site.text("wil", "people/saar/renew")
    assert "The link that Saar has opens nothing from now on" in asked
    assert "keeps the events it has" in asked
    assert site.client.get(f"{old}/pass-on").status_code == 200, "asking changes nothing"
    site.post("wil", "people/saar/renew", generation(site, "saar"))
    for page in ("pass-on", "today", "calendar.ics"):
        assert site.client.get(f"{old}/{page}").status_code == 410
    new = shown(site, "saar")
    assert new != old
    assert site.client.get(f"{new}/pass-on").status_code == 200
    assert site.client.get(f"{new}/calendar.ics").status_code == 200


def test_a_form_sent_twice_renews_once(site: Site) -> None:
    site.home("saar")
    drawn = generation(site, "saar")
    for _ in range(2):
        assert site.post("wil", "people/saar/renew", drawn).status_code == 303
    assert site.job.links()["saar"].generation == 2


def test_a_page_drawn_before_another_renewed_it_does_nothing(site: Site) -> None:
    site.home("saar")
    drawn = generation(site, "saar")
    site.post("wil", "people/saar/renew", drawn)
    new = shown(site, "saar")
    refused = site.post("ines", "people/saar/withdraw", drawn)
    assert refused.status_code == 409
    assert "Saar's link was changed since this page was drawn; nothing was done" in words(refused.text)
    assert site.client.get(f"{new}/pass-on").status_code == 200


def test_who_renews_the_own_link_goes_on_under_the_new_one(site: Site) -> None:
    old = site.home("wil")
    assert "It is your own link" in site.text("wil", "people/wil/renew")
    answer = site.post("wil", "people/wil/renew", generation(site, "wil"))
    to = answer.headers["location"]
    assert not to.startswith(old)
    assert site.client.get(to).status_code == 200
    assert site.client.get(f"{old}/today").status_code == 410


def test_a_withdrawn_link_opens_nothing_and_the_page_says_so(site: Site) -> None:
    path = site.home("saar")
    assert "Saar deletes that calendar" in site.text("wil", "people/saar/withdraw")
    assert site.post("wil", "people/saar/withdraw", generation(site, "saar")).status_code == 303
    assert site.client.get(f"{path}/today").status_code == 410
    assert site.client.get(f"{path}/calendar.ics").status_code == 410
    assert "Link withdrawn today 07:10: it opens nothing." in block(site, "saar")
    assert "Give a new link" in block(site, "saar")
    site.post("wil", "people/saar/give", generation(site, "saar"))
    assert site.client.get(f"{shown(site, 'saar')}/pass-on").status_code == 200
    assert site.client.get(f"{path}/today").status_code == 410, "the old one stays dead"


def test_the_last_deciding_link_is_not_withdrawn_without_a_word(site: Site) -> None:
    path = site.home("wil")
    assert "the last link by which anybody decides" in site.text("wil", "people/wil/withdraw")
    bare = site.post("wil", "people/wil/withdraw", generation(site, "wil"))
    assert bare.status_code == 422
    assert "Not withdrawn: tick that you know" in words(bare.text)
    assert site.client.get(f"{path}/today").status_code == 200
    site.post("wil", "people/wil/withdraw", {**generation(site, "wil"), "told": "1"})
    assert site.client.get(f"{path}/today").status_code == 410


def test_with_another_who_decides_the_own_link_is_told_of_but_not_the_last(site: Site) -> None:
    site.home("ines")
    page = site.text("wil", "people/wil/withdraw")
    assert "It is your own link: no page opens for you any more" in page
    assert "the last link" not in page
    assert site.post("wil", "people/wil/withdraw", generation(site, "wil")).status_code == 303


@pytest.mark.parametrize(
    ("hours", "told"),
    [
        (None, "No calendar has fetched it yet."),
        (26, "Calendar last fetched Mon 24 May 07:10."),
        (27, "Calendar last fetched Mon 24 May 07:10, 27 h ago: it shows old dates."),
    ],
)
def test_a_calendar_is_never_fetched_fresh_or_stale(site: Site, hours: int | None, told: str) -> None:
    path = site.home("saar")
    if hours is not None:
        site.client.get(f"{path}/calendar.ics")
    with freeze_time(clock.now() + timedelta(hours=hours or 1), real_asyncio=True):
        assert told in block(site, "saar")


def test_only_who_decides_sees_or_changes_links(site: Site) -> None:
    site.home("saar")
    for person in ("noor", "owners"):
        for page in ("people", "people/saar", "people/saar/renew", "people/saar/withdraw"):
            assert site.get(person, page).status_code == 403, (person, page)
        for page in ("people/saar/give", "people/saar/renew", "people/saar/withdraw"):
            assert site.post(person, page, generation(site, "saar")).status_code == 403, (person, page)
    fields = {"to": "noor", "first": "2027-05-29", "last": "2027-05-29"}
    assert site.post("noor", "people/give-rounds", fields).status_code == 403
    assert site.job.links()["saar"].generation == 1
    assert site.job.sight().said.decisions == []
    assert site.get("wil", "people/nobody").status_code == 404


# ------------------------------------------------------------------------------------ rounds


def walker(site: Site, day: str, slot: str) -> list[str]:
    plan = site.job.sight().plan
    assert plan is not None
    return [who for one in plan.rounds if one.id.startswith(f"{day}.{slot}.") for who in one.who]


def test_the_lead_gives_a_round_and_after_planning_it_is_that_persons(site: Site) -> None:
    assert walker(site, "2027-05-29", "early") == ["saar"]
    fields = {"to": "noor", "first": "2027-05-29", "last": "2027-05-29", "slot": "early", "key": drawn_key()}
    for _ in range(2):
        assert site.post("wil", "people/give-rounds", fields).status_code == 303
    decided = site.job.sight().said.decisions
    assert [(one.kind, one.by, dict(one.data)["to"]) for one in decided] == [(DecisionKind.ASSIGN, "wil", "noor")]
    assert "Given to Noor; the plan follows" in site.text("wil", "people")
    planned(site)
    assert walker(site, "2027-05-29", "early") == ["noor"]
    assert walker(site, "2027-05-29", "late") == ["saar"]
    assert "the plan follows" not in site.text("wil", "people")


def test_a_round_that_nobody_has_heads_the_page_and_is_given_there(site: Site) -> None:
    data = site.job.job_file.read_text(encoding="utf-8")
    saar = data.index("- id: saar")
    away = data[:saar] + data[saar:].replace(
        "    reach: ground", "    away: [2027-05-29..2027-05-30]\n    reach: ground", 1
    )
    site.job.job_file.write_text(away, encoding="utf-8")
    site.job.reread()
    planned(site)
    page = site.get("wil", "people").text
    text = words(page)
    assert "4 rounds have nobody" in text
    assert text.index("rounds have nobody") < text.index("Everybody and their links")
    part = page[page.index('id="nobody-head"') : page.index("Everybody and their links")]
    assert 'value="noor"' in part
    assert 'value="saar"' not in part, "who is away can't take it"
    site.post("wil", "people/give-rounds", {"to": "noor", "first": "2027-05-29", "last": "2027-05-30"})
    planned(site)
    assert "have nobody" not in site.text("wil", "people")
    turns = site.job.sight().evidence.turns
    assert {slot for _, slot in turns} == set(Slot)


def test_rounds_of_a_day_that_is_over_or_to_one_who_is_away_are_refused_in_words(site: Site) -> None:
    for fields, told in (
        ({"to": "noor", "first": "2027-05-20", "last": "2027-05-21"}, "is over"),
        ({"to": "ines", "first": "2027-05-29", "last": "2027-05-29"}, "does not mist"),
        ({"to": "noor", "first": "2027-06-14", "last": "2027-06-14"}, "is away"),
        ({"to": "noor", "first": "2027-05-29", "last": "2027-05-29", "slot": "night"}, "is no round"),
    ):
        answer = site.post("wil", "people/give-rounds", fields)
        assert answer.status_code == 409
        assert told in words(answer.text)
    assert site.job.sight().said.decisions == []
