"""``curing new``: a first job without an editor, left and gone on with, and never half written."""

from __future__ import annotations

import codecs
import contextlib
import json
import os
import pty
import re
import select
import shutil
import signal
import subprocess
import sys
import time
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from cli_court import narrow
from new_court import COURT, Desk, in_order, made
from typer.testing import CliRunner, Result

from curing import clock
from curing.cli import app
from curing.errors import CuringError
from curing.model.job import Job
from curing.sources.jobfile import read_job
from curing.workflow.interview import Question, WrongAnswerError
from curing.workflow.new_job import NewJob

YEARS = range(2027, 2029)


@pytest.fixture(autouse=True)
def _on_a_day_of_2027(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The clock stands in March 2027; every test works in a folder of its own."""
    offset = datetime(2027, 3, 1, 9, tzinfo=UTC) - clock.now()
    monkeypatch.setenv(clock.OFFSET_VARIABLE, str(int(offset.total_seconds())))
    monkeypatch.chdir(tmp_path)


def read(path: Path) -> Job:
    return read_job(path, years=YEARS, today=date(2027, 3, 2))


@pytest.fixture(scope="session")
def lines(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The answers of the court in the order of the questions."""
    return in_order(tmp_path_factory.mktemp("court") / "court.yaml")


def feed(lines: list[str] | bytes, *words: str) -> Result:
    """Call the command in this process, with answers that come through a pipe."""
    text = lines if isinstance(lines, bytes) else "".join(f"{line}\n" for line in lines)
    return CliRunner().invoke(app, ["new", *words], input=text)


def piped(body: bytes, *words: str) -> subprocess.CompletedProcess[bytes]:
    """Call the command as a shell does, with answers through a pipe."""
    command = [sys.executable, "-m", "curing", "new", *words]
    return subprocess.run(command, input=body, capture_output=True, timeout=120)


def hidden(folder: Path = Path()) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name.startswith("."))


# What is written.


def test_the_file_says_what_was_answered() -> None:
    made(Path("court.yaml"))
    file = read(Path("court.yaml")).file
    assert (file.name, file.units, file.holidays.country) == ("Alder Court", "metric", "NL")
    assert (file.sites[0].latitude, file.sites[0].longitude, file.sites[0].time_zone) == (52.1, 5.2, "Europe/Amsterdam")
    assert file.season is not None
    assert (file.season.finish_by, file.season.resumes) == (date(2027, 9, 22), date(2028, 4, 27))
    people = {one.id: one for one in file.people}
    assert list(people) == ["wil", "noor", "saar", "architect"]
    assert people["saar"].hours_on("sun") == people["saar"].hours_on("holiday") == (8 * 60, 20 * 60)
    assert people["saar"].longest_round == 75
    assert [people[one].reach for one in ("wil", "saar")] == ["scaffold", "ground"]
    assert people["architect"].name == "Ines"
    assert [crew.people for crew in file.crews] == [("wil", "noor")]
    assert [(one.least, one.most, one.basis) for one in file.meters] == [(8, 40, "wet")]
    bay, gable = file.walls
    assert (bay.id, gable.id) == ("rs-bay-1", "4")
    assert bay.panel is not None
    assert (bay.panel.thickness, bay.panel.filled) == (200, date(2027, 1, 4))
    out, inside = bay.faces
    assert (out.facing, out.area, out.height, out.scaffold) == (84, 10.8, 2.7, "road scaffold")
    assert (inside.system, inside.after) == ("clay-inside", ("rs-bay-1-out.base",))
    assert inside.height == pytest.approx(8 * 0.3048)
    assert gable.faces[0].area == pytest.approx(146 * 0.3048**2)
    assert (gable.faces[0].facing, gable.faces[0].exposure, gable.faces[0].scaffold) == (0, "exposed", None)
    assert out.start == gable.faces[0].start == date(2027, 5, 3)


