"""Slips and malice at ``log``, ``assign``, ``keep``, ``move`` and ``materials``: refused in plain words, nothing kept.

Invented: two walls at 52.1 N 5.2 E. Ida leads, Bo lays, Near mists at weekends, the owner only reads.
"""

from __future__ import annotations

import json
import multiprocessing
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from curing.cli import app

NOW = "2027-05-04 15:00"
JOB = """\
curing: 1
uid: 6f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c12
name: Alder Court
sites:
  - { id: court, name: Alder Court, latitude: 52.1, longitude: 5.2, time_zone: Europe/Amsterdam }
people:
  - { id: near, name: Near, roles: [mists], hours: { mon-sun: 07:00-21:00 } }
  - { id: ida, name: Ida, roles: [lead, mists], reach: scaffold, hours: { mon-fri: 07:00-15:30 } }
  - { id: bo, name: Bo, roles: [mists], reach: scaffold, hours: { mon-fri: 07:00-15:30 } }
  - { id: owner, name: Owner, roles: [client] }
crews:
  - { id: render, name: Render, people: [ida, bo] }
meters:
  - { id: probe, name: Straw probe, least: 6 %, most: 40 %, basis: wet }
holds: { roof-gutter: 2027-02-01, sills-flashings: 2027-02-01, boxes-pipes: 2027-02-01, gaps-packed: 2027-02-01,
         mesh-beads: 2027-02-01, sockets: 2027-02-01, sample-panel: 2027-02-01 }
walls:
  - id: "3"
    name: north gable
    panel: { thickness: 200 mm, filled: 2027-01-08 }
    holds: { panel-dry: 2027-05-01 }
    faces:
      - { side: out, facing: N, area: 10 m2, height: 2.7 m, system: clay-lime, start: 2027-05-03 }
  - id: "4"
    name: "=HYPERLINK(\\"x\\")"
    panel: { thickness: 200 mm, filled: 2027-01-08 }
    faces:
      - { side: out, facing: E, area: 6 m2, height: 2.5 m, system: clay-lime, start: 2027-05-10 }
"""


@dataclass
class Yard:
    """The yard in a folder of its own, planned."""

    folder: Path

    @property
    def job(self) -> Path:
        return self.folder / "court.yaml"

    def run(self, command: str, *words: str, at: str = NOW) -> Result:
        return CliRunner().invoke(app, [command, str(self.job), *words, "--as-of", at])

    def say(self, command: str, *words: str, at: str = NOW) -> str:
        made = self.run(command, *words, at=at)
        assert made.exit_code == 0, (made.stderr, made.exception)
        return " ".join(made.stdout.split())

    def refused(self, command: str, *words: str, at: str = NOW) -> str:
        """Run what must be refused; return what is told. Nothing is kept and nothing printed by half."""
        before = self.kept()
        made = self.run(command, *words, at=at)
        assert made.exit_code in (1, 2), (made.stdout, made.exception)
        assert isinstance(made.exception, SystemExit), made.exception
        assert (made.stdout, self.kept()) == ("", before)
        assert all(sign.isprintable() for line in made.stderr.splitlines() for sign in line)
        return " ".join(made.stderr.split())

    @contextmanager
    def opened(self) -> Iterator[sqlite3.Connection]:
        with closing(sqlite3.connect(self.folder / "court.state" / "state.db")) as state, state:
            yield state

    def kept(self) -> tuple[int, int]:
        """Return how many entries and decisions the state holds."""
        with self.opened() as state:
            found = [state.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("record", "decision")]
        return found[0], found[1]


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Yard:
    """The yard, planned; for what is refused, so that it stays as it is."""
    made = Yard(tmp_path_factory.mktemp("yard"))
    made.job.write_text(JOB)
    made.say("plan", at="2027-05-03 17:00")
    return made


@pytest.fixture
def yard(planned: Yard, tmp_path: Path) -> Yard:
    """A copy of its own, for what is kept."""
    shutil.copytree(planned.folder, tmp_path, dirs_exist_ok=True)
    return Yard(tmp_path)


