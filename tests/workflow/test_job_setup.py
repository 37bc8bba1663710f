"""A job set up by forms: what the lead types is in the file and nothing else is, or the file is as it was."""

from __future__ import annotations

import errno
import os
import stat
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from job_texts import ALDER_COURT, EXAMPLES, ODD_TEXTS, changed, comments

from curing.errors import FileError, OutputError
from curing.model.job import Job
from curing.sources.job_edit import Add, Drop, Edit, FieldProblem, Move, Put
from curing.sources.jobfile import read_job
from curing.store import default_folder
from curing.workflow.job_setup import Known, Saved, open_setup, save
from curing.workflow.opening import latest_plan, open_job_state, read, read_said
from curing.workflow.planning import plan_job
from curing.workflow.recording import log
from curing.workflow.setup_fields import THINGS, beside, empty, filled, made, typed
from curing.workflow.setup_ids import new_id, renaming, take_away
from curing.workflow.setup_new import FIELDS, begin_job, new_form

TODAY = date(2027, 5, 24)
NOW = "2027-05-24 06:00"
FORM = {
    "name": "Barn at Elm Lane",
    "country": "GB",
    "latitude": "52°06'N",
    "longitude": "-1.5",
    "time_zone": "europe/london",
    "lead": "Jürgen",
    "hours": "7am-3:30pm",
    "others": "Noor, Tijn",
    "wall": "north gable",
    "facing": "n",
    "area": "13.6 m2",
    "height": "2.9 m",
    "thickness": "200 mm",
    "filled": "2027-01-15",
}


@pytest.fixture
def court(tmp_path: Path) -> Path:
    """The example under way, in a folder of its own."""
    path = tmp_path / "court.yaml"
    path.write_bytes(EXAMPLES[0].with_name("alder-court-under-way.yaml").read_bytes())
    return path


def job(path: Path) -> Job:
    return read_job(path, years=range(2027, 2029), today=TODAY)


def form(path: Path, steps: tuple[str | int, ...], thing: str, **typed_in: str) -> Saved:
    """Send a form with everything else as it was drawn."""
    setup = open_setup(path, TODAY)
    drawn = typed(setup.document, steps, thing)
    assert set(typed_in) <= set(drawn)
    found = filled(setup.document, steps, thing, drawn | typed_in)
    return Saved(False, found.problems) if found.problems else save(path, setup.digest, found.edits, TODAY)


def known(path: Path) -> Known:
    found, _ = read(path, NOW)
    store = open_job_state(default_folder(path), found, trial=True)
    assert store is not None
    try:
        return Known(latest_plan(store), read_said(store))
    finally:
        store.close()


def texts(problems: tuple[FieldProblem, ...]) -> str:
    return "\n".join(one.problem.text for one in problems)


# ------------------------------------------------------------------------------ forms


def test_every_form_drawn_and_sent_back_changes_nothing(court: Path) -> None:
    before = court.read_bytes()
    setup = open_setup(court, TODAY)
    data = setup.document.data
    assert form(court, (), "job") == Saved(False)
    for section, thing in [("sites", "site"), ("people", "person"), ("crews", "crew"), ("walls", "wall")]:
        for number in range(len(data[section])):
            assert form(court, (section, number), thing) == Saved(False)
    for hold in data["holds"]:
        assert form(court, ("holds", hold), "hold") == Saved(False)
    for number, wall in enumerate(data["walls"]):
        for side in range(len(wall["faces"])):
            assert form(court, ("walls", number, "faces", side), "face") == Saved(False)
    assert court.read_bytes() == before