def test_it_is_planned_at_once(lines: list[str]) -> None:
    said = piped("".join(f"{line}\n" for line in lines).encode(), "court.yaml")
    assert (said.returncode, said.stderr) == (0, b"")
    page = narrow(said.stdout.decode())
    assert "Plan it:      curing plan court.yaml" in page
    planned = CliRunner().invoke(app, ["plan", "court.yaml", "--as-of", "2027-03-01 08:00"])
    assert planned.exit_code == 0, planned.stderr
    assert "revision 1 saved" in planned.stdout
    assert b"\x1b" not in said.stdout


def test_every_job_has_a_uid_of_its_own(tmp_path: Path) -> None:
    made(Path("a.yaml"))
    made(Path("b.yaml"))
    uids = [read(Path(name)).file.uid for name in ("a.yaml", "b.yaml")]
    assert uids[0] != uids[1]


def test_a_name_alone_names_the_file() -> None:
    job = NewJob(None)
    assert job.run(Desk(COURT)) == Path("alder-court.yaml")
    assert read(Path("alder-court.yaml")).file.name == "Alder Court"
    assert hidden() == []


def test_a_file_that_stands_there_is_not_touched(lines: list[str]) -> None:
    Path("court.yaml").write_text("mine")
    said = feed(lines, "court.yaml")
    assert said.exit_code == 2
    assert "stands there already" in said.stderr
    assert "curing check court.yaml" in said.stderr
    assert Path("court.yaml").read_text() == "mine"
    assert hidden() == []


def test_a_file_that_comes_to_be_meanwhile_is_not_written_over() -> None:
    class Slow(Desk):
        def ask(self, question: object) -> str:
            if getattr(question, "key", "") == "write":
                Path("court.yaml").write_text("mine")
            return super().ask(question)  # type: ignore[arg-type]

    with pytest.raises(CuringError, match="has come to be in the meantime"):
        NewJob(Path("court.yaml")).run(Slow(COURT))
    assert Path("court.yaml").read_text() == "mine"
    assert hidden() == [".court.yaml.answers"]


@pytest.mark.parametrize("name", ["nowhere/court.yaml", "court.yaml/"])
def test_a_folder_that_is_not_there_is_told(name: str, tmp_path: Path) -> None:
    (tmp_path / "court.yaml").mkdir()
    said = feed([], name)
    assert said.exit_code == 2
    assert "there is no folder nowhere" in said.stderr or "stands there already" in said.stderr


# What is told and asked.


def test_each_answer_says_what_it_does() -> None:
    said = made(Path("court.yaml")).said
    told = "\n".join(said)
    assert "A finish outside must begin by Wed 22 Sep 2027, or it waits for spring." in told
    assert "A north face needs no cloth." in told
    assert re.search(r"Up to \d+ h of sun in a day: wet cloth hangs here", told)
    assert "Saar mists from the ground, up to 3 m." in told
    assert "Short id: rs-bay-1" in told
    # 10.8 m2 at 1 h/m2.
    assert "The base coat is about 11 h of work." in told
    # 200 mm are 7.87 in, at a week an inch 55.1 days from 4 January: 1 March.
    assert "dry about Mon 1 March 2027" in told


def test_south_of_the_equator_the_south_face_is_in_the_shade() -> None:
    more = {"site.position": "-33.9, 151.2", "country": "none", "walls.2.out.face.facing": "S"}
    said = made(Path("court.yaml"), more).said
    assert "The sun comes from the north. A south face needs no cloth." in said
    assert "A south face needs no cloth." in said


def test_a_question_mark_explains_and_back_takes_back() -> None:
    more = {
        "finish_by": ["?", "2027-09-22", "2027-10-01"],
        "resumes": ["back", "2028-04-27"],
    }
    desk = made(Path("court.yaml"), more)
    assert any("kept damp and cure before the first hard frost" in line for line in desk.said)
    season = read(Path("court.yaml")).file.season
    assert season is not None
    assert season.finish_by == date(2027, 10, 1)


def test_back_at_the_first_question_and_a_wall_that_is_called_back() -> None:
    desk = made(Path("court.yaml"), {"name": ["back", "Alder Court"], "walls.2.wall.next": '"back"'})
    assert "This is the first question." in desk.said
    assert [wall.name for wall in read(Path("court.yaml")).file.walls] == ["road side, bay 1", "back"]


