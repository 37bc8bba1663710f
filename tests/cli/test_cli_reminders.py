"""What ``curing reminders`` says: what went out and how it was answered, what comes, and a channel tried out."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from cli_court import Court, narrow
from freezegun import freeze_time
from typer.testing import CliRunner, Result

from curing.cli import app
from curing.model.reminders import Kind, Occasion, Row, RowState
from curing.store import Fresh, Step, open_state
from curing.workflow.opening import read

NOW = datetime(2027, 5, 6, 8, 0, tzinfo=UTC)
"""Thursday 6 May 2027, 10:00 at the site."""
AT = "2027-05-06 10:00"


def ask(court: Court, *more: str, at: str = AT) -> Result:
    return court.run("reminders", *more, at=at)


def say(court: Court, *more: str, at: str = AT) -> str:
    result = ask(court, *more, at=at)
    assert (result.exit_code, result.stderr) == (0, "")
    return "\n".join(narrow(result.stdout))


def row(kind: Kind, person: str, minutes: int, **more: Any) -> Occasion:
    """Return something that fell due so many minutes before now."""
    due = NOW - timedelta(minutes=minutes)
    given = {"about": (), "faces": ("1-out",), "values": {"day": "2027-05-06", "slot": "early", "minutes": 20}, **more}
    return Occasion(f"{kind}|{minutes}", kind, person, due, due + timedelta(hours=4), "2027-05-06 06:30", **given)


def keep(court: Court, looked: datetime, *rows: tuple[Occasion, str, RowState, str]) -> None:
    """Keep rows as a sender leaves them, and when it looked last."""
    uid = read(court.job, AT)[0].file.uid
    with open_state(court.state, uid) as store:
        for one, channel, state, said in rows:
            held = RowState.NOWHERE if state is RowState.NOWHERE else RowState.WAITING
            store.keep_rows([], [Fresh(one, channel, one.due, held, said)], one.due)
            if state not in (RowState.WAITING, RowState.NOWHERE):
                last = max(store.rows_since(NOW - timedelta(days=9)), key=lambda found: found.id)
                text = f"{one.kind} as it went out" if state is RowState.SENT else ""
                store.keep_rows([Step(last, state, said, text=text)], [], one.due + timedelta(minutes=1))
        store.keep_rows([], [], looked, look=True)


def rows_of(court: Court) -> list[Row]:
    uid = read(court.job, AT)[0].file.uid
    with open_state(court.state, uid, create=False, read_only=True) as store:
        return store.rows_since(NOW - timedelta(days=9))


# -- the last 24 hours ----------------------------------------------------------------------


def test_before_anything_went_out_it_says_what_to_start(planned: Court) -> None:
    text = say(planned)
    assert text.startswith("Alder Court  Thu 6 May 10:00\nNo reminder goes out: nobody has looked")
    assert "Start curing serve or curing remind" in text
    assert "No reminder fell due in the last 24 hours." in text


def test_without_a_saved_plan_it_says_what_to_do(court: Court) -> None:
    result = ask(court)
    assert result.exit_code == 1
    assert "plan first" in result.stderr


def test_who_was_told_what_by_which_channel_and_when(planned: Court) -> None:
    keep(planned, NOW - timedelta(seconds=12), (row(Kind.SUMMARY, "wil", 90), "email", RowState.SENT, "250 queued"))
    lines = say(planned).splitlines()
    assert lines[1] == "Last looked 12 s ago. Nothing waits."
    assert "  08:30  Wil  summary  email  08:31  -" in lines
    assert "       summary as it went out" in lines


def test_what_is_open_stands_before_what_asks_nothing(planned: Court) -> None:
    visit = "1-out.base.2027-05-06.early"
    keep(
        planned,
        NOW,
        (row(Kind.SUMMARY, "wil", 90), "email", RowState.SENT, ""),
        (row(Kind.ROUND, "noor", 80, about=(visit,)), "email", RowState.SENT, ""),
    )
    text = say(planned)
    assert text.index("OPEN") < text.index("Noor  round") < text.index("ANSWERED") < text.index("summary")


def test_a_tick_is_told_with_time_and_name(planned: Court) -> None:
    planned.run("log", "finished", "1-out", "base", "--by", "wil", "--at", "2027-05-03 15:00", at=AT)
    done = planned.run("log", "misted", "1-out", "early", "--by", "noor", "--at", "2027-05-06 07:12", at=AT)
    assert done.exit_code == 0, done.stderr
    keep(
        planned, NOW, (row(Kind.ROUND, "noor", 80, about=("1-out.base.2027-05-06.early",)), "email", RowState.SENT, "")
    )
    text = say(planned)
    assert "07:12 Noor" in text
    assert "OPEN" not in text


def test_what_reached_nobody_comes_first_with_why_and_what_to_do(planned: Court) -> None:
    keep(
        planned,
        NOW,
        (row(Kind.SUMMARY, "wil", 90), "email", RowState.SENT, ""),
        (row(Kind.ROUND, "noor", 80), "email", RowState.DEAD, "550 no such mailbox"),
        (row(Kind.ROUND, "saar", 70), "", RowState.NOWHERE, "this person has no channel that is set up"),
    )
    text = say(planned)
    assert "1 reminder of the last 24 hours reached nobody." in text
    assert text.index("NOT SENT") < text.index("550 no such mailbox.") < text.index("ANSWERED")
    assert "--send-test noor --settings" in text
    assert "Give Saar an address" in text


def test_told_by_the_second_channel_is_not_lost(planned: Court) -> None:
    one = row(Kind.ROUND, "noor", 80)
    keep(planned, NOW, (one, "email", RowState.DEAD, "550 no such mailbox"), (one, "file", RowState.SENT, "written"))
    text = say(planned)
    assert "NOT SENT" not in text
    assert "Told by file 08:41 instead." in text


def test_a_sender_that_stopped_heads_the_page(planned: Court) -> None:
    keep(planned, NOW - timedelta(minutes=6))
    assert say(planned).splitlines()[1] == "Nobody has looked for what falls due since 09:54: no reminder goes out."
    assert say(planned, at="2027-05-06 09:58").splitlines()[1] == "Last looked 4 min ago. Nothing waits."


def test_json_tells_the_same(planned: Court) -> None:
    keep(planned, NOW, (row(Kind.ROUND, "noor", 80), "email", RowState.DEAD, "550 no such mailbox"))
    told = json.loads(ask(planned, "--json").stdout)
    assert told["curing_reminders"] == 1
    assert told["sending"] == {
        "state": "dead", "looked": "2027-05-06T08:00:00Z", "waiting": 0, "oldest": None, "dead": 1, "nowhere": 0,
    }  # fmt: skip
    (one,) = told["rows"]
    assert (one["person"], one["state"], one["lost"], one["accepted"]) == (
        {"id": "noor", "name": "Noor"}, "dead", True, None,
    )  # fmt: skip
    assert "example" not in json.dumps(told)  # no addresses


def test_looking_changes_nothing(planned: Court) -> None:
    keep(planned, NOW, (row(Kind.ROUND, "noor", 80), "email", RowState.WAITING, ""))
    before = rows_of(planned)
    say(planned)
    say(planned, "--next", "3d")
    assert rows_of(planned) == before


# -- what comes -----------------------------------------------------------------------------


def test_what_comes_in_order_with_who_and_channel(planned: Court) -> None:
    told = json.loads(ask(planned, "--next", "3d", "--json", at="2027-05-02 12:00").stdout)["next"]
    assert told
    dues = [one["due"] for one in told]
    assert dues == sorted(dues)
    assert all("2027-05-02T10:00:00Z" < due <= "2027-05-05T10:00:00Z" for due in dues)
    assert {one["channel"] for one in told} <= {"email", ""}
    text = say(planned, "--next", "3d", at="2027-05-02 12:00")
    assert "NEXT 3d" in text
    assert " ".join(told[0]["text"].split()) in " ".join(text.split())


@pytest.mark.parametrize(("span", "hours"), [("12h", 12), ("90 min", 1.5), ("2 days", 48), ("1 h 30 min", 1.5)])
def test_spans_in_plain_words(planned: Court, span: str, hours: float) -> None:
    told = json.loads(ask(planned, "--next", span, "--json", at="2027-05-02 12:00").stdout)["next"]
    until = datetime(2027, 5, 2, 10, tzinfo=UTC) + timedelta(hours=hours)
    assert all(datetime.fromisoformat(one["due"]) <= until for one in told)


@pytest.mark.parametrize("span", ["soon", "3", "-1 d", "0 h", "15 d", "3 weeks", "", "x" * 5000])
def test_spans_that_are_none(planned: Court, span: str) -> None:
    result = ask(planned, "--next", span)
    assert result.exit_code == 2
    assert result.stderr.startswith("--next: ")
    assert ";" in result.stderr  # what is wrong; what to do
    assert "Traceback" not in result.stderr
    narrow(result.stderr)


def test_a_channel_that_is_not_set_up_is_no_way(planned: Court, tmp_path: Path) -> None:
    told = settings_of(tmp_path, "channels:\n    sms: {kind: file, path: out.txt}")
    text = say(planned, "--settings", str(told), "--next", "12h", at="2027-05-02 12:00")
    assert "No channel: Wil, Noor, Tijn" in text


# -- trying out -----------------------------------------------------------------------------


def settings_of(folder: Path, reminders: str) -> Path:
    file = folder / "settings.yaml"
    file.write_text(f"curing_settings: 1\nreminders:\n  {reminders}\n")
    return file


def send(court: Court, *more: str) -> Result:
    return CliRunner().invoke(app, ["reminders", str(court.job), "--state", str(court.state), *more])


@pytest.fixture
def frozen() -> Iterator[None]:
    """The clock of this machine in the week after the plan."""
    with freeze_time("2027-05-06 08:00:00"):
        yield


def test_a_trial_goes_out_at_once_and_says_what_came_back(planned: Court, tmp_path: Path, frozen: None) -> None:
    told = settings_of(tmp_path, "channels:\n    file: {kind: file, path: told.txt}")
    result = send(planned, "--send-test", "noor", "--settings", str(told))
    lines = narrow(result.stdout)
    assert lines[:2] == ["Alder Court", "A trial to Noor:"]
    assert any(line.startswith("  file  taken: ") for line in lines)
    assert "  email  not set up in the settings file" in lines
    assert result.exit_code == 1  # one of the two is no way to reach Noor
    assert "this channel works" in (tmp_path / "told.txt").read_text()
    assert rows_of(planned) == []  # nothing is kept


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--send-test", "noor"), "add --settings FILE"),
        (("--send-test", "bob", "--settings", "S"), "nobody of this job has that id; use one of wil"),
        (("--send-test", "owners", "--settings", "S"), "has no address to be told by"),
        (("--send-test", "noor", "--settings", "S", "--json"), "leave out --next, --json and --as-of"),
    ],
)
def test_a_trial_that_can_not_be(
    planned: Court, tmp_path: Path, frozen: None, more: tuple[str, ...], said: str
) -> None:
    told = settings_of(tmp_path, "channels:\n    file: {kind: file, path: told.txt}")
    result = send(planned, *(str(told) if one == "S" else one for one in more))
    assert result.exit_code == 2
    assert said in " ".join(result.stderr.split())
    assert not (tmp_path / "told.txt").exists()