def test_what_is_typed_as_people_type_it_stands_in_the_file(court: Path) -> None:
    before = court.read_text()
    assert form(court, ("people", 2), "person", hours="mon-wed 7-15:30, fri 7am-noon").problems[0].steps == (
        "people",
        2,
        "hours",
    )
    assert court.read_text() == before
    assert form(court, ("people", 2), "person", hours="mon-wed 7-15:30, fri 7am-12pm", longest_round="60 min").written
    assert form(court, (), "job", country="belgium", days_off="2027-07-12..2027-07-30", working_week="mon-thu").written
    assert form(court, ("sites", 0), "site", latitude="52°06'N", time_zone="brussels").written
    assert form(court, ("walls", 3, "faces", 0), "face", exposure="normal", gutter="yes", facing="ne").written
    after = court.read_text()
    assert changed(before, after) == [
        "-working_week: [mon, tue, wed, thu, fri]       # days on which coats are laid; misting knows no weekend",
        "+working_week: [mon, tue, wed, thu]            # days on which coats are laid; misting knows no weekend",
        "-  country: NL",
        "+  country: BE",
        "-    - 2027-07-26..2027-08-06                  # the building trade's summer break",
        "+    - 2027-07-12..2027-07-30                  # the building trade's summer break",
        "-    time_zone: Europe/Amsterdam",
        "+    time_zone: Europe/Brussels",
        "-    hours: { mon-thu: 07:00-15:30 }",
        "+    hours: { mon-wed: 07:00-15:30, fri: 07:00-12:00 }",
        "+    longest_round: 60 min",
        "-        facing: N",
        "+        facing: NE",
        "-        exposure: exposed                     # sheltered, normal or exposed to wind and rain",
    ]
    assert job(court).file.people[2].hours_on("fri") == (7 * 60, 12 * 60)


@pytest.mark.parametrize(
    ("steps", "thing", "field", "text", "said"),
    [
        (("walls", 0, "faces", 0), "face", "area", "10", "has no unit"),
        (("walls", 0, "faces", 0), "face", "area", "", "missing"),
        (("walls", 0, "faces", 0), "face", "area", "400 m2", ""),
        (("walls", 0, "faces", 0), "face", "system", "clay-lyme", "clay-lime"),
        (("walls", 0, "faces", 0), "face", "after", "9-out", "9"),
        (("walls", 0), "wall", "filled", "2027-02-30", "not a day"),
        (("walls", 0), "wall", "name", "", "missing"),
        (("walls", 0), "wall", "name", "x" * 10_000, "80"),
        (("walls", 0), "wall", "name", "two\nlines", "one line"),
        (("walls", 0), "wall", "name", "bell\x07", "U+0007"),
        (("walls", 0), "wall", "site", "elsewhere", "unknown site"),
        (("people", 0), "person", "roles", "mists, boss", "boss"),
        (("people", 0), "person", "hours", "mon 15:00-07:00", ""),
        (("people", 0), "person", "reach", "moon", "moon"),
        (("crews", 0), "crew", "people", "wil, nobody", "nobody"),
        (("sites", 0), "site", "latitude", "95", "90"),
        (("sites", 0), "site", "longitude", "east", "number"),
        (("sites", 0), "site", "time_zone", "Europe/Amsterdm", "Europe/Amsterdam"),
        ((), "job", "country", "Atlantis", "Atlantis"),
        ((), "job", "resumes", "2027-01-01", "is not after finish_by"),
        (("holds", "sockets"), "hold", "met", "2027-06-01", "after today"),
        (("holds", "sockets"), "hold", "by", "noor", "neither lead nor architect"),
        (("holds", "sockets"), "hold", "refused", "2027-05-01", "met and refused at once"),
    ],
)
def test_a_fault_stands_beside_its_field_and_nothing_is_written(
    court: Path, steps: tuple[str | int, ...], thing: str, field: str, text: str, said: str
) -> None:
    before = court.read_bytes()
    saved = form(court, steps, thing, **{field: text})
    fields, rest = beside(saved.problems, steps, thing)
    if said != "met and refused at once":
        assert any(said in one for one in fields[field]), (fields, rest)
    else:
        assert any(said in one.problem.text for one in rest)
    assert court.read_bytes() == before
    assert not saved.written
    assert [one.name for one in court.parent.iterdir()] == ["court.yaml"]