WRONG = [
    ("site.position", "52,1 5,2", "points for decimals"),
    ("site.position", "5.2, 190", "longitude: it lies between -180 and 180"),
    ("site.position", "somewhere", "52.1, 5.2"),
    ("country", "Netherlnds", "did you mean NL"),
    ("zone", "Europe/Amsterdm", 'did you mean "Europe/Amsterdam"'),
    ("region", "Mars", "is not a region of NL"),
    ("week", "mon-fry", "names no day"),
    ("days_off", "26 July", "is not a date"),
    ("finish_by", "22-9-2027", "year, month and day"),
    ("resumes", "2027-04-27", "is not after finish_by"),
    ("people.1.person.hours", "15:30-07:00", "does not end after it starts"),
    ("people.1.person.hours", "mon 07:00-15:00, mon-fri 07:00-15:00", "mon is named twice"),
    ("people.2.person.next", "Noor = wil", 'the id "wil" is that of "Wil"'),
    ("people.1.person.roles", "leads, sings", "sings"),
    ("people.3.person.longest", "75", 'write "75 min"'),
    ("crews.1.crew.people", "Wil, Nora", 'did you mean "Noor"'),
    ("meters.1.meter.most", "7 %", "is not under"),
    ("table", "walls.csv", "there is no such file"),
    ("walls.1.wall.thickness", "200", 'write "200 mm"'),
    ("walls.1.wall.thickness", "20 m", "the most allowed"),
    ("walls.1.wall.filled", "2027-02-30", "not a day of any calendar"),
    ("walls.1.out.face.facing", "NNNE", "is not a direction"),
    ("walls.1.out.face.system.out", "clay-inside", "clay-lime"),
    ("walls.1.out.face.area.out", "10,8 m2", 'write "10.8 m2"'),
    ("walls.1.out.face.area.out", "30 m2", "split it at a natural break"),
    ("walls.1.out.face.height.out", "2.7", 'write "2.7 m"'),
    ("walls.2.wall.next", "north gable = much-too-long", "at most 8 are allowed"),
    ("walls.2.wall.next", "gable = RS-bay-1", "is that of"),
    ("walls.2.wall.next", "north\u202egable", "U+202E"),
]


class Slips(Desk):
    """Somebody who gives every wrong answer before the right one; it notes what is said after each."""

    def __init__(self) -> None:
        self.given: list[tuple[str, str]] = []
        self.after: dict[tuple[str, str], list[str]] = {}
        answers: dict[str, list[str]] = {}
        for key, answer, _ in WRONG:
            answers.setdefault(key, []).append(answer)
        super().__init__({**COURT, **{key: [*wrong, COURT.get(key, "")] for key, wrong in answers.items()}})

    def ask(self, question: Question[object]) -> str:
        text = super().ask(question)
        self.given.append((question.key, text))
        self.said = self.after.setdefault(self.given[-1], [])
        return text


@pytest.fixture(scope="module")
def slips(tmp_path_factory: pytest.TempPathFactory) -> Slips:
    """One interview in which everything is answered wrongly first."""
    desk = Slips()
    path = tmp_path_factory.mktemp("slips") / "court.yaml"
    with pytest.MonkeyPatch.context() as patch:
        offset = datetime(2027, 3, 1, 9, tzinfo=UTC) - clock.now()
        patch.setenv(clock.OFFSET_VARIABLE, str(int(offset.total_seconds())))
        NewJob(path).run(desk)
    assert read(path).file.walls[1].id == "4"
    return desk


@pytest.mark.parametrize(("key", "answer", "told"), WRONG)
def test_a_wrong_answer_is_told_and_asked_again(slips: Slips, key: str, answer: str, told: str) -> None:
    after = slips.given[slips.given.index((key, answer)) + 1]
    assert after[0] == key
    assert any(told in line for line in slips.after[key, answer]), slips.after[key, answer]


