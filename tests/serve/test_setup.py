"""The job set up by forms: what a form changes is in the file and nothing else is, and the plan follows."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from difflib import unified_diff
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest
from httpx2 import Response
from planned import planned
from raw_asking import served, the_day
from serving import SAME, PlanHere, Site, words
from starlette.testclient import TestClient

from curing.serve.app import Options, application
from curing.serve.served import House, Served
from curing.serve.start_pages import Start, Starts, can_begin
from curing.workflow.recording import log

Fields = dict[str, Any]


class _Forms(HTMLParser):
    """Reads the forms of a page as a browser would send them back: by the address they go to."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, Fields] = {}
        self.inside = ""
        self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name, value = given.get("name") or "", given.get("value") or ""
        if tag == "form":
            self.inside = given.get("action") or ""
            self.found[self.inside] = {}
        elif not self.inside:
            return
        elif tag == "select":
            self._select = name
        elif tag == "option" and self._select and ("selected" in given or self._select not in self.found[self.inside]):
            self.found[self.inside][self._select] = value
        elif tag == "input" and name and (given.get("type") not in ("radio", "checkbox") or "checked" in given):
            kept = self.found[self.inside]
            kept[name] = [*kept[name], value] if given.get("type") == "checkbox" and name in kept else value
            if given.get("type") == "checkbox":
                kept[name] = [one for one in (kept[name] if isinstance(kept[name], list) else [kept[name]]) if one]
        elif tag == "input" and given.get("type") == "checkbox" and isinstance(self.found[self.inside].get(name), str):
            self.found[self.inside][name] = [one for one in [self.found[self.inside][name]] if one]

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = ""
        elif tag == "select":
            self._select = ""


def forms(page: str) -> dict[str, Fields]:
    """Return address → fields of every form of a page."""
    reader = _Forms()
    reader.feed(page)
    return reader.found


def drawn(site: Site, page: str, person: str = "wil", *, to: str = "") -> Fields:
    """Return a form of the set-up as it is drawn; ``to``: where it goes, if not to its own page."""
    return forms(site.get(person, f"setup/{page}").text)[f"{site.home(person)}/setup/{to or page}"]


def send(site: Site, page: str, fields: Mapping[str, Any], person: str = "wil") -> Response:
    return site.client.post(f"{site.home(person)}/setup/{page}", data=fields, headers=SAME, follow_redirects=False)


def change(site: Site, page: str, **typed: Any) -> Response:
    """Type something into a form that was just drawn, and send it."""
    fields = drawn(site, page)
    assert set(typed) <= set(fields), (sorted(typed), sorted(fields))
    return send(site, page, fields | typed)


def beside(page: str, field: str) -> str:
    """Return what is said to be wrong beside a field, which points to it."""
    assert re.search(rf'<[^>]*aria-invalid="true"[^>]*aria-describedby="[^"]*wrong-{field}\b', page), field
    found = re.search(rf'<div class="error" id="wrong-{field}" tabindex="-1">(.*?)</div>', page, re.S)
    assert found is not None, field
    return words(found[1])


def lines(before: str, after: str) -> list[str]:
    diff = unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0)
    return [line for line in diff if line[:1] in "+-" and line[:3] not in ("+++", "---")]


@pytest.fixture
def site(job_file: Path) -> Iterator[Site]:
    """The job on its Monday; it is planned when a test says so."""
    with served(job_file) as one:
        yield one


@pytest.fixture
def plans(site: Site, monkeypatch: pytest.MonkeyPatch) -> list[Served]:
    """Return who asked for a plan since."""
    asked: list[Served] = []
    monkeypatch.setattr(Served, "want_plan", lambda one: asked.append(one))
    return asked


@pytest.fixture
def text(job_file: Path) -> Iterator[str]:
    """What the file said before, with comments in every corner."""
    return job_file.read_text()


# ------------------------------------------------------------------------------------ what is there