@pytest.mark.long
@pytest.mark.parametrize("odd", [odd for odd in ODD_TEXTS if len(odd) <= 80])
def test_a_name_comes_back_as_it_was_typed(court: Path, odd: str) -> None:
    saved = form(court, ("walls", 2), "wall", name=odd)
    assert (saved.problems, saved.written) == ((), True)
    assert job(court).file.walls[2].name == odd
    assert typed(open_setup(court, TODAY).document, ("walls", 2), "wall")["name"] == odd


def test_a_new_person_crew_wall_face_meter_and_hold(court: Path) -> None:
    before = comments(court.read_text())

    def add(steps: tuple[str | int, ...], thing: str, section: str = "", **more: str) -> None:
        setup = open_setup(court, TODAY)
        found, problems = made(steps, thing, empty(thing) | more)
        assert problems == ()
        if section:
            found = {"id": new_id(setup.document.data, section, more["name"]), **found}
        edit: Edit = Put(steps, found) if thing == "hold" else Add(steps, found)
        saved = save(court, setup.digest, [edit], TODAY)
        assert saved == Saved(True), texts(saved.problems)

    add(("people", 6), "person", "people", name="Wil", roles="mists, client", hours="sat-sun 8-20", reach="ground")
    add(("crews", 1), "crew", "crews", name="Inside crew", people="saar", working_week="sat, sun")
    add(
        ("walls", 3, "faces", 1),
        "face",
        side="in",
        area="9 m2",
        height="2.5 m",
        system="clay-inside",
        after="4-out.base",
    )
    add(("meters", 0), "meter", "meters", name="straw probe", least="8 %", most="40 %")
    add(("walls", 6, "holds", "panel-dry"), "hold", met="2027-05-20", by="wil", note='19 %: "fine" # no')
    found = job(court).file
    assert (found.people[6].id, found.crews[1].id, found.meters[0].id) == ("wil-2", "inside-crew", "straw-probe")
    assert found.walls[3].faces[1].after == ("4-out.base",)
    assert found.walls[6].holds["panel-dry"].note == '19 %: "fine" # no'
    kept = comments(court.read_text())
    assert [one for one in before if one not in kept] == []


def test_walls_in_another_walking_order(court: Path) -> None:
    setup = open_setup(court, TODAY)
    assert save(court, setup.digest, [Move(("walls", 3), up=False), Move(("walls", 1))], TODAY).written
    assert [wall.id for wall in job(court).file.walls] == ["2", "1", "3", "5", "4", "6", "7"]
    assert comments(court.read_text()) == comments(setup.file.text)


# ------------------------------------------------------------------------ ids, and what is known


def test_another_id_says_what_it_was_and_all_that_name_it_follow(court: Path) -> None:
    plan_job(court, as_of=NOW)
    setup = open_setup(court, TODAY)
    data = setup.document.data
    edits = [*renaming(data, "walls", 1, "bay2", known(court)), *renaming(data, "people", 0, "willem", known(court))]
    saved = save(court, setup.digest, edits, TODAY, known(court))
    assert saved == Saved(True), texts(saved.problems)
    found = job(court).file
    assert (found.walls[1].id, found.walls[1].was, found.walls[1].faces[1].after) == ("bay2", "2", ("bay2-out.base",))
    assert (found.people[0].id, found.people[0].was, found.crews[0].people[0]) == ("willem", "wil", "willem")
    assert {hold.by for hold in found.holds.values()} == {"ines", "willem"}
    planned = plan_job(court, as_of=NOW).plan
    roots = {face.id: face.root for face in planned.faces}
    assert (roots["bay2-out"], roots["bay2-in"]) == ("2-out", "2-in")

    # The line is tidied away once people were told; the plan remembers.
    court.write_text("\n".join(line for line in court.read_text().split("\n") if "was:" not in line))
    for new, told in (("front", True), ("stoep", False), ("porch", True)):
        setup = open_setup(court, TODAY)
        edits = renaming(setup.document.data, "walls", 1, new, known(court))
        assert save(court, setup.digest, edits, TODAY, known(court)) == Saved(True)
        if told:
            roots = {face.id: face.root for face in plan_job(court, as_of=NOW).plan.faces}
            assert roots[f"{new}-out"] == "2-out"