def test_units_are_taken_as_they_are_written() -> None:
    more = {"walls.1.wall.thickness": "12 in", "walls.1.out.face.area.out": "110 sq ft"}
    made(Path("court.yaml"), more, units="us")
    file = read(Path("court.yaml")).file
    assert file.units == "us"
    assert file.walls[0].panel is not None
    assert file.walls[0].panel.thickness == pytest.approx(304.8)
    assert file.walls[0].faces[0].area == pytest.approx(110 * 0.3048**2)


def test_a_longitude_without_its_minus_is_asked_about() -> None:
    more = {"site.position": ["44.5, 72.6", "44.5, -72.6"], "country": "US", "region": "Vermont", "zone": "New York"}
    back = {key: [more[key], "back", more[key]] for key in ("zone", "region", "country")}
    desk = made(Path("court.yaml"), {**more, **back, "zone.sure": "back"})
    assert "zone.sure" in desk.asked
    file = read(Path("court.yaml")).file
    assert (file.sites[0].longitude, file.holidays.region) == (-72.6, "VT")


def test_coats_that_are_laid_are_asked_for_from_the_first_on() -> None:
    more = {
        "done": "yes",
        "done.1.done.face": "4 out",
        "done.1.done.coat": "finish",
        "done.1.base.done.when": ["2027-04-01", "2027-02-01"],
        "done.1.finish.done.when": ["2027-01-31", "2027-02-20 14:30"],
        "walls.2.wall.filled": "2026-07-01",
    }
    desk = made(Path("court.yaml"), more)
    assert any("is after today" in line for line in desk.said)
    assert any("is not after" in line for line in desk.said)
    face = read(Path("court.yaml")).file.walls[1].faces[0]
    assert {coat: f"{when:%m-%d %H:%M}" for coat, when in face.done.items()} == {
        "base": "02-01 15:00",
        "finish": "02-20 14:30",
    }


def test_a_wall_like_the_one_before() -> None:
    more = {
        "walls.2.wall.next": "road side, bay 2",
        "walls.2.wall.like": "yes",
        "walls.2.wall.filled": "2027-01-06",
        "walls.2.out.face.area.out": "9.4 m2",
        "walls.2.in.face.area.in": "8 m2",
    }
    desk = made(Path("court.yaml"), more)
    first, second = read(Path("court.yaml")).file.walls
    same = ("facing", "height", "system", "scaffold", "start")
    for one, other in zip(first.faces, second.faces, strict=True):
        assert [getattr(one, name) for name in same] == [getattr(other, name) for name in same]
    assert second.faces[1].after == ("rs-bay-2-out.base",)
    assert len([key for key in desk.asked if key.startswith("walls.2.")]) == 5


def test_two_crews() -> None:
    more = {"crews.1.crew.people": "Wil", "crews.2.crew.next": "Inside crew"}
    more |= {f"walls.{key}": "7 m2" for key in ("1.out.face.area.out", "1.in.face.area.in", "2.out.face.area.out")}
    made(Path("court.yaml"), more)
    assert [(crew.id, crew.people) for crew in read(Path("court.yaml")).file.crews] == [
        ("render-crew", ("wil",)),
        ("inside-crew", ("noor",)),
    ]


def test_somebody_must_lead_and_somebody_lay() -> None:
    more = {"people.1.person.roles": "lays, mists", "people.2.person.next": ["none", "Noor"],
            "people.2.person.roles": "leads, lays"}  # fmt: skip
    desk = made(Path("court.yaml"), more)
    assert any("nobody leads" in line for line in desk.said)


# Left and gone on with.


@pytest.mark.parametrize("key", ["site.position", "people.3.person.roles", "walls.2.out.face.area.out", "write"])
def test_left_anywhere_it_goes_on_where_it_stopped(key: str) -> None:
    made(Path("whole.yaml"))
    first = Desk(COURT, leaves=key)
    with pytest.raises(EOFError):
        NewJob(Path("court.yaml")).run(first)
    assert not Path("court.yaml").exists()
    assert hidden() == [".court.yaml.answers"]
    second = Desk(COURT)
    NewJob(Path("court.yaml")).run(second)
    assert second.asked[0] == key
    assert hidden() == []
    texts = [re.sub(r"(?m)^uid:.*$", "", Path(name).read_text()) for name in ("whole.yaml", "court.yaml")]
    assert texts[0] == texts[1]