def test_the_overview_says_what_is_there_and_leads_to_it(site: Site) -> None:
    page = site.get("wil", "setup").text
    said = words(page)
    for one in ("7 walls", "6 people", "1 crew", "0 meters", "1 site", "8 written here", "metric measures"):
        assert one in said, one
    assert "Noor mists, mon-fri 07:00-15:30, may climb" in said
    assert "Outside N, 13.6 m2, 2.9 m high, clay-lime, laid: base" in said
    links = set(re.findall(r'href="/s/[\w-]+/(setup/[^"]+)"', page))
    assert {"setup/job", "setup/people/2", "setup/walls/3/faces/out", "setup/walls/new", "setup/holds/sockets"} <= links
    for link in sorted(links)[::4]:
        assert site.get("wil", link).status_code == 200, link


def test_who_does_not_decide_sees_and_changes_nothing(site: Site, text: str, job_file: Path) -> None:
    fields = drawn(site, "people/2")
    for page in (
        "setup",
        "setup/people",
        "setup/people/2",
        "setup/walls/new",
        "setup/walls/1/away",
        "setup/people/1/id",
    ):
        assert site.get("noor", page).status_code == 403
        assert site.get("owners", page).status_code == 403
    for person in ("noor", "owners"):
        for page in ("people/2", "people/2/away", "people/new", "walls/2/move"):
            assert send(site, page, fields | {"name": "Boss", "way": "up"}, person).status_code == 403
    assert job_file.read_text() == text
    assert site.get("ines", "setup").status_code == 200, "the architect decides too"


def test_every_form_sent_back_as_it_was_drawn_changes_nothing(site: Site, text: str, job_file: Path) -> None:
    for link in ("job", "people/1", "people/4", "crews/1", "sites/1", "walls/4", "walls/4/faces/out", "holds/sockets"):
        answer = send(site, link, drawn(site, link))
        assert answer.status_code == 303, (link, words(answer.text))
        assert answer.headers["location"].endswith("done=same"), link
    assert job_file.read_text() == text


def test_what_is_wrong_in_the_file_stands_at_its_thing(site: Site, job_file: Path) -> None:
    job_file.write_text(job_file.read_text().replace("area: 11.2 m2", "area: 11.2"))
    said = site.text("wil", "setup")
    assert "1 thing is wrong here" in said
    page = site.get("wil", "setup/walls/3/faces/out").text
    assert "11.2 has no unit" in beside(page, "area")
    assert change(site, "walls/3/faces/out", area="11.2 m2").status_code == 303
    assert "area: 11.2 m2" in job_file.read_text()
    assert "wrong here" not in site.text("wil", "setup")


def test_a_file_that_only_an_editor_can_mend_is_told_without_its_folder(site: Site, job_file: Path) -> None:
    job_file.write_text(job_file.read_text() + "name: twice\n")
    page = site.get("wil", "setup")
    assert page.status_code == 409
    assert "can be mended only in an editor" in words(page.text)
    assert str(job_file.parent) not in page.text
    for link in ("setup/people/1", "setup/walls/new", "setup/people/1/away"):
        assert site.get("wil", link).status_code == 409


# ------------------------------------------------------------------------------------ changed


def test_hours_are_changed_and_the_plan_follows(site: Site, text: str, job_file: Path, plans: list[Served]) -> None:
    answer = change(site, "people/3", hours="mon-thu 7am-12pm")
    assert answer.status_code == 303
    assert lines(text, job_file.read_text()) == [
        "-    hours: { mon-thu: 07:00-15:30 }",
        "+    hours: { mon-thu: 07:00-12:00 }",
    ]
    there = site.client.get(answer.headers["location"]).text
    assert site.served in plans
    assert "Changed. The plan follows" in words(there)
    assert "mon-thu 07:00-12:00" in words(there)
    planned(site)
    plan = site.job.sight().plan
    assert plan is not None
    late = [one for one in plan.bookings if "tijn" in one.who and one.start.isoformat()[11:16] >= "10:00"]
    assert not late, "nothing of Tijn's begins after noon, local"