def test_an_id_that_is_taken_is_refused_at_its_field(court: Path) -> None:
    setup = open_setup(court, TODAY)
    saved = save(court, setup.digest, renaming(setup.document.data, "walls", 1, "3"), TODAY)
    assert any(one.steps == ("walls", 2, "id") and "twice" in one.problem.text for one in saved.problems)


def test_a_wall_that_plan_or_record_know_is_ended_not_taken_out(court: Path) -> None:
    plan_job(court, as_of=NOW)
    log(court, "rain", ["7-out"], by="wil", as_of=NOW)
    for number, wall in ((0, "1"), (6, "7")):
        setup = open_setup(court, TODAY)
        plain = save(court, setup.digest, [Drop(("walls", number))], TODAY, known(court))
        assert plain.lost or "done" in setup.document.data["walls"][number]["faces"][0]
        assert f'"{wall}' in texts(plain.problems)
        saved, ended = take_away(court, setup.digest, setup, ("walls", number), TODAY, TODAY, known(court))
        assert (saved.written, ended) == (True, True), texts(saved.problems)
    found = job(court).file
    assert [wall.id for wall in found.walls] == ["1", "2", "3", "4", "5", "6", "7"]
    assert [face.ended for wall in (found.walls[0], found.walls[6]) for face in wall.faces] == [TODAY, TODAY]
    plan_job(court, as_of=NOW)


def test_what_nobody_knows_is_taken_out(court: Path) -> None:
    plan_job(court, as_of=NOW)
    setup = open_setup(court, TODAY)
    saved, ended = take_away(court, setup.digest, setup, ("walls", 2), TODAY, TODAY, known(court))
    assert (saved, ended) == (Saved(True), False), texts(saved.problems)
    setup = open_setup(court, TODAY)
    saved, ended = take_away(court, setup.digest, setup, ("walls", 1, "faces", 1), TODAY, TODAY, known(court))
    assert (saved, ended) == (Saved(True), False), texts(saved.problems)
    setup = open_setup(court, TODAY)
    saved, ended = take_away(court, setup.digest, setup, ("people", 2), TODAY, TODAY, known(court))
    assert (saved, ended) == (Saved(True), False), texts(saved.problems)
    found = job(court).file
    assert [wall.id for wall in found.walls] == ["1", "2", "4", "5", "6", "7"]
    assert found.crews[0].people == ("wil", "noor")
    assert len(found.walls[1].faces) == 1


def test_what_others_wait_for_is_not_taken_out(court: Path) -> None:
    before = court.read_bytes()
    setup = open_setup(court, TODAY)
    saved, _ = take_away(court, setup.digest, setup, ("walls", 4, "faces", 0), TODAY, TODAY)
    assert "5-out" in texts(saved.problems)
    assert court.read_bytes() == before


# ------------------------------------------------------------------------------ the file


def test_a_file_changed_meanwhile_is_refused(court: Path) -> None:
    setup = open_setup(court, TODAY)
    court.write_text(court.read_text() + "# by hand\n")
    mine = court.read_bytes()
    saved = save(court, setup.digest, [Put(("name",), "Barn")], TODAY)
    assert (saved.written, saved.stale) == (False, True)
    assert "changed in the meantime" in texts(saved.problems)
    assert court.read_bytes() == mine


