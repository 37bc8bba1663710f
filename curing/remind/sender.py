"""Sends what falls due of one job: looks, keeps rows, and lets a few threads a channel send them.

A row is claimed, its try is begun, it is sent, the answer is kept: each step stands on disk before the next. Who dies
in between begins nothing anew but what was begun and not answered, and the row says so.
"""

from __future__ import annotations

import logging
import secrets
import threading
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from time import monotonic

from curing import clock
from curing.errors import CuringError, StateError
from curing.model.reminders import Answer, Channel, Kind, Occasion, Outcome, Row, RowState
from curing.publish.words import Words
from curing.remind.looking import Composes, Finds, Look, Work
from curing.remind.sifting import BACK, Sifting, as_occasion, following
from curing.remind.telling import FREE, MOST, Telling, fold, where
from curing.remind.verdicts import CLOSED, Case, verdict
from curing.remind.ways import Ways
from curing.store import Begun, Step
from curing.workflow.sight import Sight

THREADS = 8
"""Messages under way at once on one channel."""
AHEAD = timedelta(days=1)
"""So far ahead it is worked out what falls due, so that a moved reminder is told from one that is gone."""
FRESH_FOR = timedelta(seconds=60)
"""What falls due is worked out anew after so long, also where nothing changed."""
LOOKS = 3
"""So often a look is taken anew before one message while people write; then it goes by the last one."""
KEEP = timedelta(days=90)
"""Rows are kept for so long."""
STOP = 10.0
"""[s] What is under way is finished, when it is stopped, for no longer than that."""

_log = logging.getLogger("curing.remind")