def test_a_wrong_value_stays_in_its_field_with_what_is_wrong_beside_it(site: Site, text: str, job_file: Path) -> None:
    answer = change(site, "people/3", hours="mon 15:00-07:00", name="Tijn B")
    assert answer.status_code == 422
    assert "does not end after it starts" in beside(answer.text, "hours")
    kept = forms(answer.text)[f"{site.home('wil')}/setup/people/3"]
    assert (kept["hours"], kept["name"]) == ("mon 15:00-07:00", "Tijn B")
    assert job_file.read_text() == text
    assert send(site, "people/3", kept | {"hours": "mon 7-15"}).status_code == 303
    assert "name: Tijn B" in job_file.read_text()


def test_what_is_wrong_elsewhere_because_of_a_change_stands_above_the_form(site: Site) -> None:
    answer = change(site, "people/1", roles=["mists"])
    assert answer.status_code == 422
    assert "nobody leads" in words(answer.text)
    assert 'hold "roof-gutter": by: "wil" is neither lead nor architect' in words(answer.text)
    assert re.search(r"and \d+ more", words(answer.text))


@pytest.mark.parametrize(("units", "typed", "written"), [("metric", "9,5", "9.5 m2"), ("us", "102", "102 ft2")])
def test_a_number_alone_counts_in_the_units_of_the_reader(
    site: Site, job_file: Path, units: str, typed: str, written: str
) -> None:
    site.post("wil", "units", {"units": units, "page": "setup"})
    page = site.get("wil", "setup/walls/3/faces/out").text
    assert f"A number alone counts as {written.split()[1]}." in words(page)
    assert change(site, "walls/3/faces/out", area=typed).status_code == 303
    assert f"area: {written}" in job_file.read_text()


def test_a_form_without_a_field_leaves_that_field(site: Site, text: str, job_file: Path) -> None:
    fields = drawn(site, "people/1")
    some = {name: fields[name] for name in ("digest", "key", "id")} | {"name": "Willem"}
    assert send(site, "people/1", some).status_code == 303
    assert lines(text, job_file.read_text()) == ["-    name: Wil", "+    name: Willem"]


@pytest.mark.parametrize("name", ["<script>alert(1)</script> {{ 7*7 }}", "\"><img src=x onerror='x'> & co"])
def test_hostile_names_come_back_as_text(site: Site, job_file: Path, name: str) -> None:
    assert change(site, "walls/3", name=name).status_code == 303
    for page in ("setup", "setup/walls/3/away", "setup/walls/3/id", "setup/walls/new"):
        found = site.get("wil", page).text
        assert name in words(found) or name in unescape(found), page
        assert "<script>alert" not in found
        assert "<img" not in found
    assert drawn(site, "walls/3")["name"] == name


def test_what_somebody_else_changed_meanwhile_is_told_and_stays(site: Site, job_file: Path) -> None:
    mine, other = drawn(site, "people/3"), drawn(site, "people/3", "ines")
    assert send(site, "people/3", other | {"hours": "mon 8-10"}, "ines").status_code == 303
    theirs = job_file.read_text()
    answer = send(site, "people/3", mine | {"hours": "tue 8-10"})
    assert answer.status_code == 409
    assert job_file.read_text() == theirs
    assert "changed since the page was opened" in words(answer.text)
    again = forms(answer.text)[f"{site.home('wil')}/setup/people/3"]
    assert again["hours"] == "mon 08:00-10:00", "what stands there now"
    assert "You had typed: tue 8-10" in words(answer.text)
    assert send(site, "people/3", again | {"hours": "tue 8-10"}).status_code == 303
    assert "tue: 08:00-10:00" in job_file.read_text()


def test_a_form_of_somebody_whose_place_another_took_changes_nobody_else(site: Site, job_file: Path) -> None:
    fields = drawn(site, "people/3")
    job_file.write_text(re.sub(r"  - id: noor\n(    .*\n)+", "", job_file.read_text()).replace("wil, noor", "wil"))
    answer = send(site, "people/3", fields | {"name": "Tijn B"})  # the third is Saar by now
    assert answer.status_code == 409
    assert answer.text.count("Tijn") >= 1
    assert "name: Saar" in job_file.read_text()
    assert "name: Tijn B" not in job_file.read_text()