def test_a_file_changed_while_it_is_judged_is_not_written_over(court: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    setup = open_setup(court, TODAY)
    fsync = os.fsync

    def slow(handle: int) -> None:
        court.write_text("by: hand\n")
        fsync(handle)

    monkeypatch.setattr(os, "fsync", slow)
    with pytest.raises(OutputError, match="changed in the meantime"):
        save(court, setup.digest, [Put(("name",), "Barn")], TODAY)
    assert court.read_text() == "by: hand\n"
    assert [one.name for one in court.parent.iterdir()] == ["court.yaml"]


@pytest.mark.parametrize("call", ["fsync", "replace", "chmod"])
def test_a_full_disk_leaves_the_old_file_whole(court: Path, monkeypatch: pytest.MonkeyPatch, call: str) -> None:
    before, setup = court.read_bytes(), open_setup(court, TODAY)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, call, full)
    with pytest.raises(OutputError, match="no space left"):
        save(court, setup.digest, [Put(("name",), "Barn")], TODAY)
    assert court.read_bytes() == before
    assert [one.name for one in court.parent.iterdir()] == ["court.yaml"]


def test_a_read_only_file_is_left_as_it_is(court: Path) -> None:
    before, setup = court.read_bytes(), open_setup(court, TODAY)
    court.chmod(0o444)
    with pytest.raises(OutputError, match="read-only"):
        save(court, setup.digest, [Put(("name",), "Barn")], TODAY)
    assert court.read_bytes() == before


@pytest.mark.parametrize("mode", [0o644, 0o600, 0o664, 0o660])
def test_permissions_and_a_link_stay(court: Path, mode: int) -> None:
    court.chmod(mode)
    link = court.with_name("link.yaml")
    link.symlink_to(court)
    assert save(link, open_setup(link, TODAY).digest, [Put(("name",), "Barn")], TODAY).written
    assert link.is_symlink()
    assert stat.S_IMODE(court.stat().st_mode) == mode
    assert job(court).file.name == "Barn"


@pytest.mark.parametrize("head", [b"", b"\xef\xbb\xbf"])
def test_a_file_of_another_kind_of_editor_stays_one(court: Path, head: bytes) -> None:
    raw = head + court.read_bytes().replace(b"\n", b"\r\n")
    court.write_bytes(raw)
    assert form(court, ("walls", 0), "wall", name="road side").written
    assert court.read_bytes() == raw.replace(b"name: road side, bay 1", b"name: road side")


@pytest.mark.parametrize(
    "broken", ["people: &a\n  - id: x\n", "\tname: x\n", "name: [x\n", "name: x\nname: y\n", "", "name: \udc80"]
)
def test_a_file_that_only_an_editor_can_mend_is_told_and_left(tmp_path: Path, broken: str) -> None:
    path = tmp_path / "job.yaml"
    path.write_bytes(broken.encode("utf-8", "surrogateescape"))
    with pytest.raises(FileError):
        open_setup(path, TODAY)


def test_a_file_with_faults_is_mended_one_at_a_time_but_gets_no_new_one(court: Path) -> None:
    text = court.read_text().replace("area: 10.8 m2", "area: 10.8").replace("area: 9.2 m2", "area: 9.2")
    court.write_text(text)
    assert {one.steps for one in open_setup(court, TODAY).problems} == {
        ("walls", 0, "faces", 0, "area"),
        ("walls", 1, "faces", 1, "area"),
    }
    worse = form(court, ("walls", 2, "faces", 0), "face", area="11")
    assert not worse.written
    assert worse.problems[0].steps == ("walls", 2, "faces", 0, "area")
    better = form(court, ("walls", 0, "faces", 0), "face", area="10.8 m2")
    assert better.written
    assert {one.steps for one in better.problems} == {("walls", 1, "faces", 1, "area")}
    assert form(court, ("walls", 1, "faces", 1), "face", area="9.2 m2") == Saved(True)
    job(court)


# ------------------------------------------------------------------------------ any forms at all

_TEXT = st.one_of(
    st.sampled_from([*ODD_TEXTS, "", "mon-fri 07:00-15:30", "2027-06-01", "9 m2", "wil"]), st.text(max_size=9)
)