# Readings, tests and weights.


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("low=nan depth=100mm", 'reading: low: "nan" is not a percentage'),
        ("low=1e999 depth=100mm", '"e999" is not a unit for a percentage'),
        ("low=-3 depth=100mm", '"-3 %" is less than 0'),
        ("low=101% depth=100mm", "is more than 100 %, the most allowed"),
        ("low=١٨ depth=100mm", "is not a percentage"),
        ("low=18,5 depth=100mm", 'has a comma; write "18.5 %"'),
        ("low= depth=100mm", 'low: "" is not a percentage'),
        ("low=18 depth=100", '100 has no unit; write "100 mm"'),
        ("low=18 depth=1e9m", "is not a unit for a length"),
        ("low=18 depth=100mm meter=loan", 'meter "loan" is not in the job file; it has probe'),
        ("low=18 low=19 depth=100mm", '"low": said twice; say it once'),
    ],
)
def test_a_reading_that_is_none(planned: Yard, words: str, told: str) -> None:
    said = planned.refused("log", "reading", "3-out", *words.split(), "--by", "bo")
    assert told in said
    assert '"depth=" is not said' not in said  # it was, wrongly or not: one slip is told once


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("test", "3-out", "water-drop", "٤٥"), "write seconds, such as 45s, passed or failed"),
        (("weighing", "3", "1e30kg"), "is not a unit for a mass"),
        (("weighing", "3", "30000kg"), "is more than 20000"),
        (("batch", "3-out", "4-out", "lime=25 kg"), 'no coat is called "4-out"; its coats are base,'),
        (("batch", "3-out", "lime=" + "9" * 3000), "has 3000 characters, at most 2000"),
        (("finished", "3-out", "3-out", "base"), "names one thing twice; name each once"),
        (("finished", "3-out", "3", "base"), "names one thing twice; name each once"),
        (("refused", "4.panel-dry", "4.panel-dry"), "names one thing twice; name each once"),
        (("met", "4-out.panel-dry"), "it is recorded once a wall, face or job; the holds are 3.panel-dry"),
        (("misted", "3-out", "early", "day=2027-02-30"), "not a day of any calendar"),
        (("note", "3-out"), 'nothing is said; write note [FACE...] "TEXT"'),
        (("note", "\x00\u200b"), "is empty; write what it is"),
        (("note", "x" * 3000), "has 3000 characters, at most 2000"),
        (("note", "\udcff"), '"\\udcff" holds broken signs'),
        (("misted", "3-out", "--note", "y" * 3000), "--note: has 3000 characters, at most 2000"),
        (("could-not", "3-out", "base", "why=" + "z" * 600), "why: has 600 characters, at most 500"),
        (("note", "x", "--key", "k" * 10_000), "--key: 1 to 200 characters that can be printed"),
        (("note", "x", "--key", "\udcff"), "--key: 1 to 200 characters that can be printed"),
        (("note", "x", "--at", "2027-05-04T10:00+99:00"), "is not a time"),
    ],
)
def test_a_line_that_says_nothing_sound(planned: Yard, words: tuple[str, ...], told: str) -> None:
    assert told in planned.refused("log", *words, "--by", "bo")


def test_a_face_alone_leaves_the_remark_to_its_option(yard: Yard) -> None:
    assert "kept 1 3 out note: scaffold moved" in yard.say(
        "log", "note", "3-out", "--note", "scaffold moved", "--by", "bo"
    )


@pytest.mark.parametrize(
    "text", ["a\x1b[31mred\x07", "two\r\nlines", "\u202eright to left", "=cmd|' /C calc'!A0", "😀"]
)
def test_odd_text_is_kept_and_breaks_no_page(yard: Yard, text: str) -> None:
    yard.say("log", "note", "3-out", text, "--by", "bo")
    for page in (yard.say("record"), yard.say("record", "3-out")):
        assert page.isprintable()
    (entry,) = json.loads(yard.run("record", "--json").stdout)["entries"]
    assert entry["data"]["text"] == text


# Corrections.


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("1", "withdrawn"), "there is no entry 1; look it up with curing record"),  # decisions have their own numbers
        (("٣", "withdrawn"), "the number of the entry is not said"),
        (("1000000000000", "withdrawn"), "the number of the entry is not said"),
        (("0", "withdrawn"), "there is no entry 0"),
    ],
)
def test_a_correction_of_nothing(yard: Yard, words: tuple[str, ...], told: str) -> None:
    yard.say("assign", "near", "2027-05-08", "--by", "ida")
    assert told in yard.refused("log", "correct", *words, "--by", "bo")