def test_the_same_form_sent_twice_is_one_change(site: Site, job_file: Path) -> None:
    fields = drawn(site, "people/3") | {"name": "Tijn B"}
    assert [send(site, "people/3", fields).status_code for _ in range(2)] == [303, 303]
    new = drawn(site, "people/new") | {"name": "Bo", "roles": ["mists"], "hours": "sat 8-12"}
    assert [send(site, "people/new", new).status_code for _ in range(2)] == [303, 303]
    assert job_file.read_text().count("name: Bo\n") == 1


# ------------------------------------------------------------------------------------ walls


WALL = {"name": "porch", "thickness": "200", "filled": "2027-03-01", "facing": "nne", "area": "6", "height": "2.4"}


def test_a_wall_is_added_where_it_stands_and_moved(site: Site, text: str, job_file: Path) -> None:
    answer = change(site, "walls/new", place="2", **WALL)
    assert answer.status_code == 303, words(answer.text)
    planned(site)
    order = [one.name for one in site.job.job.file.walls]
    assert order[1:4] == ["road side, bay 2", "porch", "road side, bay 3"]
    face = site.job.job.file.walls[2].faces[0]
    assert (face.facing, face.area, face.height) == (22.5, 6.0, 2.4)
    assert "porch" in site.text("wil", "walls")
    added = lines(text, job_file.read_text())
    assert not [line for line in added if line.startswith("-")]

    up = drawn(site, "walls", to="walls/3/move")
    assert send(site, "walls/3/move", up | {"way": "up"}).status_code == 303
    assert send(site, "walls/3/move", up | {"way": "up"}).status_code == 303, "the same press, twice"
    assert [one.name for one in site.job.job.file.walls][:3] == ["road side, bay 1", "porch", "road side, bay 2"]
    said = site.text("wil", "setup/walls")
    assert said.index("porch") < said.index("road side, bay 2")


def test_a_wrong_new_wall_is_kept_in_the_form(site: Site, text: str, job_file: Path) -> None:
    answer = change(site, "walls/new", place="3", **(WALL | {"area": "lots", "thickness": ""}))
    assert answer.status_code == 422
    assert "area" in beside(answer.text, "area")
    kept = forms(answer.text)[f"{site.home('wil')}/setup/walls/new"]
    assert (kept["place"], kept["area"], kept["name"]) == ("3", "lots", "porch")
    assert job_file.read_text() == text


def test_the_other_side_is_added(site: Site) -> None:
    fields = drawn(site, "walls/3/faces/new")
    assert (fields["side"], fields["system"]) == ("in", "clay-inside")
    done = send(site, "walls/3/faces/new", fields | {"area": "9 m2", "height": "2.5 m", "after": "3-out.base"})
    assert done.status_code == 303, words(done.text)
    faces = site.job.job.file.walls[2].faces
    assert [face.side.value for face in faces] == ["out", "in"]


def test_a_wall_with_recorded_work_is_ended_after_it_was_said(site: Site, job_file: Path) -> None:
    log(job_file, "rain", ["7-out"], by="wil", as_of="2027-05-24 07:05")
    asked = site.text("wil", "setup/walls/7/away")
    assert "marked as ended today" in asked
    assert "rain" in asked
    before = job_file.read_text()
    answer = send(site, "walls/7/away", drawn(site, "walls/7/away"))
    assert answer.headers["location"].endswith("done=ended")
    assert [line.strip("+ ") for line in lines(before, job_file.read_text()) if line[0] == "+"] == ["ended: 2027-05-24"]
    assert "ended already" in site.text("wil", "setup/walls/7/away")


def test_what_nobody_knows_is_taken_out_once(site: Site, job_file: Path) -> None:
    assert "go out of court.yaml" in site.text("wil", "setup/walls/3/away")
    fields = drawn(site, "walls/3/away")
    assert [send(site, "walls/3/away", fields).status_code for _ in range(2)] == [303, 303]
    assert [one.id for one in site.job.job.file.walls] == ["1", "2", "4", "5", "6", "7"]