class Sender:
    """Sends the reminders of one job. Several may work on one state, in one process or many.

    Parameters
    ----------
    job
        The open job; it stays open longer than this.
    channels
        The channels that are set up, by name.
    falls_due, compose
        What falls due, and how it is told.
    now
        The clock.
    threads
        Messages under way at once on one channel.
    """

    def __init__(
        self,
        job: Work,
        channels: Mapping[str, Channel],
        compose: Composes,
        falls_due: Finds,
        *,
        now: Callable[[], datetime] = clock.now,
        threads: int = THREADS,
    ) -> None:
        self._job, self._store, self._channels = job, job.store, dict(channels)
        self._falls_due, self._now, self._threads = falls_due, now, threads
        self._telling = Telling(job.store, self._channels, compose)
        self.owner = secrets.token_hex(8)
        self._looking = threading.Lock()
        self._guard = threading.Condition()
        self._busy: dict[str, int] = dict.fromkeys(self._channels, 0)
        self._closed: dict[str, tuple[datetime, str]] = {}
        self._unkept: list[Step] = []
        self._given_up: list[Row] = []
        self._stopping = False
        self._look: Look | None = None
        self._found: tuple[Sight, datetime, tuple[Occasion, ...]] | None = None
        self._forgot: datetime | None = None

    # -- from outside ---------------------------------------------------------------------

    def wake(self) -> bool:
        """Look once and let what is due be sent, without waiting for it; return whether all went well.

        Never raises: what goes wrong is logged, and tried again at the next call.
        """
        try:
            self._keep_unkept()
            self._release_given_up()
            self.look()
            self._forget_old()
            self._set_going()
        except CuringError as error:
            _log.warning("reminders wait", extra={"why": str(error.problems[0])})
            return False
        except Exception as error:
            _log.error("reminders wait", extra={"broke": where(error)})
            return False
        return not self._unkept

    def settled(self, seconds: float) -> bool:
        """Wait until nothing is under way, for so long at most; return whether nothing is."""
        until = monotonic() + seconds
        with self._guard:
            while any(self._busy.values()):
                if not self._guard.wait(until - monotonic()) and monotonic() >= until:
                    return False
        return True

    def stop(self, seconds: float = STOP) -> bool:
        """Begin nothing more, and finish what is under way within so long; return whether it was."""
        self._stopping = True
        done = self.settled(seconds)
        try:
            self._keep_unkept()
        except CuringError as error:
            _log.error("what was sent could not be kept", extra={"why": str(error.problems[0])})
            return False
        return done

    # -- looking --------------------------------------------------------------------------

    def look(self, *, before: Look | None = None) -> Look | None:
        """Look at the job and bring the rows up to it; None where it can't be told what falls due.

        Parameters
        ----------
        before
            A look that is not good enough any more: where another thread has looked since, that look counts.
        """
        with self._looking:
            if before is not None and self._look is not None and self._look is not before:
                return self._look
            self._job.reread()
            sight = self._job.sight()
            now = self._now()
            looked, rows = self._store.open_rows(now - BACK)
            found = self._occasions(sight, now)
            if found is None:
                self._store.keep_rows([], [], now, look=True)
                return None
            ways, words = Ways(sight, self._channels), Words(sight.job.file.units)
            sifted = Sifting(now, looked, rows, found, ways, words, self._closed_now(now)).sift()
            unkept = {step.row.id for step in self._unkept}
            steps = [step for step in sifted.steps if step.row.id not in unkept]
            self._store.keep_rows(steps, sifted.fresh, now, look=True)
            self._look = Look(now, sight, sight.heads, ways, sifted.wanted)
            return self._look

    def _occasions(self, sight: Sight, now: datetime) -> tuple[Occasion, ...] | None:
        """Return what falls due in the last four days and the next one; worked out anew when something changed."""
        kept = self._found
        if kept is not None and kept[0] is sight and timedelta(0) <= now - kept[1] < FRESH_FOR:
            return kept[2]
        found = self._falls_due(sight, now - BACK, now + AHEAD)
        if found is None:
            return None
        self._found = sight, now, tuple(found)
        return self._found[2]

    def _closed_now(self, now: datetime) -> dict[str, str]:
        """Return the channels that don't work now → what they said."""
        with self._guard:
            for name, (until, _) in list(self._closed.items()):
                if not now < until <= now + CLOSED:  # over, or the clock went back
                    del self._closed[name]
            return {name: said for name, (_, said) in self._closed.items()}

    def _forget_old(self) -> None:
        now = self._now()
        if self._forgot is None or abs(now - self._forgot) >= timedelta(days=1):
            self._store.forget_rows(now - KEEP)
            self._forgot = now

    # -- sending --------------------------------------------------------------------------

    def _set_going(self) -> None:
        """Let threads send what is due, as many as a channel may have and has work for."""
        now = self._now()
        closed = self._closed_now(now)
        _, rows = self._store.open_rows(now)
        due: dict[str, set[tuple[str, Kind, datetime | None]]] = {}
        for row in rows:
            if row.state is RowState.WAITING and row.next <= now:
                due.setdefault(row.channel, set()).add((row.person, row.kind, row.begun))
        for name in self._channels:
            if name in closed:
                continue
            with self._guard:
                more = min(self._threads - self._busy[name], len(due.get(name, ())))
                if self._stopping or more <= 0:
                    continue
                self._busy[name] += more
            for _ in range(more):
                threading.Thread(target=self._work, args=(name,), name=f"reminders-{name}", daemon=True).start()

    def _work(self, name: str) -> None:
        """Send what is due on a channel, one message after another, until nothing is."""
        rows: list[Row] = []
        try:
            futile = 0
            while not self._stopping and name not in self._closed_now(self._now()):
                with self._guard:
                    but = [step.row.id for step in self._unkept]
                rows = []
                rows = self._store.claim_rows(self.owner, name, self._now(), but)
                if not rows:
                    return
                sent, more = self._send(name, rows, futile)
                rows, futile = [], 0 if sent else futile + 1
                if futile > 2 * LOOKS:
                    return
                if more:
                    self.look()
                    self._set_going()
        except CuringError as error:
            _log.warning("reminders wait", extra={"channel": name, "why": str(error.problems[0])})
        except Exception as error:
            _log.error("reminders wait", extra={"channel": name, "broke": where(error)})
        finally:
            with self._guard:
                self._given_up += rows
                self._busy[name] -= 1
                self._guard.notify_all()

    def _send(self, name: str, rows: list[Row], futile: int) -> tuple[bool, bool]:
        """Send claimed rows as one message; return whether it was tried, and whether another channel has more to do."""
        now = self._now()
        if self._job.reread():
            self._look = None
        look = self._look
        if look is None or not self._needed(rows, look, now):
            self._anew(rows, look)
            return False, False
        kind, person = rows[0].kind, rows[0].person
        most = None if kind in FREE else (MOST, FREE)
        seen = look.heads if futile < LOOKS else None  # people may write all the time: the last look is of now
        how, begun = self._store.begin_rows(rows, self.owner, now, seen=seen, most=most)
        if how is Begun.CHANGED:
            self._anew(rows, look)
            return False, False
        if how is Begun.LOST:
            self._store.release_rows(rows, self.owner)
            return False, False
        if how is Begun.MANY:
            self._store.keep_rows(fold(rows, look, now), [], now, owner=self.owner)
            return True, False
        occasions = [look.wanted.get((row.key, row.person)) or as_occasion(row) for row in begun]
        answer, text = self._telling.told(name, look, person, occasions, begun)
        return True, self._answered(name, look, begun, occasions, answer, text)

    def _needed(self, rows: Sequence[Row], look: Look, now: datetime) -> bool:
        """Tell whether all rows are wanted still, by the last look."""
        for row in rows:
            one = look.wanted.get((row.key, row.person))
            if row.kind in (Kind.TRIAL, Kind.AWAY):
                one = as_occasion(row)
            if one is None or one.due > now or one.until <= now:
                return False
            if row.channel not in look.ways.channels(row.person):
                return False
        return True

    def _anew(self, rows: Sequence[Row], before: Look | None) -> None:
        """Give rows back and look again: something changed since they were found."""
        self._store.release_rows(rows, self.owner)
        self.look(before=before)

    def _answered(
        self,
        name: str,
        look: Look,
        rows: Sequence[Row],
        occasions: Sequence[Occasion],
        answer: Answer,
        text: str,
    ) -> bool:
        """Keep an answer; return whether another channel, or another look, has to do with it."""
        now, words = self._now(), Words(look.sight.job.file.units)
        if answer.own_fault:
            with self._guard:
                self._closed[name] = now + CLOSED, answer.said
            _log.warning("a channel does not work", extra={"channel": name, "why": answer.said})
        closed = self._closed_now(now)
        had = self._had(rows) if answer.outcome is not Outcome.ACCEPTED else {}
        steps = []
        for row, one in zip(rows, occasions, strict=True):
            other = following(row, look.ways.channels(row.person), closed, had.get((row.key, row.person), ()))
            steps.append(verdict(Case(row, one, other, text, look.ways.stamp), answer, now, words))
        try:
            try:
                self._store.keep_rows(steps, [], now, owner=self.owner)
            except StateError:
                raise
            except Exception as error:  # a repeat every minute is worse than an answer without its words
                _log.error("an answer is kept without its words", extra={"channel": name, "broke": where(error)})
                steps = [replace(step, answer=None, text="", then=()) for step in steps]
                self._store.keep_rows(steps, [], now, owner=self.owner)
        except StateError as error:  # it was sent: the answer is kept here until the state takes it
            with self._guard:
                self._unkept += steps
            _log.error("an answer could not be kept yet", extra={"channel": name, "why": str(error.problems[0])})
        return answer.own_fault or any(step.then for step in steps)

    def _had(self, rows: Sequence[Row]) -> Mapping[tuple[str, str], Collection[str]]:
        """Return the channels that have a row of what rows tell; none where that can't be read now."""
        try:
            return self._store.channels_of(rows)
        except StateError as error:
            _log.warning("other channels could not be looked up", extra={"why": str(error.problems[0])})
            return {}

    def _release_given_up(self) -> None:
        """Give back what was claimed and not begun because the state or the job could not be read."""
        with self._guard:
            rows = list(self._given_up)
        if rows:
            self._store.release_rows(rows, self.owner)
            with self._guard:
                self._given_up = [one for one in self._given_up if one not in rows]

    def _keep_unkept(self) -> None:
        """Keep the answers that the state did not take when they came."""
        with self._guard:
            steps = list(self._unkept)
        if steps:
            self._store.keep_rows(steps, [], self._now(), owner=self.owner)
            with self._guard:
                self._unkept = [one for one in self._unkept if one not in steps]
