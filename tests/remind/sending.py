"""A job whose reminders are written by the test, a clock that stands, and a channel that remembers what it took."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from curing.model.reminders import Answer, Kind, Message, Occasion, Outcome, Row, RowState
from curing.remind.sender import Sender
from curing.workflow.open_job import OpenJob
from curing.workflow.sight import Sight

NOON = datetime(2027, 5, 25, 10, 0, tzinfo=UTC)
"""12:00 in Amsterdam, a Tuesday."""
SECOND, MINUTE, HOUR, DAY = timedelta(seconds=1), timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
OK = Answer(Outcome.ACCEPTED, "taken")
BUSY = Answer(Outcome.LATER, "451 busy")
REFUSED = Answer(Outcome.NEVER, "550 no such box")
BROKE = Answer(Outcome.UNKNOWN, "the line broke")

JOB = """\
curing: 1
uid: 5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11
name: Alder Court
holidays: { country: NL }
sites:
  - { id: court, name: Alder Court, latitude: 52.1, longitude: 5.2, time_zone: Europe/Amsterdam }
people:
  - { id: ida, name: Ida, roles: [lead, mists], hours: { mon-fri: 07:00-15:30 }, tell: { email: ida, push: ida-phone } }
  - { id: bo, name: Bo, roles: [mists], hours: { mon-fri: 07:00-15:30 }, tell: { email: bo } }
  - { id: near, name: Near, roles: [mists], hours: { mon-sun: 07:00-21:00 } }
crews:
  - { id: render, name: Render, people: [ida, bo] }
walls:
  - id: "3"
    name: north gable
    faces:
      - { side: out, facing: N, area: 10 m2, height: 2.7 m, system: clay-lime }
"""


def at(text: str) -> datetime:
    """Return an instant of UTC: ``2027-05-25 10:00``."""
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def occasion(
    key: str,
    person: str = "ida",
    due: datetime = NOON,
    *,
    until: datetime | None = None,
    kind: Kind = Kind.ROUND,
    rings: bool = False,
) -> Occasion:
    end = until or due + 3 * HOUR
    return Occasion(key, kind, person, due, end, f"{due:%Y-%m-%d %H:%M}", rings_in_quiet=rings)


@dataclass
class Recorder:
    """A channel that remembers what it was given, and answers as it is told."""

    name: str = "email"
    answers: dict[str, list[Answer]] = field(default_factory=dict)
    """Address → its answers in turn; the last one stays."""
    takes: float = 0.0
    """[s] each message."""
    slow: Callable[[str, Message], float] = lambda to, message: 0.0
    asked: Callable[[], None] = lambda: None
    """Called before each answer."""
    sent: list[tuple[str, Message, Outcome, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._lock = threading.Lock()

    def send(self, to: str, message: Message) -> Answer:
        self.asked()
        if wait := self.takes + self.slow(to, message):
            time.sleep(wait)
        with self._lock:
            turn = self.answers.get(to, [OK])
            answer = turn.pop(0) if len(turn) > 1 else turn[0]
            self.sent.append((to, message, answer.outcome, time.monotonic()))
            return answer

    def fault(self, to: str) -> str:
        return "is no address; write one" if to == "nowhere" else ""

    @property
    def took(self) -> list[tuple[str, str]]:
        """Who was told what, in order: address and text."""
        return [(to, message.text) for to, message, outcome, _ in self.sent if outcome is Outcome.ACCEPTED]

    @property
    def texts(self) -> list[str]:
        return [text for _, text in self.took]


def compose(sight: Sight, person: str, occasions: Sequence[Occasion], key: str, over: Sequence[Occasion]) -> Message:
    """Tell the keys, and nothing else."""
    text = " ".join(one.key for one in occasions)
    if over:
        text = f"away: {' '.join(one.key for one in over)}"
    kind = occasions[0].kind
    return Message(
        key, kind, text, text, text, "", facts={name: occasions[0].values[name] for name in occasions[0].values}
    )


class Court:
    """The invented court: its job file, its open job, what falls due by the test's own list, and a clock."""

    def __init__(self, folder: Path, *, channels: Sequence[Recorder] = (), threads: int = 4, text: str = JOB) -> None:
        self.file = folder / "court.yaml"
        if not self.file.exists():
            self.file.write_text(text)
        self.now = NOON
        self.list: list[Occasion] = []
        self.channels = {one.name: one for one in channels or (Recorder("email"), Recorder("push"))}
        self.threads = threads
        self.job = OpenJob(self.file)
        self.sender = self.another()

    def another(self) -> Sender:
        """Return one more sender, as a restart or another server makes one."""
        return Sender(self.job, self.channels, compose, self._due, now=lambda: self.now, threads=self.threads)

    def _due(self, sight: Sight, after: datetime, to: datetime) -> list[Occasion]:
        return [one for one in self.list if after < one.due <= to]

    @property
    def store(self):
        return self.job.store

    @property
    def email(self) -> Recorder:
        return self.channels["email"]

    @property
    def push(self) -> Recorder:
        return self.channels["push"]

    def wake(self, now: datetime | None = None, *, sender: Sender | None = None) -> bool:
        """Wake a sender at an instant, and wait until all is out."""
        self.now = now or self.now
        sender = sender or self.sender
        sender._found = None  # the test's list may have changed without the job
        well = sender.wake()
        assert sender.settled(20)
        return well

    def rows(self) -> list[Row]:
        return self.store.rows_since(at("2020-01-01 00:00"))

    def states(self) -> dict[tuple[str, str], tuple[RowState, str]]:
        """Return (key, channel) → state and answer."""
        return {(row.key, row.channel): (row.state, row.answer) for row in self.rows()}

    def state(self, key: str, channel: str = "email") -> RowState:
        return self.states()[key, channel][0]

    def tick(self, key: str) -> None:
        """Say that something was done: it does not fall due any more, and the record has one entry more."""
        self.list = [one for one in self.list if one.key != key]
        self.note(f"done {key}")

    def put_off(self, key: str, due: datetime) -> None:
        self.list = [replace(one, due=due, until=due + 3 * HOUR) if one.key == key else one for one in self.list]
        self.note(f"moved {key} {due}")

    def note(self, text: str) -> None:
        from curing.model.record import RecordEntry, RecordKind

        self.store.append_record(RecordEntry(text, NOON, NOON, "ida", RecordKind.NOTE, None, {"text": text}))

    def close(self) -> None:
        self.sender.stop()
        self.job.close()