def test_what_others_name_is_not_taken_away(site: Site, text: str, job_file: Path) -> None:
    page = site.text("wil", "setup/walls/5/faces/out/away")
    assert "can't be taken away" in page
    assert "5-out" in page
    fields = drawn(site, "walls/5") | {"id": "out"}
    assert send(site, "walls/5/faces/out/away", fields).status_code == 422
    assert job_file.read_text() == text


def test_somebody_leaves_with_what_follows_said(site: Site) -> None:
    asked = site.text("wil", "setup/people/2/away")
    assert "Noor leaves the crew Render crew." in asked
    assert send(site, "people/2/away", drawn(site, "people/2/away")).status_code == 303
    assert site.job.job.file.crews[0].people == ("wil", "tijn")
    assert site.client.get(f"{site.home('wil')}/people").status_code == 200


def test_another_id_keeps_the_link_and_everything_that_names_it(site: Site, job_file: Path) -> None:
    home = site.home("noor")
    taken = drawn(site, "people/2/id") | {"new_id": "saar"}
    assert send(site, "people/2/id", taken).status_code == 422
    assert change(site, "people/2/id", new_id="noortje").status_code == 303
    assert "was: noor" in job_file.read_text()
    planned(site)
    assert site.job.job.file.crews[0].people == ("wil", "noortje", "tijn")
    assert site.client.get(f"{home}/today").status_code == 200


def test_a_hold_is_written_for_the_job_a_wall_and_a_face(site: Site, text: str, job_file: Path) -> None:
    assert change(site, "walls/7/holds/panel-dry", met="2027-05-23", by="ines", note="17 %").status_code == 303
    wrong = change(site, "holds/sockets", met="2027-06-01")
    assert "after today" in beside(wrong.text, "met")
    assert send(site, "holds/sockets/away", drawn(site, "holds/sockets/away")).status_code == 303
    file = site.job.job.file
    assert file.walls[6].holds["panel-dry"].by == "ines"
    assert "sockets" not in file.holds
    assert site.get("wil", "setup/holds/panel-dry").status_code == 404, "a reading is made wall by wall"


# ------------------------------------------------------------------------------------ a new job

BARN: Fields = {
    "name": "Barn at Elm Lane", "country": "gb", "latitude": "52.1, -1.5", "time_zone": "", "lead": "Jürgen",
    "others": "Noor", "wall": "north gable", "facing": "n", "area": "13,6", "height": "2.9", "thickness": "200",
    "filled": "2026-12-15",
}  # fmt: skip


@pytest.fixture
def new(tmp_path: Path) -> Iterator[tuple[TestClient, Starts, Path]]:
    path = tmp_path / "barn.yaml"
    house = House([], PlanHere())
    starts = Starts(house, [(path, None)])
    with (
        the_day(),
        TestClient(application(house, Options(), starts)) as client,
    ):
        yield client, starts, path