def test_without_a_name_the_one_job_that_was_begun_goes_on(lines: list[str]) -> None:
    one = feed(lines[:9], "court.yaml")
    assert one.exit_code == 1
    assert "the answers end before the question" in one.stderr
    assert "9 answers are kept in .court.yaml.answers" in one.stderr.replace("\n  ", " ")
    assert "curing new court.yaml" in one.stderr.replace("\n  ", " ")
    two = feed(lines[9:])
    assert (two.exit_code, two.stderr) == (0, "")
    assert "9 answers are kept from before" in two.stdout
    assert read(Path("court.yaml")).file.walls[1].id == "4"


def test_two_begun_jobs_are_told_apart(lines: list[str]) -> None:
    feed(lines[:3], "a.yaml")
    feed(lines[:3], "b.yaml")
    said = feed(lines[3:])
    assert said.exit_code == 2
    assert "a.yaml, b.yaml" in said.stderr


@pytest.mark.parametrize(
    "text", ["", "{", '{"curing_answers": 2, "answers": []}', '{"curing_answers": 1, "answers": [1]}']
)
def test_kept_answers_that_are_none_are_told(text: str, lines: list[str]) -> None:
    Path(".court.yaml.answers").write_text(text)
    said = feed(lines, "court.yaml")
    assert said.exit_code == 1
    assert "delete the file and begin anew" in said.stderr.replace("\n  ", " ")
    assert not Path("court.yaml").exists()


def test_kept_answers_that_no_longer_fit_are_asked_again(lines: list[str]) -> None:
    feed(lines[:12], "court.yaml")
    kept = json.loads(Path(".court.yaml.answers").read_text())
    kept["answers"][3][1] = "Atlantis"
    Path(".court.yaml.answers").write_text(json.dumps(kept))
    desk = Desk(COURT)
    NewJob(Path("court.yaml")).run(desk)
    assert "9 kept answers no longer fit and are asked again." in desk.said
    assert desk.asked[0] == "site.position" or desk.asked[0] == kept["answers"][3][0]


def test_piped_answers_end_with_the_first_wrong_one(lines: list[str]) -> None:
    said = feed([*lines[:3], "52,1 5,2", *lines[4:]], "court.yaml")
    assert said.exit_code == 1
    assert said.stderr.startswith("answers:4:1: Latitude, longitude")
    assert not Path("court.yaml").exists()
    assert isinstance(said.exception, SystemExit)


@pytest.mark.parametrize("body", [b"\x00\n", b"\n" * 3, b""])
def test_answers_that_are_no_text(body: bytes) -> None:
    said = feed(body, "court.yaml")
    assert said.exit_code == 1
    assert isinstance(said.exception, SystemExit)
    assert not Path("court.yaml").exists()


def test_answers_in_another_code_than_utf_8() -> None:
    said = piped(b"Alder \xff Court\n", "court.yaml")
    assert said.returncode == 1
    assert b"Traceback" not in said.stderr
    assert not Path("court.yaml").exists()


def test_answers_from_a_file(lines: list[str]) -> None:
    Path("answers.txt").write_text("# of Alder Court\n" + "".join(f"{line}\n" for line in lines))
    said = feed([], "court.yaml", "--answers", "answers.txt")
    assert (said.exit_code, said.stderr) == (0, "")
    Path("court.yaml").unlink()
    Path("answers.txt").write_text("\n".join(["# x", *lines[:3], "52,1 5,2", *lines[4:]]))
    said = feed([], "court.yaml", "--answers", "answers.txt")
    assert said.stderr.startswith("answers.txt:5:1: Latitude")
    assert hidden() == []


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("root writes everywhere")
    (tmp_path / "shut").mkdir(mode=0o555)
    with pytest.raises(CuringError, match="can't be kept there"):
        NewJob(tmp_path / "shut" / "court.yaml").run(Desk(COURT))


def test_nobody_to_ask_again_ends_it() -> None:
    with pytest.raises(WrongAnswerError, match="Netherlnds"):
        NewJob(Path("court.yaml")).run(Desk({**COURT, "country": "Netherlnds"}, patient=False))