def test_corrections_say_what_they_correct_and_keep_their_reason_short(yard: Yard) -> None:
    yard.say("log", "finished", "3-out", "base", "--by", "bo")
    for why in (("why=" + "x" * 501,), ("--note", "x" * 501)):
        assert "why: has 501 characters, at most 500" in yard.refused(
            "log", "correct", "1", "withdrawn", *why, "--by", "bo"
        )
    assert "corrects entry 1: withdrawn" in yard.say("log", "correct", "1", "withdrawn", "--by", "bo")
    assert "corrected already, by entry 2" in yard.refused("log", "correct", "1", "withdrawn", "--by", "bo")
    assert "is decided, not logged" in yard.refused("log", "correct", "2", "keep", "3-out", "--by", "bo")


def test_a_chain_of_1100_corrections_is_planned_and_shown(yard: Yard) -> None:
    # Longer than Python calls go deep; written at once, since one by one takes its time.
    yard.say("log", "finished", "3-out", "base", "--at", "10:00", "--key", "k1", "--by", "bo")
    with yard.opened() as state:
        state.executemany(
            "INSERT INTO record SELECT ?, ?, at, received, by, 'correction', face, ? FROM record WHERE seq = 1",
            [(k, f"k{k}", json.dumps({"corrects": f"k{k - 1}"})) for k in range(2, 1102)],
        )
    # 1,100 times taken back and put back: the last one puts the base back.
    yard.say("record", "3-out")
    yard.say("plan")
    yard.say("check")
    assert "base was finished 2027-05-04 10:00, entry" in yard.refused("log", "finished", "3-out", "base", "--by", "bo")
    assert "entry 2 was corrected already" in yard.refused("log", "correct", "2", "withdrawn", "--by", "bo")
    assert "corrects entry 1101: withdrawn" in yard.say("log", "correct", "1101", "withdrawn", "--by", "bo")
    yard.say("log", "finished", "3-out", "base", "--by", "bo")


# Decisions.


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("keep", "3-out.finish", "--reason", "x" * 501), "keep: reason: has 501 characters, at most 500"),
        (("keep", "3-out.finish", "--reason", "\x00"), "keep: reason: is empty"),
        (("keep", "3-out.finish", "--reason", "\udcff"), "holds broken signs"),
        (("keep", "3-out.finish", "--reason", "x", "--key", ""), "--key: 1 to 200 characters"),
        (("assign", "near", "2027-05-08", "--key", "k" * 201), "--key: 1 to 200 characters"),
        (("move", "3-out.finish", "9999-12-31", "--reason", "x"), "is outside 2000 to 2100"),
        (("move", "3-out.finish", "2099-12-31", "--reason", "x"), "more than 550 days ahead"),
        (("assign", "near", "2027-05-08..2027-05-01"), "ends before it starts"),
    ],
)
def test_a_decision_that_is_none(planned: Yard, words: tuple[str, ...], told: str) -> None:
    assert told in planned.refused(*words, "--by", "ida")


# A written log.


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (b"\x00\x01\xff" * 9, "log.txt"),
        (b"nonsense\n", "log.txt:1:1: is not date, time, person and what happened"),
        (b"2027-05-04 10:00 bo note x\n" * 20_001, "20001 lines; at most 20000: split it into several"),
        (b"2027-05-04 10:00 bo note " + b"x" * 1_000_000, "1000025 characters; a line has at most 10000"),
        (b"2027-05-04 10:00 bo note fine\n2027-05-09 10:00 bo note early\n", "log.txt:2:1: at 2027-05-09 10:00: lies"),
        (b"2027-05-04 10:00 bo note fine\n2027-05-09 10:00 ida assign near 2027-05-10\n", "log.txt:2:1: at 2027-05-09"),
        (b"2027-03-28 02:30 bo note fine\n", "does not exist: the clocks go forward"),
        (b"2026-10-25 02:30 bo note fine\n", "2026-10-25T02:30+02:00 or 2026-10-25T02:30+01:00"),
        (b"2027-05-04 10:00 bo note 'open\n", "a quotation mark is not closed"),
        (b"2027-05-04 10:00 bo plan\n", '"plan": nothing is logged by that word'),
        (b"2027-05-04 10:00 bo finished 3-out base\n2027-05-04 10:00 ida finished 3-out base\n", "is finished once"),
        (b"2027-05-04 10:00 ida keep 3-out.finish why=" + b"x" * 501 + b"\n", "reason: has 501 characters"),
    ],
)
def test_lines_that_are_none(planned: Yard, tmp_path: Path, body: bytes, told: str) -> None:
    written = tmp_path / "log.txt"
    written.write_bytes(body)
    assert told in planned.refused("log", "--from", str(written))