def test_a_new_job_from_nothing_by_forms_alone(new: tuple[TestClient, Starts, Path]) -> None:
    client, starts, path = new
    [(file, link)] = starts.links()
    assert file == path
    assert re.fullmatch(r"/new/[A-Za-z0-9_-]{43}", link)
    form = forms(client.get(link).text)[link]

    asked = client.post(link, data=form | BARN, headers=SAME)
    assert asked.status_code == 422
    assert "Europe/London is the nearest" in beside(asked.text, "time_zone")
    assert not path.exists()
    sure = forms(asked.text)[link]
    assert (sure["time_zone"], sure["latitude"], sure["longitude"]) == ("Europe/London", "52.1", "-1.5")

    begun = client.post(link, data=sure, headers=SAME, follow_redirects=False)
    assert begun.status_code == 303, words(begun.text)
    lead = begun.headers["location"].removesuffix("/setup?done=begun")
    assert re.fullmatch(r"/s/[A-Za-z0-9_-]{43}", lead)
    assert client.get(link).status_code == 410
    twice = client.post(link, data=sure, headers=SAME, follow_redirects=False)
    assert twice.headers["location"].startswith(lead), "a second press leads to the same job"
    assert client.post(link, data=sure | {"key": "f" * 32}, headers=SAME).status_code == 410

    page = client.get(begun.headers["location"]).text
    assert "The job is begun" in words(page)
    assert "Add a wall" in words(page)
    fields = forms(client.get(f"{lead}/setup/walls/new").text)[f"{lead}/setup/walls/new"]
    other = fields | WALL | {"facing": "s", "name": "south gable"}
    assert client.post(f"{lead}/setup/walls/new", data=other, headers=SAME, follow_redirects=False).status_code == 303
    fields = forms(client.get(f"{lead}/setup/meters/new").text)[f"{lead}/setup/meters/new"]
    meter = fields | {"name": "straw probe", "least": "8", "most": "40", "basis": "wet"}
    assert client.post(f"{lead}/setup/meters/new", data=meter, headers=SAME, follow_redirects=False).status_code == 303

    until = monotonic() + 15
    while "south gable" not in words(client.get(f"{lead}/walls").text) and monotonic() < until:
        sleep(0.1)
    assert "north gable" in words(client.get(f"{lead}/walls").text)
    assert client.get(f"{lead}/calendar.ics").status_code == 200
    today = client.get(f"{lead}/today").text
    assert "No plan yet" not in words(today)
    assert "The plan is there. First coat: " in words(client.get(f"{lead}/setup").text)
    text = path.read_text()
    assert text.startswith("# Barn at Elm Lane: everything the plan goes by stands in this file.")
    assert text.index("north gable") < text.index("south gable")
    assert "# Everybody who works, mists" in text


def test_a_wrong_first_form_is_kept_and_nothing_is_written(new: tuple[TestClient, Starts, Path]) -> None:
    client, starts, path = new
    [(_, link)] = starts.links()
    form = forms(client.get(link).text)[link]
    answer = client.post(link, data=form | BARN | {"time_zone": "london", "area": "lots", "name": "<b>"}, headers=SAME)
    assert answer.status_code == 422
    assert "area" in beside(answer.text, "area")
    assert "<b><" not in answer.text.replace("<p><b>", "")
    assert forms(answer.text)[link]["name"] == "<b>"
    assert not list(path.parent.iterdir())


def test_the_start_link_takes_only_its_own_form(new: tuple[TestClient, Starts, Path]) -> None:
    client, starts, path = new
    [(_, link)] = starts.links()
    form = forms(client.get(link).text)[link] | BARN | {"time_zone": "london"}
    assert client.post(link, data=form).status_code == 403
    assert client.post(link, data=form, headers={"sec-fetch-site": "cross-site"}).status_code == 403
    assert client.post(link, data=form | {"others": "x" * 70_000}, headers=SAME).status_code == 413
    assert client.post(link, json=form, headers=SAME).status_code == 415
    wrong = f"/new/{'x' * 43}"
    assert client.get(wrong).status_code == 404
    assert client.post(wrong, data=form, headers=SAME).status_code == 404
    assert not list(path.parent.iterdir())


def test_a_file_that_came_to_be_meanwhile_is_left(new: tuple[TestClient, Starts, Path]) -> None:
    client, starts, path = new
    [(_, link)] = starts.links()
    form = forms(client.get(link).text)[link] | BARN | {"time_zone": "london"}
    path.write_text("mine: 1\n")
    answer = client.post(link, data=form, headers=SAME)
    assert answer.status_code == 422
    assert "stands there already" in words(answer.text)
    assert path.read_text() == "mine: 1\n"


def test_only_a_job_file_that_is_not_there_is_begun(tmp_path: Path) -> None:
    (tmp_path / "there.yaml").touch()
    names = {"new.yaml": True, "new.yml": True, "there.yaml": False, "new.txt": False, "none/new.yaml": False}
    assert {name: can_begin(tmp_path / name) for name in names} == names
    assert Start(Path("a"), None).secret != Start(Path("a"), None).secret
    assert Start(Path("a"), None).secret not in repr(Start(Path("a"), None))
