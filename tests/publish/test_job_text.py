"""Answers written as a job file: what is said stands in it, whatever signs it holds."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from curing import clock
from curing.model.answers import (
    CrewAnswers,
    FaceAnswers,
    JobAnswers,
    MeterAnswers,
    PersonAnswers,
    SiteAnswers,
    WallAnswers,
    short_id,
)
from curing.model.quantities import parse
from curing.publish.job_text import job_text, scalar
from curing.publish.words import Words
from curing.sources.jobfile import read_job
from curing.sources.yaml_nodes import compose
from curing.workflow.interview import BACK, EXPLAIN, Interview, Question
from curing.workflow.kept_answers import KeptAnswers
from curing.workflow.new_job import NewJob

LONG = max(4, int(os.environ.get("CURING_LONG_TESTS") or 0))
"""Whole sessions to try."""
FEW = max(40, LONG)
"""Texts to try."""
UID = "3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35"
BARN = JobAnswers(
    name="The barn",
    sites=(SiteAnswers("barn", "The barn", "52.1", "-5.25", "Europe/London"),),
    people=(PersonAnswers("wil", "Wil", ("lead", "mists"), (("mon-fri", "07:00-15:30"),), reach="scaffold"),),
    crews=(CrewAnswers("crew", "Crew", ("wil",)),),
    walls=(WallAnswers("1", "north gable", (FaceAnswers("out", "7 m2", "2.7 m", "clay-lime", facing="N"),)),),
)


def read(text: str) -> Any:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_text(text, encoding="utf-8")
        return read_job(path, years=range(2027, 2028), today=date(2027, 3, 1)).file


MISREAD = [
    "1", "01", "1e3", "0x1F", ".5", "-1", "1_000", "no", "NO", "on", "Off", "yes", "y", "N", "null", "~",
    "true", "north: gable", "gable #2", "# gable", "- gable", "[gable]", "{gable}", "*gable", "&gable",
    "!gable", "%gable", "@gable", "`gable", "'gable'", '"gable"', "gable \\n", "a, b", "?", ":", "gable:",
    "北の壁", "Küche", "e\u0301tage", '12\'6"', "=", "<<", "2027-05-03", "07:30", "1:30", "gable \xa0", "|", ">",
    "a: b # c", "---", "...", "\u200dx",
]  # fmt: skip


@pytest.mark.parametrize("name", MISREAD)
def test_a_name_stays_what_it_is(name: str) -> None:
    wall = replace(BARN.walls[0], name=name)
    person = replace(BARN.people[0], name=name)
    file = read(job_text(replace(BARN, name=name, walls=(wall,), people=(person,)), UID, Words()))
    assert file.name == file.walls[0].name == file.people[0].name == name


@pytest.mark.parametrize("wall", ["1", "01", "1e3", "no", "on", "y", "null", "true", "0x1F", "n-gable", "9-9"])
def test_an_id_stays_what_it_is(wall: str) -> None:
    file = read(job_text(replace(BARN, walls=(replace(BARN.walls[0], id=wall),)), UID, Words()))
    assert file.walls[0].id == wall


@settings(max_examples=FEW)
@given(st.text(max_size=60))
def test_any_text_is_one_value_in_and_outside_brackets(text: str) -> None:
    assume(all(sign.isprintable() for sign in text))
    document = compose(f"a: {scalar(text)}\nb: [{scalar(text, flow=True)}, x]\n", "x.yaml")
    assert document.problems == []
    assert document.data == {"a": text, "b": [text, "x"]}


@settings(max_examples=FEW)
@given(st.text(max_size=20), st.text(max_size=20), st.text(max_size=200))
def test_nothing_in_an_answer_becomes_a_line_of_its_own(name: str, number: str, note: str) -> None:
    answers = replace(
        BARN, name=name, sites=(replace(BARN.sites[0], latitude=number),), walls=(replace(BARN.walls[0], note=note),)
    )
    lines = job_text(answers, UID, Words()).split("\n")
    usual = {
        line.split(":")[0].strip()
        for line in job_text(BARN, UID, Words()).split("\n")
        if ":" in line and "#" not in line
    }
    odd = [line for line in lines if ":" in line and "#" not in line and line.split(":")[0].strip() not in usual]
    assert [line for line in odd if not line.lstrip().startswith(("name", "latitude"))] == []


def test_the_same_answers_give_the_same_bytes() -> None:
    assert job_text(BARN, UID, Words()) == job_text(BARN, UID, Words())
    assert job_text(BARN, UID, Words()) != job_text(BARN, UID.replace("3", "4"), Words())


def test_every_part_says_what_it_is_for() -> None:
    lines = job_text(BARN, UID, Words()).splitlines()
    assert [line for line in lines if len(line) > 105] == []
    for section in ("sites:", "people:", "crews:", "walls:"):
        assert lines[lines.index(section) - 1].startswith("#"), section
    assert f"uid: {UID}     # tells this job from every other; never change it" in lines


def test_a_line_that_is_switched_off_holds_without_its_hash() -> None:
    text = job_text(replace(BARN, country="GB"), UID, Words()).replace("by: ID", "by: wil")
    assert text.count("\n#holds") == text.count("\n#season") == text.count("\n#meters") == text.count("\n  #days") == 1
    for word in ("holds", "season", "meters"):
        text = text.replace(f"\n#{word}", f"\n{word}")
    text = text.replace("\n  #days", "\n  days").replace("2027-04-12", "2027-02-12")
    file = read(text)
    assert file.season.finish_by == date(2027, 9, 22)
    assert file.holds["sample-panel"].met == date(2027, 2, 12)
    assert [meter.id for meter in file.meters] == ["m1"]
    assert file.holidays.days == ((date(2027, 7, 26), date(2027, 8, 6)),)


def test_everything_that_can_be_said() -> None:
    answers = replace(
        BARN,
        units="us",
        working_week=("mon", "sat"),
        country="US",
        region="VT",
        days_off=("2027-07-05..2027-07-09", "2027-11-26"),
        finish_by="2027-09-10",
        resumes="2028-05-01",
        people=(
            replace(
                BARN.people[0],
                also=(("2027-05-23", "08:00-12:00"),),
                away=("2027-06-14..2027-06-18",),
                longest_round="1 h 15 min",
            ),
        ),
        meters=(MeterAnswers("m-1", "straw probe", "8 %", "40 %", "dry"),),
        walls=(
            WallAnswers(
                "1",
                "yes",
                (
                    FaceAnswers(
                        "out", "70 ft2", "8 ft 6 in", "clay-lime", facing="84°", scaffold="no", gutter=False,
                        exposure="exposed", start="2027-05-03", done=(("base", "2027-02-01 14:30"),),
                    ),
                    FaceAnswers("in", "70 ft2", "8'", "clay-inside", after=("1-out.base",)),
                ),
                site="barn",
                thickness='12"',
                filled="2026-06-01",
                note="door off: # ask",
            ),
        ),
    )  # fmt: skip
    file = read(job_text(answers, UID, Words("us")))
    out, inside = file.walls[0].faces
    assert (file.units, file.working_week, file.holidays.region) == ("us", ("mon", "sat"), "VT")
    assert (out.scaffold, out.gutter, out.exposure, out.facing) == ("no", False, "exposed", 84)
    assert out.height == pytest.approx(2.5908)
    assert inside.height == pytest.approx(2.4384)
    assert file.walls[0].panel.thickness == pytest.approx(304.8)
    assert f"{out.done['base']:%Y-%m-%d %H:%M}" == "2027-02-01 14:30"
    assert list(file.people[0].also) == ["2027-05-23"]
    assert file.people[0].longest_round == 75
    assert file.meters[0].basis == "dry"


@given(st.lists(st.text(max_size=40), max_size=30))
def test_ids_made_from_names_are_ids_and_differ(names: list[str]) -> None:
    taken: list[str] = []
    for name in names:
        one = short_id(name, taken, 8)
        assert 1 <= len(one) <= 8
        assert all(sign.isascii() and (sign.isalnum() or sign == "-") for sign in one)
        assert one[0] != "-"
        assert one[-1] != "-"
        assert not one.endswith(("-in", "-out"))
        assert one.casefold() not in {other.casefold() for other in taken}
        taken.append(one)


# Whatever the interview accepts gives a file that is read and says the same.

NAMES = st.one_of(
    st.sampled_from([*MISREAD, "Wil", "north gable", "road side, bay 1", "a = b", "Barn = b"]), st.text(max_size=20)
)
LENGTHS = st.sampled_from(["200 mm", "12 in", "7 ft 6 in", "2.7 m", "27", "2,7 m", "1/2 in", "30 cm", "0 m", "9 km"])
AREAS = st.sampled_from(["6.5 m2", "75 ft2", "70 sq ft", "7 m²", "7", "400 m2", "6,5 m2", "-3 m2"])
DATES = st.sampled_from(["2027-05-03", "2027-09-22", "2028-04-27", "2027-02-30", "3 May 2027", "2026-11-02"])
YES = st.sampled_from(["yes", "no", "y", "N", "perhaps"])
BY_WORD = {
    "units": st.sampled_from(["metric", "us", "imperial"]),
    "position": st.tuples(st.floats(-95, 95), st.floats(-190, 190)).map(lambda one: f"{one[0]:.4f}, {one[1]:.4f}"),
    "country": st.sampled_from(["NL", "us", "Germany", "UK", "XX", "none"]),
    "zone": st.sampled_from(["Europe/Amsterdam", "Berlin", "America/Chicago", "Mars"]),
    "week": st.sampled_from(["mon-fri", "sat, sun", "tue", "mon-sun", "moon"]),
    "days_off": st.sampled_from(["2027-07-26..2027-08-06", "2027-07-05, 2027-07-06", "july"]),
    "roles": st.sampled_from(["leads, lays, mists", "mists", "reads", "lays", "architect, mists", "sings"]),
    "hours": st.sampled_from(["07:00-15:30", "7-16", "mon-thu 07:00-15:30, fri 7-12", "9pm-5am", "mon 8-12, tue 8-12"]),
    "weekend": st.sampled_from(["8-20", "sat 9-12", "holiday 08:00-12:00", "sun"]),
    "longest": st.sampled_from(["75 min", "1 h 15 min", "75"]),
    "least": st.sampled_from(["8 %", "0 %", "45 %", "8"]),
    "most": st.sampled_from(["40 %", "100 %", "40"]),
    "basis": st.sampled_from(["wet", "dry", "damp"]),
    "sides": st.sampled_from(["out", "in", "both"]),
    "facing": st.sampled_from(["N", "nnw", "84°", "84", "360°", "400°", "up"]),
    "exposure": st.sampled_from(["sheltered", "exposed", "windy"]),
    "face": st.sampled_from(["1-out", "north-1 in", "x"]),
    "coat": st.sampled_from(["base", "finish", "paint"]),
    "when": st.sampled_from(["2027-02-01", "2027-02-20 14:30", "2027-12-24", "yesterday"]),
}
FILLED = st.sampled_from(["2026-11-02", "2027-01-15", "2027-02-30"])
KINDS = {
    **dict.fromkeys(("name", "next", "scaffold", "meter"), NAMES),
    **dict.fromkeys(("height", "thickness"), LENGTHS),
    **dict.fromkeys(("finish_by", "resumes", "start"), DATES),
    **dict.fromkeys(("like", "gutter", "after", "done"), YES),
    "area": AREAS,
    "filled": FILLED,
}


class Anybody:
    """Answers at random what may be right; after three tries by Enter, or by what is surely right."""

    patient = True
    SURE: ClassVar = {
        "name": "Wil",
        "position": "52.1, 5.2",
        "facing": "SW",
        "area": "3 m2",
        "height": "2 m",
        "least": "0 %",
        "most": "100 %",
        "weekend": "8-20",
        "roles": "leads, lays, mists",
        "coat": "base",
        "sure": "yes",
        "write": "yes",
    }

    def __init__(self, data: st.DataObject) -> None:
        self._data, self._tries, self.asked = data, {}, []

    def ask(self, question: Question[Any]) -> str:
        key = question.key
        words = [word for word in key.split(".") if word not in ("out", "in")]
        word = words[-1]
        if word in ("next", "meter") and len(self.asked) > 60:
            word = "end"
        tries = self._tries[key] = self._tries.get(key, 0) + 1
        self.asked.append(key)
        assert tries < 12, f"asked for ever: {key}: {self.said}"
        likely = {**KINDS, **BY_WORD}
        if word == "write" or word not in likely or tries > 3 or self._data.draw(st.integers(0, 3)) == 0:
            return self._surely(question, word, tries)
        text = self._data.draw(likely[word])
        return "" if text.strip().casefold() in (BACK, EXPLAIN) else text

    def _surely(self, question: Question[Any], word: str, tries: int) -> str:
        if question.key.endswith("person.next") and "nobody" in " ".join(self.said[-1:]):
            return f"Ada {tries}"
        if word == "hours":
            return "mon-sun 07:00-15:30"
        if word == "roles" and tries <= 3:
            return "leads, lays, mists"
        if word == "when":
            return "2027-02-02" if ".base." in question.key else "2027-02-25"
        if word == "face":
            return question.why.rpartition(": ")[2].split(",")[0]
        return "" if question.default is not None and tries < 8 and word != "weekend" else self.SURE.get(word, "")

    said: list[str] = []  # noqa: RUF012

    def say(self, text: str, *, indent: str = "", heading: bool = False) -> None:
        self.said = [*self.said[-5:], text]

    def show(self, lines: Any) -> None:
        pass


@pytest.fixture(scope="module")
def _on_a_day_of_2027() -> Iterator[None]:
    """The clock stands in March 2027."""
    with pytest.MonkeyPatch.context() as patch:
        offset = datetime(2027, 3, 1, 9, tzinfo=UTC) - clock.now()
        patch.setenv(clock.OFFSET_VARIABLE, str(int(offset.total_seconds())))
        yield


@pytest.mark.usefixtures("_on_a_day_of_2027")
@settings(max_examples=LONG, phases=(Phase.explicit, Phase.generate))  # to make a whole session smaller takes for ever
@given(st.data())
def test_whatever_the_interview_accepts_is_read_and_says_the_same(data: st.DataObject) -> None:
    answers, file = interviewed(data)
    assert file.name == answers.name
    assert [(one.id, one.name, set(one.roles), one.reach) for one in file.people] == [
        (one.id, one.name, set(one.roles), one.reach or "ground") for one in answers.people
    ]
    assert [(one.id, one.name, one.people) for one in file.crews] == [(c.id, c.name, c.people) for c in answers.crews]
    assert [(one.id, one.name) for one in file.walls] == [(one.id, one.name) for one in answers.walls]
    said = [face for wall in file.walls for face in wall.faces]
    for face, (_, _, told) in zip(said, answers.faces(), strict=True):
        assert (face.side, face.area) == (told.side, parse(told.area, "area_m2"))
        assert face.height == parse(told.height, "length_m")
        assert face.facing == (parse(told.facing, "angle_deg") if told.facing else None)
        assert (face.scaffold or "", face.system, list(face.after)) == (told.scaffold, told.system, list(told.after))
    assert (str(file.season.finish_by) if file.season else "") == answers.finish_by


def interviewed(data: st.DataObject) -> tuple[JobAnswers, Any]:
    caught: list[JobAnswers] = []

    class Caught(NewJob):
        def _interview(self, *how: Any) -> Interview[JobAnswers]:
            caught.append((yield from super()._interview(*how)))
            return caught[-1]

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        job = Caught(path)
        job.run(Anybody(data))
        assert KeptAnswers(None).answers == []
        assert [one.name for one in Path(folder).iterdir()] == ["job.yaml"]
        file = read_job(path, years=range(2026, 2030), today=date(2027, 3, 1)).file
    return caught[-1], file