def test_a_folder_and_more_than_the_file(planned: Yard) -> None:
    assert "this is a folder; name the file in it" in planned.refused("log", "--from", str(planned.folder))
    assert "leave out the rest" in planned.refused("log", "--from", str(planned.job), "--note", "by hand")


def test_lines_as_other_machines_write_them(yard: Yard) -> None:
    written = yard.folder / "log.txt"
    written.write_bytes("\ufeff2027-05-04 10:00 bo note a\r\n\r\n2027-05-04 10:00 bo note b\r\n".encode())
    assert "2 entries kept, 0 there already" in yard.say("log", "--from", str(written))
    written.write_bytes(b"2027-05-04 10:00 bo note a\n2027-05-04 10:00 bo note b\n")
    assert "0 entries kept, 2 there already" in yard.say("log", "--from", str(written))
    written.write_bytes(b"")
    assert "0 entries kept, 0 there already" in yard.say("log", "--from", str(written))


# The table of materials.


def test_the_table_is_written_over_nothing_but_a_table(planned: Yard, tmp_path: Path) -> None:
    said = planned.refused("materials", "--csv", str(planned.job))
    assert "court.yaml: is there and is no table of materials" in said
    assert planned.job.read_text() == JOB
    state = planned.folder / "court.state" / "state.db"
    assert "is no table of materials" in planned.refused("materials", "--csv", str(state))
    table = tmp_path / "materials.csv"
    table.touch()
    for _ in range(2):
        planned.say("materials", "--csv", str(table))
    assert table.read_bytes().startswith(b"row,")


# Several at once.


def test_one_coat_is_finished_once_though_four_say_so_at_once(yard: Yard) -> None:
    lines = [("finished", "3-out", "base")] * 4 + [("note", f"remark {number}") for number in range(4)]
    with multiprocessing.get_context("fork").Pool(8) as people:
        told = people.starmap(_logged, [(yard, line) for line in lines], chunksize=1)
    assert sorted(code for code, _ in told[:4]) == [0, 1, 1, 1]
    assert [code for code, _ in told[4:]] == [0] * 4
    assert sum("a coat is finished once: correct that entry" in text for _, text in told) == 3
    assert yard.kept() == (5, 0)
    yard.say("plan")
    yard.say("check")


def _logged(yard: Yard, line: tuple[str, ...]) -> tuple[int, str]:
    made = yard.run("log", *line, "--by", "bo")
    return made.exit_code, " ".join(made.stderr.split())


# A state in which a disk or a person changed what was kept.


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("record SET data = '{'", "record: one of its rows is damaged"),
        ("record SET at = 'yesterday'", "record: one of its rows is damaged"),
        ("record SET \"by\" = ''", "record: one of its rows is damaged"),
        ("record SET data = '[]'", "record: entry 1: finished"),
        ("decision SET data = '{'", "decision: one of its rows is damaged"),
        ("decision SET data = '{}'", "decision: number 1: assign: to: is not there"),
        ('decision SET data = \'{"to": "near", "first": "soon"}\'', "assign: first: is not there, or not in its"),
    ],
)
def test_what_was_damaged_is_told(yard: Yard, change: str, told: str) -> None:
    yard.say("log", "finished", "3-out", "base", "--by", "bo")
    yard.say("assign", "near", "2027-05-08", "--by", "ida")
    with yard.opened() as state:
        guards = state.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            state.execute(f"DROP TRIGGER {name}")
        state.execute(f"UPDATE {change}")
        for _, guard in guards:
            state.execute(guard)
    for words in (("plan",), ("check",), ("record",), ("log", "note", "x", "--by", "bo")):
        assert told in yard.refused(*words)