@settings(
    max_examples=30,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_whatever_is_sent_the_file_reads_or_is_as_it_was(court: Path, data: st.DataObject) -> None:
    under_way = EXAMPLES[0].with_name("alder-court-under-way.yaml").read_text()
    court.write_text(ALDER_COURT if data.draw(st.booleans()) else under_way)
    for _ in range(2):
        setup = open_setup(court, TODAY)
        before, document = court.read_bytes(), setup.document
        places: list[tuple[tuple[str | int, ...], str]] = [((), "job"), (("holds", "sockets"), "hold")]
        for section, thing in [("sites", "site"), ("people", "person"), ("crews", "crew"), ("walls", "wall")]:
            places += [((section, n), thing) for n in range(len(document.data[section]))]
        places += [(("walls", n, "faces", 0), "face") for n in range(len(document.data["walls"]))]
        steps, thing = data.draw(st.sampled_from(places))
        what = data.draw(st.sampled_from(["form", "form", "add", "drop", "move"]))
        names = [field.name for field in THINGS[thing]]
        sent = data.draw(st.dictionaries(st.sampled_from(names), _TEXT, min_size=1, max_size=2))
        edits: list[Edit] = []
        if what == "form":
            edits = list(filled(document, steps, thing, sent).edits)
        elif what == "add" and len(steps) == 2 and thing != "hold":
            edits = [Add(steps, {"id": data.draw(_TEXT), **made(steps, thing, sent)[0]})]
        elif steps:
            edits = [Drop(steps)] if what == "drop" else [Move(steps)]
        saved = save(court, setup.digest, edits, TODAY)
        if saved.written:
            job(court)
        else:
            assert court.read_bytes() == before


# ------------------------------------------------------------------------------ a new job


def test_a_new_job_from_the_first_form_is_whole_and_can_be_planned(tmp_path: Path) -> None:
    path, faults = begin_job(tmp_path, new_form() | FORM, TODAY)
    assert faults == []
    assert path is not None
    assert path.name == "barn-at-elm-lane.yaml"
    found = job(path).file
    assert (found.sites[0].latitude, found.sites[0].time_zone, found.holidays.country) == (52.1, "Europe/London", "GB")
    assert (found.people[0].id, found.people[0].hours_on("fri")) == ("jurgen", (7 * 60, 15 * 60 + 30))
    assert (found.walls[0].id, found.walls[0].faces[0].facing) == ("n-gable", 0)
    assert "#" in path.read_text()
    assert len(found.uid) == 36
    assert plan_job(path, as_of=NOW).plan.faces
    setup = open_setup(path, TODAY)
    assert setup.problems == ()
    again, told = begin_job(tmp_path, new_form() | FORM, TODAY)
    assert again is None
    assert [one.field for one in told] == ["name"]


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("name", ""),
        ("latitude", "north"),
        ("longitude", ""),
        ("time_zone", "Mars"),
        ("country", "Atlantis"),
        ("lead", "x" * 10_000),
        ("hours", "all day"),
        ("wall", ""),
        ("facing", ""),
        ("area", "13.6"),
        ("area", "400 m2"),
        ("height", "-1 m"),
        ("system", "clay-inside"),
        ("system", "mud"),
        ("thickness", "20 m"),
        ("filled", "yesterday"),
    ],
)
def test_a_fault_of_the_first_form_stands_beside_its_field_and_no_file_is_made(
    tmp_path: Path, field: str, text: str
) -> None:
    path, faults = begin_job(tmp_path, new_form() | FORM | {field: text}, TODAY)
    assert path is None
    assert field in {one.field for one in faults}, faults
    assert list(tmp_path.iterdir()) == []


@pytest.mark.long
@pytest.mark.parametrize("odd", [odd for odd in ODD_TEXTS if len(odd) <= 80])
def test_odd_names_make_a_new_job_all_the_same(tmp_path: Path, odd: str) -> None:
    path, faults = begin_job(tmp_path, new_form() | FORM | {"name": odd, "lead": odd, "wall": odd}, TODAY)
    assert faults == []
    assert path is not None
    assert path.parent == tmp_path
    found = job(path).file
    assert (found.name, found.people[0].name, found.walls[0].name) == (odd, odd, odd)


def test_every_field_of_the_first_form_is_known() -> None:
    assert set(FORM) <= set(FIELDS)