# A real terminal.


class Terminal:
    """``curing new`` on a pseudo-terminal of 80 columns and 24 lines."""

    def __init__(self, *words: str) -> None:
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            os.environ.update(COLUMNS="80", LINES="24", TERM="dumb")
            os.execv(sys.executable, [sys.executable, "-m", "curing", "new", *words])
        self.screen = ""
        self.decode = codecs.getincrementaldecoder("utf-8")().decode  # a sign may come in two parts

    def wait_for(self, text: str, seconds: float = 60) -> None:
        end = time.monotonic() + seconds
        while text not in self.screen:
            ready, _, _ = select.select([self.fd], [], [], max(0.0, end - time.monotonic()))
            assert ready, f"no {text!r} in {self.screen[-2000:]!r}"
            try:
                self.screen += self.decode(os.read(self.fd, 4096))
            except OSError:
                break
        assert text in self.screen, self.screen[-2000:]

    def type(self, text: str, then: str) -> None:
        self.screen = ""
        os.write(self.fd, f"{text}\n".encode())
        self.wait_for(then)

    def press(self, sign: bytes, then: str) -> None:
        """Press a key until it is heard: one that comes just before the line is read is lost, as for anybody."""
        self.screen = ""
        for _ in range(30):
            os.write(self.fd, sign)
            with contextlib.suppress(AssertionError):
                return self.wait_for(then, seconds=2)
        raise AssertionError(f"no {then!r} in {self.screen[-2000:]!r}")

    def end(self) -> int:
        _, status = os.waitpid(self.pid, 0)
        os.close(self.fd)
        return os.waitstatus_to_exitcode(status)


@pytest.mark.long
def test_a_terminal_that_is_killed_in_the_middle(lines: list[str]) -> None:
    one = Terminal("court.yaml")
    one.wait_for("Name of the job [Court]:")
    one.type("?", "It heads the plan")
    one.type("Alder Court", "Measures in the plan")
    one.type("", "Name of the site [Alder Court]:")
    one.type("back", "Taken back.")
    one.wait_for("Measures in the plan")
    one.type("metric", "Name of the site")
    one.type("", "Latitude, longitude")
    one.type("nowhere", "  ! ")
    one.type("52.1, 5.2", "Country")
    os.kill(one.pid, signal.SIGKILL)
    assert one.end() == -signal.SIGKILL
    assert hidden() == [".court.yaml.answers"]
    assert not Path("court.yaml").exists()
    two = Terminal("court.yaml")
    two.wait_for("Country, for its public holidays [NL]:")
    assert "4 answers are kept from before" in two.screen
    for line in lines[4:]:
        os.write(two.fd, f"{line}\n".encode())
    two.wait_for("Written: court.yaml")
    two.wait_for("says how to log it.")
    assert two.end() == 0
    assert read(Path("court.yaml")).file.walls[0].faces[0].area == 10.8
    assert hidden() == []


@pytest.mark.parametrize(("sign", "code"), [(b"\x03", 130), (b"\x04", 1)])
@pytest.mark.long
def test_leaving_says_what_is_kept(sign: bytes, code: int) -> None:
    one = Terminal("court.yaml")
    one.wait_for("Name of the job [Court]:")
    one.type("Alder Court", "[metric]:")
    one.press(sign, "1 answer is kept in .court.yaml.answers")
    assert one.end() == code
    assert "Traceback" not in one.screen
    assert hidden() == [".court.yaml.answers"]


@pytest.mark.long
def test_a_terminal_that_is_closed() -> None:
    one = Terminal("court.yaml")
    one.wait_for("Name of the job [Court]:")
    one.type("Alder Court", "Measures in the plan")
    os.close(one.fd)
    _, status = os.waitpid(one.pid, 0)
    assert os.waitstatus_to_exitcode(status) != 0
    assert hidden() == [".court.yaml.answers"]


# Walls from a table.

TABLE = """Wall,Name,Side,Facing,Area (m2),Height (m),Thickness (mm),Filled,System,Scaffold,Notes
1,"road side, bay 1",out,84,10.8,2.7,200,2027-01-04,clay-lime,road scaffold,
2,"road side, bay 2",out,84,9.4,2.7,200,2027-01-06,,road scaffold,door off
,,in,,9.2,2.5,,,clay-inside,,
Total,,,,29.4,,,,,,
"""


def test_walls_from_a_table() -> None:
    Path("walls.csv").write_text(TABLE)
    desk = made(Path("court.yaml"), walls=Path("walls.csv"))
    assert [key for key in desk.asked if "wall" in key or "table" in key] == ["table.system-out", "table.face.after"]
    assert any("line 4 names no wall" in line for line in desk.said)
    assert any("line 5 is a total: left out" in line for line in desk.said)
    file = read(Path("court.yaml")).file
    assert [(wall.id, len(wall.faces)) for wall in file.walls] == [("1", 1), ("2", 2)]
    assert file.walls[1].faces[1].after == ("2-out.base",)
    assert file.walls[0].faces[0].start == date(2027, 5, 3)
    assert "# door off" in Path("court.yaml").read_text()


def test_a_table_with_faults_asks_nothing_and_writes_nothing(lines: list[str]) -> None:
    Path("walls.csv").write_text(TABLE.replace("10.8", '"1,234"').replace("84,9.4", "NNNE,9.4"))
    said = feed(lines, "court.yaml", "--walls", "walls.csv")
    assert (said.exit_code, said.stdout) == (1, "")
    assert [line.split(": ")[0] for line in said.stderr.splitlines() if line.startswith("walls")] == [
        "walls.csv:2:5",
        "walls.csv:3:4",
    ]
    assert hidden() == []


def test_unknown_columns_are_asked_about_or_told(lines: list[str]) -> None:
    text = TABLE.replace("Thickness (mm)", "Dicke (mm)").replace("Scaffold", "Farbe")
    Path("walls.csv").write_text(text)
    more = {"table.7.table.column": ["?", "thickness"], "table.10.table.column": "skip"}
    desk = made(Path("court.yaml"), more, walls=Path("walls.csv"))
    assert any("Its first cells: 200, 200" in line for line in desk.said)
    assert any("numbers without a unit" in line for line in desk.said) is False
    panel = read(Path("court.yaml")).file.walls[0].panel
    assert panel is not None
    assert panel.thickness == 200
    said = feed(lines, "other.yaml", "--walls", "walls.csv")
    assert said.exit_code == 1
    assert 'walls.csv:1:7: column "Dicke (mm)": not known; rename it' in said.stderr
    assert 'walls.csv:1:10: column "Farbe": not known' in said.stderr


def test_a_face_too_large_for_the_crew_is_told_at_its_line_and_can_be_mended() -> None:
    Path("walls.csv").write_text(TABLE.replace("9.4", "30"))

    class Mends(Desk):
        def ask(self, question: object) -> str:
            if getattr(question, "key", "").endswith("again"):
                Path("walls.csv").write_text(TABLE)
            return super().ask(question)  # type: ignore[arg-type]

    desk = Mends(COURT)
    NewJob(Path("court.yaml"), Path("walls.csv")).run(desk)
    assert any(line.startswith('walls.csv:3:1: wall "road side, bay 2", outside') for line in desk.said)
    assert read(Path("court.yaml")).file.walls[1].faces[0].area == 9.4
    shutil.copy("court.yaml", "kept.yaml")
    Path("court.yaml").unlink()
    Path("walls.csv").write_text(TABLE.replace("9.4", "30"))
    with pytest.raises(CuringError, match=r"walls\.csv:3:1"):
        NewJob(Path("court.yaml"), Path("walls.csv")).run(Desk(COURT, patient=False))
    assert not Path("court.yaml").exists()


def test_help_names_the_options() -> None:
    page = narrow(CliRunner().invoke(app, ["new", "--help"]).stdout)
    assert re.search(r"new \[OPTIONS\] \[FILE\]", page[0])
    for option in ("--walls", "--units", "--answers"):
        assert any(option in line for line in page)
